"""Set-up checks: filled from the register, answered here, recorded with every item."""

from dataclasses import replace

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BadInput, Conflict, NotFound
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.setup import RecordSetup, record_setup, setup_pdf, setups_of, with_register
from inspect_core.usecases.verify import verify

SWING = {"check": "swing", "profile": "us construction", "units": "feet", "height": 35, "offset": 18, "clear": 40}


def add(site, tag, kind, **fields):
    item = parse_item({"tag": tag, "kind": kind, "site": "North Quay", **fields}, f"item-{tag}")
    return register(RegisterItem(item, site.worker), site.services)


def kit_case(*tags):
    return {
        "check": "kit fit",
        "profile": "canada ontario",
        "units": "SI",
        "on": "2026-03-02",
        "use": "travel restraint",
        "user_mass": 95,
        "parts": [{"tag": tag} for tag in tags],
    }


def test_a_kit_is_filled_from_the_register_and_a_held_part_stops_it(site):
    grab = add(site, "GRB-1", "rope grab", rope_range_mm="15-17")
    add(site, "VLL-1", "vertical lifeline", rope_diameter_mm="12")
    make_move(MakeMove("h", grab.id, Move.HOLD, site.worker, "cam sticks"), site.services)
    case = with_register(kit_case("GRB-1", "VLL-1"), site.services)
    assert [p["status"] for p in case["parts"]] == ["on hold", "in service"]
    record = record_setup(RecordSetup("s1", kit_case("GRB-1", "VLL-1"), site.worker, "roof, north edge"), site.services)
    assert record.answer == "do not go"
    assert len(record.item_ids) == 2


def test_a_case_cannot_make_a_held_part_usable(site):
    grab = add(site, "GRB-1", "rope grab", rope_range_mm="15-17")
    make_move(MakeMove("h", grab.id, Move.HOLD, site.worker, "cam sticks"), site.services)
    case = kit_case("GRB-1")
    case["parts"][0] |= {"status": "in service", "due_on": "2099-01-01"}
    assert with_register(case, site.services)["parts"][0]["status"] == "on hold"


def test_the_record_stands_in_the_history_of_every_item_used(site):
    item = site.lanyard()
    other = add(site, "HAR-1", "harness")
    record = record_setup(
        RecordSetup("s1", SWING, site.worker, "tower", ("lan-001", "HAR-1"), (site.photo(),)), site.services
    )
    for used in (item, other):
        assert setups_of(used.id, site.services) == (record,)
    assert record.result["numbers"]
    assert setup_pdf("s1", site.services).startswith(b"%PDF")
    assert verify(site.services).faults == ()


def test_recording_twice_stores_one_check_and_another_content_is_refused(site):
    site.lanyard()
    command = RecordSetup("s1", SWING, site.worker, tags=("LAN-001",))
    assert record_setup(command, site.services) == record_setup(command, site.services)
    with pytest.raises(Conflict):
        record_setup(replace(command, case={**SWING, "offset": 1}), site.services)


@pytest.mark.parametrize(
    ("changes", "error"),
    [
        ({"case": {"check": "juggling"}}, BadInput),
        ({"case": {**SWING, "height": "tall"}}, BadInput),
        ({"tags": ("LAN-404",)}, NotFound),
        ({"by": "nobody"}, NotFound),
        ({"photo_ids": ("e" * 64,)}, NotFound),
        ({"place": "x" * 300}, BadInput),
        ({"tags": tuple(f"T{n}" for n in range(30))}, BadInput),
    ],
)
def test_a_wrong_record_is_refused_and_writes_nothing(site, changes, error):
    item = site.lanyard()
    before = verify(site.services)
    with pytest.raises(error):
        record_setup(replace(RecordSetup("s1", SWING, site.worker, tags=("LAN-001",)), **changes), site.services)
    assert verify(site.services) == before
    assert setups_of(item.id, site.services) == ()
