"""The table of permissions, row by row, with the words of each refusal."""

from dataclasses import replace
from datetime import date
from itertools import product

import pytest

from inspect_core.domain.access import PERMISSIONS, Action, may, require
from inspect_core.domain.custody import MOVES, Move
from inspect_core.domain.errors import NotAllowed
from inspect_core.domain.people import Person, Role

DAY = date(2026, 5, 4)
W, C, M, A = Role.WORKER, Role.COMPETENT_PERSON, Role.MANAGER, Role.ADMINISTRATOR
ALL = {W, C, M, A}
#: Written down a second time, so that a slip in the table is seen. Common practice, no source; that inspections in
#: detail, withdrawals and releases are a competent person's is OSHA 29 CFR 1926.32(f) and EN 365, from memory.
EXPECTED = {
    "register gear": ALL,
    "correct what is registered": {C, M, A},
    "import a register": {C, M, A},
    "set prices": {M, A},
    "check before use": ALL,
    "inspect in detail": {C},
    "decide by hand": {C},
    "record a set-up check": ALL,
    "hand in photos": ALL,
    "record a second reading": {C, M, A},
    "put on hold": ALL,
    "withdraw": {C},
    "release": {C},
    "destroy": {C, M},
    "report an arrested fall": ALL,
    "make up a kit": {C, M, A},
    "issue a kit": {C, M, A},
    "take a kit back": ALL,
    "add people": {M, A},
    "change people": {M, A},
    "set their own PIN": ALL,
    "set another person's PIN": {A},
    "replace a name by a code": {A},
    "change settings": {M, A},
    "save a search": ALL,
    "export the records": {C, M, A},
    "make an archive": {M, A},
    "restore an archive": {A},
    "move the records to another place": {M, A},
    "sign the ledger": {M, A},
    "send mail": {M, A},
    "weigh the past by other rules": {C, M, A},
}


def test_every_action_has_its_row():
    assert set(PERMISSIONS) == set(Action)
    assert {action.value for action in Action} >= set(EXPECTED)


@pytest.mark.parametrize(("action", "role"), list(product(EXPECTED, Role)))
def test_each_role_may_do_what_the_table_says_and_nothing_else(action, role):
    person = Person("p", "Somebody", role)
    if role in EXPECTED[action]:
        require(person, Action(action), DAY)
        return
    with pytest.raises(NotAllowed) as refused:
        require(person, Action(action), DAY)
    article = "An" if role is A else "A"
    assert refused.value.problem == f"{article} {role.value} may not {action}."
    assert refused.value.remedy.startswith("Ask a") and role.value not in refused.value.remedy


@pytest.mark.parametrize("action", list(Action))
def test_somebody_who_left_may_do_nothing(action):
    with pytest.raises(NotAllowed, match="no longer active here"):
        require(Person("p", "Somebody", C, active=False), action, DAY)


@pytest.mark.parametrize("action", list(Action))
def test_an_expired_qualification_signs_releases_withdraws_destroys_and_inspects_nothing(action):
    expired = Person("p", "Somebody", C, date(2026, 5, 3))
    qualified = {Action.INSPECT, Action.JUDGE, Action.WITHDRAW, Action.RELEASE, Action.DESTROY, Action.CORRECT_ITEM}
    assert may(replace(expired, qualified_until=DAY), action, DAY) is (C in PERMISSIONS[action].roles)
    assert may(expired, action, DAY) is (C in PERMISSIONS[action].roles and action not in qualified)
    if action in qualified:
        with pytest.raises(NotAllowed, match="run out on 2026-05-03") as refused:
            require(expired, action, DAY)
        assert refused.value.remedy.startswith("Ask a competent person whose qualification is in date")


def test_the_moves_ask_the_same_table():
    assert {move: MOVES[move].action for move in MOVES} == {
        Move.HOLD: Action.HOLD,
        Move.WITHDRAW: Action.WITHDRAW,
        Move.RELEASE: Action.RELEASE,
        Move.DESTROY: Action.DESTROY,
    }
    assert [move for move in MOVES if MOVES[move].signed] == [Move.WITHDRAW, Move.RELEASE, Move.DESTROY]
