"""A picture that is drawn upon: taken in, marked, and shown again with what was drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.domain.marks import Category, Mark
from inspect_core.domain.photos import Photo
from inspect_core.screens.marking import mark_photo, media_url, show_readings
from inspect_core.screens.parts import pictures
from inspect_core.screens.parts.errors import show_error, tell_error
from inspect_core.screens.parts.tag_box import PHOTO_TYPES
from inspect_core.screens.rigging import fields
from inspect_core.screens.rigging.bench import Bench, Body
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st
from inspect_core.usecases.intake import photo_by_id, take_photo
from inspect_core.usecases.services import Services

#: Standard deviation of pointing as a share of the picture's longer side: two of the 400 screen pixels of a phone that
#: shows the whole picture, and the same two of the 1600 that a desk, or a picture drawn larger, spreads it over. Common
#: practice, no source.
POINTING_SHARES = {"finger": 1 / 200, "close": 1 / 800}
_LEAST_SD_PX = 2.0
_POINTED = Ask(
    "pointed",
    "How did you point?",
    "word",
    hint="Not told counts as by finger. It says how far off a mark may be.",
    words={"By finger": "finger", "Zoomed in, or mouse": "close"},
)
_NAMELESS = Category.OTHER


def ask(bench: Bench, label: str) -> Photo | None:
    """The picture to draw upon, after asking for one."""
    photo_id = bench.body["photo"]
    if photo_id is None:
        _upload(bench, label)
        return None
    try:
        return photo_by_id(photo_id, bench.frame.services)
    except BartackError as error:
        show_error(error)
        return None


def another(bench: Bench) -> None:
    """The way to another picture; what was drawn upon this one goes."""

    def change(body: Body) -> None:
        body["marks"].pop(body["photo"], None)
        body["revs"].pop(body["photo"], None)
        body["photo"] = None

    st.button(
        "Take another picture",
        key=bench.key("another"),
        on_click=bench.kept(change),
        type="tertiary",
        icon=":material/replay:",
    )


def _upload(bench: Bench, label: str) -> None:
    # A new key after a refusal empties the box, so that the same file is not taken in again by a rerun.
    key = bench.key("draw on", str(bench.body["refused"]))

    def take() -> None:
        upload = st.session_state[key]
        if upload is None:
            return
        try:
            taken = take_photo(upload.getvalue(), bench.frame.services, claimed_name=upload.name).id
        except BartackError as error:
            tell_error(error)
            bench.keep(lambda body: body.__setitem__("refused", body["refused"] + 1))
            return
        bench.keep(lambda body: body.__setitem__("photo", taken))

    st.file_uploader(label, type=PHOTO_TYPES, key=key, on_change=take)


def mark(bench: Bench, photo: Photo, components: Sequence[Component], names: Callable[[Bench], Sequence[str]]) -> None:
    """The marking surface. `names` says what each shape drawn so far counts as, in drawing order."""
    services = bench.frame.services
    current = mark_photo(
        key=bench.key("marking", photo.id),
        photo_id=photo.id,
        width=photo.width,
        height=photo.height,
        preview_url=media_url(
            lambda: pictures.preview(services, services.place, photo.id), "image/jpeg", f"preview {photo.id}"
        ),
        full_url=media_url(lambda: pictures.full(services, services.place, photo.id), "image/jpeg", f"full {photo.id}"),
        categories=(_NAMELESS,),
        components=tuple(components),
        default_component=components[0],
        default_category=_NAMELESS,
        initial=bench.body["marks"].get(photo.id, []),
        initial_rev=bench.body["revs"].get(photo.id, 0),
        draft=bench.id,
    )
    if current.fault is not None:
        show_error(current.fault)
    if current.changed and current.rev != bench.body["revs"].get(photo.id, 0):
        marks, rev = current.plain(), current.rev

        def change(body: Body) -> None:
            body["marks"][photo.id] = marks
            body["revs"][photo.id] = rev

        bench.keep(change)
    told = dict(zip((one["id"] for one in drawn(bench)), names(bench), strict=False))
    show_readings(key=bench.key("names", photo.id), photo_id=photo.id, readings=told)
    fields.draw(bench, (_POINTED,))


def drawn(bench: Bench) -> tuple[dict[str, Any], ...]:
    """What was drawn on the picture as kept: {"component", "shape": {"type", "points"}, …}, in drawing order."""
    return tuple(bench.body["marks"].get(bench.body["photo"], ()))


def shape_of(kept: Mapping[str, Any]) -> Shape:
    return Shape.of(kept["shape"]["type"], kept["shape"]["points"])


def pointing(bench: Bench) -> float:
    """Standard deviation of pointing on the picture, pixels."""
    photo = photo_by_id(bench.body["photo"], bench.frame.services)
    share = POINTING_SHARES[bench.values.get(_POINTED.name, "finger")]
    return round(max(_LEAST_SD_PX, max(photo.width, photo.height) * share), 3)


def pairs(shape: Shape) -> list[list[float]]:
    """The points as a case holds them."""
    return [[p.x, p.y] for p in shape.points]


def known_length(lines: Sequence[Shape], length: Mapping[str, Any] | None, sd: float) -> dict[str, Any]:
    """The scale of a case. Raises BadInput where there is not one line with one length."""
    if len(lines) != 1:
        raise BadInput(
            "No line shows the known length." if not lines else f"There are {len(lines)} lines on the picture.",
            "Draw one line, along something whose length you know, and no other.",
        )
    if length is None:
        raise BadInput("The known length is not entered.", "Measure it on the spot and enter it.")
    return {"points": pairs(lines[0]), "length": dict(length), "point_sd_px": sd}


def middle(box: Shape) -> list[float]:
    """The centre of a box."""
    left, top, right, bottom = box.bounds()
    return [(left + right) / 2, (top + bottom) / 2]


def again(services: Services, photo_id: str, case: Mapping[str, Any]) -> None:
    """The picture with what the case says was drawn upon it."""
    try:
        photo = photo_by_id(photo_id, services)
    except BartackError as error:
        show_error(error)
        return
    pictures.with_marks(services, photo, tuple(_marks(photo_id, case)))


def _marks(photo_id: str, case: Mapping[str, Any]) -> Iterable[Mark]:
    for number, (component, type_, points) in enumerate(_shapes(case), start=1):
        yield Mark(f"drawn-{number}", photo_id, component, _NAMELESS, Shape.of(type_.value, points))


def _shapes(case: Mapping[str, Any]) -> Iterable[tuple[Component, ShapeType, Sequence[Sequence[float]]]]:
    if case.get("arrow") and case.get("rope") and case.get("check") == "direction":
        yield Component.DIRECTION_ARROW, ShapeType.LINE, case["arrow"]
        yield Component.ROPE, ShapeType.LINE, case["rope"]
    sketch, photo = case.get("sketch"), case.get("photo")
    if sketch:
        yield Component.BODY, ShapeType.POLYGON, sketch["roof"]
        for ring in sketch.get("openings", ()):
            yield Component.BODY, ShapeType.POLYGON, ring
        yield Component.BODY, ShapeType.LINE, sketch["scale"]["points"]
        yield Component.BODY, ShapeType.BOX, _around(sketch["anchor"], sketch["scale"]["point_sd_px"])
    if photo:
        tops = [p for p in (photo.get("toe_board"), photo.get("mid_rail"), *photo.get("top_rail", ())) if p]
        yield Component.BODY, ShapeType.POLYLINE, [photo["base"], *tops]
        yield Component.BODY, ShapeType.LINE, photo["scale"]["points"]


def _around(point: Sequence[float], sd: float) -> list[list[float]]:
    return [[point[0] - 2 * sd, point[1] - 2 * sd], [point[0] + 2 * sd, point[1] + 2 * sd]]


def drawn_upon(case: Mapping[str, Any]) -> bool:
    """Whether a case came from a picture; then the record's first photo is that picture."""
    return any(case.get(key) for key in ("arrow", "sketch", "photo"))
