"""The page of rules lets the past be weighed again, by whoever may, and says what came of it."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from inspect_core.domain.jobs import JobKind
from inspect_core.usecases import job_work
from inspect_core.usecases.job_asking import ask_what_if
from inspect_core.usecases.services import Services
from tests.screens.app import COMPETENT, MANAGER, WORKER, button, screen, words
from tests.usecases.patient import Patient
from tests.usecases.site import Site


def weighed(tmp_path: Path) -> tuple[Services, Patient, str]:
    """A store with one recorded inspection, and a rule that would not have let it pass."""
    site, runner = Site(tmp_path), Patient()
    site.record(site.check(site.lanyard("WL-1")))
    for person in (WORKER, COMPETENT, MANAGER):
        with site.services.unit_of_work(write=True) as uow:
            uow.people.add(person)
            uow.commit()
    return replace(site.services, jobs=runner), runner, "WL-1"


def offered(app) -> bool:
    return any(one.label == "Weigh the past" for one in app.button)


def test_the_past_is_weighed_by_the_rules_of_today(tmp_path: Path) -> None:
    services, runner, _ = weighed(tmp_path)
    app = screen(services, "rules", MANAGER)
    button(app, "Weigh the past").click().run()
    assert "The past is being weighed." in words(app) and not offered(app)
    runner.work()
    app = screen(services, "rules", MANAGER)
    assert "1 inspection weighed by the rules “1.0.0” as they are today" in words(app).replace("*", "")
    assert "No item in service would end more strictly than it did." in words(app) and offered(app)
    assert [one.proto.label for one in app.get("download_button")] == ["Save the report (JSON)"]
    assert not app.exception


def test_items_that_changed_rules_would_not_have_let_pass_are_named_with_the_reason(tmp_path: Path) -> None:
    services, runner, tag = weighed(tmp_path)
    packaged = (files("inspect_core.rules") / "data" / "profiles.toml").read_text(encoding="utf-8")
    stricter = packaged.replace("months = 12", "months = 1", 1)
    assert stricter != packaged
    ask_what_if(MANAGER.id, {"profiles.toml": stricter.encode()}, services)
    runner.work()
    app = screen(services, "rules", MANAGER)
    assert "with 1 of their files changed" in words(app) and "1 item in service would not have passed." in words(app)
    assert f"{tag}: hold, inspected 2026-03-02" in [one.proto.label.replace("\\", "") for one in app.get("page_link")]
    assert "Nothing was put on hold by this." in words(app)


def test_nothing_is_told_in_green_where_some_could_not_be_weighed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    services, runner, _ = weighed(tmp_path)

    def unread(job: object, services: Services, progress: object) -> dict[str, object]:
        rules = ["1.0.0", "0" * 64]
        return {"rules": rules, "cases": 2, "changes": 0, "by_rule": [], "refused": 1, "concerned": 0, "items": []}

    monkeypatch.setattr(job_work, "DOING", {JobKind.WHAT_IF: unread})
    ask_what_if(MANAGER.id, {}, services)
    runner.work()
    app = screen(services, "rules", MANAGER)
    assert "1 could not be weighed by these rules" in words(app)
    assert any("of those that could be weighed" in one.value for one in app.info) and not app.success


def test_a_worker_is_not_offered_it(tmp_path: Path) -> None:
    services, _, _ = weighed(tmp_path)
    assert not offered(screen(services, "rules", WORKER))
    assert not offered(screen(services, "rules"))
    assert offered(screen(services, "rules", COMPETENT))
