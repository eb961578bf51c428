"""PINs, sign-ins, guesses, salts, signatures and kits come back from their rows as they went in."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from inspect_core.domain.credentials import Credential, Method, SignIn
from inspect_core.domain.custody import CustodyEvent, Move, State
from inspect_core.domain.errors import Conflict, NotFound
from inspect_core.domain.kits import Kit, KitEvent, KitMove, content_at
from inspect_core.domain.people import Person, Role
from inspect_core.domain.signatures import Signature
from inspect_core.ports import UnitOfWorkFactory
from tests.storage import made

HOUR = timedelta(hours=1)


@pytest.fixture
def filled(units: UnitOfWorkFactory) -> UnitOfWorkFactory:
    """Two people and three items."""
    with units(write=True) as unit:
        for name in ("p1", "p2"):
            unit.people.add(Person(name, f"Person {name}", Role.WORKER, name_salt=f"salt of {name}"))
        for number in (1, 2, 3):
            unit.items.add(made.item(number), made.standing(f"item-{number}"))
        unit.commit()
    return units


def test_a_person_keeps_the_salt_and_whether_the_name_is_a_code(filled: UnitOfWorkFactory) -> None:
    coded = Person("p1", "P-17", Role.WORKER, name_salt="", coded=True)
    with filled(write=True) as unit:
        assert unit.people.get("p1").name_salt == "salt of p1"
        unit.people.add(coded)
        unit.people.forget_old_names()
        unit.commit()
    with filled() as unit:
        assert unit.people.get("p1") == coded
        assert unit.people.get("p1").name_salt == ""
        assert unit.search.find("Person p1").hits == ()


def test_a_credential_comes_back_and_one_is_enough_to_lock(filled: UnitOfWorkFactory) -> None:
    credential = Credential("p1", "$argon2id$x", made.NOW, True, 7, made.NOW + HOUR)
    with filled(write=True) as unit:
        assert not unit.sign_ins.any_credential()
        unit.sign_ins.put_credential(credential)
        unit.sign_ins.put_credential(replace(credential, failures=8))
        unit.commit()
    with filled() as unit:
        assert unit.sign_ins.any_credential()
        assert unit.sign_ins.credentials() == (replace(credential, failures=8),)
        assert unit.sign_ins.credential("p2") is None


def test_sign_ins_end_one_by_one_by_person_and_by_age(filled: UnitOfWorkFactory) -> None:
    one = SignIn("k1", "p1", Method.PIN, made.NOW, made.NOW, made.NOW + HOUR, timedelta(minutes=5))
    others = (replace(one, key="k2"), replace(one, key="k3", person_id="p2", ends_at=made.NOW + 3 * HOUR))
    with filled(write=True) as unit:
        for sign_in in (one, *others):
            unit.sign_ins.put_sign_in(sign_in)
        unit.sign_ins.put_sign_in(replace(one, seen_at=made.NOW + timedelta(minutes=2)))
        assert unit.sign_ins.sign_in("k1") == replace(one, seen_at=made.NOW + timedelta(minutes=2))
        unit.sign_ins.end_sign_in("k1")
        assert [unit.sign_ins.sign_in(key) for key in ("k1", "k2")] == [None, others[0]]
        unit.sign_ins.end_sign_ins("p1")
        assert unit.sign_ins.sign_in("k2") is None
        unit.sign_ins.end_old_sign_ins(made.NOW + 2 * HOUR)
        assert unit.sign_ins.sign_in("k3") == others[1]
        unit.sign_ins.end_old_sign_ins(made.NOW + 3 * HOUR)
        assert unit.sign_ins.sign_in("k3") is None


def test_guesses_are_counted_taken_back_and_forgotten(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as unit:
        first = unit.sign_ins.add_guess(made.NOW)
        unit.sign_ins.add_guess(made.NOW + timedelta(seconds=30))
        assert unit.sign_ins.guesses_since(made.NOW - HOUR) == 2
        assert unit.sign_ins.guesses_since(made.NOW) == 1
        unit.sign_ins.take_back_guess(first)
        assert unit.sign_ins.guesses_since(made.NOW - HOUR) == 1
        unit.sign_ins.add_guess(made.NOW + 2 * HOUR)
        assert unit.sign_ins.guesses_since(made.NOW - HOUR) == 1


def test_a_signed_move_with_its_witness_comes_back(filled: UnitOfWorkFactory) -> None:
    event = CustodyEvent(
        *("c1", "item-1", made.NOW, "p1", Move.HOLD, State.IN_SERVICE, State.ON_HOLD, "reason"),
        witness_id="p2",
        signature=Signature("p1", made.NOW + timedelta(seconds=1)),
    )
    with filled(write=True) as unit:
        unit.custody.add(event)
        unit.custody.add(replace(event, id="c2", witness="Free Text", witness_id=None, signature=None))
        assert unit.custody.of_item("item-1")[1] == event
        assert unit.custody.of_item("item-1")[0].signature is None
        assert (unit.custody.witnessed_by("Free Text"), unit.custody.witnessed_by("Person p2")) == (1, 0)


def test_a_kit_and_its_events_come_back_and_an_item_is_in_one_kit(filled: UnitOfWorkFactory) -> None:
    kit = Kit("kit-1", "Roof 1", ("item-2", "item-1"), made.NOW, "p1")
    event = KitEvent("e1", "kit-1", made.NOW, "p2", KitMove.ISSUE, kit.item_ids, "p1", note="wet")
    with filled(write=True) as unit:
        unit.kits.put(kit)
        unit.kits.add_event(event)
        swap = replace(event, id="e2", at=made.NOW + HOUR, move=KitMove.SWAP, item_ids=("item-2", "item-3"))
        unit.kits.add_event(replace(swap, taken_out="item-1", put_in="item-3"))
        unit.kits.put(replace(kit, item_ids=("item-2", "item-3")))
        unit.commit()
    with filled() as unit:
        assert unit.kits.find_name(" roof  1") == replace(kit, item_ids=("item-2", "item-3"))
        assert unit.kits.with_item("item-1") is None
        assert [k.id for k in unit.kits.holding(["item-1", "item-3"])] == ["kit-1"]
        assert unit.kits.find_event("e1") == event
        assert [e.id for e in unit.kits.events_of_item("item-1")] == ["e2", "e1"]
        assert [e.id for e in unit.kits.events_of_item("item-3")] == ["e2"]
        events = unit.kits.events("kit-1")
        assert content_at(events, made.NOW - HOUR) == ((), None)
        assert content_at(events, made.NOW + HOUR / 2) == (("item-2", "item-1"), "p1")
        assert content_at(events, made.NOW + HOUR) == (("item-2", "item-3"), "p1")
        with pytest.raises(NotFound, match="No such kit"):
            unit.kits.get("kit-9")
    with filled(write=True) as unit, pytest.raises(Conflict, match="in another kit"):
        unit.kits.put(Kit("kit-2", "Roof 2", ("item-3",), made.NOW))


def test_after_rows_that_brought_their_numbers_along_the_next_record_finds_a_free_one(
    units: UnitOfWorkFactory,
) -> None:
    with units(write=True) as unit:
        unit.people.add(Person("p1", "First", Role.WORKER))
        unit.commit()
    with units(write=True) as unit:
        (row,) = unit.rows.read("people")
        moved = {**row, "id": "p2", "name": "Second", "number": row["number"] + 1}
        assert unit.rows.write("people", iter([moved])) == 1
        unit.people.add(Person("p3", "Third", Role.WORKER))
        unit.commit()
    with units() as unit:
        assert {person.id for person in unit.people.all()} == {"p1", "p2", "p3"}
