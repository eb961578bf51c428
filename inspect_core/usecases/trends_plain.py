"""Answers to the questions of the trends page as plain JSON data."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from enum import Enum
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.trends.few import TooFew
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_agree import ABOUT_GEAR, agree, names
from inspect_core.usecases.trends_ahead import outlook, spend
from inspect_core.usecases.trends_life import life
from inspect_core.usecases.trends_rates import DEFINITION, changed, rates
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_where import where
from inspect_core.usecases.trends_why import prevention, why


def question_plain(question: str, services: Services, scope: Scope, by: str) -> dict[str, Any]:
    """The answer with its question, scope, one sentence and method. Raises BadInput for an unknown question or a
    split that it lacks."""
    if question not in _ANSWERS:
        raise BadInput(f"There is no question “{question}”.", f"Use one of: {', '.join(_ANSWERS)}.")
    return {
        "question": question,
        "scope": plain(scope),
        "on": services.today().isoformat(),
        **_ANSWERS[question](services, scope, by),
        **_change(services, scope),
    }


def plain(value: Any) -> Any:
    """A value of the trends as JSON data: frozen dataclasses by their fields, with their sentence where they have
    one; `too_few` marks what is told and not estimated; numbers that are none become null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        found = {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
        if isinstance(value, TooFew):
            found["too_few"] = True
        if hasattr(value, "in_words"):
            found["in_words"] = value.in_words
        return found
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(one) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [plain(one) for one in value]
    return value


def _why(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = why(services, scope, by=by)
    bars = [
        plain(bar.share)
        | {
            "together": bar.together,
            "items": [one.tag for one in answer.reasons.behind(bar.share.label)],
            "common": [plain(one) | {"chance": one.chance} for one in answer.common(bar.share.label)],
        }
        for bar in answer.bars
    ]
    method = "share of withdrawn items; 95 % interval after Wilson, 1927"
    return {
        "by": by,
        "in_words": answer.in_words,
        "withdrawn": len(answer.reasons.items),
        "bars": bars,
        "method": method,
    }


def _life(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = life(services, scope, by=by)
    seen = answer.watched
    return {
        "by": by,
        "scope": plain(answer.scope),
        "in_words": answer.in_words,
        "items": len(seen.lifetimes),
        "no_first_day": seen.no_first_day,
        "from_registered": seen.from_registered,
        "contradicting": seen.contradicting,
        "all": plain(answer.whole),
        "groups": plain(answer.groups),
        "log_rank": plain(answer.test),
        "reasons": plain(answer.causes),
        "reasons_by_group": plain(answer.group_causes),
        "method": "Kaplan and Meier 1958, delayed entry, right censoring; log-rank; Aalen and Johansen 1978",
    }


def _rates(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = rates(services, scope, by=by)
    return {
        "by": by,
        "in_words": answer.in_words,
        "all": plain(answer.whole),
        "groups": plain(answer.groups),
        "u_chart": plain(answer.chart),
        "scatter": plain(answer.scatter),
        "definition": DEFINITION,
        "method": "exact Poisson interval, Garwood 1936; u-chart, limits at three standard deviations",
    }


def _where(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    kinds = []
    for kind in (scope.kind,) if scope.kind else Kind:
        answer = where(services, scope, kind)
        kinds.append(
            {
                "kind": kind.value,
                "in_words": answer.in_words,
                "components": plain(answer.damages),
                "left_out": answer.elsewhere,
            }
        )
    return {"kinds": kinds, "method": "marks per 100 inspections that looked; exact Poisson interval, Garwood 1936"}


def _prevent(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = prevention(services, scope)
    lines = [
        plain(share) | {"look_for": [{"cause": link.cause, "measure": link.measure} for link in links]}
        for share, links in answer.lines
    ]
    return {"in_words": answer.in_words, "reasons": lines, "method": "common practice, no source"}


def _agree(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    """People stand under numbers: whoever reads a file that was passed on need not know them."""
    answer = agree(services, scope)
    called = names(services, None, {one for pair in answer.pairs for one in (pair.first, pair.second)})
    return {
        "in_words": answer.in_words,
        "photos": answer.photos,
        "answers": len(answer.rows),
        "cannot_tell": answer.not_told,
        "looks": plain(answer.looks),
        "everybody": plain(answer.everybody),
        "pairs": [
            {"first": called[pair.first], "second": called[pair.second], **plain(pair.found)} for pair in answer.pairs
        ],
        "by_answer": plain(answer.by_answer),
        "differences": [{"first": a, "blind": b, "times": many} for a, b, many in answer.told_apart()],
        "photos_used_twice": [[use.tag for use in group] for group in answer.twice],
        "caution": ABOUT_GEAR,
        "method": "Cohen 1960 and Fleiss 1971 through statsmodels; shares with Wilson's interval",
    }


def _change(services: Services, scope: Scope) -> dict[str, Any]:
    if scope.change is None:
        return {}
    return {"before_and_after": plain(changed(services, scope.whole(), scope.change))}


def _spending(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = spend(services, scope)
    return {"in_words": answer.in_words, **plain(answer.spending), "method": "plain sums of prices as entered"}


def _coming(services: Services, scope: Scope, by: str) -> dict[str, Any]:
    answer = outlook(services, scope)

    def month(one: Any) -> dict[str, Any]:
        reaching = {
            limit.value: [{"tag": item.tag, "on": day.isoformat()} for day, item in rows]
            for limit, rows in one.reaching
        }
        return {"month": one.month, "items": one.items, "reaching": reaching}

    return {
        "scope": plain(answer.scope),
        "in_words": answer.in_words,
        "items": answer.items,
        "past": month(answer.coming.past),
        "months": [month(one) for one in answer.coming.months],
        "unknown": {limit.value: many for limit, many in answer.coming.unknown},
        "later": {limit.value: many for limit, many in answer.coming.later},
        "method": "dates as entered; damage limit after Theil and Sen 1968, the earlier end of the interval",
    }


_ANSWERS: Mapping[str, Callable[[Services, Scope, str], dict[str, Any]]] = {
    "why": _why,
    "life": _life,
    "rates": _rates,
    "where": _where,
    "prevent": _prevent,
    "agree": _agree,
    "spending": _spending,
    "coming": _coming,
}
