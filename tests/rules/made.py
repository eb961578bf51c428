"""Random cases of every shape the vocabulary allows."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from inspect_core.domain.decision import Answer, Case, CaseMark
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Unit
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import MAKER_LIMIT, FactSpec, FactType

RULES = load_rules()
DAY = date(2026, 5, 4)
#: Values that lie on and about the limits of the rules, so that limits are hit far more often than by chance.
_LIMITS = sorted({float(r.limit) for r in RULES.rules if isinstance(r.limit, int | float)})


def numbers(lowest: float, highest: float) -> st.SearchStrategy[float]:
    near = [value + step for value in _LIMITS for step in (-0.1, -0.01, 0.0, 0.01, 0.1)]
    inside = [round(value, 4) for value in near if lowest <= value <= highest]
    free = st.floats(lowest, highest, allow_nan=False).map(lambda value: round(value, 3))
    return st.one_of(st.sampled_from(inside), free) if inside else free


@st.composite
def readings(draw: Any, measure: str | None = None) -> Reading:
    name = measure or draw(st.sampled_from(sorted(MEASURES)))
    unit = MEASURES[name].unit
    if unit is Unit.COUNT:
        value, spread = float(draw(st.integers(0, 45))), float(draw(st.integers(0, 3)))
    elif unit is Unit.SHARE:
        value, spread = draw(numbers(0, 1)), draw(st.sampled_from((0.0, 0.005, 0.01, 0.1)))
    elif unit is Unit.CELSIUS:
        value, spread = draw(numbers(0, 300)), draw(st.sampled_from((0.0, 1.0, 5.0)))
    else:
        value, spread = draw(numbers(0, 60)), draw(st.sampled_from((0.0, 0.1, 0.3, 2.0)))
    return Reading(name, value, unit.value, spread, "made up")


@st.composite
def marks(draw: Any, kind: Kind, id_: str) -> CaseMark:
    component = draw(st.sampled_from(components_of(kind)))
    category = draw(st.sampled_from(list(Category)))
    fitting = sorted({r.measure for r in RULES.rules if r.measure and category in r.categories})
    names = (
        st.one_of(st.sampled_from(fitting), st.sampled_from(sorted(MEASURES)))
        if fitting
        else st.sampled_from(sorted(MEASURES))
    )
    chosen = draw(st.lists(names, max_size=4, unique=True))
    return CaseMark(id_, component, category, tuple(draw(readings(name)) for name in chosen))


def fact_values(spec: FactSpec) -> st.SearchStrategy[Any]:
    if spec.type is FactType.YES_NO:
        return st.booleans()
    if spec.type is FactType.WORD:
        return st.sampled_from(spec.values)
    if spec.type is FactType.DATE:
        return st.integers(0, 5000).map(lambda days: DAY - timedelta(days=days))
    return numbers(max(spec.lowest or 0.0, -50.0), min(spec.highest or 100.0, 300.0))


@st.composite
def facts(draw: Any) -> dict[str, Any]:
    chosen = draw(st.lists(st.sampled_from(RULES.facts), max_size=5, unique_by=lambda spec: spec.name))
    found = {spec.name: draw(fact_values(spec)) for spec in chosen}
    ordered = sorted(m.name for m in MEASURES.values() if m.larger_is_worse is not None)
    for measure in draw(st.lists(st.sampled_from(ordered), max_size=1)):
        found[f"{MAKER_LIMIT}{measure}"] = draw(numbers(0, 20))
    return found


@st.composite
def cases(draw: Any, *, answers: tuple[Answer | None, ...] = (*Answer, None)) -> Case:
    """Mostly sound answers, so that other findings decide often enough."""
    kind = draw(st.sampled_from(list(Kind)))
    told: dict[Component, Answer] = {}
    wild = draw(st.booleans())
    for component in components_of(kind):
        answer = draw(st.sampled_from(answers)) if wild else Answer.SOUND
        if answer is not None:
            told[component] = answer
    count = draw(st.integers(0, 3))
    profile = draw(st.sampled_from([profile.name for profile in RULES.profiles]))
    return Case(kind, profile, draw(facts()), told, tuple(draw(marks(kind, f"m{n}")) for n in range(count)))
