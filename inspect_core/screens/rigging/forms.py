"""The three short forms: fall clearance, swing, anchor."""

from __future__ import annotations

from typing import Any

from inspect_core.rigging.arrest import AbsorberClass
from inspect_core.screens.frame import plain
from inspect_core.screens.rigging import fields
from inspect_core.screens.rigging.bench import Bench
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st

ABSORBER_CLASSES = {one.value: one.value for one in AbsorberClass}

_DATUM = Ask(
    "datum",
    "From where do you count down?",
    "word",
    words={"From the anchor": "anchor", "From where the feet stand": "walking surface"},
    needed=True,
)
_ROOM = Ask("available", "Room: from there down to the nearest thing below", "length", measured=True)
_MASS = Ask("user_mass", "Worker with clothing and tools", "mass", uses=("user mass",))
_SORTS = {"Lanyard or rope grab": "lanyard", "Self-retracting lifeline": "self-retracting"}
_SORT = Ask("sort", "What stops the fall?", "word", words=_SORTS, needed=True)
_LANYARD = Ask("lanyard", "Lanyard, hook to hook, absorber closed", "length", measured=True)
_ABOVE = Ask(
    "attachment_above_ring",
    "Attachment above the harness ring",
    "length",
    hint="Below zero when it is lower than the ring.",
    measured=True,
    sinks=True,
)
_LOCKING = Ask("locking", "Rope grab slides before it locks", "length", hint="From the maker; 0 without a rope grab.")
_STOPPING = Ask(
    "arrest_distance", "Stopping distance of the self-retracting lifeline", "length", hint="From its maker."
)
_RUNS_OUT = Ask("free_fall", "Free fall before it locks", "length", hint="From its maker.", uses=("free fall",))
_ABSORBER = Ask("absorber", "Class on the absorber's label", "word", words=ABSORBER_CLASSES)
_EXTENSION = Ask(
    "deceleration",
    "Greatest extension on the absorber's label",
    "length",
    uses=("deceleration",),
)
_STRETCH = (
    Ask("harness_stretch", "Harness stretch", "length", hint="From its maker."),
    Ask("rope_stretch", "Rope stretch in a fall", "length", hint="From its maker; 0 without a rope."),
)
_RING = Ask("ring_height", "Back ring above the soles", "length", measured=True)
_MARGIN = Ask("margin", "Margin kept free below the feet", "length", uses=("clearance margin",))
_SIDE = (
    Ask("swing_height", "Anchor above the ring", "length", measured=True),
    Ask("swing_offset", "Anchor to the side of the worker", "length", measured=True),
)
_LABEL = (
    Ask("max_free_fall", "Greatest free fall on the label", "length", uses=("free fall",)),
    Ask("arrest_force", "Greatest arrest force on the label", "force", uses=("arrest force",)),
    Ask("least_mass", "Lightest user on the label", "mass"),
    Ask("most_mass", "Heaviest user on the label", "mass"),
)


def _retracting(bench: Bench) -> bool:
    return bench.values.get(_SORT.name) == "self-retracting"


def _path(bench: Bench) -> tuple[Ask, ...]:
    """The questions that the fall goes through, in its order."""
    if _retracting(bench):
        return (_STOPPING, _RUNS_OUT)
    return (_LANYARD, _ABOVE, _LOCKING, _ABSORBER, _EXTENSION)


def show_clearance(bench: Bench) -> None:
    """What the fall runs through, in its order; then what the label allows."""
    fields.draw(bench, (_DATUM, _ROOM, _SORT, _MASS))
    if bench.values.get(_SORT.name) is None:
        return
    fields.prefill(bench, _MARGIN.name, "clearance margin")
    st.subheader("The way down")
    fields.draw(bench, (*_path(bench), *_STRETCH))
    if bench.values.get(_DATUM.name) == "anchor":
        fields.draw(bench, (_RING,))
    fields.draw(bench, (_MARGIN,))
    with st.expander("The anchor is to the side"):
        fields.draw(bench, _SIDE)
    st.subheader("What the label allows")
    fields.draw(bench, _LABEL)
    fields.spread(bench)


def needed_clearance(bench: Bench) -> list[str]:
    return fields.still_needed(bench, (_DATUM, _SORT))


def case_clearance(bench: Bench) -> dict[str, Any]:
    """The case; a mass range goes in only whole."""
    at_anchor = bench.values.get(_DATUM.name) == "anchor"
    asks = [_DATUM, _ROOM, _MASS, *_path(bench), *_STRETCH, _MARGIN, *_SIDE, *_LABEL]
    out = fields.given(bench, [*asks, _RING] if at_anchor else asks)
    return with_mass_range(out)


def with_mass_range(case: dict[str, Any]) -> dict[str, Any]:
    """Lightest and heaviest user as one range; half a range is no range and stays out."""
    least, most = case.pop("least_mass", None), case.pop("most_mass", None)
    return {**case, "mass_range": [least, most]} if least and most else case


_SWING = (
    Ask("height", "Anchor above the harness ring", "length", measured=True),
    Ask("offset", "Worker to the side of the anchor, at the farthest", "length", measured=True),
    Ask(
        "clear",
        "Clear way: from below the anchor to the nearest thing that could be hit",
        "length",
        hint="Along the swing, on either side.",
        measured=True,
    ),
    Ask("maker_offset", "Greatest offset the maker allows", "length"),
)


def show_swing(bench: Bench) -> None:
    fields.draw(bench, _SWING)
    fields.spread(bench)


def case_swing(bench: Bench) -> dict[str, Any]:
    return fields.given(bench, _SWING)


_USES = {
    "Travel restraint": "travel restraint",
    "Fall arrest with absorber": "fall arrest",
    "Fall arrest, no absorber": "fall arrest without absorber",
}
_ANCHOR = (
    Ask("use", "What is it to hold?", "word", words=_USES, needed=True),
    Ask("persons", "Persons attached at one time", "count", needed=True),
    Ask("rating", "Rated strength in the direction of the pull", "force"),
    Ask(
        "rated_by",
        "Who answers for the rating?",
        "word",
        words={"Maker": "maker", "Engineer": "engineer", "Nobody": "nobody"},
    ),
    Ask("inspected", "Looked over today, and nothing wrong seen", "flag"),
)


def show_anchor(bench: Bench) -> None:
    fields.draw(bench, _ANCHOR[:2])
    use = bench.values.get("use")
    words = fields.figure_words(f"anchor: {use}", bench.profile) if use else ""
    if words:
        st.caption(plain(words))
    fields.draw(bench, _ANCHOR[2:])


def needed_anchor(bench: Bench) -> list[str]:
    return fields.still_needed(bench, _ANCHOR)


def case_anchor(bench: Bench) -> dict[str, Any]:
    return fields.given(bench, _ANCHOR)
