"""What the figures of several questions share: words for small groups, and two sides of a change beside each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import pandas as pd

from inspect_core.reports import trend_charts, wording
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.before_after import CAUTION
from inspect_core.trends.few import TooFew

#: Groups too small are named up to so many; the rest are counted.
_FEW_NAMED = 6
WILSON = "Wilson's score interval (Wilson 1927; Newcombe 1998), through scipy."
POISSON = "exact Poisson interval (Garwood 1936), through scipy; it is right for defects that come one by one."


@dataclass(frozen=True, slots=True)
class Estimate:
    """One group on one side of a change: what was counted in words, the value, and its interval."""

    counted: str
    value: float
    low: float
    high: float


def few_words(groups: Iterable[TooFew]) -> str:
    """Groups too small for their estimate, in one line; "" where there is none."""
    small = list(groups)
    if not small:
        return ""
    named = "; ".join(f"{one.label} ({one.items}, {one.events})" for one in small[:_FEW_NAMED])
    more = f"; and {len(small) - _FEW_NAMED} more" if len(small) > _FEW_NAMED else ""
    return f"{named}{more}. In brackets: how many, events. {small[0].why}"


def told(
    name: str, title: str, one: TooFew, *, counted: str, period: str, means: str, method: str, says: str = ""
) -> Figure:
    """A figure that is told and not drawn; `says` in place of the words that every small group has."""
    table = Table.of(("Group", "How many", "Events"), [(one.label, one.items, one.events)])
    return Figure(name, title, says or one.in_words, table, counted, period, means, method)


def percent(share: float) -> str:
    return f"{share:.0%}"


def span(low: float, high: float) -> str:
    """An interval of shares in words."""
    return f"{low:.0%} to {high:.0%}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def beside(
    name: str,
    title: str,
    says: str,
    groups: Mapping[str, tuple[Estimate | None, Estimate | None]],
    names: tuple[str, str],
    *,
    share: bool,
    counted: str,
    period: str,
    means: str,
    method: str,
) -> Figure:
    """Each group before and after a change, as one figure; groups with nothing on either side are left out."""
    drawn, rows = [], []
    for label, both in groups.items():
        cells = [label]
        for side, estimate in zip(names, both, strict=True):
            if estimate is None:
                cells.append("too few")
                continue
            drawn.append((label, side, estimate.value, estimate.low, estimate.high))
            ends = span(estimate.low, estimate.high) if share else f"{estimate.low:.1f} to {estimate.high:.1f}"
            value = percent(estimate.value) if share else f"{estimate.value:.1f}"
            cells.append(f"{estimate.counted}: {value} ({ends})")
        if any(both):
            rows.append(cells)
    table = pd.DataFrame(drawn, columns=["label", "side", "value", "low", "high"])
    head = ("Group", capital(names[0]), capital(names[1]))
    return Figure(
        name,
        f"Before and after: {title[:1].lower()}{title[1:]}",
        says,
        Table.of(head, rows),
        counted,
        period,
        means,
        method,
        chart=trend_charts.sides(table, title, names, share=share) if len(table) else None,
        words=f"{title}, {names[0]} and {names[1]}. " + "; ".join(", ".join(row) for row in rows),
        notes=() if CAUTION in says else (CAUTION,),
    )


def items(many: int) -> str:
    return wording.count(many, "item")
