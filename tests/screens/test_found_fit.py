"""What was found fit once is no leave to use it now: no screen says so of gear that must not be used."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.gear import components_of
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases import review
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import Judgement, RecordInspection, record
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, WORKER, button, choice, screen, site, words

FIRST = "1" * 32
USABLE = "May be used"


def found_fit(services: Services, at: datetime) -> None:
    """An inspection in detail that found WL-1 fit, by judgement as well."""
    item = review.item_by_tag("WL-1", services).item
    answers = dict.fromkeys(components_of(item.kind), Answer.SOUND)
    judged = Judgement(Outcome.IN_SERVICE, "Seen twice, sound.")
    wanted = RecordInspection(FIRST, item.id, InspectionType.PERIODIC, COMPETENT.id, answers, hand=judged, at=at)
    assert record(wanted, services).inspection.outcome is Outcome.IN_SERVICE


def moved(services: Services, move: Move) -> None:
    item = review.item_by_tag("WL-1", services).item
    make_move(MakeMove("e" * 32, item.id, move, COMPETENT.id, "Seen in a puddle."), services)


@pytest.fixture(params=["on hold", "withdrawn", "overdue"])
def not_usable(request: pytest.FixtureRequest, tmp_path: Path) -> Services:
    services = site(tmp_path, "WL-1")
    if request.param == "overdue":
        found_fit(services, datetime(2020, 1, 1, 9, tzinfo=UTC))
        row = review.item_by_tag("WL-1", services)
        assert row.standing.usable and row.standing.overdue_on(services.today())
    else:
        found_fit(services, services.clock.now())
        moved(services, Move.HOLD if request.param == "on hold" else Move.WITHDRAW)
    return services


@pytest.mark.parametrize("name", ["today", "item", "search", "check", "inspect", "answer"])
def test_no_screen_says_may_be_used_of_gear_that_must_not_be(not_usable: Services, name: str) -> None:
    app = screen(not_usable, name, COMPETENT, tag="WL-1", inspection=FIRST)
    assert not app.exception
    said = words(app)
    assert USABLE not in said and USABLE.lower() not in said
    if name == "item":
        assert "Found fit" in said and "By judgement: found fit" in said
    if name == "search":
        assert "found fit" in said


def test_a_good_inspection_of_held_gear_is_not_shown_in_green_before_it_is_recorded(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    moved(services, Move.HOLD)
    app = screen(services, "inspect", COMPETENT, tag="WL-1")
    choice(app, "Has anything happened").set_value("Nothing happened").run()
    button(app, "Next: Parts").click().run()
    for component in components_of(review.item_by_tag("WL-1", services).item.kind):
        choice(app, component.value[0].upper() + component.value[1:]).set_value("Sound").run()
    button(app, "Next: Photos and marks").click().run()
    button(app, "Next: Answer").click().run()
    assert not app.exception
    said = words(app)
    assert USABLE not in said and "Found fit, and still on hold" in said


def test_gear_that_may_be_used_says_so(tmp_path: Path) -> None:
    services = site(tmp_path, "WL-1")
    found_fit(services, services.clock.now())
    assert USABLE in words(screen(services, "item", WORKER, tag="WL-1"))
