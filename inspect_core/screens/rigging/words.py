"""What a set-up check is called, and how its three answers look."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.palette import FINDING_SIGNS, SafetySign
from inspect_core.rigging.result import Answer


@dataclass(frozen=True, slots=True)
class CheckWords:
    """Title, icon, and in one plain sentence what the check answers."""

    title: str
    icon: str
    sentence: str


#: In the order in which the work goes: the gear, how it is put on, then the place.
CHECKS: Mapping[str, CheckWords] = MappingProxyType(
    {
        "kit fit": CheckWords(
            "Kit fit", ":material/handyman:", "Do harness, lanyard, rope grab, line and anchor belong together today?"
        ),
        "direction": CheckWords(
            "Rope grab direction",
            ":material/arrow_upward:",
            "Does its arrow point to the anchor, does it lock, does the harness sit right?",
        ),
        "restraint": CheckWords(
            "Travel restraint", ":material/crop_free:", "Is the rope short enough that nobody gets over an edge?"
        ),
        "clearance": CheckWords("Fall clearance", ":material/height:", "Is there room below to stop a fall?"),
        "swing": CheckWords("Swing", ":material/undo:", "How far would a fall to the side swing, and into what?"),
        "anchor": CheckWords("Anchor", ":material/anchor:", "Is the anchor strong enough for this use?"),
        "guardrail": CheckWords("Guardrail", ":material/fence:", "Are rails, posts and boards as they must be?"),
    }
)

PROFILE_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "common": "Common: no place's own figures",
        "canada ontario": "Canada: Ontario, construction",
        "us construction": "US: construction",
        "us general industry": "US: general industry",
        "uk europe": "UK and Europe",
    }
)
UNIT_SYSTEMS: Mapping[str, str] = MappingProxyType({"m, kg, kN": "SI", "ft, lb, lbf": "feet"})


@dataclass(frozen=True, slots=True)
class AnswerWords:
    """Sign after ISO 3864, headline and instruction of an answer, and the word on a single line."""

    sign: SafetySign
    headline: str
    instruction: str
    word: str


_SIGN_OF = {
    Answer.GO: FINDING_SIGNS[FindingOutcome.CLEARED],
    Answer.ASK: FINDING_SIGNS[FindingOutcome.HOLD],
    Answer.NO: FINDING_SIGNS[FindingOutcome.WITHDRAW],
}
ANSWERS: Mapping[str, AnswerWords] = MappingProxyType(
    {
        Answer.GO.value: AnswerWords(
            _SIGN_OF[Answer.GO], "GO", "Every line of this check is in order. It covers nothing else.", "In order"
        ),
        Answer.ASK.value: AnswerWords(
            _SIGN_OF[Answer.ASK],
            "ASK A COMPETENT PERSON",
            "Something is not known or too close to tell. Do not start before it is settled.",
            "Ask",
        ),
        Answer.NO.value: AnswerWords(
            _SIGN_OF[Answer.NO], "DO NOT GO", "Mend what is named below, then check again.", "Do not go"
        ),
    }
)

BASIS_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "published": "published",
        "maker": "the maker's own figure",
        "common practice": "common practice",
        "from memory": "from memory: check it against the printed text",
        "geometry": "geometry",
    }
)
