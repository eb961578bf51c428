"""Item labels, and the tags for held and withdrawn gear."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item, Kind
from inspect_core.imaging import qr
from inspect_core.reports.item_labels import GRIDS, ROLL, item_labels, item_payload
from inspect_core.reports.withdrawal_tag import TagData, withdrawal_tag
from tests.reports import records
from tests.reports.reading import dense, pages, qr_texts, reader, rightmost, words

HELD = replace(records.STANDING, state=State.ON_HOLD, since=records.AT, reason="A chemical splash on the webbing.")


def gear(count: int) -> list[Item]:
    return [replace(records.ITEM, id=f"i{n}", tag=f"QL-{n:03d}") for n in range(count)]


def labels(items: list[Item], **more: object) -> bytes:
    return item_labels(items, printed_on=records.PRINTED, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("grid", list(GRIDS))
def test_every_label_can_be_scanned_and_read(grid: str) -> None:
    pdf = labels(gear(5), grid=grid)
    assert sorted(qr_texts(pdf)) == [f"bartack:item:QL-{n:03d}" for n in range(5)]
    for n in range(5):
        assert f"QL-{n:03d}" in words(pdf)
    assert words(pdf).count("webbing lanyard") == 5
    assert words(pdf).count("Serial S-4471-09") == 5


@pytest.mark.parametrize("grid", list(GRIDS))
def test_every_grid_fits_its_page(grid: str) -> None:
    layout = GRIDS[grid]
    across = layout.left + layout.columns * layout.width + (layout.columns - 1) * layout.gap
    down = layout.top + layout.rows * layout.height
    assert across <= layout.page[0] + 1e-9
    assert down <= layout.page[1] + 1e-9
    # Margins are the same on both sides, so that a sheet can be fed either way up.
    assert layout.page[0] - across == pytest.approx(layout.left, abs=0.2)
    assert layout.page[1] - down == pytest.approx(layout.top, abs=0.2)


def test_a_full_sheet_goes_on_to_the_next_page_and_used_places_are_skipped() -> None:
    assert len(reader(labels(gear(21))).pages) == 1
    assert len(reader(labels(gear(21), skip=1)).pages) == 2
    assert "QL-020" in pages(labels(gear(21), skip=1))[1]


def test_a_roll_label_is_62_mm_wide_and_one_to_a_page() -> None:
    document = reader(labels(gear(3), grid=ROLL))
    assert len(document.pages) == 3
    assert float(document.pages[0].mediabox.width) / 72 * 25.4 == pytest.approx(62)


@pytest.mark.parametrize("tag", ["A", "W" * 32, "NORTH-QUAY/TOWER-2/LANYARD-0017", "-".join("ABCDEFGH"), "1" * 31])
@pytest.mark.parametrize("grid", list(GRIDS))
def test_the_longest_tag_is_printed_whole_and_still_scans(tag: str, grid: str) -> None:
    item = replace(records.ITEM, tag=tag, serial="S" * 60, kind=Kind.SELF_RETRACTING_LIFELINE)
    pdf = labels([item], grid=grid)
    assert qr_texts(pdf) == [item_payload(tag)]
    assert tag in dense(pdf)
    assert rightmost(pdf) < (GRIDS[grid].left + GRIDS[grid].width) / 25.4 * 72


def test_the_code_on_a_label_is_the_one_the_app_reads() -> None:
    assert item_payload("QL-017") == f"{qr.PREFIX}QL-017"


def test_bad_orders_for_labels_are_refused() -> None:
    with pytest.raises(BadInput, match="no item"):
        labels([])
    with pytest.raises(BadInput, match="no known label sheet"):
        labels(gear(1), grid="A3")
    for skip in (-1, 21):
        with pytest.raises(BadInput, match="used places"):
            labels(gear(1), skip=skip)


def test_labels_and_tags_repeat_byte_for_byte() -> None:
    assert labels(gear(3)) == labels(gear(3))
    tag = TagData(records.ITEM, HELD, "Worker 4")
    assert withdrawal_tag(tag) == withdrawal_tag(tag)


@pytest.mark.parametrize(
    ("standing", "word"), [(HELD, "On hold"), (records.withdrawn_since(), "Withdrawn")], ids=["on hold", "withdrawn"]
)
def test_a_tag_says_do_not_use_why_since_when_by_whom_and_after_which_inspection(standing: object, word: str) -> None:
    pdf = withdrawal_tag(TagData(records.ITEM, standing, "Worker 4", "insp-2025-06-02-0001"))  # type: ignore[arg-type]
    text = words(pdf)
    assert word in text
    for part in ("do not use", "QL-017", "webbing lanyard, serial S-4471-09", "2025-06-02", "Worker 4"):
        assert part in text
    assert "insp-2025-06-02-0001" in text
    assert standing.reason in text  # type: ignore[attr-defined]
    assert qr_texts(pdf) == ["bartack:item:QL-017"]


def test_a_tag_is_one_page_of_a6() -> None:
    document = reader(withdrawal_tag(TagData(records.ITEM, HELD, "Worker 4")))
    assert len(document.pages) == 1
    box = document.pages[0].mediabox
    assert float(box.width) / 72 * 25.4 == pytest.approx(105, abs=0.5)
    assert float(box.height) / 72 * 25.4 == pytest.approx(148, abs=0.5)


def test_a_tag_tells_what_may_happen_next() -> None:
    assert "Only a competent person" in words(withdrawal_tag(TagData(records.ITEM, HELD, "Worker 4")))
    gone = words(withdrawal_tag(TagData(records.ITEM, records.withdrawn_since(), "Worker 4")))
    assert "until it is destroyed" in gone
    assert "competent person takes" not in gone


def test_long_reasons_are_cut_and_nothing_runs_off_the_tag() -> None:
    item = replace(records.ITEM, tag="W" * 32, serial="S" * 80)
    long = replace(HELD, reason="Chemical splash, see photo. " * 60)
    pdf = withdrawal_tag(TagData(item, long, "A name " * 20, "x" * 60))
    assert "…" in words(pdf)
    assert "W" * 32 in dense(pdf)
    assert rightmost(pdf) < float(reader(pdf).pages[0].mediabox.width)


@pytest.mark.parametrize("state", [State.IN_SERVICE, State.DESTROYED], ids=lambda s: s.value)
def test_gear_in_service_or_gone_gets_no_tag(state: State) -> None:
    with pytest.raises(BadInput, match="needs no such tag"):
        withdrawal_tag(TagData(records.ITEM, replace(HELD, state=state), "Worker 4"))


def test_a_standing_of_another_item_is_refused() -> None:
    with pytest.raises(BadInput, match="another item"):
        withdrawal_tag(TagData(records.ITEM, replace(HELD, item_id="item-99"), "Worker 4"))
