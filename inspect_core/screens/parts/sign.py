"""The answer in one glance: shape, safety colour and words, after ISO 3864-1 and ISO 3864-4."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from datetime import date
from html import escape
from types import MappingProxyType

from inspect_core.domain.custody import Standing, State
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.palette import FINDING_SIGNS, OUTCOME_SIGNS, STATE_SIGNS, SafetySign, SignShape
from inspect_core.screens.speaking import st

STATE_HEADLINES: Mapping[State, str] = MappingProxyType(
    {
        State.IN_SERVICE: "May be used",
        State.ON_HOLD: "On hold: do not use",
        State.WITHDRAWN: "Withdrawn: never use again",
        State.DESTROYED: "Destroyed",
    }
)
OUTCOME_HEADLINES: Mapping[Outcome, str] = MappingProxyType(
    {
        Outcome.IN_SERVICE: STATE_HEADLINES[State.IN_SERVICE],
        Outcome.HOLD: STATE_HEADLINES[State.ON_HOLD],
        Outcome.WITHDRAW: STATE_HEADLINES[State.WITHDRAWN],
    }
)

#: What an inspection found back then. It says nothing about today: an item found fit may be held, overdue or withdrawn
#: by now, and only the sign of its standing says whether it may be used.
PAST_HEADLINES: Mapping[Outcome, str] = MappingProxyType({**OUTCOME_HEADLINES, Outcome.IN_SERVICE: "Found fit"})

#: Stands beside every inspection that does not count any more.
CORRECTED = "A later inspection corrects this one."

_WARNING = STATE_SIGNS[State.ON_HOLD]
_SAFE = OUTCOME_SIGNS[Outcome.IN_SERVICE]
#: The tick alone, without the safe condition's green field: that is kept for what holds now.
_FOUND_FIT = SafetySign(_SAFE.shape, _SAFE.contrast, _SAFE.colour, PAST_HEADLINES[Outcome.IN_SERVICE], "")
_OVERDUE = SafetySign(
    _WARNING.shape,
    _WARNING.colour,
    _WARNING.contrast,
    "Inspection overdue: do not use",
    "A competent person inspects it in detail before it is used again.",
)

_TOO_OLD = SafetySign(
    _WARNING.shape,
    _WARNING.colour,
    _WARNING.contrast,
    "Past its age: do not use",
    "Keep it apart. A competent person inspects it in detail and decides.",
)

_DRAWINGS = {
    # Safe condition: a square with a tick in the contrast colour.
    SignShape.SQUARE: (
        '<rect x="4" y="4" width="92" height="92" fill="{colour}"/>'
        '<path d="M24 52 L43 71 L77 31" fill="none" stroke="{contrast}" stroke-width="12"/>'
    ),
    # Warning: a triangle with a black border and an exclamation mark.
    SignShape.TRIANGLE: (
        '<path d="M50 7 L96 90 L4 90 Z" fill="{colour}" stroke="{contrast}" stroke-width="7" stroke-linejoin="round"/>'
        '<path d="M50 36 L50 62" stroke="{contrast}" stroke-width="9" stroke-linecap="round"/>'
        '<circle cx="50" cy="77" r="5.5" fill="{contrast}"/>'
    ),
    # Prohibition: a red ring with a bar from upper left to lower right on white (the general sign, ISO 7010 P001).
    SignShape.PROHIBITION: (
        '<circle cx="50" cy="50" r="42" fill="{contrast}" stroke="{colour}" stroke-width="11"/>'
        '<path d="M21 21 L79 79" stroke="{colour}" stroke-width="11"/>'
    ),
}


def sign_svg(sign: SafetySign) -> str:
    """The sign as SVG on a 100 by 100 grid."""
    inside = _DRAWINGS[sign.shape].format(colour=sign.colour, contrast=sign.contrast)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">{inside}</svg>'


def _image(sign: SafetySign, size: int) -> str:
    data = base64.b64encode(sign_svg(sign).encode()).decode()
    return f'<img src="data:image/svg+xml;base64,{data}" width="{size}" height="{size}" alt="">'


def banner(sign: SafetySign, headline: str, instruction: str) -> None:
    """The whole width in the safety colour, the sign on white beside the words. `headline` and `instruction` may hold
    words of people; they are escaped."""
    st.html(
        f'<div role="status" style="display:flex;gap:1rem;align-items:center;background:{sign.colour};'
        f'color:{sign.contrast};border-radius:8px;padding:0.9rem">'
        f'<div style="background:#FFFFFF;border-radius:6px;padding:6px;flex:none;line-height:0">'
        f"{_image(sign, 76)}</div>"
        f'<div><div style="font-size:1.65rem;font-weight:750;line-height:1.15">{escape(headline)}</div>'
        f'<div style="font-size:1.05rem;margin-top:0.3rem">{escape(instruction)}</div></div></div>'
    )


def outcome_banner(outcome: Outcome) -> None:
    """What an inspection at hand comes to, as large as it gets."""
    banner(OUTCOME_SIGNS[outcome], OUTCOME_HEADLINES[outcome], OUTCOME_SIGNS[outcome].instruction)


def standing_sign(standing: Standing, today: date, aged: str) -> tuple[SafetySign, str, str]:
    """Sign, headline and instruction for where an item stands. Gear in service that is past its age (`aged`: what its
    age says), or whose inspection in detail is overdue, is never shown in green: its next check before use would hold
    it."""
    sign = STATE_SIGNS[standing.state]
    if standing.usable and aged:
        return _TOO_OLD, _TOO_OLD.word, _TOO_OLD.instruction
    if standing.usable and standing.overdue_on(today):
        return _OVERDUE, _OVERDUE.word, _OVERDUE.instruction
    return sign, STATE_HEADLINES[standing.state], sign.instruction


def standing_banner(standing: Standing, today: date, aged: str) -> None:
    """Where an item stands now, as large as it gets."""
    banner(*standing_sign(standing, today, aged))


def chip_html(sign: SafetySign, word: str) -> str:
    """A small sign with its word, as HTML. `word` is escaped."""
    return (
        '<span style="display:inline-flex;gap:0.4rem;align-items:center;font-weight:650">'
        f'<span style="background:#FFFFFF;border-radius:4px;padding:2px;line-height:0">{_image(sign, 24)}</span>'
        f"{escape(word)}</span>"
    )


def mark(sign: SafetySign) -> None:
    """A sign alone, for a list whose words say the same."""
    st.html(
        f'<div style="background:#FFFFFF;border-radius:4px;padding:2px;line-height:0">{_image(sign, 30)}</div>',
        width="content",
    )


def outcome_chip(outcome: Outcome) -> None:
    """What a recorded inspection found back then, in a list."""
    sign = _FOUND_FIT if outcome is Outcome.IN_SERVICE else OUTCOME_SIGNS[outcome]
    st.html(chip_html(sign, PAST_HEADLINES[outcome]), width="content")


def finding_chip(outcome: FindingOutcome) -> None:
    """What one rule says."""
    st.html(chip_html(FINDING_SIGNS[outcome], FINDING_SIGNS[outcome].word))
