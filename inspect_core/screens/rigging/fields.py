"""One thing asked, by its sort: a length, a force, a mass, a number, yes or no, a word. Left open means not known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.figures import find
from inspect_core.rigging.units import Dimension, from_base, parse, to_base
from inspect_core.screens.frame import plain
from inspect_core.screens.rigging.bench import Bench
from inspect_core.screens.rigging.words import BASIS_WORDS
from inspect_core.screens.speaking import st

_YES, _NO = "Yes", "No"
#: Sort of a quantity: its dimension, and its unit in each system of units.
_QUANTITIES: Mapping[str, tuple[Dimension, str, str]] = {
    "length": (Dimension.LENGTH, "m", "ft"),
    "small": (Dimension.LENGTH, "mm", "in"),
    "force": (Dimension.FORCE, "kN", "lbf"),
    "mass": (Dimension.MASS, "kg", "lb"),
}
#: The field that says how well the lengths of a form were measured.
SPREAD = "measured within"


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a form. `name` is the key of the case.

    `sort`: length, small (a length in mm or in), force, mass, count, percent (a share in the case), flag, word or
    text. `words` maps what is tapped to what the case says. `uses` name the figures shown beside the field. `measured`
    lengths carry the form's uncertainty. A `needed` one has no answer "not known". `sinks`: may lie below zero.
    """

    name: str
    label: str
    sort: str
    hint: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    uses: tuple[str, ...] = ()
    measured: bool = False
    needed: bool = False
    sinks: bool = False


def draw(bench: Bench, asks: Iterable[Ask], *, of: str = "") -> None:
    """Draw the questions; each answer is kept at once. `of` tells the same question about several things apart."""
    listed = list(asks)
    for place in range(0, len(listed), 2):
        # Side by side at a desk, one under the other on a phone.
        for column, ask in zip(st.columns(2), listed[place : place + 2], strict=False):
            with column:
                _one(bench, ask, of + ask.name)
                for use in ask.uses:
                    words = figure_words(use, bench.profile)
                    if words:
                        st.caption(plain(words))


def figure_words(use: str, profile: str) -> str:
    """What the profile prints about that, with its source; "" where it prints nothing."""
    figure = find(use, profile)
    if figure is None:
        return ""
    source = " ".join(filter(None, (figure.source, figure.section)))
    return f"Profile: {figure.words} ({source}; {BASIS_WORDS[figure.basis]}.)"


def given(bench: Bench, asks: Iterable[Ask], *, of: str = "") -> dict[str, Any]:
    """What was entered, as a case holds it. What is not known is left out."""
    out: dict[str, Any] = {}
    for ask in asks:
        value = bench.values.get(of + ask.name)
        if value is None:
            continue
        if ask.sort in _QUANTITIES:
            out[ask.name] = as_quantity(bench, value, ask.measured)
        elif ask.sort == "percent":
            out[ask.name] = round(value / 100, 9)
        else:
            out[ask.name] = value
    return out


def still_needed(bench: Bench, asks: Iterable[Ask], *, of: str = "") -> list[str]:
    """Labels of what cannot be left open."""
    return [ask.label for ask in asks if ask.needed and bench.values.get(of + ask.name) is None]


def as_quantity(bench: Bench, value: Mapping[str, Any], measured: bool) -> dict[str, Any]:
    """A kept quantity as a case holds it; a measured one with the form's uncertainty, in its own unit."""
    out = {"value": value["value"], "unit": value["unit"]}
    spread = bench.values.get(SPREAD)
    if measured and spread:
        metres = to_base(spread["value"], spread["unit"], Dimension.LENGTH)
        out["uncertainty"] = round(from_base(metres, value["unit"], Dimension.LENGTH), 9)
    return out


def spread(bench: Bench, over: str = "these lengths") -> None:
    """How well the lengths were measured: one entry for all of them."""
    _one(bench, Ask(SPREAD, f"How well measured: {over} within ±", "small"), SPREAD)
    st.caption("19 times in 20 the true length lies within this (k = 2). Left open, the lengths count as exact.")


def _one(bench: Bench, ask: Ask, name: str) -> None:
    if ask.sort in _QUANTITIES:
        _quantity(bench, ask, name)
    elif ask.sort == "flag":
        _choice(bench, ask, name, {_YES: True, _NO: False})
    elif ask.sort == "word":
        _choice(bench, ask, name, ask.words)
    elif ask.sort == "text":
        _text(bench, ask, name)
    else:
        _number(bench, ask, name)
    if ask.hint:
        st.caption(ask.hint)


def _choice(bench: Bench, ask: Ask, name: str, words: Mapping[str, Any]) -> None:
    """A row to tap where the words are few and short, a list to pick from elsewhere."""
    key = bench.key("field", name)
    known = bench.values.get(name)
    seed(key, next((word for word, value in words.items() if value == known and known is not None), None))

    def answered() -> None:
        bench.put(name, words.get(st.session_state[key]) if st.session_state[key] else None)

    if len(words) <= 3 and sum(map(len, words)) <= 60:
        st.segmented_control(ask.label, list(words), key=key, on_change=answered, width="stretch")
    else:
        st.selectbox(ask.label, list(words), index=None, key=key, placeholder="Not known", on_change=answered)


def _text(bench: Bench, ask: Ask, name: str) -> None:
    key = bench.key("field", name)
    seed(key, bench.values.get(name, ""))
    st.text_input(
        ask.label,
        key=key,
        max_chars=100,
        placeholder="Not known",
        on_change=lambda: bench.put(name, st.session_state[key].strip()),
    )


def _number(bench: Bench, ask: Ask, name: str) -> None:
    key = bench.key("field", name)
    whole = ask.sort == "count"
    seed(key, bench.values.get(name))
    st.number_input(
        ask.label + (" (%)" if ask.sort == "percent" else ""),
        value=None,
        min_value=1 if whole else 0.0,
        max_value=100 if whole else 100.0,
        step=1 if whole else 1.0,
        format="%d" if whole else "%.4g",
        key=key,
        placeholder="Not known",
        on_change=lambda: bench.put(name, st.session_state[key]),
    )


def _quantity(bench: Bench, ask: Ask, name: str) -> None:
    dimension, metric, other = _QUANTITIES[ask.sort]
    unit = other if bench.feet else metric
    # The unit is part of the key: a number typed in metres can never be read as feet.
    key = bench.key("field", name, unit)
    known = bench.values.get(name)
    if unit == "ft":
        return _feet(bench, ask, name, key)
    seed(key, None if known is None else round(in_unit(known, unit, dimension), 4))

    def answered() -> None:
        value = st.session_state[key]
        bench.put(name, None if value is None else {"value": value, "unit": unit})

    st.number_input(
        f"{ask.label} ({unit})",
        value=None,
        min_value=None if ask.sinks else 0.0,
        step=0.1 if unit == "m" else 1.0,
        format="%.6g",
        key=key,
        placeholder="Not known",
        on_change=answered,
    )
    return None


def _feet(bench: Bench, ask: Ask, name: str, key: str) -> None:
    """Feet and inches as people say them: 3 ft 6 in, 3' 6", 42 in, or 3.5."""
    known = bench.values.get(name)
    seed(key, "" if known is None else known.get("text") or _feet_words(known))
    fault = bench.key("fault", name)

    def answered() -> None:
        raw = st.session_state[key]
        st.session_state.pop(fault, None)
        try:
            bench.put(name, read_feet(raw, sinks=ask.sinks) if raw.strip() else None)
        except BadInput as error:
            bench.put(name, None)
            st.session_state[fault] = f"**{plain(error.problem)}**  \n{plain(error.remedy)}"

    st.text_input(f"{ask.label} (ft and in)", key=key, max_chars=24, placeholder="as 3 ft 6 in", on_change=answered)
    if fault in st.session_state:
        st.error(st.session_state[fault], icon=":material/error:")


_BARE = re.compile(r"-?\d+(?:[.,]\d+)?")


def read_feet(raw: str, *, sinks: bool = False) -> dict[str, Any]:
    """A length as typed, with what was typed. A bare number is feet. Raises BadInput for what is no length."""
    text = " ".join(raw.replace("′", "'").replace("″", '"').replace("''", '"').split())
    worded = text.replace("'", " ft ").replace('"', " in").strip()
    if _BARE.fullmatch(worded):
        worded = worded.replace(",", ".") + " ft"
    quantity = parse(" ".join(worded.split()), Dimension.LENGTH, "feet")
    if quantity.value < 0 and not sinks:
        raise BadInput("A length is below zero.", "Measure it again.")
    return {"value": quantity.value, "unit": "m", "text": text}


def in_unit(value: Mapping[str, Any], unit: str, dimension: Dimension) -> float:
    """A kept quantity in another unit of its dimension."""
    if value["unit"] == unit:
        return float(value["value"])
    return from_base(to_base(value["value"], value["unit"], dimension), unit, dimension)


def _feet_words(value: Mapping[str, Any]) -> str:
    return f"{in_unit(value, 'ft', Dimension.LENGTH):.4g} ft"


def seed(key: str, value: object) -> None:
    """The widget starts from what was kept; afterwards it keeps its own value for as long as it is drawn."""
    if key not in st.session_state:
        st.session_state[key] = value


def prefill(bench: Bench, name: str, use: str) -> None:
    """Start a value that is chosen, not measured, from the profile's figure; once, so that it can be taken away."""
    done: Sequence[str] = bench.body.setdefault("prefilled", [])
    figure = find(use, bench.profile)
    if name in done or figure is None or figure.value is None:
        return
    bench.keep(lambda body: body["prefilled"].append(name))
    if name not in bench.values:
        bench.put(name, {"value": figure.value, "unit": figure.unit})
