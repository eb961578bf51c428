"""Signing in on the screens, and that no forged session or payload gets past the use cases."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from inspect_core.domain.custody import State
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.domain.people import Person, Role
from inspect_core.screens.work.body import command, empty
from inspect_core.usecases import review
from inspect_core.usecases import sign_in as use
from inspect_core.usecases.kits import ChangeKit, change_kit, kits_now
from inspect_core.usecases.services import Services
from inspect_core.usecases.site_settings import shown
from tests.screens.app import button, screen, words
from tests.usecases.locked import CHEAP, PINS, LockedSite

NAMES = ("worker", "competent", "second", "expired", "manager", "administrator")


@pytest.fixture
def locked(tmp_path: Path) -> LockedSite:
    """A locked site with one lanyard, LAN-001, by the machine's own clock."""
    site = LockedSite(tmp_path / "store")
    site.lanyard_by("competent")
    return site


def signed_in(locked: LockedSite, page: str, name: str | None, **query: str) -> AppTest:
    """That screen in a session in which that person signed in; `name` None: nobody did."""
    app = screen(locked.services, page, None, **query)
    if name is not None:
        actor = locked.signed_in(name).actor
        assert actor is not None
        app.session_state["sign-in"] = {"person": actor.person_id, "token": actor.token}
        app.run()
    assert not app.exception
    return app


def forged(locked: LockedSite, page: str, name: str, **query: str) -> AppTest:
    """That screen in a session into which somebody wrote that person, every way that comes to mind."""
    app = screen(locked.services, page, None, **query)
    app.session_state["person"] = f"person-{name}"
    app.session_state["sign-in"] = {"person": f"person-{name}", "token": "0" * 32}
    return app.run()


def box(app: AppTest, start: str) -> Any:
    return next(t for t in app.text_input if t.label.startswith(start))


def standing(locked: LockedSite) -> State:
    return review.item_by_tag("LAN-001", locked.services).standing.state


def test_a_name_and_a_pin_sign_in_and_the_session_keeps_no_pin(locked: LockedSite) -> None:
    app = signed_in(locked, "sign-in", None)
    app.selectbox[0].set_value("Worker, worker").run()
    box(app, "PIN").set_value(PINS["worker"])
    button(app, "Sign in").click().run()
    assert "Signed in as Worker" in words(app)
    held = app.session_state["sign-in"]
    assert set(held) == {"person", "token"} and held["person"] == "person-worker"
    assert PINS["worker"] not in repr(app.session_state)
    button(app, "Sign out Worker").click().run()
    assert "sign-in" not in app.session_state
    assert "Signed in as" not in words(app)


def test_a_wrong_pin_says_so_and_signs_nobody_in(locked: LockedSite) -> None:
    app = signed_in(locked, "check", None, tag="LAN-001")
    app.selectbox[0].set_value("Worker, worker").run()
    box(app, "PIN").set_value("739164")
    button(app, "Sign in").click().run()
    assert "The name or the PIN is not right." in words(app)
    assert "sign-in" not in app.session_state


def test_only_people_with_a_pin_are_listed_and_looking_needs_no_sign_in(locked: LockedSite) -> None:
    with locked.services.unit_of_work(write=True) as uow:
        uow.people.add(Person("person-new", "Newcomer", Role.WORKER))
        uow.commit()
    app = signed_in(locked, "sign-in", None)
    assert "Newcomer, worker" not in app.selectbox[0].options
    for page in ("today", "search", "trends", "rules", "kits", "people"):
        looked = signed_in(locked, page, None)
        assert not looked.exception, page
    item = signed_in(locked, "item", None, tag="LAN-001")
    assert "LAN-001" in words(item)


def test_a_new_site_asks_for_its_first_administrator_and_the_demo_is_the_other_choice(tmp_path: Path) -> None:
    from inspect_core.bootstrap import open_services

    services = replace(open_services(str(tmp_path)), hasher=CHEAP)
    app = screen(services, "today")
    assert button(app, "Look at the demo site")
    box(app, "Your name").set_value("Chief")
    box(app, "PIN you choose").set_value("123456")
    box(app, "PIN once more").set_value("123456")
    button(app, "Start with sign-in").click().run()
    assert "first that anybody would try" in words(app)
    assert not use.is_locked(services)
    box(app, "Your name").set_value("Chief")
    box(app, "PIN you choose").set_value("739164")
    box(app, "PIN once more").set_value("739164")
    button(app, "Start with sign-in").click().run()
    assert use.is_locked(services)
    assert "you are its administrator" in words(app)
    assert [p.role for p in review.people(services)] == [Role.ADMINISTRATOR]


def test_a_given_pin_is_replaced_on_the_sign_in_page(locked: LockedSite) -> None:
    use.give_pin(locked.worker, "618203", locked.administrator, locked.signed_in("administrator"))
    actor = use.sign_in("Worker", "618203", locked.services).actor
    app = screen(locked.services, "sign-in")
    app.session_state["sign-in"] = {"person": actor.person_id, "token": actor.token}
    app.run()
    assert "This PIN was given to you." in words(app)
    for start, text in (("PIN you have now", "618203"), ("PIN from now on", "504917"), ("PIN once more", "504917")):
        box(app, start).set_value(text)
    button(app, "Keep the new one").click().run()
    assert not use.must_choose(replace(locked.services, actor=actor))
    assert use.sign_in("Worker", "504917", locked.services)


@pytest.mark.parametrize("name", NAMES)
def test_a_forged_session_is_nobody_and_is_offered_no_move(locked: LockedSite, name: str) -> None:
    for page in ("item", "check", "inspect"):
        app = forged(locked, page, name, tag="LAN-001")
        assert not app.exception
        labels = {b.label for b in app.button}
        assert not labels & {"Put on hold", "Withdraw for good", "Record it", "Sign and record it"}, (page, labels)
        assert "Who are you?" in words(app) or page == "item"
    for page in ("people", "kits", "register"):
        app = forged(locked, page, name)
        labels = {b.label for b in app.button}
        assert not labels & {"Add", "Keep", "Make it up", "Register", "Give this PIN"}, (page, labels)
    assert standing(locked) is State.IN_SERVICE


def test_a_session_forged_after_the_form_was_drawn_is_refused_by_the_use_case(locked: LockedSite) -> None:
    app = signed_in(locked, "item", "worker", tag="LAN-001")
    reason = [t for t in app.text_input if t.label == "Reason"]
    reason[0].set_value("forged")
    app.session_state["sign-in"] = {"person": "person-competent", "token": app.session_state["sign-in"]["token"]}
    hold = [b for b in app.button if b.label == "Put on hold"]
    hold[0].click().run()
    assert not app.exception
    assert standing(locked) is State.IN_SERVICE
    events = review.history(review.item_by_tag("LAN-001", locked.services).item.id, locked.services).custody
    assert [event.by for event in events] == ["person-competent"]  # the registration


@pytest.mark.parametrize("name", ["worker", "expired", "manager", "administrator"])
def test_an_unfinished_inspection_forged_into_the_session_is_not_recorded(locked: LockedSite, name: str) -> None:
    """The body of an inspection in detail, answered throughout, in the session of somebody who may not make one."""
    item = review.item_by_tag("LAN-001", locked.services).item
    draft = "d" * 32
    body = empty(InspectionType.PERIODIC)
    body |= {"answers": {part.value: a.value for part, a in locked.sound(item).items()}, "step": 3}
    app = screen(locked.services, "check", None, tag="LAN-001", draft=draft)
    actor = locked.signed_in(name).actor
    assert actor is not None
    app.session_state["sign-in"] = {"person": actor.person_id, "token": actor.token}
    app.session_state["work"] = {"id": draft, "body": body}
    app.run()
    pressed = 0
    for label in ("Record it", "Sign and record it"):
        for found in [b for b in app.button if b.label == label]:
            for pin in [t for t in app.text_input if t.label.startswith("PIN")]:
                pin.set_value(PINS[name])
            found.click().run()
            pressed += 1
    assert not app.exception
    assert pressed == 1 and "may not inspect in detail" in words(app).replace("nobody may", "may not")
    assert review.history(item.id, locked.services).inspections == ()


def test_a_payload_that_names_another_person_is_recorded_under_the_one_who_is_signed_in(locked: LockedSite) -> None:
    item = review.item_by_tag("LAN-001", locked.services).item
    mark = {
        "id": "m1",
        "component": "webbing",
        "category": "cut",
        "shape": {"type": "line", "points": [[10, 10], [60, 40]]},
        "made_by": locked.competent,
        "by": locked.competent,
    }
    locked.become("worker")
    photo = locked.photo()
    body = empty(InspectionType.BEFORE_USE)
    body |= {"photos": [photo], "marks": {photo: [mark]}, "by": locked.competent, "signature": {"by": locked.competent}}
    body |= {"answers": {part.value: a.value for part, a in locked.sound(item).items()}}
    with locked.services.unit_of_work() as uow:
        worker = uow.people.get(locked.worker)
    recorded = locked.record(command(body, "e" * 32, item, worker)).inspection
    assert (recorded.by, recorded.marks[0].made_by, recorded.signature) == (locked.worker, locked.worker, None)


def test_an_inspection_in_detail_is_recorded_with_the_pin_typed_again(locked: LockedSite) -> None:
    item = review.item_by_tag("LAN-001", locked.services).item
    draft = "d" * 32
    body = empty(InspectionType.PERIODIC)
    body |= {"answers": {part.value: a.value for part, a in locked.sound(item).items()}, "step": 3}
    app = screen(locked.services, "inspect", None, tag="LAN-001", draft=draft)
    actor = locked.signed_in("competent").actor
    assert actor is not None
    app.session_state["sign-in"] = {"person": actor.person_id, "token": actor.token}
    app.session_state["work"] = {"id": draft, "body": body}
    app.run()
    button(app, "Sign and record it").click().run()
    assert "This has to be signed." in words(app)
    box(app, "PIN again").set_value(PINS["competent"])
    button(app, "Sign and record it").click().run()
    (made,) = review.history(item.id, locked.services).inspections
    assert made.signature is not None and made.signature.by == locked.competent


def _fresh(locked: LockedSite, page: str, name: str) -> AppTest:
    return signed_in(locked, page, name)


def test_an_administrator_gives_pins_and_a_manager_only_enters_people(locked: LockedSite) -> None:
    manager = _fresh(locked, "people", "manager")
    labels = [b.label for b in manager.button]
    assert "Add" in labels and "Give this PIN" not in labels
    box(manager, "Name, or the site").set_value("Newcomer")
    button(manager, "Add").click().run()
    assert "Newcomer" in {p.name for p in review.people(locked.services)}
    worker = _fresh(locked, "people", "worker")
    assert not {"Add", "Keep", "Give this PIN"} & {b.label for b in worker.button}
    admin = _fresh(locked, "people", "administrator")
    assert "Give this PIN" in [b.label for b in admin.button]


def test_a_manager_turns_the_two_person_release_on(locked: LockedSite) -> None:
    app = _fresh(locked, "people", "manager")
    next(c for c in app.checkbox if c.label.startswith("A second")).check()
    [b for b in app.button if b.label == "Keep"][-1].click().run()
    assert shown(locked.services)[0] is True


def _kit(services: Services, app: AppTest, label: str) -> None:
    button(app, label).click().run()
    assert not app.exception


def test_a_kit_is_made_issued_reported_after_a_fall_and_told_to_be_fetched(locked: LockedSite) -> None:
    app = _fresh(locked, "kits", "manager")
    box(app, "Name of the kit").set_value("Roof 1")
    box(app, "Tags of its items").set_value("lan-001")
    _kit(locked.services, app, "Make it up")
    (view,) = kits_now(locked.services)
    fit = signed_in(locked, "setup", "manager", check="kit fit", kit=view.kit.id)
    assert "Parts (1)" in words(fit)
    assert any("LAN" in link.proto.label for link in fit.get("page_link"))
    app = signed_in(locked, "kits", "manager", kit=view.kit.id)
    next(s for s in app.selectbox if s.label == "To whom").set_value("Worker, worker")
    _kit(locked.services, app, "Issue it")
    assert "With Worker" in words(app) and "May be worn today" in words(app)
    app = signed_in(locked, "kits", "worker", kit=view.kit.id)
    _kit(locked.services, app, "Put all of it on hold")
    assert standing(locked) is State.ON_HOLD
    said = words(app)
    assert "Not to be worn." in said and "fetch it" in said
    listed = words(_fresh(locked, "kits", "worker"))
    assert "LAN-001 is on hold" in listed and "fetch it" in listed


def test_with_a_provider_in_the_servers_secrets_the_site_is_locked_and_its_button_signs_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from inspect_core.screens import sign_in as page
    from tests.screens.app import site

    services = site(tmp_path, "WL-1")
    claims: dict[str, Any] = {"is_logged_in": False}
    rules = {"role_claim": "groups", "roles": {"inspectors": "competent person"}}
    monkeypatch.setattr(page, "_secrets", lambda: {"auth": {"client_id": "x"}, "bartack": rules})
    monkeypatch.setattr(page, "_claims", lambda: claims if claims["is_logged_in"] else None)
    app = screen(services, "check", None, tag="WL-1")
    assert not app.exception
    assert button(app, "Sign in") and not [t for t in app.text_input if t.label.startswith("PIN")]
    claims |= {"is_logged_in": True, "iss": "https://s.example", "sub": "1", "name": "Jo", "groups": ["visitors"]}
    assert "hold no role here" in words(screen(services, "check", None, tag="WL-1"))
    claims["groups"] = ["inspectors"]
    app = screen(services, "check", None, tag="WL-1")
    assert button(app, "Sign out Jo")
    assert "token" in app.session_state["sign-in"]
    claims["exp"] = 1
    assert "Sign in" in {b.label for b in screen(services, "check", None, tag="WL-1").button}


def test_a_refused_move_keeps_what_was_typed_and_forgets_the_pin(locked: LockedSite) -> None:
    app = signed_in(locked, "item", "competent", tag="LAN-001")
    reasons = {t.key: t for t in app.text_input if t.label == "Reason"}
    withdraw = next(t for key, t in reasons.items() if "withdraw" in str(key))
    withdraw.set_value("worn out")
    box(app, "PIN again").set_value("739164")
    button(app, "Withdraw for good").click().run()
    assert "The name or the PIN is not right." in words(app)
    app.run()
    assert box(app, "PIN again").value == ""
    assert next(t for t in app.text_input if t.key == withdraw.key).value == "worn out"
    assert "739164" not in repr(app.session_state)
    box(app, "PIN again").set_value(PINS["competent"])
    button(app, "Withdraw for good").click().run()
    assert standing(locked) is State.WITHDRAWN


def test_a_kits_name_is_shown_as_it_was_typed(locked: LockedSite) -> None:
    name = "**bold** <img src=x> :red[x]"
    item = review.item_by_tag("LAN-001", locked.services).item
    made = ChangeKit("e1", "k" * 32, KitMove.MAKE, locked.manager, name=name, item_ids=(item.id,))
    change_kit(made, locked.signed_in("manager"))
    for app in (_fresh(locked, "kits", "worker"), signed_in(locked, "kits", "worker", kit="k" * 32)):
        assert name in words(app)
        assert "**bold**" not in " ".join(e.value for kind in ("title", "markdown") for e in app.get(kind))
