"""What another rule set would have decided of the recorded past."""

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.rules.loader import load_rules
from inspect_core.usecases.review import history
from inspect_core.usecases.verify import verify
from inspect_core.usecases.what_if import report_plain, what_if


@pytest.fixture
def stricter(tmp_path) -> Path:
    """The packaged rules with the half-yearly interval for everybody: what was in time may be overdue."""
    folder = tmp_path / "rules"
    shutil.copytree(Path(str(files("inspect_core.rules") / "data")), folder)
    profiles = folder / "profiles.toml"
    text = profiles.read_text(encoding="utf-8")
    assert "months = 12" in text
    profiles.write_text(text.replace("months = 12", "months = 1", 1), encoding="utf-8")
    return folder


def test_the_same_rules_change_nothing(site):
    for tag in ("LAN-001", "LAN-002"):
        site.record(site.check(site.lanyard(tag), f"check-{tag}"))
    report = what_if(site.services, site.services.rules)
    assert report.past.cases == 2
    assert report.past.changes == ()
    assert report.items == ()


def test_stricter_rules_name_the_items_in_service_and_alter_no_record(site, stricter):
    item = site.lanyard(first_used_on="2026-01-05")
    site.record(site.check(item))
    before = verify(site.services)
    seen = []
    report = what_if(
        site.services, load_rules(stricter), workers=2, progress=lambda done, total: seen.append((done, total))
    )
    assert [i.row.item.tag for i in report.items] == ["LAN-001"]
    change = report.items[0].change
    assert (change.recorded, change.would_be) == (Outcome.IN_SERVICE, Outcome.HOLD)
    assert change.appearing
    assert seen[-1] == (1, 1)
    assert verify(site.services) == before
    assert history(item.id, site.services).standing.usable
    plain = report_plain(report)
    assert plain["items_in_service"][0]["tag"] == "LAN-001"
    assert plain["by_rule"]


def test_a_past_decision_does_not_follow_a_later_correction_of_the_register(site):

    item = site.lanyard(maker_max_age_years=10, made_on="2020-01-01", first_used_on="2020-02-01")
    site.record(site.check(item))
    recorded = history(item.id, site.services).inspections[0]
    assert recorded.facts["maker's age limit"] == 10
    site.correct(item, by=site.competent, maker_max_age_years=2.0)
    assert what_if(site.services, site.services.rules).past.changes == ()


def test_no_workers_are_refused(site):
    with pytest.raises(BadInput, match="at least one"):
        what_if(site.services, site.services.rules, workers=0)
