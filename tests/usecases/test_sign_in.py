"""Signing in, being locked out, timing out, signing: through the use cases and a real store."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from inspect_core.domain.access import Action
from inspect_core.domain.credentials import Actor, Lasting
from inspect_core.domain.custody import Move, State
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.domain.signatures import SignedBy
from inspect_core.usecases import sign_in as use
from inspect_core.usecases.acting import acting
from inspect_core.usecases.certificate import certificate_data
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.demo import fill_demo
from inspect_core.usecases.drafts import save_draft
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.plain import inspection_plain
from inspect_core.usecases.register import add_person, person_named
from inspect_core.usecases.review import history
from inspect_core.usecases.site_settings import set_lasting
from inspect_core.usecases.verify import verify
from tests.engines import stores
from tests.usecases.locked import CHEAP, PINS, LockedSite
from tests.usecases.site import Site, picture


@pytest.fixture
def locked(tmp_path):
    return LockedSite(tmp_path / "store")


def test_a_site_without_a_pin_takes_names_on_trust_and_signs_nothing(site):
    item = site.lanyard()
    recorded = site.record(site.check(item, type=InspectionType.PERIODIC, by=site.competent, pin="whatever"))
    assert recorded.inspection.signature is None
    assert "signature" not in inspection_plain(recorded.inspection)
    assert not use.is_locked(site.services)


def test_ordinary_saves_in_an_open_site_hash_nothing(site):
    class Refuses:
        def hash(self, secret):
            raise AssertionError("hashed")

        verify = hash

    site.services = replace(site.services, hasher=Refuses())
    item = site.lanyard()
    assert site.record(site.check(item, type=InspectionType.PERIODIC, by=site.competent)).standing.usable


def test_the_first_pin_of_a_site_is_an_administrators_and_locks_it(site):
    services = replace(site.services, hasher=CHEAP)
    with pytest.raises(NotAllowed, match="is no administrator"):
        use.begin_locked("Worker", "739164", services)
    with pytest.raises(BadInput, match="first that anybody would try"):
        use.begin_locked("Chief", "123456", services)
    assert not use.is_locked(services)
    signed = use.begin_locked("Chief", "739164", services)
    assert use.is_locked(services)
    assert (signed.person.name, signed.person.role) == ("Chief", Role.ADMINISTRATOR)
    with pytest.raises(NotAllowed, match="has sign-in already"):
        use.begin_locked("Another", "739165", services)


def test_in_a_locked_site_nobody_writes_without_signing_in(locked):
    services = locked.services
    locked.services = locked.signed_in("competent")
    item = locked.lanyard(by=locked.competent)
    locked.services = services
    check = locked.check(item)
    hold = MakeMove("m", item.id, Move.HOLD, locked.worker, "looked odd")
    for writes in (
        lambda: locked.record(check),
        lambda: make_move(hold, services),
        lambda: add_person(Person("x", "Stranger", Role.WORKER), services),
        lambda: save_draft("d" * 32, item.id, {}, services),
        lambda: take_photo(picture(), services),
    ):
        with pytest.raises(NotAllowed, match="Nobody is signed in"):
            writes()
    with pytest.raises(NotAllowed, match="Nobody here is called Stranger"):
        person_named("Stranger", Role.ADMINISTRATOR, services)
    assert history(item.id, services).inspections == ()


def test_whoever_is_signed_in_acts_only_as_themselves_and_a_bare_id_proves_nothing(locked):
    item = locked.lanyard_by("competent")
    as_worker = locked.signed_in("worker")
    with pytest.raises(NotAllowed, match="only under their own name"):
        make_move(MakeMove("m", item.id, Move.HOLD, locked.competent, "looked odd"), as_worker)
    for token in ("", "guess", locked.competent):
        forged = replace(locked.services, actor=Actor(locked.competent, token))
        with pytest.raises(NotAllowed, match="sign-in is over"):
            make_move(MakeMove("m", item.id, Move.HOLD, locked.competent, "looked odd"), forged)
        assert use.signed_in(forged) is None
    stolen = replace(locked.services, actor=Actor(locked.competent, as_worker.actor.token))
    with pytest.raises(NotAllowed, match="sign-in is over"):
        make_move(MakeMove("m", item.id, Move.HOLD, locked.competent, "looked odd"), stolen)
    assert make_move(MakeMove("m", item.id, Move.HOLD, locked.worker, "looked odd"), as_worker).state is State.ON_HOLD


@pytest.mark.parametrize("wait", [{"seconds": 0}, {"seconds": 10}])
def test_fifty_quick_wrong_guesses_open_no_account_and_the_right_pin_waits(locked, wait):
    opened = 0
    for guess in range(50):
        locked.clock.move(**wait)
        try:
            use.sign_in("Worker", f"{700000 + guess}", locked.services)
            opened += 1
        except NotAllowed:
            pass
    assert opened == 0
    with pytest.raises(NotAllowed, match="locked for a while"):
        use.sign_in("Worker", PINS["worker"], locked.services)


def test_fifty_patient_wrong_guesses_open_no_account_and_the_right_one_does_not_either_while_locked(locked):
    opened = 0
    for guess in range(50):
        locked.clock.move(hours=5)
        try:
            use.sign_in("Worker", f"{700000 + guess}", locked.services)
            opened += 1
        except NotAllowed:
            pass
    assert opened == 0
    with pytest.raises(NotAllowed, match="locked after 10 wrong guesses"):
        use.sign_in("Worker", PINS["worker"], locked.services)
    locked.clock.move(days=400)
    with pytest.raises(NotAllowed, match="locked after 10 wrong guesses"):
        use.sign_in("Worker", PINS["worker"], locked.services)
    assert locked.worker in use.locked_out(locked.services)
    use.give_pin(locked.worker, "618203", locked.administrator, locked.signed_in("administrator"))
    assert use.sign_in("Worker", "618203", locked.services).given


def test_guesses_made_at_once_are_all_counted(locked):
    def guess(number: int) -> str:
        try:
            use.sign_in("Worker", f"{800000 + number}", locked.services)
        except NotAllowed as refused:
            return refused.problem
        return "open"

    with ThreadPoolExecutor(8) as pool:
        said = list(pool.map(guess, range(16)))
    assert "open" not in said
    assert said.count("The name or the PIN is not right.") == 5  # the fifth locks, the others came too late


def test_five_wrong_guesses_lock_for_a_minute_then_the_right_one_opens_and_counts_anew(locked):
    for guess in range(5):
        with pytest.raises(NotAllowed, match="not right"):
            use.sign_in("Worker", f"{700000 + guess}", locked.services)
    with pytest.raises(NotAllowed, match="locked for a while"):
        use.sign_in("Worker", PINS["worker"], locked.services)
    locked.clock.move(minutes=1)
    assert use.sign_in("Worker", PINS["worker"], locked.services).person.id == locked.worker
    with pytest.raises(NotAllowed, match="not right"):
        use.sign_in("Worker", "700000", locked.services)
    assert use.sign_in("Worker", PINS["worker"], locked.services)


def test_wrong_guesses_over_the_whole_site_make_every_sign_in_wait(locked):
    for guess in range(20):
        with pytest.raises(NotAllowed, match="not right"):
            use.sign_in(f"Nobody {guess}", "739164", locked.services)
    with pytest.raises(NotAllowed, match="Too many wrong guesses on this site"):
        use.sign_in("Manager", PINS["manager"], locked.services)
    locked.clock.move(seconds=61)
    assert use.sign_in("Manager", PINS["manager"], locked.services)


def test_an_unknown_name_and_a_wrong_pin_are_told_apart_by_nothing(locked):
    said = set()
    for name in ("Worker", "Nobody at all"):
        with pytest.raises(NotAllowed) as refused:
            use.sign_in(name, "700000", locked.services)
        said.add(str(refused.value))
    assert len(said) == 1


@pytest.mark.parametrize(("shared", "minutes"), [(False, 30), (True, 5)])
def test_a_sign_in_ends_without_use(locked, shared, minutes):
    signed = use.sign_in("Worker", PINS["worker"], locked.services, shared=shared)
    services = replace(locked.services, actor=signed.actor)
    for _ in range(3):
        locked.clock.move(minutes=minutes - 1)
        assert use.signed_in(services).id == locked.worker  # being used keeps it
    locked.clock.move(minutes=minutes)
    assert use.signed_in(services) is None
    item = locked.lanyard_by("competent")
    with pytest.raises(NotAllowed, match="sign-in is over"):
        make_move(MakeMove("m", item.id, Move.HOLD, locked.worker, "looked odd"), services)


def test_a_sign_in_ends_after_so_many_hours_however_much_it_is_used(locked):
    set_lasting(Lasting(2, 60, 5), locked.manager, locked.signed_in("manager"))
    services = locked.signed_in("worker")
    for _ in range(3):
        locked.clock.move(minutes=39)
        assert use.signed_in(services)
    locked.clock.move(minutes=4)
    assert use.signed_in(services) is None


def test_signing_out_leaving_and_a_new_pin_end_a_sign_in(locked):
    out = locked.signed_in("worker")
    use.sign_out(out)
    assert use.signed_in(out) is None
    chosen = locked.signed_in("worker")
    other = locked.signed_in("worker")
    use.choose_pin(locked.worker, PINS["worker"], "rope over roof", chosen)
    assert use.signed_in(chosen) and use.signed_in(other) is None
    with locked.services.unit_of_work() as uow:
        person = uow.people.get(locked.worker)
    add_person(replace(person, active=False), locked.signed_in("manager"), by=locked.manager)
    assert use.signed_in(chosen) is None
    with pytest.raises(NotAllowed, match="not right"):
        use.sign_in("Worker", "rope over roof", locked.services)


def test_an_inspection_in_detail_is_signed_with_the_pin_and_the_certificate_tells_it(locked):
    item = locked.lanyard_by("competent")
    locked.become("competent")
    periodic = locked.check(item, type=InspectionType.PERIODIC, by=locked.competent)
    with pytest.raises(BadInput, match="has to be signed"):
        locked.record(periodic)
    with pytest.raises(NotAllowed, match="not right"):
        locked.record(replace(periodic, pin="739164"))
    assert history(item.id, locked.services).inspections == ()
    recorded = locked.record(replace(periodic, pin=PINS["competent"]))
    signature = recorded.inspection.signature
    assert (signature.by, signature.how) == (locked.competent, SignedBy.PIN)
    assert recorded.entry.body["inspection"]["signature"]["by"] == locked.competent
    stored = history(item.id, locked.services).inspections[0]
    assert stored.signature == signature
    assert locked.record(periodic).entry is None  # a double click needs no PIN again and writes nothing
    assert certificate_data(recorded.inspection.id, locked.services).inspection.signature == signature
    assert verify(locked.services).faults == ()
    assert PINS["competent"] not in repr(periodic)


def test_a_check_before_use_and_a_hold_take_no_pin_again(locked):
    item = locked.lanyard_by("competent")
    locked.become("worker")
    assert locked.record(locked.check(item)).inspection.signature is None
    assert make_move(MakeMove("m", item.id, Move.HOLD, locked.worker, "looked odd"), locked.services)


def test_moves_by_hand_are_signed_and_the_signature_lies_in_the_account(locked):
    item = locked.lanyard_by("competent")
    locked.become("competent")
    withdraw = MakeMove("w", item.id, Move.WITHDRAW, locked.competent, "worn out")
    with pytest.raises(BadInput, match="has to be signed"):
        make_move(withdraw, locked.services)
    make_move(replace(withdraw, pin=PINS["competent"]), locked.services)
    event = history(item.id, locked.services).custody[0]
    assert event.signature.by == locked.competent
    assert verify(locked.services).faults == ()


def test_a_pin_that_an_administrator_gave_signs_nothing_until_it_is_replaced(locked):
    item = locked.lanyard_by("second")
    use.give_pin(locked.competent, "618203", locked.administrator, locked.signed_in("administrator"))
    signed = use.sign_in("Competent", "618203", locked.services)
    services = replace(locked.services, actor=signed.actor)
    assert use.must_choose(services)
    locked.services = services
    periodic = locked.check(item, type=InspectionType.PERIODIC, by=locked.competent, pin="618203")
    with pytest.raises(NotAllowed, match="somebody else knows it"):
        locked.record(periodic)
    with pytest.raises(BadInput, match="have already"):
        use.choose_pin(locked.competent, "618203", "618203", services)
    use.choose_pin(locked.competent, "618203", "504917", services)
    assert locked.record(replace(periodic, pin="504917")).inspection.signature


@pytest.mark.parametrize("name", ["worker", "competent", "manager"])
def test_only_an_administrator_gives_pins(locked, name):
    with pytest.raises(NotAllowed, match="may not set another person's PIN"):
        use.give_pin(locked.second, "618203", f"person-{name}", locked.signed_in(name))


def test_the_only_administrator_with_a_pin_cannot_be_taken_away(locked):
    second = add_person(
        Person("person-deputy", "Deputy", Role.ADMINISTRATOR),
        locked.signed_in("administrator"),
        by=locked.administrator,
    )
    with locked.services.unit_of_work() as uow:
        first = uow.people.get(locked.administrator)
    with pytest.raises(NotAllowed, match="changes their own role"):
        add_person(replace(first, active=False), locked.signed_in("administrator"), by=locked.administrator)
    with pytest.raises(NotAllowed, match="Only an administrator"):
        add_person(replace(first, role=Role.WORKER), locked.signed_in("manager"), by=locked.manager)
    use.give_pin(second.id, "618203", locked.administrator, locked.signed_in("administrator"))
    deputy = replace(locked.services, actor=use.sign_in("Deputy", "618203", locked.services).actor)
    add_person(replace(first, active=False), deputy, by=second.id)
    with pytest.raises(NotAllowed, match="changes their own role"):
        add_person(replace(second, active=False), deputy, by=second.id)


def test_nobody_prolongs_their_own_qualification(locked):
    with locked.services.unit_of_work() as uow:
        expired, manager = uow.people.get(locked.expired), uow.people.get(locked.manager)
    later = replace(expired, qualified_until=expired.qualified_until.replace(year=2099))
    with pytest.raises(NotAllowed, match="may not change people"):
        add_person(later, locked.signed_in("expired"), by=locked.expired)
    with pytest.raises(NotAllowed, match="their own role"):
        add_person(replace(manager, role=Role.COMPETENT_PERSON), locked.signed_in("manager"), by=locked.manager)
    assert add_person(later, locked.signed_in("manager"), by=locked.manager).qualified_until.year == 2099


def test_the_demo_is_not_filled_into_a_site_with_sign_in(tmp_path):
    site = Site(tmp_path / "store")
    services = replace(site.services, hasher=CHEAP)
    use.begin_locked("Chief", "739164", services)
    with pytest.raises(NotAllowed, match="has sign-in"):
        fill_demo(services)


def test_no_secret_and_no_sign_in_number_lies_in_the_store_or_its_account(locked):
    services = locked.signed_in("worker")
    with locked.services.unit_of_work() as uow:
        entries = repr([entry.body for entry in uow.ledger.entries()])
    raw = stores.kept_by(locked.folder)
    for secret in (*PINS.values(), services.actor.token):
        assert secret not in entries
        assert secret.encode() not in raw
    assert b"$argon2id$" in raw


def test_a_name_entered_twice_is_still_refused(locked):
    with pytest.raises(Conflict, match="entered already"):
        add_person(Person("x", "Worker", Role.WORKER), locked.signed_in("manager"), by=locked.manager)


def test_work_is_prepared_without_a_signature_and_recorded_only_with_one(locked):
    services = locked.signed_in("competent")
    with services.unit_of_work(write=True) as uow:
        with pytest.raises(NotAllowed, match="has to be signed"):
            acting(uow, services, locked.competent, Action.INSPECT)
        assert acting(uow, services, locked.competent, Action.INSPECT, to_sign=False).id == locked.competent
        with pytest.raises(NotAllowed, match="Nobody is signed in"):
            acting(uow, locked.services, locked.competent, Action.INSPECT, to_sign=False)
