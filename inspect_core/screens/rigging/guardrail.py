"""Guardrail: heights typed or taken from a photo with a known length, then what the profile asks beside them."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.rigging.units import Dimension, from_base
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.rigging import fields, picture
from inspect_core.screens.rigging.bench import Bench
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st

_TYPED, _PHOTO = "Type heights", "From a photo"
_TOPS = (
    Ask("top rail lowest", "Top rail, lowest place", "length", uses=("top rail height",), measured=True),
    Ask("top rail highest", "Top rail, highest place", "length", measured=True),
)
_MID = Ask(
    "mid_rail",
    "Mid rail",
    "length",
    hint="0 when there is none.",
    uses=("mid rail height", "mid rail above toe board"),
    measured=True,
)
_TOE = Ask("toe_board", "Toe board", "small", hint="0 when there is none.", uses=("toe board height",), measured=True)
_RAILS = {"Toe board": "toe_board", "Mid rail": "mid_rail", "Top rail": "top_rail"}
KNOWN = Ask("known length", "Known length", "length")
KNOWN_SPREAD = Ask("known length within", "Known length within ±", "small")
_MATERIALS = {"Timber": "timber", "Wire rope": "wire rope", "Other": "other"}
_MATERIAL = Ask("material", "Rails are of", "word", words=_MATERIALS)
_SECTION = (
    Ask("thickness", "Timber thickness, thinnest place", "small", uses=("timber thickness",), measured=True),
    Ask("depth", "Timber depth", "small", uses=("timber depth",), measured=True),
)
_WIRE = (
    Ask("rope_diameter", "Wire rope diameter", "small", uses=("wire rope rail diameter",), measured=True),
    Ask("separators", "Spacing of the separators", "length", uses=("wire rope rail separators",), measured=True),
)
#: Asked only where the profile has a figure for it: no place asks for all of them.
_WHERE_ASKED = (
    Ask("toe_gap", "Gap under the toe board", "small", uses=("toe board gap",), measured=True),
    Ask(
        "edge_distance",
        "Guardrail from the edge, widest place",
        "small",
        uses=("guardrail from the edge",),
        measured=True,
    ),
)
_SPACING = Ask("post_spacing", "Widest post spacing, centre to centre", "length", uses=("post spacing",), measured=True)
_ACCEPTED = Ask("strength_accepted", "A competent person accepted posts, rails and fixings", "flag")
_LOADS = (
    Ask("top_load", "Top rail, sideways load", "force", uses=("top rail load",)),
    Ask("top_load_down", "Top rail, downward load", "force", uses=("top rail downward load",)),
    Ask("mid_load", "Mid rail load", "force", uses=("mid rail load",)),
    Ask("toe_load", "Toe board load", "force", uses=("toe board load",)),
)


def show(bench: Bench) -> None:
    """Heights first; then material, spacing and strength."""
    key = bench.key("way")
    fields.seed(key, bench.body["way"])
    st.segmented_control(
        "Heights above the surface the feet stand on",
        [_TYPED, _PHOTO],
        key=key,
        on_change=lambda: bench.keep(lambda body: body.__setitem__("way", st.session_state[key])),
        width="stretch",
    )
    if bench.body["way"] == _TYPED:
        fields.draw(bench, (*_TOPS, _MID, _TOE))
    elif bench.body["way"] == _PHOTO:
        _photo(bench)
    else:
        return
    st.subheader("Beside the heights")
    fields.draw(bench, (_MATERIAL, *_beside(bench)))
    st.subheader("Strength")
    fields.draw(bench, (_ACCEPTED,))
    with st.expander("Or the loads it was designed or tested for"):
        fields.draw(bench, _LOADS)
    fields.spread(bench, "the typed lengths")


def needed(bench: Bench) -> list[str]:
    return [] if bench.body["way"] else ["Heights"]


def _beside(bench: Bench) -> tuple[Ask, ...]:
    material = bench.values.get(_MATERIAL.name)
    more = _SECTION if material == "timber" else _WIRE if material == "wire rope" else ()
    asked = tuple(ask for ask in _WHERE_ASKED if any(fields.figure_words(use, bench.profile) for use in ask.uses))
    spaced = material == "wire rope" or fields.figure_words("post spacing", bench.profile)
    return (*more, *((_SPACING,) if spaced else ()), *asked)


def _photo(bench: Bench) -> None:
    st.markdown("**Face the guardrail squarely, with a rule or tape held at one post in the picture.**")
    photo = picture.ask(bench, "Photo of the guardrail")
    if photo is None:
        return
    st.markdown(
        "With **Line** draw along the known length. Then with **Bent** tap up one post: the surface, then the top "
        "of each board and rail, and Finish."
    )
    picture.mark(bench, photo, (Component.BODY,), _names)
    key = bench.key("rails")
    names = {value: word for word, value in _RAILS.items()}
    fields.seed(key, [names[value] for value in bench.values.get("rails", list(_RAILS.values()))])
    st.pills(
        "What you tapped above the surface, from below",
        list(_RAILS),
        selection_mode="multi",
        key=key,
        on_change=lambda: bench.put("rails", [_RAILS[w] for w in _RAILS if w in st.session_state[key]]),
    )
    fields.draw(bench, (KNOWN, KNOWN_SPREAD))
    st.caption("Measured on the spot: a rule or tape held at the post.")
    try:
        if picture.drawn(bench):
            _heights(bench)
    except BadInput as error:
        show_error(error)
    picture.another(bench)


def _names(bench: Bench) -> list[str]:
    """What each shape counts as."""
    words = {ShapeType.LINE: "Counts as the known length", ShapeType.POLYLINE: "Counts as the way up the post"}
    return [words.get(picture.shape_of(one).type, "Counts as nothing here") for one in picture.drawn(bench)]


def _heights(bench: Bench) -> dict[str, Any]:
    """The `photo` of the case. Raises BadInput while the drawing is not whole."""
    shapes = [picture.shape_of(kept) for kept in picture.drawn(bench)]
    lines = [s for s in shapes if s.type is ShapeType.LINE]
    bent = [s for s in shapes if s.type is ShapeType.POLYLINE]
    if len(lines) + len(bent) != len(shapes):
        raise BadInput("Only lines and bent lines count here.", "Delete what else is drawn.")
    if len(bent) != 1:
        raise BadInput(
            "No bent line goes up a post." if not bent else f"There are {len(bent)} bent lines.",
            "Draw one, from the surface up to the top rail.",
        )
    rails = bench.values.get("rails", list(_RAILS.values()))
    above = picture.pairs(bent[0])[1:]
    if len(above) != len(rails) or not rails:
        raise BadInput(
            f"The bent line has {len(above)} points above the surface, and {len(rails)} rails and boards are named.",
            "Name exactly those you tapped, or draw the bent line again.",
        )
    return {**_placed(bent[0], rails), "scale": picture.known_length(lines, known(bench), picture.pointing(bench))}


def _placed(bent: Shape, rails: list[str]) -> dict[str, Any]:
    base, *above = picture.pairs(bent)
    named = dict(zip(rails, above, strict=True))
    out: dict[str, Any] = {"base": base}
    for rail, point in named.items():
        out[rail] = [point] if rail == "top_rail" else point
    return out


def known(bench: Bench) -> dict[str, Any] | None:
    """The known length with its own uncertainty, both as entered."""
    entered = fields.given(bench, (KNOWN, KNOWN_SPREAD))
    length, within = entered.get(KNOWN.name), entered.get(KNOWN_SPREAD.name)
    if length is None:
        return None
    if within is not None:
        metres = fields.in_unit(within, "m", Dimension.LENGTH)
        length["uncertainty"] = round(from_base(metres, length["unit"], Dimension.LENGTH), 9)
    return dict(length)


def case(bench: Bench) -> dict[str, Any]:
    """The case; a timber section goes in only whole."""
    out = fields.given(bench, (_MATERIAL, *_beside(bench), _ACCEPTED, *_LOADS))
    thickness, depth = out.pop("thickness", None), out.pop("depth", None)
    if thickness and depth:
        out["timber"] = [thickness, depth]
    if bench.body["way"] == _PHOTO:
        return {**out, "photo": _heights(bench)} if bench.body["photo"] else out
    typed = fields.given(bench, (*_TOPS, _MID, _TOE))
    tops = [typed.pop(ask.name) for ask in _TOPS if ask.name in typed]
    return {**out, **typed, **({"top_rail": tops} if tops else {})}
