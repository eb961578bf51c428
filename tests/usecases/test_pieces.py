"""One piece, one tag: withdrawn gear does not come back under another one."""

from __future__ import annotations

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.errors import Conflict
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.import_columns import guess_columns
from inspect_core.usecases.import_register import Preview, import_rows, preview
from inspect_core.usecases.import_table import read_table
from tests.usecases.site import Site


def looked(site: Site, *lines: str) -> Preview:
    table = read_table("\n".join(("tag,kind,maker,serial,webbing width", *lines)).encode(), "gear.csv")
    return preview(table, guess_columns(table.header), site.services)


def faults(found: Preview) -> list[tuple[int, str, str]]:
    return [(bad.row.number, fault.column, fault.problem) for bad in found.bad for fault in bad.faults]


def withdraw(site: Site, item_id: str) -> None:
    make_move(MakeMove("w", item_id, Move.WITHDRAW, site.competent, "burnt"), site.services)


@pytest.mark.parametrize("serial", ["S-LAN-001", " s-lan -001 "])
@pytest.mark.parametrize("maker", ["Maker A", "MAKER  a", ""])
def test_withdrawn_gear_does_not_come_back_under_a_new_tag(site: Site, serial: str, maker: str) -> None:
    withdraw(site, site.lanyard().id)
    with pytest.raises(Conflict, match="LAN-001, which is withdrawn"):
        site.lanyard("LAN-002", serial=serial, maker=maker)


def test_gear_in_the_register_gets_no_second_tag(site: Site) -> None:
    site.lanyard()
    with pytest.raises(Conflict, match="belongs to LAN-001 already"):
        site.lanyard("LAN-002", serial="S-LAN-001")


@pytest.mark.parametrize("serial", ["", "unknown", "n/a"])
def test_serial_numbers_that_are_none_are_not_compared(site: Site, serial: str) -> None:
    site.lanyard(serial=serial)
    assert site.lanyard("LAN-002", serial=serial).tag == "LAN-002"


def test_two_makers_may_give_the_same_serial_number(site: Site) -> None:
    site.lanyard(serial="1001")
    assert site.lanyard("LAN-002", serial="1001", maker="Maker B").tag == "LAN-002"


def test_a_correction_takes_over_no_other_pieces_serial_number(site: Site) -> None:
    site.lanyard()
    other = site.lanyard("LAN-002")
    with pytest.raises(Conflict, match="LAN-001"):
        site.correct(other, serial="S-LAN-001")
    site.correct(other, note="blue bag")


def test_an_import_brings_back_no_withdrawn_piece(site: Site) -> None:
    withdraw(site, site.lanyard().id)
    site.lanyard("LAN-002")
    found = looked(site, "H-1,harness,maker a,s-lan-001,45", "H-2,harness,Maker A,S-LAN-002,45", "H-3,harness,,7,45")
    assert [good.item.tag for good in found.good] == ["H-3"]
    assert faults(found) == [
        (2, "serial", "The serial number s-lan-001 belongs to LAN-001, which is withdrawn."),
        (3, "serial", "The serial number S-LAN-002 belongs to LAN-002 already."),
    ]


def test_a_file_that_carries_one_piece_twice_has_both_rows_bad(site: Site) -> None:
    found = looked(site, "H-1,harness,M,77,45", "H-2,harness,m,7 7,45", "H-3,harness,N,77,45", "H-4,harness,M,,45")
    assert [good.item.tag for good in found.good] == ["H-3", "H-4"]
    assert faults(found) == [
        (2, "serial", "The serial number 77 stands in row 3 as well."),
        (3, "serial", "The serial number 7 7 stands in row 2 as well."),
    ]


def test_nothing_is_imported_when_a_serial_number_comes_into_use_after_the_preview(site: Site) -> None:
    found = looked(site, "H-1,harness,Maker A,S-LAN-001,45")
    site.lanyard()
    with pytest.raises(Conflict, match="LAN-001"):
        import_rows(found, site.competent, site.services, skip_bad=False)
