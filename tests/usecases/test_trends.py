"""Trends as use cases: from records made through the same doors as people use to figures counted by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from inspect_core.domain.counted import DamageRow, LifeRow
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Item, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.trends.before_after import BeforeAfter
from inspect_core.trends.coming import Limit
from inspect_core.trends.few import TooFew
from inspect_core.trends.rates import Rate
from inspect_core.usecases.trends import models, retirement_reasons
from inspect_core.usecases.trends_ahead import damage_limits, outlook, spend
from inspect_core.usecases.trends_figures import QUESTIONS, figures
from inspect_core.usecases.trends_life import life, watch
from inspect_core.usecases.trends_plain import plain, question_plain
from inspect_core.usecases.trends_rates import changed, defects_behind, every_month, rates
from inspect_core.usecases.trends_scope import Kept, Scope
from inspect_core.usecases.trends_where import marks_behind, where
from inspect_core.usecases.trends_why import in_common, prevention, why
from tests.usecases.site import Site

ALL = Scope()
CHARGER = "Kept beside the battery charger."


def _cut(site: Site, item: Item, number: int, **changes: Any) -> None:
    """A cut deep enough to be withdrawn by the rules."""
    site.record(
        replace(
            site.cut(item, 30.0, inspection_id=f"cut-{number}", **changes),
            type=InspectionType.PERIODIC,
            by=site.competent,
        )
    )


def _site_with(site: Site, *, cut: int, sound: int) -> list[Item]:
    items = [
        site.lanyard(f"LAN-{n:03}", price=100.0 if n % 2 else None, note=CHARGER if n <= cut else "Kept dry.")
        for n in range(1, cut + sound + 1)
    ]
    for number, item in enumerate(items[:cut], 1):
        _cut(site, item, number)
    for number, item in enumerate(items[cut:], 1):
        site.record(site.check(item, f"check-{number}"))
    return items


def _life(number: int, **changes: Any) -> LifeRow:
    values: dict[str, Any] = {
        "item_id": f"item-{number}",
        "tag": f"T-{number}",
        "kind": Kind.HARNESS,
        "maker": "Maker A",
        "model": "A10",
        "site": "North Quay",
        "note": "",
        "first_used_on": date(2020, 1, 1),
        "registered_on": date(2020, 1, 1),
        "left_on": None,
    }
    return LifeRow(**values | changes)


def test_why_says_what_the_items_behind_a_bar_share(site: Site) -> None:
    _site_with(site, cut=3, sound=5)
    answer = why(site.services, ALL)
    assert [(bar.share.label, bar.share.count, bar.share.total) for bar in answer.bars] == [("cut", 3, 3)]
    assert len(answer.lives) == 8
    (shared,) = answer.common("cut")
    assert (shared.trait, shared.value) == ("note", CHARGER)
    assert (shared.behind, shared.of_behind, shared.others, shared.of_others) == (3, 3, 0, 5)
    assert shared.in_words == f"3 of 3 items share the note “{CHARGER}”; of the other 5 items 0 have it."
    # Of C(8, 3) = 56 ways to pick three of eight items, one takes the three that carry the note.
    assert shared.chance == pytest.approx(1 / 56)
    assert answer.reasons.shares == retirement_reasons(site.services).shares


def test_what_everything_shares_is_not_told(site: Site) -> None:
    rows = [_life(n, note="Store 1." if n <= 4 else "Store 2.") for n in range(1, 9)]
    told = in_common({"item-1", "item-2", "item-3"}, rows)
    assert [one.trait for one in told] == ["note"]  # all eight share site, model and kind
    assert in_common({"item-1", "item-2"}, rows) == ()
    assert in_common({"item-1", "item-2", "item-5", "item-6", "item-7", "item-8"}, rows)[0].value == "Store 2."


def test_prevention_follows_the_reasons_found(site: Site) -> None:
    assert prevention(site.services, ALL).lines == ()
    _site_with(site, cut=1, sound=0)
    answer = prevention(site.services, ALL)
    ((share, links),) = answer.lines
    assert share.label == "cut" and "sharp edge" in links[0].cause
    assert answer.in_words.startswith("Start with cut, which took out 1 of 1 withdrawn items")


def test_an_answer_is_kept_until_something_is_recorded_or_the_day_changes(site: Site) -> None:
    items = _site_with(site, cut=1, sound=2)
    first = why(site.services, ALL)
    assert why(site.services, ALL) is first
    assert why(site.services, Scope(kind=Kind.HARNESS)) is not first
    _cut(site, items[1], 2)
    second = why(site.services, ALL)
    assert [one.tag for one in second.reasons.items] == ["LAN-001", "LAN-002"]
    site.clock.move(days=1)
    assert why(site.services, ALL) is not second
    assert why(site.services, ALL).reasons.until == second.reasons.until + timedelta(days=1)


def test_no_more_answers_are_kept_than_asked_for(site: Site) -> None:
    site.lanyard()
    kept, made = Kept(most=2), list[int]()

    def ask(question: int) -> int:
        def make(uow: object, today: date) -> int:
            made.append(question)
            return question

        return kept.answer(site.services, question, make)

    assert [ask(q) for q in (1, 2, 1, 3, 1, 2)] == [1, 2, 1, 3, 1, 2]
    assert made == [1, 2, 3, 2]  # 2 was asked longest ago when 3 came


def test_a_life_runs_from_registering_to_withdrawal_or_today() -> None:
    today = date(2022, 1, 1)
    rows = [
        _life(1, registered_on=date(2020, 7, 19), left_on=date(2021, 1, 1)),
        _life(2, first_used_on=None, registered_on=date(2021, 1, 1)),
        _life(3, first_used_on=None, registered_on=None),
        _life(4, left_on=date(2019, 1, 1)),
        _life(5, registered_on=date(2021, 6, 1), left_on=date(2021, 1, 1)),
        _life(6, registered_on=today),
    ]
    seen = watch(rows, {"item-1": ("cut",), "item-2": ("rust",)}, today)
    first, second, fresh = seen.lifetimes
    assert (first.entered_age_days, first.left_age_days, first.retired, first.reasons) == (200, 366, True, ("cut",))
    assert (second.entered_age_days, second.left_age_days, second.retired, second.reasons) == (0, 365, False, ())
    assert (seen.no_first_day, seen.from_registered, seen.contradicting) == (1, 1, 2)
    assert fresh.entered_age_days == fresh.left_age_days
    assert "1 item left out: no first day is known" in seen.in_words
    assert "1 item left out: their record began and ended on one day" in seen.in_words


def test_few_lives_are_told_not_drawn(site: Site) -> None:
    items = [site.lanyard(f"LAN-{n:03}") for n in range(1, 6)]
    site.clock.move(days=30)
    for number, item in enumerate(items[:2]):
        _cut(site, item, number)
    answer = life(site.services, ALL)
    assert isinstance(answer.whole, TooFew) and isinstance(answer.test, TooFew)
    assert (answer.whole.items, answer.whole.events) == (5, 2)
    assert [row.tag for row in answer.behind("webbing lanyard")] == [f"LAN-{n:03}" for n in range(1, 6)]
    with pytest.raises(BadInput):
        life(site.services, ALL, by="maker")


def test_rates_count_inspections_that_ended_out_of_service(site: Site) -> None:
    _site_with(site, cut=3, sound=9)
    answer = rates(site.services, ALL, by="site")
    assert isinstance(answer.whole, Rate)
    assert (answer.whole.defects, answer.whole.inspections, answer.whole.per_100) == (3, 12, 25.0)
    assert [group.label for group in answer.groups] == ["North Quay"]
    assert isinstance(answer.chart, TooFew)
    assert {one.tag for one in defects_behind(site.services, ALL, "site", "North Quay")} == {
        "LAN-001",
        "LAN-002",
        "LAN-003",
    }
    assert len(defects_behind(site.services, ALL, "month", "2026-03")) == 3
    assert defects_behind(site.services, ALL, "month", "2026-02") == ()
    assert len(defects_behind(site.services, ALL, "quarter", "2026-Q1")) == 3
    assert defects_behind(site.services, ALL, "year", "2025") == ()
    assert len(defects_behind(site.services, ALL, "model", "Maker A A10")) == 3
    with pytest.raises(BadInput):
        rates(site.services, ALL, by="colour")
    with pytest.raises(BadInput):
        defects_behind(site.services, ALL, "colour", "red")


def test_rates_by_category_count_inspections_that_marked_it(site: Site) -> None:
    _site_with(site, cut=3, sound=9)
    answer = rates(site.services, ALL, by="category")
    (cut,) = answer.groups
    assert isinstance(cut, Rate) and (cut.label, cut.defects, cut.inspections) == ("cut", 3, 12)
    found = defects_behind(site.services, ALL, "category", "cut")
    assert sorted(mark.tag for mark in found) == ["LAN-001", "LAN-002", "LAN-003"]


def _two_models(site: Site) -> Scope:
    """Twelve lanyards of one model, two of them cut; one of another, cut too. Returns the scope of the first."""
    items = [site.lanyard(f"LAN-{n:03}") for n in range(1, 13)]
    other = site.lanyard("LAN-100", maker="Maker B", model="B20")
    for number, item in enumerate((*items[:2], other), 1):
        _cut(site, item, number)
    for number, item in enumerate(items[2:], 1):
        site.record(site.check(item, f"check-{number}"))
    return Scope(model="Maker A A10")


def test_every_question_is_narrowed_to_one_model(site: Site) -> None:
    scope = _two_models(site)
    services = site.services
    assert models(services) == ("Maker A A10", "Maker B B20")
    assert len(why(services, scope).reasons.items) == 2 and len(why(services, scope).lives) == 12
    whole = rates(services, scope).whole
    assert isinstance(whole, Rate) and (whole.defects, whole.inspections) == (2, 12)
    assert len(life(services, scope).watched.lifetimes) == 12
    assert where(services, scope, Kind.WEBBING_LANYARD).marks == 2
    assert {mark.tag for mark in marks_behind(services, scope, Kind.WEBBING_LANYARD, Component.WEBBING)} == {
        "LAN-001",
        "LAN-002",
    }
    assert spend(services, scope).spending.total.items == 2
    assert outlook(services, scope).items == 10
    assert [group.label for group in rates(services, ALL, by="model").groups] == ["Maker A A10", "Maker B B20"]
    assert len(defects_behind(services, scope, "all", "all")) == 2


def test_withdrawals_by_period_follow_each_other_in_time(site: Site) -> None:
    items = _site_with(site, cut=1, sound=3)
    site.clock.move(days=130)
    _cut(site, items[1], 2)
    _cut(site, items[2], 3)
    answer = why(site.services, ALL, by="quarter")
    assert [(bar.share.label, bar.share.count) for bar in answer.bars] == [("2026-Q1", 1), ("2026-Q3", 2)]
    assert answer.in_words.startswith("Most gear left in 2026-Q3: 2 of 3")
    assert [share.label for share in why(site.services, ALL, by="year").reasons.shares] == ["2026"]


def test_a_day_of_change_divides_every_question(site: Site) -> None:
    items = _site_with(site, cut=4, sound=8)
    site.clock.move(days=40)
    for number, item in enumerate(items[4:], 1):
        site.record(site.check(item, f"later-{number}"))
    _cut(site, items[4], 5)
    scope = Scope(change=date(2026, 4, 1))
    before, after = scope.sides()
    assert (before.until, after.since, before.change) == (date(2026, 3, 31), date(2026, 4, 1), None)
    for question in QUESTIONS:
        shown = figures(site.services, question, scope, by="kind" if question == "rates" else "")
        told = " ".join(one.title + " ".join(one.table.head) for one in shown)
        # Lives are compared by when they were first used, what is coming lies ahead.
        assert ("efore" in told) or question in ("life", "coming"), question
    rated = figures(site.services, "rates", scope)[2]
    # Garwood's interval of 4, divided by 12 inspections; nine later inspections are too few for a rate.
    assert rated.table.rows[0] == ("All gear", "4 in 12: 33.3 (9.1 to 85.3)", "too few")
    assert "cohort" in QUESTIONS["life"].splits(scope) and "cohort" not in QUESTIONS["life"].splits(ALL)


def test_lives_are_compared_by_the_day_of_first_use(site: Site) -> None:
    old = [site.lanyard(f"OLD-{n:03}", first_used_on="2026-01-05") for n in range(3)]
    new = [site.lanyard(f"NEW-{n:03}", first_used_on="2026-02-05") for n in range(4)]
    answer = life(site.services, Scope(change=date(2026, 2, 1)), by="cohort")
    assert [(group.label, group.items) for group in answer.groups if isinstance(group, TooFew)] == [
        ("first used before 2026-02-01", 0),
        ("first used from 2026-02-01 on", 0),
    ]
    cohorts = [one.cohort for one in answer.watched.lifetimes]
    assert cohorts.count("first used before 2026-02-01") == len(old)
    assert cohorts.count("first used from 2026-02-01 on") == len(new)


def test_figures_are_kept_and_follow_what_is_recorded(site: Site) -> None:
    items = _site_with(site, cut=1, sound=2)
    first = figures(site.services, "why", ALL)
    assert figures(site.services, "why", ALL) is first
    _cut(site, items[1], 2)
    assert "2 of 2 withdrawn items" in figures(site.services, "why", ALL)[0].says
    with pytest.raises(BadInput, match="no question"):
        figures(site.services, "when", ALL)
    with pytest.raises(BadInput, match="cannot be split"):
        figures(site.services, "why", ALL, by="colour")


def test_before_and_after_divide_on_the_day_of_the_change(site: Site) -> None:
    items = _site_with(site, cut=5, sound=6)
    site.clock.move(days=40)
    for number, item in enumerate(items[5:], 1):
        site.record(site.check(item, f"later-{number}"))
    answer = changed(site.services, ALL, date(2026, 4, 1))
    assert isinstance(answer, BeforeAfter)
    assert (answer.before, answer.after) == ((5, 11), (0, 6))
    with pytest.raises(BadInput, match="one side"):
        changed(site.services, ALL, date(2026, 3, 2))
    with pytest.raises(BadInput, match="outside the period"):
        changed(site.services, Scope(since=date(2026, 3, 10)), date(2026, 3, 2))


def test_months_without_inspections_stand_in_between() -> None:
    assert every_month({"2025-11": (1, 4), "2026-02": (0, 3)}) == [
        ("2025-11", 1, 4),
        ("2025-12", 0, 0),
        ("2026-01", 0, 0),
        ("2026-02", 0, 3),
    ]
    assert every_month({}) == []


def test_where_puts_marks_on_their_component(site: Site) -> None:
    _site_with(site, cut=2, sound=9)
    answer = where(site.services, ALL, Kind.WEBBING_LANYARD)
    webbing = next(damage for damage in answer.damages if damage.component is Component.WEBBING)
    assert (webbing.marks, webbing.items, webbing.looked_at) == (2, 2, 11)
    assert webbing.per_100 == pytest.approx(200 / 11)
    assert {mark.tag for mark in marks_behind(site.services, ALL, Kind.WEBBING_LANYARD, Component.WEBBING)} == {
        "LAN-001",
        "LAN-002",
    }
    assert 'data-component="webbing"' in answer.drawing
    assert "most marks lie on the webbing: 2 on 2 different items" in answer.in_words
    assert "can be given as a rate" in where(site.services, ALL, Kind.HARNESS).in_words


def test_a_mark_on_a_part_answered_unseen_counts_as_a_look(site: Site) -> None:
    item = site.lanyard()
    command = site.cut(item, 30.0)
    site.record(replace(command, answers=dict(command.answers) | {Component.WEBBING: Answer.UNSEEN}))
    answer = where(site.services, ALL, Kind.WEBBING_LANYARD)
    webbing = next(damage for damage in answer.damages if damage.component is Component.WEBBING)
    assert (webbing.marks, webbing.looked_at) == (1, 1)


def test_spending_tells_prices_that_nobody_entered(site: Site) -> None:
    _site_with(site, cut=3, sound=1)
    answer = spend(site.services, ALL)
    total = answer.spending.total
    assert (total.items, total.priced, total.without_price, total.cost) == (3, 2, 1, 200.0)
    assert "200.00 (2 of 3 items with a price; 1 without a price are not in it)" in answer.in_words
    assert {one.tag for one in answer.behind("cut")} == {"LAN-001", "LAN-002", "LAN-003"}


def test_what_is_coming_counts_age_from_the_day_of_making(site: Site) -> None:
    site.lanyard("LAN-001", made_on="2025-05-20", first_used_on="2026-01-05", maker_max_age_years=1.0)
    site.lanyard("LAN-002", made_on=None, maker_max_age_years=1.0)
    answer = outlook(site.services, ALL)
    months = {month.month: month for month in answer.coming.months}
    ((day, item),) = dict(months["2026-05"].reaching)[Limit.AGE]
    assert (day, item.tag) == (date(2026, 5, 20), "LAN-001")
    assert dict(answer.coming.unknown)[Limit.AGE] == 1
    assert answer.items == 2


def test_the_damage_limit_is_the_earliest_of_an_items_components() -> None:
    def grows(component: Component, yearly: float) -> list[DamageRow]:
        return [DamageRow("a", component, date(2020 + n, 1, 1), yearly * n) for n in range(4)]

    slow, fast = grows(Component.BODY, 0.1), grows(Component.GATE, 0.25)
    limits = damage_limits([*slow, *fast])
    assert limits == damage_limits(fast) and damage_limits(slow)["a"] > limits["a"]
    # A quarter of the limit a year, nothing to begin with: at the limit after four years.
    assert abs((limits["a"] - date(2024, 1, 1)).days) <= 3
    assert damage_limits(fast[:2]) == {}


@pytest.mark.parametrize("question", ["why", "life", "rates", "where", "prevent", "agree", "spending", "coming"])
@pytest.mark.parametrize("filled", [False, True])
def test_every_question_has_an_answer_as_json(site: Site, question: str, filled: bool) -> None:
    if filled:
        _site_with(site, cut=2, sound=2)
    by = "category" if question == "why" else "kind"
    answer = json.loads(json.dumps(question_plain(question, site.services, ALL, by), allow_nan=False))
    assert answer["question"] == question and answer["on"] == "2026-03-02" and answer["method"]
    assert answer.get("in_words") or answer["kinds"]


def test_what_is_told_and_not_estimated_is_marked_in_json() -> None:
    assert plain(TooFew("a", 1, 0, "Few."))["too_few"] is True
    assert plain({"share": float("inf"), "kind": Kind.HARNESS}) == {"share": None, "kind": "harness"}


def test_an_unknown_question_and_dates_the_wrong_way_round_are_refused(site: Site) -> None:
    with pytest.raises(BadInput, match="no question"):
        question_plain("when", site.services, ALL, "kind")
    with pytest.raises(BadInput, match="after the last"):
        Scope(since=date(2026, 2, 1), until=date(2026, 1, 1))
