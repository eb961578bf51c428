"""Guarded acceptance, calendar sums, damage used and wording."""

from __future__ import annotations

import doctest
from datetime import date

import pytest

from inspect_core.domain import dates, guard, wording
from inspect_core.domain.damage import damage_of, damage_used
from inspect_core.domain.dates import add_months
from inspect_core.domain.decision import Basis, Finding, FindingOutcome
from inspect_core.domain.guard import Reach, reach


@pytest.mark.parametrize("module", [guard, dates, wording])
def test_the_examples_in_the_docstrings_hold(module):
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0


@pytest.mark.parametrize(
    ("value", "spread", "limit", "includes", "expected"),
    [
        # JCGM 106:2012, 8.3: acceptance limit A = T - U for an upper limit T; between A and T nothing is shown.
        (0.79, 0.2, 1.0, True, Reach.CLEARED),
        (0.81, 0.2, 1.0, True, Reach.NOT_RULED_OUT),
        (0.8, 0.2, 1.0, True, Reach.NOT_RULED_OUT),
        (0.8, 0.2, 1.0, False, Reach.NOT_RULED_OUT),
        (1.0, 0.2, 1.0, True, Reach.REACHED),
        (1.0, 0.2, 1.0, False, Reach.NOT_RULED_OUT),
        (1.0, 0.0, 1.0, False, Reach.CLEARED),
        (1.01, 0.0, 1.0, False, Reach.REACHED),
        (0.7, 0.1, 0.8, True, Reach.NOT_RULED_OUT),  # 0.7 + 0.1 is 0.7999999999999999 in binary fractions
        (0.0, 0.0, 0.0, False, Reach.CLEARED),
        (0.0, 0.1, 0.0, False, Reach.NOT_RULED_OUT),
    ],
)
def test_an_upper_limit(value: float, spread: float, limit: float, includes: bool, expected: Reach):
    assert reach(value, spread, limit, includes_limit=includes) is expected


@pytest.mark.parametrize(
    ("value", "spread", "expected"),
    [
        (41, 0.5, Reach.CLEARED),
        (40, 0, Reach.CLEARED),
        (40.5, 0.5, Reach.NOT_RULED_OUT),
        (39.9, 0.5, Reach.REACHED),
    ],
)
def test_a_lower_limit(value: float, spread: float, expected: Reach):
    assert reach(value, spread, 40, lower=True, includes_limit=False) is expected


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 12, 31), 12, date(2027, 12, 31)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 5, 4), 0, date(2026, 5, 4)),
        (date(9999, 6, 1), 12, date.max),
    ],
)
def test_months_are_added_and_kept_inside_the_month(day: date, months: int, later: date):
    assert add_months(day, months) == later


def finding(outcome: FindingOutcome, value: float | None = None, spread: float = 0.0, **more) -> Finding:
    given = {"mark": "m", "measure": "length", "limit": 10.0, **more}
    return Finding("r", outcome, "", "", Basis.PUBLISHED, value=value, uncertainty=spread, **given)


@pytest.mark.parametrize(
    ("found", "damage"),
    [
        (finding(FindingOutcome.CLEARED, 4.0, 1.0), 0.5),
        (finding(FindingOutcome.HOLD, 9.0, 2.0), 1.1),
        (finding(FindingOutcome.WITHDRAW, 20.0), 2.0),
        (finding(FindingOutcome.WITHDRAW, None), 1.0),
        (finding(FindingOutcome.HOLD, None), 0.0),
        (finding(FindingOutcome.HOLD, 0.0, 1.0, limit=0.0), 1.0),
        (finding(FindingOutcome.CLEARED, 0.0, 0.0, limit=0.0), 0.0),
        (finding(FindingOutcome.CLEARED, -1.0, 0.0), 0.0),
        (finding(FindingOutcome.CLEARED, 45.0, 5.0, measure="webbing width", limit=40.0), 1.0),
        (finding(FindingOutcome.CLEARED, 85.0, 5.0, measure="webbing width", limit=40.0), 0.5),
        (finding(FindingOutcome.HOLD, 3.0, 5.0, measure="webbing width", limit=40.0), 10.0),
        (finding(FindingOutcome.HOLD, 95.0, mark=None), 0.0),
    ],
)
def test_damage_of_a_finding(found: Finding, damage: float):
    assert damage_of(found) == pytest.approx(damage)


def test_damage_used_is_the_largest_and_nil_of_nothing():
    assert damage_used([finding(FindingOutcome.CLEARED, 4.0), finding(FindingOutcome.CLEARED, 7.0)]) == 0.7
    assert damage_used([]) == 0.0
