"""What replacing withdrawn gear costs, per reason and per year, from the prices that people entered.

Prices are taken as entered: one currency, no change of value over the years. Gear without a price is counted beside
the sums and never estimated. An item withdrawn for several reasons stands under "several reasons", so that the sums
add up to the total.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from inspect_core.domain.errors import BadInput
from inspect_core.domain.record import Retirement
from inspect_core.trends.causes import single_cause
from inspect_core.trends.reasons import category_labels


@dataclass(frozen=True, slots=True)
class Spent:
    """Withdrawals under one label: how many have a price, their sum in the currency entered, how many have none.

    `cost` is None where no item has a price: not known is not zero.
    """

    label: str
    items: int
    priced: int
    without_price: int
    cost: float | None

    @property
    def in_words(self) -> str:
        """The sum with its counts."""
        if self.cost is None:
            return f"{self.label}: {self.items} withdrawn, none with a price."
        missing = f", {self.without_price} without a price not included" if self.without_price else ""
        return f"{self.label}: {self.cost:,.2f} for {self.priced} of {self.items} withdrawn{missing}."


@dataclass(frozen=True, slots=True)
class Spending:
    """The same withdrawals three ways. `cells`: per (reason, year), in the order of `by_reason`, then by year."""

    total: Spent
    by_reason: tuple[Spent, ...]
    by_year: tuple[Spent, ...]
    cells: tuple[tuple[str, str, Spent], ...]


def spending(retirements: Iterable[Retirement], reason: Callable[[Retirement], str] | None = None) -> Spending:
    """Costs by reason (dearest first) and year (oldest first). `reason` gives the one label of a withdrawal; by
    default its category. Raises BadInput for a price below zero or none."""
    label = reason or main_category
    listed = list(retirements)
    for one in listed:
        if one.price is not None and not (math.isfinite(one.price) and one.price >= 0):
            raise BadInput(f"The price of {one.tag} is no price.", "Leave it empty when it is not known.")
    by_reason = sorted(_split(listed, label), key=lambda spent: (-(spent.cost or 0), -spent.items, spent.label))
    cells = []
    for row in by_reason:
        own = [one for one in listed if label(one) == row.label]
        cells += [(row.label, spent.label, spent) for spent in _split(own, _year)]
    return Spending(_spent("all", listed), tuple(by_reason), tuple(_split(listed, _year)), tuple(cells))


def main_category(retirement: Retirement) -> str:
    """The one category a withdrawal counts under: its own, "several reasons", or that there was no mark."""
    return single_cause(category_labels(retirement))


def _year(retirement: Retirement) -> str:
    return f"{retirement.on:%Y}"


def _split(retirements: Iterable[Retirement], label: Callable[[Retirement], str]) -> list[Spent]:
    groups: dict[str, list[Retirement]] = {}
    for one in retirements:
        groups.setdefault(label(one), []).append(one)
    return [_spent(name, group) for name, group in sorted(groups.items())]


def _spent(label: str, group: list[Retirement]) -> Spent:
    prices = [one.price for one in group if one.price is not None]
    cost = round(math.fsum(prices), 2) if prices else None
    return Spent(label, len(group), len(prices), len(group) - len(prices), cost)
