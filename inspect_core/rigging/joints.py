"""Hooks and gates: connections that can roll out, press on a gate, or never close.

Trade habit throughout, no source in our table: a snap hook closes and locks by itself, and is clipped to a ring that
passes its gate, alone, and never to another hook, to webbing or to bare rope.
"""

from __future__ import annotations

from inspect_core.rigging.kit import Gate, JoinedTo, Joint, Kit
from inspect_core.rigging.result import HABIT, Answer, Line, missing, within
from inspect_core.rigging.units import Quantity

_NEVER = {
    JoinedTo.HOOK: "A hook in another hook can press its gate open and roll out.",
    JoinedTo.WEBBING: "A hook straight on webbing cuts it and can roll out.",
    JoinedTo.ROPE: "A hook on bare rope without a thimble wears it and can roll out.",
}


def joint_lines(kit: Kit) -> list[Line]:
    """Lines for every joint; a kit without joints described asks."""
    if not kit.joints:
        return [
            missing("hooks and gates", "How the parts are clipped together", "Describe each hook and what it is in.")
        ]
    return [line for joint in kit.joints for line in _joint(joint)]


def _joint(joint: Joint) -> list[Line]:
    topic = f"{joint.hook} in {joint.to}"
    return [_gate(topic, joint), *_fellow(topic, joint), *_size(topic, joint)]


def _gate(topic: str, joint: Joint) -> Line:
    topic = f"{topic}: gate"
    if joint.gate is None:
        return missing(
            topic, "How the gate closes and locks", "Try it: let it snap shut, then press without unlocking."
        )
    if joint.gate is Gate.SELF_LOCKING:
        return Line(topic, Answer.GO, "The gate closes and locks by itself.", HABIT)
    if joint.gate is Gate.SCREW:
        return Line(
            topic,
            Answer.ASK,
            "A screw gate locks only when somebody has turned it.",
            HABIT,
            "A competent person says whether it may be used here; screw it shut and check.",
        )
    return Line(
        topic, Answer.NO, "The gate does not lock by itself and can roll out.", HABIT, "Use a self-locking hook."
    )


def _fellow(topic: str, joint: Joint) -> list[Line]:
    topic = f"{topic}: joined to"
    if joint.joined_to is None:
        return [missing(topic, "What the hook is clipped to", "Look at the joint.")]
    if joint.joined_to in _NEVER:
        return [Line(topic, Answer.NO, _NEVER[joint.joined_to], HABIT, "Clip it to a ring made for it.")]
    lines = [Line(topic, Answer.GO, f"Clipped to a {joint.joined_to.value}.", HABIT)]
    if joint.joined_to is JoinedTo.RING:
        alone = f"{topic}, alone"
        if joint.alone_in_ring is None:
            lines.append(missing(alone, "Whether another hook hangs in the same ring", "Look at the ring."))
        elif not joint.alone_in_ring:
            lines.append(
                Line(
                    alone,
                    Answer.NO,
                    "Two hooks in one ring can press each other's gate open.",
                    HABIT,
                    "One hook to one ring, unless the maker allows more.",
                )
            )
        else:
            lines.append(Line(alone, Answer.GO, "Alone in its ring.", HABIT))
    return lines


def _size(topic: str, joint: Joint) -> list[Line]:
    """The bar must pass the gate; otherwise it cannot close, and a ring that jams can lever it open."""
    topic = f"{topic}: size"
    if joint.joined_to in _NEVER or joint.joined_to is None:
        return []
    if joint.throat is None or joint.bar is None:
        what = "The opening of the gate" if joint.throat is None else "The thickness of what the hook holds"
        return [missing(topic, what, "Measure both in millimetres.")]
    bar = Quantity(
        round(joint.bar.value * 1000, 6), round((joint.bar.uncertainty + joint.throat.uncertainty) * 1000, 6)
    )
    opening = round(joint.throat.value * 1000, 6)
    words = f"The gate opens {opening:g} mm."
    return [within(topic, bar, "mm", HABIT, words, high=opening, digits=1, remedy="Use a hook that closes over it.")]
