"""The part of a certificate with the marks as a table and the photos with the marks drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table, TableStyle

from inspect_core.domain.inspection import Inspection
from inspect_core.domain.marks import Mark
from inspect_core.domain.photos import Photo
from inspect_core.imaging.draw import crop_around, draw_marks, open_copy
from inspect_core.reports import wording
from inspect_core.reports.paper import BODY_WIDTH, SMALL, STRONG, Cell, Paper
from inspect_core.reports.pictures import Picture

_PLAIN = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
    ]
)
_BIG = 120 * mm
_TALL = 95 * mm
_CLOSE = 55 * mm
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
            readings.append(paper.text(f"Note: {paper.language.written(mark.note)}", SMALL))
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
    marked = bool(photos) and any(mark.photo_id == photos[0].id for mark in inspection.marks)
    paper.heading("Photos", room=(118 if marked else 70) * mm)
    if not photos:
        paper.add(paper.text("No photo was taken."))
        return
    bare: list[list[Flowable]] = []
    missing: list[Flowable] = []
    for place, photo in enumerate(photos, start=1):
        marks = [mark for mark in inspection.marks if mark.photo_id == photo.id]
        caption = _caption(paper, photo, f"Photo {place} of {len(photos)}", marks, numbers)
        data = previews.get(photo.id)
        if data is None:
            caption.append(paper.text("This photo was not at hand when the paper was printed."))
            missing.append(KeepTogether([*caption, Spacer(1, 4)]))
        elif marks:
            paper.add(_marked(paper, photo, data, marks, numbers, caption))
        else:
            copy = draw_marks(data, (), size=(photo.width, photo.height), longest=1000)
            bare.append([Picture(copy, _SMALL, _SMALL), Spacer(1, 2), *caption])
    for start in range(0, len(bare), 3):
        row = bare[start : start + 3]
        paper.add(Table([row + [""] * (3 - len(row))], colWidths=[BODY_WIDTH / 3] * 3, style=_PLAIN))
    paper.add(*missing)


def _marked(
    paper: Paper,
    photo: Photo,
    data: bytes,
    marks: Sequence[Mark],
    numbers: Mapping[str, int],
    caption: list[Flowable],
) -> Flowable:
    size = (photo.width, photo.height)
    copy = open_copy(data, size)
    large = Picture(draw_marks(copy, marks, size=size, numbers=numbers), _BIG, _TALL)
    right: list[Flowable] = []
    for mark in marks[:2]:
        # Bare, because a line drawn along a cut hides the cut; the large picture shows where it is.
        right += [
            Picture(crop_around(mark, copy, size=size, longest=640, show_mark=False), _CLOSE, 40 * mm),
            Spacer(1, 1.5),
            paper.text(f"Close-up of mark {numbers[mark.id]}, {mark.category.value}, without its line", SMALL),
            Spacer(1, 4),
        ]
    if len(marks) > 2:
        more = wording.count(len(marks) - 2, "more mark")
        right.append(paper.text(f"{more} in the picture without a close-up.", SMALL))
    column = max(large.width, 80 * mm) + 3 * mm
    return Table([[[large, Spacer(1, 2), *caption], right]], colWidths=[column, BODY_WIDTH - column], style=_PLAIN)


def _caption(
    paper: Paper, photo: Photo, title: str, marks: Sequence[Mark], numbers: Mapping[str, int]
) -> list[Flowable]:
    taken = (
        f"Taken {photo.captured_at:%Y-%m-%d %H:%M} (camera clock)"
        if photo.captured_at
        else "No camera time in the file"
    )
    lines = [paper.text(title, STRONG)]
    if marks:
        lines.append(paper.text("Marks: " + ", ".join(f"{numbers[m.id]} {m.category.value}" for m in marks), SMALL))
    lines.append(paper.text(taken, SMALL))
    lines.append(paper.text(f"Original {photo.width} × {photo.height} px, SHA-256 {photo.id[:16]}…", SMALL))
    lines += [paper.text(sentence, SMALL) for sentence in photo.advice]
    return lines
