"""Every role × move × evidence in a site with sign-in, through the use cases: what passes, and the words of what does
not. The same refusals through the command line and through forged sessions stand in tests/terminal/test_sign_in.py and
tests/screens/test_sign_in.py."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import pytest

from inspect_core.domain.credentials import Actor
from inspect_core.domain.custody import Move, State
from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.falls import ReportFall, report_fall
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.review import history
from inspect_core.usecases.site_settings import set_two_persons
from inspect_core.usecases.verify import verify
from tests.usecases.locked import PINS, LockedSite

PEOPLE = ("worker", "competent", "second", "expired", "manager", "administrator")
MOVES = (Move.HOLD, Move.WITHDRAW, Move.RELEASE, Move.DESTROY)
#: Evidence as it is given; "all" has everything right.
EVIDENCE = (
    *("all", "no reason", "no inspection", "check before use", "older inspection", "other item", "bad inspection"),
    *("corrected inspection", "later judgement"),
    *("no photo", "no witness", "own witness", "no pin", "wrong pin", "not signed in", "as another", "stale sign-in"),
)
#: Who may make the move with everything right: OSHA 29 CFR 1926.32(f) and EN 365, from memory; rest common practice.
MAY = {
    Move.HOLD: {"worker", "competent", "second", "expired", "manager", "administrator"},
    Move.WITHDRAW: {"competent", "second"},
    Move.RELEASE: {"competent", "second"},
    Move.DESTROY: {"competent", "second", "manager"},
}
START = {
    Move.HOLD: State.IN_SERVICE,
    Move.WITHDRAW: State.ON_HOLD,
    Move.RELEASE: State.ON_HOLD,
    Move.DESTROY: State.WITHDRAWN,
}
_ROLE_WORDS = {"worker": "A worker", "manager": "A manager", "administrator": "An administrator"}
#: What each fault in the evidence is told, and for which moves it matters.
SAID = {
    "no reason": (MOVES, "A move needs its reason"),
    "no inspection": ((Move.RELEASE,), "A release needs a new inspection in detail"),
    "check before use": ((Move.RELEASE,), "A check before use releases nothing"),
    "older inspection": ((Move.RELEASE,), "older than the hold"),
    "other item": ((Move.RELEASE,), "That inspection is of another item"),
    "bad inspection": ((Move.RELEASE,), "That inspection ended in “hold”"),
    "corrected inspection": ((Move.RELEASE,), "A later inspection corrects this one"),
    "later judgement": ((Move.RELEASE,), "A later inspection ended in “hold”"),
    "no photo": ((Move.DESTROY,), "Destruction is shown by a photo"),
    "no witness": ((Move.DESTROY,), "Destruction needs a witness"),
    "own witness": ((Move.DESTROY,), "Nobody is their own witness"),
}
SIGNING = {
    "no pin": "This has to be signed",
    "wrong pin": "The name or the PIN is not right",
}
SESSION = {
    "not signed in": "Nobody is signed in",
    "as another": "acts only under their own name",
    "stale sign-in": "This sign-in is over",
}


def _refusal(move: Move, name: str, evidence: str) -> str | None:
    """The words that this combination is refused with, None where it passes."""
    if evidence in SESSION:
        return SESSION[evidence]
    if move is not Move.HOLD and evidence in SIGNING:
        return SIGNING[evidence]
    if name not in MAY[move]:
        if name == "expired":
            return "This qualification has run out on"
        return f"{_ROLE_WORDS[name]} may not {move.value}"
    moves, said = SAID.get(evidence, ((), ""))
    return said if move in moves else None


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A site, and for each move an item in the state where it starts, with every piece of evidence."""
    site = LockedSite(tmp_path_factory.mktemp("every-move") / "store")
    nobody = site.services
    sessions = {name: site.signed_in(name) for name in PEOPLE}
    old = site.lanyard_by("competent", "LAN-900")
    site.services = sessions["competent"]
    evidence = {"other": _periodic(site, old, "other").inspection.id}
    return site, nobody, sessions, evidence


def _periodic(site, item, name, **more):
    return site.record(
        site.check(item, name, type=InspectionType.PERIODIC, by=site.competent, pin=PINS["competent"], **more)
    )


def _prepared(site, sessions, move: Move, number: str):
    """A fresh item where the move starts, with the inspections that a release may name."""
    site.services = sessions["competent"]
    for services in sessions.values():  # whatever the clock did, everybody is still there
        assert services.actor
    item = site.lanyard(f"X-{number}", by=site.competent)
    ids = {"older inspection": _periodic(site, item, f"old-{number}").inspection.id}
    site.clock.move(seconds=1)
    if START[move] is not State.IN_SERVICE:
        site.services = sessions["worker"]
        held = MakeMove(f"h-{number}", item.id, Move.HOLD, site.worker, "looked odd")
        make_move(held, site.services)
        site.clock.move(seconds=1)
    site.services = sessions["competent"]
    if move is Move.RELEASE:
        check = site.check(item, f"before-{number}", by=site.competent)
        ids["check before use"] = site.record(check).inspection.id
        bad = site.sound(item) | {Component.WEBBING: Answer.UNSEEN}
        ids["bad inspection"] = _periodic(site, item, f"bad-{number}", answers=bad).inspection.id
        site.clock.move(seconds=1)
        ids["corrected inspection"] = _periodic(site, item, f"first-{number}").inspection.id
        early = site.clock.now() - timedelta(seconds=1)  # entered late: not newer than what it corrects
        _periodic(site, item, f"better-{number}", corrects=ids["corrected inspection"], at=early)
        site.clock.move(seconds=1)
        ids["later judgement"] = _periodic(site, item, f"fit-{number}").inspection.id
        site.clock.move(seconds=1)
        doubt = Judgement(Outcome.HOLD, "The webbing feels stiff; somebody else shall look.")
        _periodic(site, item, f"doubt-{number}", hand=doubt)
        site.clock.move(seconds=1)
        ids["good"] = _periodic(site, item, f"good-{number}").inspection.id
    if START[move] is State.WITHDRAWN:
        gone = MakeMove(f"w-{number}", item.id, Move.WITHDRAW, site.competent, "worn out", pin=PINS["competent"])
        make_move(gone, site.services)
    return item, ids


@pytest.mark.parametrize(("move", "name"), list(product(MOVES, PEOPLE)))
def test_a_move_passes_only_with_the_right_person_sign_in_pin_and_evidence(made, move, name):
    site, nobody, sessions, shared = made
    site.services = nobody
    sessions = {who: site.signed_in(who) for who in PEOPLE}
    by = f"person-{name}"
    item, ids = _prepared(site, sessions, move, f"{MOVES.index(move)}{PEOPLE.index(name)}")
    site.services = sessions["worker"]
    photo = site.photo(3)
    passed = []
    for evidence in sorted(EVIDENCE, key=lambda e: e == "all"):  # what passes comes last: it moves the item
        named = {"other item": shared["other"], "no inspection": None}.get(evidence, ids.get(evidence, ids.get("good")))
        command = MakeMove(
            id=f"{item.id} {evidence}",
            item_id=item.id,
            move=move,
            by=by,
            reason=" " if evidence == "no reason" else "seen and judged",
            inspection_id=named if move is Move.RELEASE else None,
            photo_id=None if evidence == "no photo" or move is not Move.DESTROY else photo,
            witness_id={"no witness": None, "own witness": by}.get(
                evidence, site.administrator if move is Move.DESTROY else None
            ),
            pin={"no pin": None, "wrong pin": "739164"}.get(evidence, PINS[name]),
        )
        other = "manager" if name != "manager" else "worker"
        services = {
            "not signed in": nobody,
            "as another": sessions[other],
            "stale sign-in": replace(nobody, actor=Actor(by, "0" * 32)),
        }.get(evidence, sessions[name])
        said = _refusal(move, name, evidence)
        if said is None and evidence != "all":
            continue  # what this move does not ask for
        if said is None:
            assert make_move(command, services).state is not START[move], evidence
            passed.append(evidence)
            continue
        with pytest.raises((NotAllowed, BadInput)) as refused:
            make_move(command, services)
        assert said in refused.value.problem, (evidence, refused.value.problem)
        assert refused.value.remedy.endswith(".")
        assert history(item.id, nobody).standing.state is START[move]
    assert bool(passed) is (name in MAY[move])


def test_every_evidence_fault_is_met_by_somebody_who_may_make_the_move():
    met = {(m, e) for m, n, e in product(MOVES, PEOPLE, EVIDENCE) if n in MAY[m] and _refusal(m, n, e)}
    assert {e for m, e in met if m is Move.RELEASE} >= {"no inspection", "older inspection", "bad inspection", "no pin"}
    assert {e for m, e in met if m is Move.DESTROY} >= {"no photo", "no witness", "own witness", "wrong pin"}


@pytest.mark.parametrize("name", [n for n in PEOPLE if n not in ("competent", "second")])
@pytest.mark.parametrize("kind", [InspectionType.PERIODIC, InspectionType.AFTER_EVENT])
def test_nobody_but_a_competent_person_in_date_inspects_in_detail(made, name, kind):
    site, nobody, _, _ = made
    site.services = nobody
    item = site.lanyard_by("competent", f"Y-{PEOPLE.index(name)}{kind.value[0].upper()}")
    site.services = site.signed_in(name)
    command = site.check(item, f"detail-{name}-{kind.value}", type=kind, by=f"person-{name}", pin=PINS[name])
    with pytest.raises(NotAllowed, match=r"may not inspect in detail|without it nobody may inspect in detail"):
        site.record(command)
    assert history(item.id, nobody).inspections == ()


def test_where_two_are_asked_for_the_setting_is_the_sites_and_not_the_commands(made):
    site, nobody, _, _ = made
    site.services = nobody
    for name in ("worker", "competent", "expired"):
        with pytest.raises(NotAllowed, match="may not change settings"):
            set_two_persons(True, f"person-{name}", site.signed_in(name))
    set_two_persons(True, site.manager, site.signed_in("manager"))
    item = site.lanyard_by("competent", "Z-1")
    site.services = site.signed_in("competent")
    make_move(MakeMove("z-h", item.id, Move.HOLD, site.competent, "looked odd"), site.services)
    site.clock.move(seconds=1)
    mine = _periodic(site, item, "z-1").inspection.id
    release = MakeMove("z-r", item.id, Move.RELEASE, site.competent, "fit", mine, pin=PINS["competent"])
    with pytest.raises(NotAllowed, match="may not release it"):
        make_move(release, site.services)
    second = site.signed_in("second")
    with pytest.raises(NotAllowed, match="that inspection was made by whoever raised the hold"):
        make_move(replace(release, by=site.second, pin=PINS["second"]), second)
    # Somebody else's hold on top does not make the first one forgotten.
    worker = site.signed_in("worker")
    report_fall(ReportFall("z-f", item.id, site.worker), worker)
    site.clock.move(seconds=1)
    site.services = second
    theirs = site.record(
        site.check(item, "z-2", type=InspectionType.PERIODIC, by=site.second, pin=PINS["second"])
    ).inspection.id
    with pytest.raises(NotAllowed, match="may not release it"):
        make_move(replace(release, inspection_id=theirs), site.signed_in("competent"))
    assert make_move(replace(release, by=site.second, inspection_id=theirs, pin=PINS["second"]), second).usable
    site.services = nobody
    set_two_persons(False, site.manager, site.signed_in("manager"))


def test_after_all_of_it_the_account_is_whole(made):
    _, nobody, _, _ = made
    assert verify(nobody).faults == ()
