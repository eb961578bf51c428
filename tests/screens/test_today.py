"""The first screen: counts site by site, the work of one site, and what can be taken away."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from inspect_core.usecases.register import RegisterItem, parse_item, register
from tests.screens.app import WORKER, screen, site, words


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
