"""The part of a certificate with the marks as a table and the photos with the marks drawn."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Image, KeepTogether, Spacer, Table, TableStyle

from inspect_core.domain.inspection import Inspection
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.imaging.draw import crop_around, draw_marks
from inspect_core.reports import wording
from inspect_core.reports.paper import BODY_WIDTH, SMALL, STRONG, Cell, Paper

_PLAIN = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
)
_BIG = 122 * mm
_CLOSE = 54 * mm
_SMALL = 56 * mm


def add_marks(paper: Paper, inspection: Inspection, numbers: Mapping[str, int], order: Sequence[str]) -> None:
    """One line a mark: number, component, category, photo, readings with uncertainty, unit and method."""
    paper.heading("Marks and readings")
    if not inspection.marks:
        paper.add(paper.text("No mark was drawn."))
        return
    rows: list[list[Cell]] = []
    for mark in inspection.marks:
        readings: list[Flowable] = [paper.text(wording.reading(reading)) for reading in mark.readings]
        if mark.note:
            readings.append(paper.text(f"Note: {mark.note}", SMALL))
        if mark.made_by and mark.made_by != inspection.by:
            readings.append(paper.text(f"Drawn by: {mark.made_by}", SMALL))
        if not mark.readings:
            readings.insert(0, paper.text("not measured"))
        rows.append(
            [
                str(numbers[mark.id]),
                mark.category.value,
                mark.component.value,
                str(order.index(mark.photo_id) + 1),
                readings,
            ]
        )
    paper.table(("Mark", "Category", "Component", "Photo", "Readings"), rows, [7, 17, 18, 8, 50])
    paper.gap(2)
    paper.add(paper.text(f"{wording.UNCERTAINTY_NOTE} {wording.SHARE_NOTE} Not measured is not zero.", SMALL))


def add_photos(
    paper: Paper,
    inspection: Inspection,
    photos: Sequence[Photo],
    previews: Mapping[str, bytes],
    numbers: Mapping[str, int],
) -> None:
    """Marked photos large, each with close-ups of its marks beside it; photos without marks three to a line."""
    paper.heading("Photos")
    if not photos:
        paper.add(paper.text("No photo was taken."))
        return
    bare: list[list[Flowable]] = []
    for place, photo in enumerate(photos, start=1):
        marks = [mark for mark in inspection.marks if mark.photo_id == photo.id]
        caption = _caption(paper, photo, f"Photo {place} of {len(photos)}", marks, numbers)
        data = previews.get(photo.id)
        if data is None:
            paper.add(KeepTogether([*caption, paper.text("This photo was not at hand when the paper was printed.")]))
            paper.gap(5)
        elif marks:
            paper.add(_marked(paper, photo, data, marks, numbers, caption))
        else:
            copy = draw_marks(data, (), size=(photo.width, photo.height), longest=1000)
            bare.append([_picture(copy, photo, _SMALL, _SMALL), Spacer(1, 2), *caption])
    for start in range(0, len(bare), 3):
        row = bare[start : start + 3]
        paper.add(Table([row + [""] * (3 - len(row))], colWidths=[BODY_WIDTH / 3] * 3, style=_PLAIN))


def _marked(
    paper: Paper,
    photo: Photo,
    data: bytes,
    marks: Sequence[Mark],
    numbers: Mapping[str, int],
    caption: list[Flowable],
) -> Flowable:
    size = (photo.width, photo.height)
    drawn = draw_marks(data, marks, size=size, numbers=numbers)
    left = [_picture(drawn, photo, _BIG, 105 * mm), Spacer(1, 2), *caption]
    right: list[Flowable] = []
    for mark in marks[:2]:
        # Bare, because a line drawn along a cut hides the cut; the large picture shows where it is.
        patch = crop_around(mark, data, size=size, longest=640, show_mark=False)
        right += [
            Image(io.BytesIO(patch), *_fit(patch, _CLOSE, 42 * mm)),
            paper.text(f"Close-up of mark {numbers[mark.id]}, {mark.category.value}, without its line", SMALL),
            Spacer(1, 4),
        ]
    if len(marks) > 2:
        right.append(
            paper.text(f"{wording.count(len(marks) - 2, 'more mark')} in the picture without a close-up.", SMALL)
        )
    return Table([[left, right]], colWidths=[_BIG + 3 * mm, BODY_WIDTH - _BIG - 3 * mm], style=_PLAIN)


def _caption(
    paper: Paper, photo: Photo, title: str, marks: Sequence[Mark], numbers: Mapping[str, int]
) -> list[Flowable]:
    taken = f"taken {photo.captured_at:%Y-%m-%d %H:%M} by the camera's clock" if photo.captured_at else "no camera time"
    lines = [paper.text(title, STRONG)]
    if marks:
        lines.append(paper.text("Marks: " + ", ".join(f"{numbers[m.id]} {m.category.value}" for m in marks), SMALL))
    lines.append(paper.text(f"{taken}; original {photo.width} × {photo.height} px, SHA-256 {photo.id[:16]}…", SMALL))
    lines += [paper.text(sentence, SMALL) for sentence in photo.advice]
    return lines


def _picture(data: bytes, photo: Photo, width: float, height: float) -> Image:
    return Image(io.BytesIO(data), *_scaled(photo.width, photo.height, width, height))


def _fit(data: bytes, width: float, height: float) -> tuple[float, float]:
    from PIL import Image as Pictures

    with Pictures.open(io.BytesIO(data)) as picture:
        return _scaled(*picture.size, width, height)


def _scaled(wide: int, high: int, width: float, height: float) -> tuple[float, float]:
    """The largest size of the same proportions within width × height."""
    factor = min(width / wide, height / high)
    return wide * factor, high * factor
