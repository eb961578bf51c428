"""Importing a register: every bad row told with its reason, nothing half imported."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from openpyxl import Workbook

from inspect_core.domain.custody import Move, State
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.usecases.import_columns import guess_columns, matched
from inspect_core.usecases.import_register import Preview, bad_rows_csv, import_rows, preview
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.import_values import DayOrder
from inspect_core.usecases.plain import item_plain
from inspect_core.usecases.review import history, item_by_tag
from inspect_core.usecases.verify import verify
from tests.usecases.registers import HEADER, WRONGS, register
from tests.usecases.site import Site


def looked(site: Site, data: bytes, name: str = "gear.csv", **more) -> Preview:
    table = read_table(data, name)
    return preview(table, guess_columns(table.header), site.services, **more)


def many(site: Site) -> int:
    with site.services.unit_of_work() as uow:
        return sum(uow.items.counts().values())


def simple(*lines: str) -> bytes:
    return "\n".join(("tag,kind,made on,first used on,webbing width", *lines)).encode()


def test_five_thousand_rows_with_two_hundred_bad_ones_are_imported_as_told(site: Site) -> None:
    site.lanyard("OLD-1"), site.lanyard("OLD-2")
    made = register(5000, 200, seed=11, in_use=("OLD-1", "OLD-2"))
    found = looked(site, made.csv())
    assert (len(found.good), len(found.bad)) == (4800, 200)
    told = {one.row.number: [(fault.column, fault.problem) for fault in one.faults] for one in found.bad}
    for row, column, words in made.planted:
        ((heading, problem),) = told.pop(row)
        assert (heading, words in problem) == (column, True), (row, heading, problem, column, words)
    assert told == {}

    with pytest.raises(BadInput, match="200 of 5000 rows are bad, so nothing was imported"):
        import_rows(found, site.competent, site.services, skip_bad=False)
    assert many(site) == 2
    done = import_rows(found, site.competent, site.services, skip_bad=True)
    assert (len(done.items), done.left_out) == (4800, 200)
    assert many(site) == 4802
    by_tag = {row[0]: row for n, row in enumerate(made.rows, 2) if n not in {p.row for p in made.planted}}
    for tag in list(by_tag)[::50]:
        item = item_by_tag(tag, site.services).item
        row = dict(zip(HEADER, by_tag[tag], strict=True))
        assert (item.kind.value, item.serial) == (row["Type"].lower(), row["Serial Number"])
        assert item.made_on == date.fromisoformat(row["Date of Manufacture"])
        width = row["Web width (mm)"]
        assert item.webbing_width_mm == (float(width) if width else None)


def test_every_way_of_being_wrong_is_planted_in_the_large_register() -> None:
    planted = {(p.column, p.words) for p in register(5000, 200, seed=11).planted}
    assert {(column, words) for _, column, words in WRONGS} <= planted


def test_an_imported_item_stands_in_the_record_as_a_registered_one_does(site: Site) -> None:
    found = looked(site, simple("H-1,harness,2024-01-01,2024-02-01,45"))
    import_rows(found, site.competent, site.services, skip_bad=False)
    row = item_by_tag("H-1", site.services)
    life = history(row.item.id, site.services)
    assert row.standing.state is State.IN_SERVICE
    assert row.standing.next_due == date(
        2025, 2, 1
    )  # 12 months after the first use, EN 365 as the common profile has it
    assert [(event.move, event.by) for event in life.custody] == [(Move.REGISTER, site.competent)]
    with site.services.unit_of_work() as uow:
        (entry,) = uow.ledger.of_subject("item", row.item.id)
    assert entry.body["item"] == item_plain(row.item)


def test_nothing_is_imported_when_a_tag_comes_into_use_after_the_preview(site: Site) -> None:
    found = looked(site, simple("H-1,harness,,,45", "H-2,harness,,,45"))
    site.lanyard("H-2")
    with pytest.raises(Conflict, match="H-2"):
        import_rows(found, site.competent, site.services, skip_bad=False)
    assert many(site) == 1


def test_nothing_is_imported_when_the_store_fails_in_the_middle(site: Site, monkeypatch) -> None:
    found = looked(site, simple(*(f"H-{n},harness,,,45" for n in range(20))))
    from inspect_core.usecases import import_register

    entered = []

    def fail(item, *rest):
        entered.append(item)
        if len(entered) == 15:
            raise RuntimeError("power cut")
        return real(item, *rest)

    real = import_register.enter_item
    monkeypatch.setattr(import_register, "enter_item", fail)
    with pytest.raises(RuntimeError):
        import_rows(found, site.competent, site.services, skip_bad=False)
    assert many(site) == 0


def test_pressing_twice_imports_once(site: Site) -> None:
    found = looked(site, simple("H-1,harness,,,45"))
    import_rows(found, site.competent, site.services, skip_bad=False)
    with pytest.raises(Conflict):
        import_rows(found, site.competent, site.services, skip_bad=False)
    assert many(site) == 1


def test_a_worker_may_not_import(site: Site) -> None:
    with pytest.raises(NotAllowed, match="may not import a register"):
        import_rows(looked(site, simple("H-1,harness,,,45")), site.worker, site.services, skip_bad=False)


def test_several_faults_of_one_row_are_told_together(site: Site) -> None:
    (bad,) = looked(site, simple("bad tag!,hammock,someday,,wide")).bad
    assert [fault.column for fault in bad.faults] == ["tag", "kind", "made on", "webbing width"]


def test_a_missing_number_is_allowed_where_a_person_says_so(site: Site) -> None:
    data = simple("H-1,harness,,,")
    assert "rules of a harness need it" in looked(site, data).bad[0].faults[0].problem
    assert looked(site, data, numbers_needed=False).good[0].item.webbing_width_mm is None


def test_days_are_read_in_the_order_that_a_person_said(site: Site) -> None:
    data = simple("H-1,harness,03/04/2024,,45")
    assert looked(site, data, order=DayOrder.DAY_FIRST).good[0].item.made_on == date(2024, 4, 3)
    assert looked(site, data, order=DayOrder.MONTH_FIRST).good[0].item.made_on == date(2024, 3, 4)
    assert looked(site, data).good == ()


def test_a_default_fills_what_a_row_does_not_say_and_nothing_else(site: Site) -> None:
    data = b"tag,kind,site,webbing width\nH-1,,,45\nA-1,anchor sling,Hall 4,\n"
    found = looked(site, data, defaults={"kind": "harness", "site": "North Quay"})
    assert [(g.item.kind.value, g.item.site) for g in found.good] == [
        ("harness", "North Quay"), ("anchor sling", "Hall 4"),
    ]  # fmt: skip


def test_a_file_without_a_column_for_the_tag_is_refused_with_what_to_do(site: Site) -> None:
    with pytest.raises(BadInput, match="No column is matched to the tag"):
        looked(site, b"colour,kind\nred,harness\n")


def test_the_file_of_bad_rows_can_be_mended_and_imported_and_runs_no_formula(site: Site) -> None:
    data = 'tag,kind,webbing width,note\nH-1,harness,45,\nH-2,harness,,"=HYPERLINK(""x"")"\n-H3,hammock,45,@x\n'
    found = looked(site, data.encode())
    out = bad_rows_csv(found)
    rows = list(csv.reader(io.StringIO(out.decode("utf-8-sig"))))
    assert rows[0] == ["tag", "kind", "webbing width", "note", "row in the file", "what is wrong"]
    assert rows[1][3] == '\'=HYPERLINK("x")' and rows[2][0] == "'-H3" and rows[2][3] == "'@x"
    assert not any(cell[:1] in "=+-@\t\r" for row in rows for cell in row if cell)
    assert [row[4] for row in rows[1:]] == ["3", "4"]
    mended = out.replace(b"H-2,harness,,", b"H-2,harness,44,").replace(b"'-H3,hammock", b"H-3,harness")
    again = looked(site, mended)
    assert [g.item.tag for g in again.good] == ["H-2", "H-3"]
    assert again.good[0].item.note == '=HYPERLINK("x")'


def test_what_a_person_says_about_a_column_goes_before_the_guess(site: Site) -> None:
    header = ("Asset No.", "Description", "Type", "Width")
    assert [c.field for c in guess_columns(header)] == ["tag", "note", "kind", "webbing_width_mm"]
    columns = matched(header, {"Description": "model", "Width": ""})
    assert [c.field for c in columns] == ["tag", "model", "kind", None]
    for wrong in ({"Nothing": "tag"}, {"Type": "colour"}, {"Type": "note", "Width": "note"}):
        with pytest.raises(BadInput):
            matched(header, wrong)


def test_an_xlsx_register_gives_the_same_items_as_the_csv(site: Site) -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["Tag", "Type", "Date of manufacture", "Webbing width (in)", "Price"])
    sheet.append([1001, "Full-body harness", date(2024, 3, 4), 1.75, 89.5])
    sheet.append(["H-2", "harness", "4 Mar 2024", '1.75"', None])
    out = io.BytesIO()
    book.save(out)
    found = looked(site, out.getvalue(), "gear.xlsx")
    assert found.bad == ()
    one, two = (g.item for g in found.good)
    assert (one.tag, one.made_on, one.webbing_width_mm, one.price) == ("1001", date(2024, 3, 4), 44.45, 89.5)
    assert (two.made_on, two.webbing_width_mm) == (date(2024, 3, 4), 44.45)  # 1.75 in × 25.4 mm, by definition


def test_the_account_is_whole_after_an_import(site: Site) -> None:
    made = register(200, 20, seed=4)
    import_rows(looked(site, made.csv()), site.competent, site.services, skip_bad=True)
    found = verify(site.services)
    assert found.faults == () and found.records["item"] == 180
