"""Rope grab direction: arrow and rope drawn on a photo, the pull test, and how the harness sits."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import ShapeType
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.rigging import fields, picture
from inspect_core.screens.rigging.bench import Bench
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st

_PULL = Ask(
    "pull_test",
    "Pull test: hold the rope on its anchor side and pull the ring sharply",
    "word",
    words={"It locked": "locked", "It slipped": "slipped"},
)
_FIT = (
    Ask("back_ring_between_shoulder_blades", "Back ring sits between the shoulder blades", "flag"),
    Ask("chest_strap_mid_chest", "Chest strap sits at mid-chest", "flag"),
    Ask("leg_straps_snug", "Leg straps are snug", "flag"),
)


def show(bench: Bench) -> None:
    """Photo with two lines, then four taps."""
    st.markdown("**Photograph the rope grab on its rope, close and from the side, with the anchor side in view.**")
    photo = picture.ask(bench, "Photo of the rope grab")
    if photo is not None:
        st.markdown(
            "With **Line** draw two lines. **First the arrow**, from its tail to its head. **Then the rope**, from the "
            "grab toward the anchor."
        )
        picture.mark(bench, photo, (Component.DIRECTION_ARROW, Component.ROPE), _names)
        if len(picture.drawn(bench)) == 1:
            st.info("One line so far. Now draw the other.")
        else:
            try:
                _lines(bench)
            except BadInput as error:
                show_error(error)
        picture.another(bench)
    fields.draw(bench, (_PULL, *_FIT))


def case(bench: Bench) -> dict[str, Any]:
    """What the check needs. Raises BadInput for marks that are not two lines."""
    out = fields.given(bench, (_PULL, *_FIT))
    lines = _lines(bench)
    if lines is not None:
        arrow, rope = lines
        out |= {"arrow": arrow, "rope": rope, "point_sd_px": picture.pointing(bench)}
    return out


def _names(bench: Bench) -> list[str]:
    """What each line counts as."""
    turned = _parts(bench)[:2] == [Component.ROPE.value, Component.DIRECTION_ARROW.value]
    return ["Counts as the rope", "Counts as the arrow"] if turned else ["Counts as the arrow", "Counts as the rope"]


def _parts(bench: Bench) -> list[str]:
    return [one["component"] for one in picture.drawn(bench)]


def _lines(bench: Bench) -> tuple[list[list[float]], list[list[float]]] | None:
    """Arrow and rope. Their parts say which is which; where both carry the same part, the order of drawing does, and
    the angle between two lines is the same either way."""
    kept = picture.drawn(bench)
    if not kept:
        return None
    shapes = [picture.shape_of(one) for one in kept]
    if len(shapes) != 2 or any(shape.type is not ShapeType.LINE for shape in shapes):
        raise BadInput(
            "The photo needs exactly two lines: the arrow and the rope.",
            "Draw the arrow from tail to head and the rope toward the anchor; delete whatever else is drawn.",
        )
    first, second = (picture.pairs(shape) for shape in shapes)
    if _parts(bench) == [Component.ROPE.value, Component.DIRECTION_ARROW.value]:
        first, second = second, first
    return first, second
