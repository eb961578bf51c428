"""Every state × move × role, with the evidence each needs."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest

from inspect_core.domain.custody import MOVES, Move, Standing, State, check_move, move_for, state_after
from inspect_core.domain.decision import Decision, Outcome, RulesStamp, hand_decision
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.people import Person, Role

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
DAY = NOW.date()


def standing(state: State) -> Standing:
    return Standing("item", state, NOW - timedelta(days=1), "reason")


def person(role: Role, **changes) -> Person:
    return replace(Person("p", "Somebody", role), **changes)


def decision(outcome: Outcome) -> Decision:
    return Decision(outcome, 0.0, (), RulesStamp("1", "0" * 64))


def inspection(**changes) -> Inspection:
    sound = Inspection(
        "i", "item", InspectionType.PERIODIC, NOW, "p", "", "common", {}, {}, (), (), decision(Outcome.IN_SERVICE)
    )
    return replace(sound, **changes)


WITNESS = Person("w", "Another", Role.WORKER)
EVIDENCE = {"reason": "seen and judged", "inspection": inspection(), "photo_id": "0" * 64, "witness": WITNESS}


@pytest.mark.parametrize(("state", "move", "role"), list(product(State, MOVES, Role)))
def test_a_move_is_made_from_its_states_by_its_roles_and_by_nothing_else(state, move, role):
    rule = MOVES[move]
    if state in rule.starts and role in rule.roles:
        assert check_move(move, standing(state), person(role), DAY, **EVIDENCE) is rule.ends
    else:
        with pytest.raises(NotAllowed) as refused:
            check_move(move, standing(state), person(role), DAY, **EVIDENCE)
        assert refused.value.remedy.endswith(".")


def test_no_move_leads_out_of_withdrawn_but_destruction_and_none_out_of_destroyed():
    leaving = {move for move, rule in MOVES.items() if State.WITHDRAWN in rule.starts}
    assert leaving == {Move.DESTROY}
    assert not any(State.DESTROYED in rule.starts for rule in MOVES.values())


def test_only_a_release_leads_into_service():
    assert [m for m in MOVES if state_after(m) is State.IN_SERVICE] == [Move.RELEASE]
    assert MOVES[Move.RELEASE].roles == (Role.COMPETENT_PERSON,)


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        ({"inspection": None}, "needs a new inspection"),
        ({"inspection": inspection(item_id="another")}, "another item"),
        ({"inspection": inspection(type=InspectionType.BEFORE_USE)}, "before use releases nothing"),
        ({"inspection": inspection(at=NOW - timedelta(days=2))}, "older than the hold"),
        ({"inspection": inspection(decision=decision(Outcome.HOLD))}, "ended in “hold”"),
    ],
)
def test_a_release_without_its_evidence_is_refused(evidence, said):
    with pytest.raises(NotAllowed, match=said):
        check_move(
            Move.RELEASE, standing(State.ON_HOLD), person(Role.COMPETENT_PERSON), DAY, **{**EVIDENCE, **evidence}
        )


@pytest.mark.parametrize(
    ("evidence", "said"),
    [
        ({"photo_id": None}, "shown by a photo"),
        ({"witness": None}, "needs a witness"),
        ({"witness": person(Role.MANAGER)}, "their own witness"),
        ({"witness": replace(WITNESS, active=False)}, "no longer active"),
    ],
)
def test_a_destruction_without_photo_or_another_persons_witness_is_refused(evidence, said):
    with pytest.raises((BadInput, NotAllowed), match=said):
        check_move(Move.DESTROY, standing(State.WITHDRAWN), person(Role.MANAGER), DAY, **{**EVIDENCE, **evidence})


@pytest.mark.parametrize(
    ("raised_by", "inspected_by", "said"),
    [
        ({"p"}, "q", "whoever raised the hold may not release it"),
        ({"q"}, "q", "that inspection was made by whoever raised the hold"),
        ({"q", "p"}, "r", "whoever raised the hold may not release it"),
        ({"q", "s"}, "s", "that inspection was made by whoever raised the hold"),
        ({"q"}, "r", None),
        ({"q"}, "p", None),
        (set(), "p", None),
    ],
)
def test_where_the_site_asks_for_two_neither_inspection_nor_release_is_by_who_raised_the_hold(
    raised_by, inspected_by, said
):
    given = {**EVIDENCE, "inspection": inspection(by=inspected_by), "raised_by": raised_by}
    able = person(Role.COMPETENT_PERSON)
    assert check_move(Move.RELEASE, standing(State.ON_HOLD), able, DAY, **given) is State.IN_SERVICE
    if said is None:
        assert check_move(Move.RELEASE, standing(State.ON_HOLD), able, DAY, **given, two_persons=True)
    else:
        with pytest.raises(NotAllowed, match=said):
            check_move(Move.RELEASE, standing(State.ON_HOLD), able, DAY, **given, two_persons=True)


def test_a_move_without_reason_is_refused():
    with pytest.raises(BadInput, match="reason"):
        check_move(Move.HOLD, standing(State.IN_SERVICE), person(Role.WORKER), DAY, reason="  ")


@pytest.mark.parametrize(
    ("until", "active", "allowed"),
    [(None, True, True), (DAY, True, True), (DAY - timedelta(days=1), True, False), (None, False, False)],
)
def test_a_qualification_counts_to_its_last_day(until, active, allowed):
    someone = person(Role.COMPETENT_PERSON, qualified_until=until, active=active)
    assert someone.competent_on(DAY) is allowed
    if not allowed:
        with pytest.raises(NotAllowed, match=r"qualification|no longer active"):
            check_move(Move.WITHDRAW, standing(State.ON_HOLD), someone, DAY, reason="worn out")


def test_a_good_outcome_moves_nothing_by_itself():
    assert [move_for(Outcome.IN_SERVICE, state) for state in State] == [None] * 4


def test_a_bad_outcome_moves_only_what_is_still_there():
    assert {s: move_for(Outcome.HOLD, s) for s in State} == {
        State.IN_SERVICE: Move.HOLD,
        State.ON_HOLD: None,
        State.WITHDRAWN: None,
        State.DESTROYED: None,
    }
    assert {s: move_for(Outcome.WITHDRAW, s) for s in State} == {
        State.IN_SERVICE: Move.WITHDRAW,
        State.ON_HOLD: Move.WITHDRAW,
        State.WITHDRAWN: None,
        State.DESTROYED: None,
    }


def test_judgement_by_hand_may_settle_a_hold_and_never_undoes_a_withdrawal():
    able = person(Role.COMPETENT_PERSON)
    words = "Surface fibres only, no thread worn through."
    assert hand_decision(decision(Outcome.HOLD), Outcome.IN_SERVICE, words, able, DAY).outcome is Outcome.IN_SERVICE
    assert hand_decision(decision(Outcome.IN_SERVICE), Outcome.WITHDRAW, words, able, DAY).by == "p"
    for milder in (Outcome.IN_SERVICE, Outcome.HOLD):
        with pytest.raises(NotAllowed, match="no judgement puts it back"):
            hand_decision(decision(Outcome.WITHDRAW), milder, words, able, DAY)
    with pytest.raises(BadInput, match="needs its reason"):
        hand_decision(decision(Outcome.HOLD), Outcome.IN_SERVICE, "ok", able, DAY)
    for role in (Role.WORKER, Role.MANAGER, Role.ADMINISTRATOR):
        with pytest.raises(NotAllowed, match="competent person"):
            hand_decision(decision(Outcome.HOLD), Outcome.IN_SERVICE, words, person(role), DAY)


def test_only_gear_in_service_is_usable():
    assert [s for s in State if standing(s).usable] == [State.IN_SERVICE]


@pytest.mark.parametrize(
    ("next_due", "usable"),
    [(None, True), (DAY, True), (DAY + timedelta(days=1), True), (DAY - timedelta(days=1), False)],
)
def test_gear_in_service_is_usable_to_the_last_day_before_its_inspection_is_overdue(next_due, usable):
    item = replace(standing(State.IN_SERVICE), next_due=next_due)
    assert item.usable_on(DAY) is usable
    assert item.overdue_on(DAY) is not usable
    assert not replace(item, state=State.ON_HOLD).usable_on(DAY)


def test_an_inspection_without_time_zone_is_refused():
    with pytest.raises(BadInput, match="time zone"):
        inspection(at=datetime(2026, 5, 4, 9, 0))  # noqa: DTZ001 - the fault under test
    assert inspection().at.date() == date(2026, 5, 4)
