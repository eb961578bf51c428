"""The fields of an item in a form: only the numbers that rules of its kind need, empty or as registered."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component, Fibre, Item, Kind, components_of
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.words.events import QUESTION_WORDS
from inspect_core.usecases import register
from inspect_core.usecases.questions import lasting_of

#: Field → words, hint. Lengths in millimetres.
#: What is typed for a number, with its unit.
_MOST_DIGITS = 60
_NUMBERS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "webbing_width_mm": ("Webbing width (mm)", "Edge to edge, from the label or measured on sound webbing."),
        "rope_diameter_mm": ("Rope diameter (mm)", "Nominal diameter, from the label."),
        "packed_length_mm": ("Energy absorber, packed length (mm)", "Length of the pack as new, from the maker."),
        "throat_mm": ("Hook throat opening (mm)", "Nominal opening, from the maker or measured when new."),
    }
)
_NEEDS: Mapping[str, tuple[Component, ...]] = MappingProxyType(
    {
        "webbing_width_mm": (Component.WEBBING,),
        "rope_diameter_mm": (Component.ROPE, Component.WIRE_ROPE),
        "packed_length_mm": (Component.ENERGY_ABSORBER,),
        "throat_mm": (Component.SNAP_HOOK, Component.BODY),
    }
)
_FIBRES = (Component.WEBBING, Component.ROPE)
_OLDEST = date(1980, 1, 1)
_UNKNOWN = "not known"
_YES_NO: Mapping[str, str | bool] = MappingProxyType({_UNKNOWN: "", "yes": True, "no": False})

#: The key of a field's widget, by the field's name.
KeyOf = Callable[[str], str]


def numbers_of(kind: Kind) -> tuple[str, ...]:
    """The numbers that belong to a kind, because it has the component that they describe."""
    return tuple(name for name, needed in _NEEDS.items() if any(c in components_of(kind) for c in needed))


def fields(frame: Frame, kind: Kind, key_of: KeyOf, item: Item | None = None) -> dict[str, Any]:
    """Draw them and return what stands in them, by the names of an item's fields. `item`: what they start from, one
    below the other, since its page has little room beside its life; without one they start empty, in two columns."""
    drawn: dict[str, Any] = {"kind": kind.value}
    left, right = (st.container(), st.container()) if item else st.columns(2, gap="large")
    with left:
        drawn |= _identity(frame, key_of, item)
    with right:
        drawn |= _measured(frame, kind, key_of, item)
        drawn |= _dates(key_of, item)
    known = item is not None and (item.lasting_facts or item.maker_max_use_years)
    with st.expander("More, where it is known", expanded=bool(known)):
        drawn |= _lasting(frame, kind, key_of, item)
        drawn["maker_max_use_years"] = st.text_input(
            "Longest time in use the maker allows (years)",
            max_chars=_MOST_DIGITS,
            key=key_of("maker_max_use_years"),
            help="Counted from the first use, where the maker limits that as well.",
            **_typed(item.maker_max_use_years if item else None),
        )
    note = st.text_area(
        "Note", max_chars=register.MOST_NOTE, key=key_of("note"), height=80, **_start(item.note if item else "")
    )
    return drawn | {"note": note}


def faults_in(given: Mapping[str, Any]) -> tuple[BartackError, ...]:
    """Everything wrong with the fields, one refusal each; field by field first, then all of them together."""
    whole = {"tag": "A", "kind": given["kind"]}
    trials = [whole | {name: value} for name, value in given.items() if value]
    if not str(given.get("tag") or "").strip():
        trials.append({"kind": given["kind"]})
    faults = _refusals(trials)
    return tuple((faults or _refusals([dict(given)])).values())


def _refusals(trials: Sequence[Mapping[str, Any]]) -> dict[str, BartackError]:
    """Each different refusal once, by its problem."""
    refused: dict[str, BartackError] = {}
    for trial in trials:
        try:
            register.parse_item(trial, "")
        except BartackError as error:
            refused.setdefault(error.problem, error)
    return refused


def _start(value: Any) -> dict[str, Any]:
    """What a box starts with. Left out where there is nothing, so that a key may be given its value otherwise."""
    return {"value": value} if value else {}


def _typed(number: float | None) -> dict[str, Any]:
    return _start(f"{number:g}" if number is not None else "")


def _text(key_of: KeyOf, item: Item | None, name: str, words: str, **more: Any) -> str:
    start = _start(getattr(item, name) if item else "")
    return str(st.text_input(words, max_chars=register.MOST_TEXT, key=key_of(name), **start, **more) or "")


def _identity(frame: Frame, key_of: KeyOf, item: Item | None) -> dict[str, Any]:
    drawn: dict[str, Any] = {
        "tag": st.text_input(
            "Tag (needed)",
            max_chars=32,
            key=key_of("tag"),
            help="Letters, digits, dots, dashes, slashes.",
            **_start(item.tag if item else ""),
        ),
        "site": _text(key_of, item, "site", "Site"),
        "maker": _text(key_of, item, "maker", "Maker"),
        "model": _text(key_of, item, "model", "Model"),
        "serial": _text(key_of, item, "serial", "Serial number"),
        "standards": st.text_input(
            "Standards on its label",
            max_chars=register.MOST_TEXT,
            key=key_of("standards"),
            help="Separated by commas, such as EN 354, EN 355.",
            **_start(", ".join(item.standards) if item else ""),
        ),
    }
    profiles = {profile.title: profile.name for profile in frame.services.rules.profiles}
    if len(profiles) > 1:
        now = list(profiles.values()).index(item.profile) if item and item.profile in profiles.values() else 0
        chosen = st.selectbox("Rules of which place", list(profiles), index=now, key=key_of("profile"))
        drawn["profile"] = profiles[chosen]
    return drawn


def _measured(frame: Frame, kind: Kind, key_of: KeyOf, item: Item | None) -> dict[str, Any]:
    """Typed as text, so that a slip is named beside what to do instead of being swallowed."""
    drawn: dict[str, Any] = {
        name: st.text_input(
            _NUMBERS[name][0],
            max_chars=_MOST_DIGITS,
            help=_NUMBERS[name][1],
            key=key_of(name),
            **_typed(getattr(item, name) if item else None),
        )
        for name in numbers_of(kind)
    }
    if kind is Kind.ROPE_GRAB:
        pair = item.rope_range_mm if item else None
        drawn["rope_range_mm"] = st.text_input(
            "Rope diameters it accepts (mm)",
            max_chars=_MOST_DIGITS,
            placeholder="such as 14-16",
            key=key_of("rope_range_mm"),
            **_start(f"{pair[0]:g}-{pair[1]:g}" if pair else ""),
        )
    if any(c in components_of(kind) for c in _FIBRES):
        drawn["fibre"] = st.selectbox(
            "Fibre, from the label",
            [f.value for f in Fibre],
            index=list(Fibre).index(item.fibre if item else Fibre.UNKNOWN),
            key=key_of("fibre"),
        )
    return drawn


def _lasting(frame: Frame, kind: Kind, key_of: KeyOf, item: Item | None) -> dict[str, Any]:
    """What stays as it is for as long as the gear lasts. Registered once, it is not asked at each inspection."""
    facts: dict[str, Any] = {}
    for spec in lasting_of(kind, frame.services):
        choices: dict[str, str | bool] = {word: word for word in spec.values if word != "unknown"}
        choices = choices or dict(_YES_NO)
        words = [_UNKNOWN, *(word for word in choices if word != _UNKNOWN)]
        known = item.lasting_facts.get(spec.name) if item else None
        start = next((word for word, value in choices.items() if known is not None and value == known), _UNKNOWN)
        picked = st.selectbox(
            QUESTION_WORDS.get(spec.name, spec.meaning),
            words,
            index=words.index(start),
            key=key_of(spec.name),
        )
        facts[spec.name] = choices.get(picked, "")
    return {"lasting_facts": facts} if facts else {}


def _dates(key_of: KeyOf, item: Item | None) -> dict[str, Any]:
    made, first = (item.made_on, item.first_used_on) if item else (None, None)
    oldest = min(day for day in (_OLDEST, made, first) if day is not None)
    return {
        "made_on": st.date_input("Made on", min_value=oldest, key=key_of("made_on"), format="YYYY-MM-DD", value=made),
        "first_used_on": st.date_input(
            "First used on", min_value=oldest, key=key_of("first_used_on"), format="YYYY-MM-DD", value=first
        ),
        "maker_max_age_years": st.text_input(
            "Longest life the maker allows (years)",
            max_chars=_MOST_DIGITS,
            key=key_of("maker_max_age_years"),
            help="Counted from the day of making.",
            **_typed(item.maker_max_age_years if item else None),
        ),
    }
