"""Screens run without a browser: one real store in a folder, one screen at a time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from streamlit.testing.v1 import AppTest

from inspect_core.bootstrap import open_services
from inspect_core.domain.people import Person, Role
from inspect_core.usecases.register import RegisterItem, add_person, parse_item, register
from inspect_core.usecases.services import Services

WORKER = Person("a" * 32, "Worker 7", Role.WORKER)
COMPETENT = Person("b" * 32, "Inspector 3", Role.COMPETENT_PERSON)
MANAGER = Person("c" * 32, "Manager 1", Role.MANAGER)


def site(folder: Path, *tags: str, kind: str = "webbing lanyard", **fields: Any) -> Services:
    """A store with three people and an item for each tag."""
    services = open_services(str(folder))
    for person in (WORKER, COMPETENT, MANAGER):
        add_person(person, services)
    for tag in tags:
        item = parse_item({"tag": tag, "kind": kind, "site": "North Quay", **fields}, services.new_id())
        register(RegisterItem(item, COMPETENT.id), services)
    return services


def _draw(services, first):  # its source is run by itself, so it may name nothing from this file
    from inspect_core.screens.shell import run

    run(lambda: services, first=first)


def screen(services: Services, name: str, person: Person | None = None, **query: str) -> AppTest:
    """The screen of that name, drawn once, with that person at work."""
    app = AppTest.from_function(_draw, args=(services, name), default_timeout=30)
    if person is not None:
        app.session_state["person"] = person.id
    for key, value in query.items():
        app.query_params[key] = value
    return app.run()


def words(app: AppTest) -> str:
    """Everything the screen says, as one text without the Markdown signs that protect it."""
    parts = [e.value for kind in ("title", "header", "subheader", "markdown", "caption") for e in app.get(kind)]
    parts += [str(e.value) for kind in ("error", "warning", "info", "success") for e in app.get(kind)]
    parts += [e.proto.body for e in app.get("html")]
    return " ".join(parts).replace("\\", "")


def button(app: AppTest, label: str) -> Any:
    """The one button with that label."""
    found = [b for b in app.button if b.label == label]
    assert len(found) == 1, (label, [b.label for b in app.button])
    return found[0]


def choice(app: AppTest, label: str) -> Any:
    """The one row of choices whose label begins so."""
    found = [g for g in app.get("button_group") if g.label.replace("*", "").startswith(label)]
    assert len(found) == 1, (label, [g.label for g in app.get("button_group")])
    return found[0]
