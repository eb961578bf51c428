"""The questions of the trends page, each with the figures that answer it. The page and the report ask here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.errors import BadInput
from inspect_core.domain.people import Person
from inspect_core.reports.figure import Figure
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_figures import agree, ahead, life, rates, where, why
from inspect_core.usecases.trends_scope import KEPT, Scope

#: What a split is called in a row of choices.
SPLIT_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "category": "What was found",
        "kind": "Kind of gear",
        "model": "Maker's model",
        "site": "Site",
        "month": "Month",
        "quarter": "Quarter",
        "year": "Year",
        "cohort": "The day of the change",
    }
)


def _one(scope: Scope) -> tuple[str, ...]:
    return ("",)


@dataclass(frozen=True, slots=True)
class Question:
    """A question as a sentence. `splits`: the ways to split its answer, the first being the usual one ("" where it
    has none). `figures`: its answer by one of them, as a person may see it."""

    words: str
    splits: Callable[[Scope], tuple[str, ...]]
    figures: Callable[[Services, Scope, str, Person | None], tuple[Figure, ...]]


#: By the short name that stands in the page's address.
QUESTIONS: Mapping[str, Question] = MappingProxyType(
    {
        "why": Question("Why is gear withdrawn?", why.splits, lambda s, scope, by, _: why.figures(s, scope, by)),
        "life": Question("How long does gear last?", life.splits, lambda s, scope, by, _: life.figures(s, scope, by)),
        "rates": Question(
            "How often is damage found?", rates.splits, lambda s, scope, by, _: rates.figures(s, scope, by)
        ),
        "where": Question(
            "Where does damage happen?", where.kinds, lambda s, scope, by, _: where.figures(s, scope, by)
        ),
        "prevent": Question(
            "What prevents it?",
            _one,
            lambda s, scope, by, _: (*why.prevention_figures(s, scope), *rates.change_figures(s, scope)),
        ),
        "agree": Question("Do inspectors agree?", _one, lambda s, scope, by, viewer: agree.figures(s, scope, viewer)),
        "spending": Question("What does it cost?", _one, lambda s, scope, by, _: ahead.cost_figures(s, scope)),
        "coming": Question("What is coming?", _one, lambda s, scope, by, _: ahead.coming_figures(s, scope)),
    }
)


def figures(
    services: Services, question: str, scope: Scope, *, by: str = "", viewer: Person | None = None
) -> tuple[Figure, ...]:
    """The figures that answer a question, kept for as long as nothing is recorded. Raises BadInput for a question or a
    split that there is not."""
    asked = QUESTIONS.get(question)
    if asked is None:
        raise BadInput(f"There is no question “{question}”.", f"Use one of: {', '.join(QUESTIONS)}.")
    splits = asked.splits(scope)
    split = by or splits[0]
    if split not in splits:
        raise BadInput(f"“{asked.words}” cannot be split by “{by}”.", f"Use one of: {', '.join(splits)}.")
    # Who looks matters only where people are named.
    who = (viewer.role, viewer.id) if viewer is not None and question == "agree" else None
    key = ("figures", question, scope, split, who)
    return KEPT.answer(services, key, lambda uow, today: asked.figures(services, scope, split, viewer))
