"""The demo site: reproducible, whole, and with its planted cause in it."""

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest

from inspect_core import bootstrap
from inspect_core.domain.custody import State
from inspect_core.domain.errors import Conflict, NotAllowed
from inspect_core.domain.gear import Kind, components_of, may_be_absent
from inspect_core.domain.marks import Category
from inspect_core.usecases.demo import fill_demo
from inspect_core.usecases.demo_plan import CHARGER_STORE, plan_site
from inspect_core.usecases.review import today
from inspect_core.usecases.search import Query, search
from inspect_core.usecases.trends import retirement_reasons
from inspect_core.usecases.verify import verify
from tests.usecases.site import StandingClock

UNTIL = date(2026, 11, 25)


def test_the_same_seed_and_day_give_the_same_plan_and_another_seed_another():
    assert plan_site(7, UNTIL) == plan_site(7, UNTIL)
    assert plan_site(7, UNTIL) != plan_site(8, UNTIL)


def test_the_plan_holds_sixty_items_of_every_kind_over_three_years():
    plan = plan_site(7, UNTIL)
    assert len(plan) >= 60
    assert {item.kind for item in plan} == set(Kind)
    assert (UNTIL - min(item.starts for item in plan)).days > 365 * 3 - 45
    assert len({item.fields["tag"] for item in plan}) == len(plan)


def test_only_what_may_be_absent_is_absent_and_only_what_is_there_is_harmed():
    for item in plan_site(7, UNTIL):
        assert all(may_be_absent(item.kind, part) for part in item.absent)
        assert all(h.component in components_of(item.kind) for h in item.harms)


def test_the_planted_cause_shows_in_the_plan():
    rates = Counter()
    for seed in range(20):
        for item in plan_site(seed, UNTIL):
            charger = item.fields["note"] == CHARGER_STORE
            rates[charger, "items"] += 1
            rates[charger, "harmed"] += any(h.category is Category.CHEMICAL for h in item.harms)
    assert rates[True, "harmed"] / rates[True, "items"] > 0.5
    assert rates[False, "harmed"] == 0


@pytest.mark.slow
def test_the_demo_fills_a_store_that_a_newcomer_can_use(site):
    seen = []
    made = fill_demo(site.services, progress=lambda done, total, words: seen.append((done, total)))
    assert made.items >= 60
    assert made.inspections > 800
    assert made.photos > 100
    assert seen[-1][0] == seen[-1][1]
    assert verify(site.services).faults == ()
    now = today(site.services)
    assert now.overdue and now.on_hold
    assert set(now.counts) == set(State)
    assert len(retirement_reasons(site.services).items) > 20
    assert search(Query("rust"), site.services).hits
    with pytest.raises(Conflict, match="holds items already"):
        fill_demo(site.services)


@pytest.mark.slow
def test_the_same_demo_twice_gives_the_same_account(tmp_path):
    heads = []
    for folder in ("one", "two"):
        # An empty store: whoever is added outside the demo gets a salt that nobody can guess, another one every time.
        services = replace(bootstrap.open_services(str(tmp_path / folder)), clock=StandingClock())
        fill_demo(services, seed=3)
        heads.append(verify(services).head)
    assert heads[0] == heads[1]


def test_a_program_without_its_drawing_part_says_so(site):
    with pytest.raises(NotAllowed, match="drawing part"):
        fill_demo(replace(site.services, draw=None))
