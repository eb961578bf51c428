"""Travel restraint: the roof typed, listed or drawn, and what ties the worker to the anchor."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import ShapeType
from inspect_core.rigging.roof_input import LONGEST_CSV
from inspect_core.screens.frame import plain
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.rigging import answer, corners, fields, guardrail, picture
from inspect_core.screens.rigging.bench import Bench
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st
from inspect_core.usecases.setup import rig_case

_AREAS = (ShapeType.POLYGON, ShapeType.FREEHAND)
_TYPED, _LIST, _DRAWN = "Type corners", "List (CSV)", "Draw it"
_TETHER = (
    Ask("rope", "Longest rope: anchor to the end stop of the rope grab", "length", measured=True),
    Ask("lanyard", "Lanyard between rope grab and harness", "length", hint="0 when there is none.", measured=True),
    Ask("stretch_share", "Rope stretches by", "percent", hint="From the rope's maker."),
    Ask("harness_shift", "Harness ring moves by", "length", hint="Pull it forward and measure.", measured=True),
    Ask(
        "body_reach",
        "Body reaches beyond the ring by",
        "length",
        hint="Worker leaning out, arms stretched.",
        measured=True,
    ),
)
_POINTS = Ask("point_uncertainty", "Corners and anchor are right within ±", "small")
_EXAMPLE = "ring,x,y,edge\nroof,0,0,closed\nroof,12,0,\nroof,12,8,\nroof,0,8,\nopening 1,9,3,\n…\nanchor,4,4,\n"


def show(bench: Bench) -> None:
    """Roof, tether, and the plan as it stands."""
    key = bench.key("way")
    fields.seed(key, bench.body["way"])
    st.segmented_control(
        "How do you give the roof?",
        [_TYPED, _LIST, _DRAWN],
        key=key,
        on_change=lambda: bench.keep(lambda body: body.__setitem__("way", st.session_state[key])),
        width="stretch",
    )
    way = bench.body["way"]
    if way is None:
        return
    _WAYS[way](bench)
    st.subheader("What ties the worker to the anchor")
    fields.draw(bench, _TETHER)
    fields.spread(bench)
    _plan(bench)


def _listed(bench: Bench) -> None:
    st.markdown(
        f"One row per corner, walking once around; lengths in **{'feet' if bench.feet else 'metres'}**. A “closed” in "
        "the last column says that nobody can fall over the edge that starts there: a wall, or a guardrail with its "
        "own check."
    )
    upload_key, text_key = bench.key("csv", "file"), bench.key("csv", "text")
    fields.seed(text_key, bench.body["csv"])

    def take() -> None:
        upload = st.session_state[upload_key]
        if upload is not None:
            text = upload.getvalue()[: LONGEST_CSV + 1].decode("utf-8-sig", errors="replace")
            st.session_state[text_key] = text
            bench.keep(lambda body: body.__setitem__("csv", text))

    def typed() -> None:
        text = st.session_state[text_key]
        bench.keep(lambda body: body.__setitem__("csv", text))

    st.file_uploader("CSV file of points", type=["csv", "txt"], key=upload_key, on_change=take)
    st.text_area(
        "Or the list itself",
        max_chars=LONGEST_CSV + 1,
        key=text_key,
        on_change=typed,
        height=180,
        placeholder=_EXAMPLE,
    )
    fields.draw(bench, (_POINTS,))


def _typed(bench: Bench) -> None:
    corners.show(bench)
    fields.draw(bench, (_POINTS,))


def _drawn(bench: Bench) -> None:
    st.markdown("**A plan, or a photo that looks straight down. A photo from the side gives wrong lengths.**")
    photo = picture.ask(bench, "Plan or photo of the roof")
    if photo is None:
        return
    st.markdown(
        "With **Area** draw the roof, and openings inside it; with **Line** draw along something whose length you "
        "know; with **Box** draw a small box around the anchor."
    )
    picture.mark(bench, photo, (Component.BODY,), _names)
    fields.draw(bench, (guardrail.KNOWN, guardrail.KNOWN_SPREAD))
    st.caption("Measured on the spot, or printed on the plan: a whole side of the roof is best.")
    try:
        if picture.drawn(bench):
            _closed(bench, _sketch(bench))
    except BadInput as error:
        show_error(error)
    picture.another(bench)


def _names(bench: Bench) -> list[str]:
    """What each shape counts as."""
    shapes = [picture.shape_of(one) for one in picture.drawn(bench)]
    largest = max((shape.area() for shape in shapes if shape.type in _AREAS), default=0.0)
    others = {ShapeType.LINE: "Counts as the known length", ShapeType.BOX: "Counts as the anchor"}
    return [
        (f"Counts as {'the roof' if shape.area() == largest else 'an opening'}, {len(shape.points)} corners")
        if shape.type in _AREAS
        else others.get(shape.type, "Counts as nothing here")
        for shape in shapes
    ]


def _sketch(bench: Bench) -> dict[str, Any]:
    """The `sketch` of the case: the largest area is the roof. Raises BadInput while the drawing is not whole."""
    shapes = [picture.shape_of(kept) for kept in picture.drawn(bench)]
    areas = sorted((s for s in shapes if s.type in _AREAS), key=lambda s: s.area(), reverse=True)
    boxes = [s for s in shapes if s.type is ShapeType.BOX]
    lines = [s for s in shapes if s.type is ShapeType.LINE]
    if len(areas) + len(boxes) + len(lines) != len(shapes):
        raise BadInput("A bent line means nothing on a roof.", "Delete it; draw the roof as an area.")
    if not areas:
        raise BadInput("The roof is not drawn.", "Draw it with Area, corner by corner.")
    if len(boxes) != 1:
        raise BadInput(
            "The anchor is not drawn." if not boxes else f"There are {len(boxes)} boxes on the picture.",
            "Draw one small Box around the anchor.",
        )
    return {
        "roof": picture.pairs(areas[0]),
        "openings": [picture.pairs(area) for area in areas[1:]],
        "anchor": picture.middle(boxes[0]),
        "scale": picture.known_length(lines, guardrail.known(bench), picture.pointing(bench)),
    }


def _closed(bench: Bench, sketch: Mapping[str, Any]) -> None:
    rings = {"roof": sketch["roof"], **{f"opening {n}": ring for n, ring in enumerate(sketch["openings"], 1)}}
    edges = [f"{ring}, edge {n}" for ring, points in rings.items() for n in range(1, len(points) + 1)]
    if len(edges) > 60:
        return
    key = bench.key("closed")
    fields.seed(key, [edge for edge in bench.values.get("closed", []) if edge in edges])
    st.multiselect(
        "Edges nobody can fall over: a wall, or a guardrail with its own check",
        edges,
        key=key,
        placeholder="None",
        on_change=lambda: bench.put("closed", list(st.session_state[key])),
    )
    st.caption("Edge 1 runs from the first corner you drew to the second, and so on around.")


def needed(bench: Bench) -> list[str]:
    """What cannot be left open."""
    return [] if bench.body["way"] else ["The roof"]


def case(bench: Bench) -> dict[str, Any]:
    """The case in the way in which the roof was given. Raises BadInput while it is not whole."""
    out = fields.given(bench, _TETHER)
    way = bench.body["way"]
    if way == _LIST:
        return {**out, "csv": bench.body["csv"], **fields.given(bench, (_POINTS,))}
    if way == _TYPED:
        return {**out, **corners.case(bench), **fields.given(bench, (_POINTS,))}
    if bench.body["photo"] is None:
        raise BadInput("There is no picture to draw the roof on.", "Take a photo straight down, or a plan.")
    closed = [edge.split(", edge ") for edge in bench.values.get("closed", [])]
    edges = [{"ring": ring, "edge": int(number)} for ring, number in closed]
    return {**out, "sketch": _sketch(bench), **({"closed_edges": edges} if edges else {})}


def _plan(bench: Bench) -> None:
    """The plan as far as it is known, so that a wrong corner is seen where it was typed."""
    if bench.body["way"] == _LIST and not bench.body["csv"].strip():
        return
    if bench.body["way"] == _TYPED and corners.untouched(bench):
        return
    if bench.body["way"] == _DRAWN and not picture.drawn(bench):
        return
    st.subheader("The plan so far")
    try:
        result = rig_case({"check": bench.check, "profile": bench.profile, "units": bench.units, **case(bench)})
    except BadInput as error:
        if bench.body["way"] == _DRAWN:
            st.caption(plain("The plan appears when roof, anchor and known length are drawn."))
        else:
            show_error(error)
        return
    answer.drawings(result)
    answer.key_figure(result)


_WAYS: Mapping[str, Callable[[Bench], None]] = {_TYPED: _typed, _LIST: _listed, _DRAWN: _drawn}
