"""Pareto order, spending, what is coming, and prevention."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspect_core.domain.decision import Basis
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from inspect_core.trends.causes import SEVERAL
from inspect_core.trends.coming import Ahead, Limit, age_limit_day, coming
from inspect_core.trends.prevention import LINKS
from inspect_core.trends.reasons import NO_MARK, pareto
from inspect_core.trends.spending import spending


def gone(tag: str, year: int, price: float | None, *categories: Category) -> Retirement:
    reasons = tuple((category, Component.WEBBING, "rule") for category in categories)
    return Retirement(tag, tag, Kind.HARNESS, "", "", "", date(year, 5, 1), None, reasons, price)


# Pareto ------------------------------------------------------------------------------------------------------------


def test_pareto_counts_an_item_with_two_reasons_once_in_what_is_explained_together():
    bars = pareto([{"cut"}, {"cut", "burn"}, {"burn"}, {"cut"}, {"rust"}])
    assert [(bar.share.label, bar.share.count, bar.together) for bar in bars] == [
        ("cut", 3, 3 / 5),
        ("burn", 2, 4 / 5),
        ("rust", 1, 1),
    ]


@given(st.lists(st.sets(st.sampled_from("abcde"), min_size=1), min_size=1, max_size=30))
def test_pareto_falls_bar_by_bar_and_explains_everything_at_the_end(labels: list[set[str]]):
    bars = pareto(labels)
    counts = [bar.share.count for bar in bars]
    together = [bar.together for bar in bars]
    assert counts == sorted(counts, reverse=True)
    assert together == sorted(together) and together[-1] == 1
    assert pareto(labels[::-1]) == bars


def test_pareto_of_nothing_is_empty():
    assert pareto([]) == ()


# Spending ----------------------------------------------------------------------------------------------------------

WITHDRAWN = [
    gone("A", 2024, 100.0, Category.CUT),
    gone("B", 2025, 50.5, Category.CUT),
    gone("C", 2025, None, Category.CUT),
    gone("D", 2025, 200.0, Category.CUT, Category.BURN),
    gone("E", 2025, None),
    gone("F", 2025, 0.0, Category.RUST),
]


def test_costs_are_summed_per_reason_and_year_and_add_up():
    found = spending(WITHDRAWN)
    assert (found.total.cost, found.total.priced, found.total.without_price) == (350.5, 4, 2)
    assert [(s.label, s.cost) for s in found.by_reason] == [
        (SEVERAL, 200),
        ("cut", 150.5),
        (NO_MARK, None),
        ("rust", 0),
    ]
    assert [(s.label, s.cost, s.items) for s in found.by_year] == [("2024", 100, 1), ("2025", 250.5, 5)]
    assert sum(s.cost or 0 for _, _, s in found.cells) == found.total.cost
    assert sum(s.items for _, _, s in found.cells) == len(WITHDRAWN)


def test_gear_without_a_price_is_told_never_estimated():
    by_label = {spent.label: spent for spent in spending(WITHDRAWN).by_reason}
    assert by_label["cut"].in_words == "cut: 150.50 for 2 of 3 withdrawn, 1 without a price not included."
    assert by_label[NO_MARK].in_words.endswith("1 withdrawn, none with a price.")
    assert by_label["rust"].in_words == "rust: 0.00 for 1 of 1 withdrawn."


def test_nothing_withdrawn_costs_nothing_known():
    assert spending([]).total.cost is None and spending([]).cells == ()


@pytest.mark.parametrize("price", [-1.0, float("nan"), float("inf")])
def test_a_price_that_is_none_is_refused(price: float):
    with pytest.raises(BadInput, match="price of A"):
        spending([gone("A", 2024, price)])


# What is coming ----------------------------------------------------------------------------------------------------

TODAY = date(2026, 1, 31)


def ahead(tag: str, **days: date) -> Ahead:
    return Ahead(tag, tag, Kind.HARNESS, "", **days)


def test_items_fall_into_the_month_in_which_they_reach_a_limit():
    items = [
        ahead("late", due_on=date(2026, 1, 30)),
        ahead("now", due_on=date(2026, 1, 31), age_limit_on=date(2026, 2, 1)),
        ahead("both", due_on=date(2026, 2, 28), damage_limit_on=date(2026, 2, 3)),
        ahead("far", due_on=date(2026, 4, 1)),
    ]
    found = coming(items, TODAY, months=3)
    assert [month.month for month in found.months] == ["2026-01", "2026-02", "2026-03"]
    assert found.past.count(Limit.DUE) == 1 and found.past.items == 1
    january, february, march = found.months
    assert (january.count(Limit.DUE), january.items) == (1, 1)
    assert [february.count(limit) for limit in Limit] == [1, 1, 1] and february.items == 2
    assert march.items == 0
    assert dict(found.later) == {Limit.AGE: 0, Limit.DUE: 1, Limit.DAMAGE: 0}
    assert dict(found.unknown) == {Limit.AGE: 3, Limit.DUE: 0, Limit.DAMAGE: 3}


def test_in_a_month_the_earliest_comes_first():
    found = coming([ahead("A", due_on=date(2026, 2, 20)), ahead("B", due_on=date(2026, 2, 3))], TODAY)
    assert [item.tag for _, item in dict(found.months[1].reaching)[Limit.DUE]] == ["B", "A"]


@given(st.lists(st.dates(date(2025, 1, 1), date(2029, 1, 1)) | st.none(), max_size=20))
def test_every_item_is_counted_once_per_limit_and_order_does_not_matter(days: list[date | None]):
    items = [Ahead(f"i{n}", f"i{n}", Kind.HARNESS, "", due_on=day) for n, day in enumerate(days)]
    found = coming(items, TODAY)
    counted = sum(month.count(Limit.DUE) for month in (found.past, *found.months))
    assert counted + dict(found.later)[Limit.DUE] + dict(found.unknown)[Limit.DUE] == len(items)
    assert coming(items[::-1], TODAY) == found


def test_an_age_limit_is_reached_after_whole_months():
    assert age_limit_day(date(2020, 2, 29), 5) == date(2025, 2, 28)
    assert age_limit_day(date(2020, 1, 15), 2.5) == date(2022, 7, 15)
    assert age_limit_day(date(2020, 1, 15), 0.29) == date(2020, 4, 15)
    with pytest.raises(BadInput):
        age_limit_day(TODAY, 0)
    with pytest.raises(BadInput):
        coming([], TODAY, months=0)


# Prevention --------------------------------------------------------------------------------------------------------


def test_every_category_leads_to_a_cause_and_a_measure_marked_as_habit():
    assert set(LINKS) == set(Category)
    for category, links in LINKS.items():
        assert links
        for link in links:
            assert link.reason is category and link.cause and link.measure
            assert link.basis is Basis.COMMON_PRACTICE


def test_chemicals_lead_to_storage_and_burns_to_hot_work():
    assert any("stored" in link.cause for link in LINKS[Category.CHEMICAL])
    assert any("hot work" in link.cause for link in LINKS[Category.BURN])
