"""An import takes in only gear in service: whatever a register says of gear out of use makes its row bad."""

from __future__ import annotations

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.usecases.import_columns import guess_columns, matched
from inspect_core.usecases.import_register import Preview, preview
from inspect_core.usecases.import_table import read_table
from tests.usecases.site import Site


def looked(site: Site, heading: str, cell: str, wanted: dict[str, str] | None = None, **more) -> Preview:
    table = read_table(f'Tag,Kind,Width mm,{heading}\nX-1,webbing lanyard,45,"{cell}"\n'.encode(), "gear.csv")
    return preview(table, matched(table.header, wanted or {}), site.services, **more)


@pytest.mark.parametrize("heading", ["Status", "STATE", "Condition", "Outcome", "Result", "Item status"])
@pytest.mark.parametrize("cell", ["WITHDRAWN - burnt", "quarantine", "2", "poor", "unknown", "?", "not ok"])
def test_a_column_of_states_takes_only_words_for_gear_in_service(site: Site, heading: str, cell: str) -> None:
    found = looked(site, heading, cell)
    (fault,) = found.bad[0].faults
    assert found.good == () and fault.column == heading
    assert f"“{cell}”" in fault.problem and "by hand" in fault.remedy


@pytest.mark.parametrize("cell", ["", "In service", "in-service", "OK", "Good", "fit", "PASS", "n/a", "-"])
def test_gear_that_the_file_calls_in_service_is_taken_in(site: Site, cell: str) -> None:
    assert [good.item.tag for good in looked(site, "Status", cell).good] == ["X-1"]


@pytest.mark.parametrize("heading", ["Colour", "Remarks", "Location", "History"])
@pytest.mark.parametrize(
    "cell",
    ["withdrawn 2024", "To be scrapped", "SCRAP", "on hold", "in quarantine_store", "failed", "destroyed", "held"],
)
def test_words_for_gear_out_of_use_are_seen_in_columns_left_out_and_in_free_text(site: Site, heading, cell) -> None:
    found = looked(site, heading, cell)
    (fault,) = found.bad[0].faults
    assert found.good == () and fault.column == heading and "out of use" in fault.problem


def test_leaving_the_column_of_states_out_does_not_let_withdrawn_gear_in(site: Site) -> None:
    assert looked(site, "Status", "WITHDRAWN - burnt", {"Status": ""}).good == ()
    assert looked(site, "Status", "New South Wales", {"Status": ""}).bad == ()


@pytest.mark.parametrize(("cell", "bad"), [("yes", 1), ("2024-05-01", 1), ("x", 1), ("no", 0), ("", 0)])
def test_a_heading_that_says_withdrawn_speaks_for_the_rows_filled_in(site: Site, cell: str, bad: int) -> None:
    assert len(looked(site, "Withdrawn on", cell).bad) == bad


@pytest.mark.parametrize("cell", ["spare", "kept in the van; blue bag", "threshold of hall 4", "holder of tools"])
def test_free_text_about_something_else_is_no_fault(site: Site, cell: str) -> None:
    assert looked(site, "Remarks", cell).bad == ()


def test_a_state_given_for_all_rows_is_judged_the_same(site: Site) -> None:
    assert looked(site, "Colour", "red", defaults={"state": "in service"}).bad == ()
    with pytest.raises(BadInput, match="only gear in service"):
        looked(site, "Colour", "red", defaults={"state": "withdrawn"})


def test_a_heading_of_states_is_matched_by_itself() -> None:
    assert [column.field for column in guess_columns(("Tag", "Kind", "Status"))] == ["tag", "kind", "state"]
