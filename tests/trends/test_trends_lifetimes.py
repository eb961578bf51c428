"""How long gear lasts: delayed entry, censoring, small groups, and properties that hold for any record."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind
from inspect_core.trends.causes import RARER, SEVERAL, UNKNOWN, Incidences, incidences, incidences_by, single_cause
from inspect_core.trends.few import TooFew
from inspect_core.trends.lifetimes import Survival, survival, survival_by
from inspect_core.trends.log_rank import LogRank, log_rank
from inspect_core.trends.watched import Lifetime


def life(entered: float, left: float, *reasons: str, retired: bool | None = None, site: str = "") -> Lifetime:
    gone = bool(reasons) if retired is None else retired
    return Lifetime("i", Kind.HARNESS, "", site, entered, left, gone, reasons)


def drawn(rows: list[Lifetime], **more: float) -> Survival:
    found = survival(rows, least_items=1, least_events=1, **more)  # type: ignore[arg-type]
    assert isinstance(found, Survival)
    return found


def split(rows: list[Lifetime]) -> Incidences:
    found = incidences(rows, least_items=1, least_events=1)
    assert isinstance(found, Incidences)
    return found


# By hand -----------------------------------------------------------------------------------------------------------


def test_an_item_that_enters_late_counts_only_from_then_on():
    """Ages 10, 20, 30; watched: 2, then 2 (one gone, one entered at 15), then 2 (one more from 25)."""
    rows = [life(0, 10, "cut"), life(0, 20, "cut"), life(15, 30, "burn"), life(25, 40)]
    curve = drawn(rows)
    assert curve.at_risk == (2, 2, 2)
    assert curve.share == pytest.approx((1 / 2, 1 / 4, 1 / 8))
    causes = {one.reason: one for one in split(rows).curves}
    assert causes["cut"].share == pytest.approx((1 / 2, 3 / 4))
    assert causes["burn"].share == pytest.approx((1 / 8,))


def test_an_item_that_enters_at_the_age_of_a_withdrawal_was_not_watched_just_before_it():
    assert drawn([life(0, 10, "cut"), life(0, 20), life(10, 20, "cut")]).at_risk == (2, 2)


def test_an_item_last_seen_at_the_age_of_a_withdrawal_was_watched():
    assert drawn([life(0, 10, "cut"), life(0, 10), life(0, 20)]).at_risk == (3,)


def test_a_record_without_time_is_left_out_and_told():
    rows = [life(0, 10, "cut"), life(0, 20), life(5, 5, "burn")]
    assert (drawn(rows).items, drawn(rows).events, drawn(rows).without_time) == (2, 1, 1)
    assert split(rows).without_time == 1


def test_the_curve_from_an_age_on_is_of_the_items_that_reached_it():
    rows = [life(0, 10, "cut"), life(0, 20, "cut"), life(0, 30)]
    assert drawn(rows, from_age_days=15).share == pytest.approx((1 / 2,))
    assert drawn(rows, from_age_days=15).starts_at_days == 15


def test_a_curve_that_falls_to_zero_while_older_items_are_watched_is_not_drawn():
    rows = [life(0, 1, "cut"), life(5, 20, "cut"), life(5, 30)]
    for found in (
        survival(rows, least_items=1, least_events=1),
        incidences(rows, least_items=1, least_events=1),
    ):
        assert isinstance(found, TooFew)
        assert "look from a higher age on" in found.in_words
    assert drawn(rows, from_age_days=5).share == pytest.approx((1 / 2,))


def test_ages_that_nobody_watched_are_told():
    rows = [life(0, 10, "cut"), life(0, 12), life(20, 30, "cut"), life(20, 40)]
    assert drawn(rows).unwatched == ((12, 20),)
    assert drawn(rows).starts_at_days == 0


def test_where_few_items_carry_the_curve_is_told():
    rows = [life(0, n, "cut") for n in range(1, 9)]
    assert drawn(rows).thin_from_days == 5
    assert drawn([life(0, 1, "cut")] + [life(0, 9) for _ in range(9)]).thin_from_days is None


def test_where_everything_is_withdrawn_the_last_upper_end_stays():
    """At a share of 0 the log(−log) scale has no value; zero left of six watched does not prove zero."""
    curve = drawn([life(0, n, "cut") for n in range(1, 7)])
    assert (curve.share[-1], curve.low[-1], curve.high[-1]) == (0, 0, curve.high[-2])
    assert 0 < curve.high[-1] < 1
    only = split([life(0, n, "cut") for n in range(1, 7)]).curves[0]
    assert (only.share[-1], only.low[-1], only.high[-1]) == (pytest.approx(1), only.low[-2], 1)


def test_the_median_is_the_first_age_with_half_or_less_left():
    assert drawn([life(0, 1, "a"), life(0, 2, "a"), life(0, 3), life(0, 4)]).median == 2
    assert drawn([life(0, 1, "a"), life(0, 2), life(0, 3)]).median is None


def test_shares_at_an_age_step_with_the_withdrawals():
    curve = drawn([life(0, 10, "a"), life(0, 20)])
    assert curve.at(9.9) == (1.0, None, 1.0)
    assert curve.at(10)[0] == pytest.approx(0.5)
    with pytest.raises(BadInput, match="21 days"):
        curve.at(21)


def test_the_median_is_told_with_interval_and_counts():
    rows = [life(0, 365.25 * n, "cut") for n in range(1, 13)]
    assert drawn(rows).in_words == (
        "all: half was withdrawn by 6.0 years (95 % interval 2.0 years to 10.0 years; 12 items, 12 withdrawn)."
    )
    few = [life(365.25, 800, "cut"), *(life(365.25, 900) for _ in range(4))]
    assert drawn(few).in_words == (
        "all: more than half of the gear that reached 1.0 years was still not withdrawn at the end of the record "
        "(5 items, 1 withdrawn)."
    )


# Small groups ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("items", "events", "few"), [(10, 5, False), (9, 5, True), (10, 4, True)])
def test_groups_below_ten_items_or_five_withdrawals_are_told_not_drawn(items: int, events: int, few: bool):
    rows = [life(0, n + 1, *(["cut"] if n < events else [])) for n in range(items)]
    for found in (survival(rows, "site A"), incidences(rows, "site A")):
        assert isinstance(found, TooFew) is few
        assert (found.label, found.items, found.events) == ("site A", items, events)
    if few:
        told = survival(rows, "site A")
        assert isinstance(told, TooFew)
        assert told.in_words.startswith(f"site A: {items} items, {events} events. Not drawn.")


def test_groups_come_in_order_of_name_each_drawn_or_told():
    rows = [life(0, n + 1, "cut", site="B") for n in range(12)] + [life(0, 3, "cut", site="A")]
    assert [type(found) for found in survival_by(rows, "site")] == [TooFew, Survival]
    assert [found.label for found in incidences_by(rows, "site")] == ["A", "B"]
    with pytest.raises(KeyError):
        survival_by(rows, "colour")


def test_no_record_at_all_is_told():
    assert isinstance(survival([]), TooFew)
    assert isinstance(survival([], least_items=0, least_events=0), TooFew)
    assert isinstance(incidences([], least_items=0, least_events=0), TooFew)


def test_a_group_without_a_withdrawal_is_told_whatever_the_minimum():
    rows = [life(0, 5), life(0, 6)]
    assert isinstance(survival(rows, least_items=0, least_events=0), TooFew)
    assert isinstance(incidences(rows, least_items=0, least_events=0), TooFew)


# Reasons -----------------------------------------------------------------------------------------------------------


def test_reasons_of_one_item_make_one_cause():
    assert single_cause(["cut"]) == single_cause(["cut", "cut"]) == "cut"
    assert single_cause(["cut", "burn"]) == SEVERAL
    assert single_cause([]) == UNKNOWN


def test_rare_reasons_are_pooled_and_each_told():
    rows = [life(0, n + 1, "cut") for n in range(6)]
    rows += [life(0, n + 1.5, "burn") for n in range(2)] + [life(0, 4.2, retired=True), life(0, 20)]
    found = incidences(rows)
    assert isinstance(found, Incidences)
    assert [(one.reason, one.events) for one in found.curves] == [("cut", 6)]
    assert found.rare is not None and (found.rare.reason, found.rare.events) == (RARER, 3)
    assert [(one.label, one.events) for one in found.told] == [("burn", 2), (UNKNOWN, 1)]


def test_before_its_first_withdrawal_a_reason_has_no_upper_end():
    one = split([life(0, 10, "cut"), life(0, 20)]).curves[0]
    assert one.at(5) == (0.0, 0.0, None)
    assert one.at(15)[0] == pytest.approx(0.5)


# Log-rank ----------------------------------------------------------------------------------------------------------


def test_log_rank_with_delayed_entry_is_the_sum_over_ages_by_hand():
    rows = [life(0, 4, "a", site="A"), life(0, 9, "a", site="A"), life(3, 7, "a", site="A"), life(2, 12, site="A")]
    rows += [life(0, 5, "a", site="B"), life(4, 11, "a", site="B"), life(1, 13, site="B"), life(0, 6, site="B")]
    observed, expected, variance = 0, Fraction(0), Fraction(0)
    for age in sorted({int(row.left_age_days) for row in rows if row.retired}):
        watched = [row for row in rows if row.entered_age_days < age <= row.left_age_days]
        gone = [row for row in watched if row.retired and row.left_age_days == age]
        n, own, d = len(watched), sum(row.site == "A" for row in watched), len(gone)
        observed += sum(row.site == "A" for row in gone)
        expected += Fraction(d * own, n)
        if n > 1:
            variance += Fraction(d * own * (n - own) * (n - d), n * n * (n - 1))
    found = log_rank(rows, "site", least_items=1, least_events=1)
    assert isinstance(found, LogRank)
    assert (found.groups[0].observed, found.groups[0].expected) == (observed, pytest.approx(float(expected)))
    assert found.chi_square == pytest.approx(float((observed - expected) ** 2 / variance))
    assert "names no cause" in found.in_words


def test_log_rank_leaves_small_groups_out_and_says_so():
    rows = [life(0, n + 1, "a", site=site) for site in "AB" for n in range(12)] + [life(0, 5, "a", site="C")]
    found = log_rank(rows, "site")
    assert isinstance(found, LogRank)
    assert ([g.label for g in found.groups], [g.label for g in found.left_out]) == (["A", "B"], ["C"])
    assert found.chi_square == pytest.approx(0) and found.p_value == pytest.approx(1)


def test_log_rank_needs_two_groups_watched_at_the_same_ages():
    one = [life(0, n + 1, "a", site="A") for n in range(12)]
    apart = [life(100, 101 + n, "a", site="B") for n in range(12)]
    assert isinstance(log_rank(one, "site"), TooFew)
    assert isinstance(log_rank(one + apart, "site"), TooFew)


# Input -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ages", [(5, 4), (-1, 4), (0, float("nan")), (0, float("inf"))])
def test_ages_that_do_not_follow_are_refused(ages: tuple[float, float]):
    with pytest.raises(BadInput, match="do not follow"):
        life(*ages)


def test_a_reason_without_a_withdrawal_is_refused():
    with pytest.raises(BadInput, match="not withdrawn"):
        life(0, 5, "cut", retired=False)


@pytest.mark.parametrize("confidence", [0, 0.5, 1, 95])
def test_a_confidence_that_is_none_is_refused(confidence: float):
    for estimate in (survival, incidences):
        with pytest.raises(BadInput, match="confidence"):
            estimate([life(0, 5, "cut")], confidence=confidence)
        with pytest.raises(BadInput, match="age to look from"):
            estimate([life(0, 5, "cut")], from_age_days=-1)


def test_ages_are_counted_from_the_first_day():
    given_days = {"first_day": date(2020, 1, 1), "seen_until": date(2020, 1, 31), "retired": False}
    late = Lifetime.from_days("i", Kind.HARNESS, "", "", seen_from=date(2020, 1, 11), **given_days)  # type: ignore[arg-type]
    early = Lifetime.from_days("i", Kind.HARNESS, "", "", seen_from=date(2019, 1, 1), **given_days)  # type: ignore[arg-type]
    assert (late.entered_age_days, late.left_age_days, early.entered_age_days) == (10, 30, 0)


def test_statsmodels_is_loaded_only_when_something_is_estimated():
    """It costs seconds at start-up, so no import of this package may pull it in."""
    names = "lifetimes causes log_rank rates control_charts agreement funnel before_after damage_map spending coming"
    code = "import sys\n" + "".join(f"import inspect_core.trends.{name}\n" for name in names.split())
    done = subprocess.run([sys.executable, "-c", code + "print('statsmodels' in sys.modules)"], capture_output=True)
    assert done.stdout.strip() == b"False", done.stderr


# Whatever the record -----------------------------------------------------------------------------------------------

LIVES = st.builds(
    lambda entered, length, reason, site: life(entered, entered + length, *([reason] if reason else []), site=site),
    st.integers(0, 15),
    st.integers(0, 15),
    st.sampled_from(["", "cut", "burn", "rust"]),
    st.sampled_from(["A", "B", "C"]),
)
RECORDS = st.lists(LIVES, min_size=1, max_size=40)


@settings(max_examples=150, deadline=None)
@given(RECORDS)
def test_survival_never_rises_and_intervals_hold_it(rows: list[Lifetime]):
    curve = survival(rows, least_items=1, least_events=1)
    if isinstance(curve, TooFew):
        return
    assert all(a >= b for a, b in zip((1.0, *curve.share), curve.share, strict=False))
    for low, share, high in zip(curve.low, curve.share, curve.high, strict=True):
        assert 0 <= low <= share + 1e-12 and share <= high + 1e-12 and high <= 1
    if curve.median is not None:
        assert curve.median_low is not None and curve.median_low <= curve.median
        assert curve.median_high is None or curve.median <= curve.median_high


@settings(max_examples=150, deadline=None)
@given(RECORDS)
def test_incidences_add_up_to_what_did_not_survive_and_intervals_hold_them(rows: list[Lifetime]):
    curve = survival(rows, least_items=1, least_events=1)
    causes = incidences(rows, least_items=1, least_events=3)
    if isinstance(curve, TooFew) or isinstance(causes, TooFew):
        return
    every = [*causes.curves, *([causes.rare] if causes.rare else [])]
    for age, share in zip(curve.ages, curve.share, strict=True):
        assert sum(one.at(age)[0] for one in every) == pytest.approx(1 - share, abs=1e-9)
    for one in every:
        assert all(a <= b for a, b in zip(one.share, one.share[1:], strict=False))
        for low, share, high in zip(one.low, one.share, one.high, strict=True):
            assert 0 <= low <= share + 1e-12 and share <= high + 1e-12 and high <= 1


@settings(max_examples=60, deadline=None)
@given(RECORDS, st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(rows: list[Lifetime], random):
    mixed = list(rows)
    random.shuffle(mixed)
    for estimate in (survival, incidences):
        assert estimate(mixed, least_items=1, least_events=1) == estimate(rows, least_items=1, least_events=1)
    one, other = (log_rank(r, "site", least_items=1, least_events=1) for r in (rows, mixed))
    assert type(one) is type(other)
    if isinstance(one, LogRank) and isinstance(other, LogRank):
        assert one.chi_square == pytest.approx(other.chi_square)


@settings(max_examples=60, deadline=None)
@given(RECORDS)
def test_a_wider_confidence_gives_a_wider_interval(rows: list[Lifetime]):
    narrow, wide = (survival(rows, least_items=1, least_events=1, confidence=level) for level in (0.8, 0.99))
    if isinstance(narrow, TooFew) or isinstance(wide, TooFew):
        return
    assert all(a <= b + 1e-12 for a, b in zip(wide.low, narrow.low, strict=True))
    assert all(a >= b - 1e-12 for a, b in zip(wide.high, narrow.high, strict=True))
