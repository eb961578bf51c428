"""The first screen: counts site by site, the work of one site, and what can be taken away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from inspect_core.usecases.register import RegisterItem, parse_item, register
from tests.screens.app import WORKER, screen, site, words


@dataclass(frozen=True)
class Stopped:
    """A clock that stands."""

    at: datetime

    def now(self) -> datetime:
        return self.at


def test_work_is_counted_by_site_and_narrowed_to_one(tmp_path: Path) -> None:
    services = site(tmp_path)
    late = (datetime.now(UTC) - timedelta(days=400)).date().isoformat()
    for tag, place in (("A-1", "North Quay"), ("A-2", "North Quay"), ("A-3", "Mill Street")):
        given = {"tag": tag, "kind": "harness", "site": place, "first_used_on": late}
        register(RegisterItem(parse_item(given, services.new_id()), WORKER.id), services)
    app = screen(services, "today", WORKER)
    assert not app.exception
    assert "Overdue for inspection in detail (3)" in words(app)
    (table,) = app.dataframe
    assert table.value[["Site", "Overdue"]].to_numpy().tolist() == [["Mill Street", 1], ["North Quay", 2]]
    assert [b.proto.label for b in app.get("download_button")] == [
        "This list to print and tick off (PDF)", "Due dates as a calendar (ICS)",
    ]  # fmt: skip
    show = next(s for s in app.selectbox if s.label == "Show")
    show.set_value("Mill Street").run()
    assert "Overdue for inspection in detail (1)" in words(app)
    labels = {link.proto.label.split("**")[1] for link in app.get("page_link") if "**" in link.proto.label}
    assert labels == {"A\\-3"}


def aged_site(folder: Path):
    """A lanyard that was judged by nobody and has grown past its maker's limit since it was registered."""
    services = site(folder, "NEW-1", made_on="2024-01-01")
    given = {"tag": "OLD-1", "kind": "harness", "made_on": "2015-06-01", "maker_max_age_years": 10}
    then = replace(services, clock=Stopped(datetime(2025, 5, 20, 9, tzinfo=UTC)))
    register(RegisterItem(parse_item(given, services.new_id()), WORKER.id), then)
    return services


def test_gear_that_grew_too_old_since_is_named_on_today_and_may_not_be_used_anywhere(tmp_path: Path) -> None:
    services = aged_site(tmp_path)
    today = words(screen(services, "today", WORKER))
    assert "Past its age: do not use (1)" in today
    item = words(screen(services, "item", WORKER, tag="OLD-1"))
    assert "Past its age: do not use" in item and "May be used" not in item
    assert "ended on 2025-06-01" in item
    check = screen(services, "check", WORKER, tag="OLD-1")
    said = words(check)
    assert "Past its age: do not use" in said and "Do not clip on." in said and "1 of 4" not in said
    assert "Put on hold" in [box.label for box in check.expander]
    found = screen(services, "search", WORKER)
    labels = [link.proto.label.replace("\\", "") for link in found.get("page_link")]
    assert any(label.startswith("**OLD-1**") and "past its age" in label for label in labels)
    assert not any("NEW-1" in label and "past its age" in label for label in labels)
