"""When the next periodic inspection is due."""

from __future__ import annotations

from datetime import date

import pytest

from inspect_core.domain.decision import Basis, Case
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.rules.intervals import due_of, next_due
from inspect_core.rules.loader import load_rules

RULES = load_rules()
LAST = date(2026, 8, 31)


@pytest.mark.parametrize(
    ("profile", "severe", "months", "on", "row"),
    [
        ("common", False, 12, date(2027, 8, 31), "A08"),  # EN 365: at least every 12 months
        ("common", True, 3, date(2026, 11, 30), "A10"),  # HSE INDG367: 3 months in arduous settings
        ("canada ontario", False, 12, date(2027, 8, 31), "A08"),
        ("us construction", False, 6, date(2027, 2, 28), "A12"),  # ANSI A10.32: twice a year
        ("us construction", True, 3, date(2026, 11, 30), "A10"),
        ("us general industry", False, 12, date(2027, 8, 31), "A11"),  # ANSI Z359.2: no more than a year
        ("us general industry", True, 3, date(2026, 11, 30), "A16"),  # WAC table: quarterly, written for lifting gear
        ("uk europe", False, 6, date(2027, 2, 28), "A09"),  # HSE INDG367: 6 months
    ],
)
def test_the_shortest_interval_of_the_profile_sets_the_date(
    profile: str, severe: bool, months: int, on: date, row: str
):
    due = next_due(RULES, profile, Kind.HARNESS, LAST, severe)
    assert (due.months, due.on, due.row) == (months, on, row)
    assert due.citation.endswith(f"({row})")
    assert due.analogue is (row == "A16")


def test_a_shorter_interval_of_the_maker_comes_first_and_a_longer_one_does_not():
    shorter = next_due(RULES, "common", Kind.HARNESS, LAST, maker_months=6)
    assert (shorter.on, shorter.basis, shorter.source) == (date(2027, 2, 28), Basis.MAKER, "maker's instructions")
    assert next_due(RULES, "common", Kind.HARNESS, LAST, maker_months=24).months == 12


def test_an_unknown_profile_is_refused():
    with pytest.raises(BadInput, match="no known profile"):
        next_due(RULES, "atlantis", Kind.HARNESS, LAST)


def test_a_case_without_dates_has_no_due_date():
    assert due_of(Case(Kind.HARNESS, "common"), RULES) is None


def test_the_day_stated_and_the_day_computed_are_weighed_and_the_earlier_counts():
    facts = {"next due": date(2027, 1, 1), "last periodic inspection": LAST}
    stated = due_of(Case(Kind.HARNESS, "common", facts), RULES)
    computed = due_of(Case(Kind.HARNESS, "common", {**facts, "next due": date(2028, 1, 1)}), RULES)
    assert stated is not None and (stated[0], stated[2]) == (date(2027, 1, 1), None)
    assert computed is not None and computed[0] == date(2027, 8, 31)
    assert computed[1] == "12 months after the last one"
