"""Everything recorded leaves whole, in four forms, without formulas and without places."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import date
from itertools import zip_longest
from pathlib import Path

import openpyxl
import pytest
from PIL import Image

from inspect_core import bootstrap
from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.usecases import export_files
from inspect_core.usecases.annotations import mark_from
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.export_files import guarded
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.plain import inspection_plain, item_plain
from tests.engines import stores
from tests.imaging.test_location import TIFF_OF_LATITUDE, exif
from tests.usecases import tampered
from tests.usecases.site import Site, picture

MANAGER = "person-manager"
EVIL = '=HYPERLINK("https://example.org","click")'


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("exported") / "store"
    tampered.filled(folder)
    return folder


@pytest.fixture
def services(store: Path):
    opened = bootstrap.open_services(str(store))
    yield opened
    opened.close()


def table(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_csv_holds_every_record_with_tags_and_names(services, tmp_path):
    made = export(tmp_path / "out", Export(), MANAGER, services)
    assert made.missing == [] and made.photos == 3
    items, inspections = table(tmp_path / "out", "items"), table(tmp_path / "out", "inspections")
    assert [row["tag"] for row in items] == ["LAN-001", "LAN-002", "LAN-003"]
    assert items[0]["now_state"] == "withdrawn" and items[0]["note"] == "strap replaced"
    assert {row["id"]: row["tag"] for row in inspections} == {
        "cut-1": "LAN-001",
        "check-2": "LAN-002",
        "check-3": "LAN-002",
        "periodic-1": "LAN-003",
    }
    assert {row["by_name"] for row in inspections} == {"Worker", "Competent"}
    (reading,) = table(tmp_path / "out", "readings")
    assert (reading["tag"], reading["measure"], reading["value"], reading["unit"], reading["uncertainty"]) == (
        "LAN-001",
        "depth from edge",
        "3.0",
        "mm",
        "0.2",
    )
    for name, many in {"moves": 5, "setups": 1, "kits": 1, "kit_events": 1, "second_readings": 1, "photos": 3}.items():
        assert len(table(tmp_path / "out", name)) >= many, name
    assert len(table(tmp_path / "out", "people")) == 4
    assert len(list((tmp_path / "out" / "photos").iterdir())) == 3


def test_a_workbook_holds_the_same_rows_as_the_csv_files(services, tmp_path):
    export(tmp_path / "csv", Export(photos=False), MANAGER, services)
    export(tmp_path / "xlsx", Export("xlsx", photos=False), MANAGER, services)
    book = openpyxl.load_workbook(tmp_path / "xlsx" / "records.xlsx", read_only=True)
    names = {path.stem for path in (tmp_path / "csv").glob("*.csv")}
    assert set(book.sheetnames) == names and len(names) >= 12
    for name in names:
        header, *rows = book[name].iter_rows(values_only=True)
        plain = table(tmp_path / "csv", name)
        assert list(header) == list(plain[0])
        for row, other in zip(rows, plain, strict=True):
            for value, text in zip_longest(row, other.values()):
                told = "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)
                assert told == text or float(told) == float(text)


def test_json_lines_are_the_objects_of_the_command_line(services, tmp_path):
    export(tmp_path / "out", Export("json", photos=False), MANAGER, services)
    lines = (tmp_path / "out" / "inspections.jsonl").read_text(encoding="utf-8").splitlines()
    items = [json.loads(line) for line in (tmp_path / "out" / "items.jsonl").read_text(encoding="utf-8").splitlines()]
    with services.unit_of_work() as uow:
        assert json.loads(lines[0]) == json.loads(json.dumps(inspection_plain(uow.inspections.get("cut-1"))))
        first = {key: value for key, value in items[0].items() if key != "standing"}
        assert first == json.loads(json.dumps(item_plain(uow.items.get("item-LAN-001"))))


def test_annotations_come_back_as_the_marks_they_were(services, tmp_path):
    export(tmp_path / "out", Export("annotations", photos=False), MANAGER, services)
    (file,) = (tmp_path / "out" / "annotations").iterdir()
    page = json.loads(file.read_text(encoding="utf-8"))
    assert page["type"] == "AnnotationPage" and page["@context"] == "http://www.w3.org/ns/anno.jsonld"
    with services.unit_of_work() as uow:
        assert [mark_from(one) for one in page["items"]] == list(uow.inspections.get("cut-1").marks)


def test_since_leaves_out_what_was_before(services, tmp_path):
    made = export(tmp_path / "out", Export(since=date(2026, 3, 4)), MANAGER, services)
    assert {row["id"] for row in table(tmp_path / "out", "inspections")} == {"check-3", "periodic-1"}
    assert len(table(tmp_path / "out", "items")) == 3
    assert made.counts["photos"] == 1


@pytest.mark.parametrize("text", [EVIL, "+1", "-1+2", "@sum", "\tx", "\rx", "\nx", "\uff1d1+1"])
def test_text_that_would_be_a_formula_is_guarded(text):
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("value", ["LAN-001", "a=b", "", None, -1.5, 0, True, "3-4"])
def test_other_values_stay_as_they_are(value):
    assert guarded(value) is value


@pytest.fixture
def evil(tmp_path) -> Site:
    site = Site(tmp_path / "store")
    item = site.lanyard(serial=EVIL, note="bell rings")
    site.record(site.check(item, note=EVIL))
    return site


def test_no_cell_of_an_export_is_a_formula(evil, tmp_path):
    # Registers written before such signs were taken out of what people type still hold them.
    stores.changed(tmp_path / "store", "UPDATE items SET note = :note", note="bell \x07 rings")
    export(tmp_path / "csv", Export(), evil.manager, evil.services)
    export(tmp_path / "xlsx", Export("xlsx"), evil.manager, evil.services)
    assert table(tmp_path / "csv", "items")[0]["serial"] == f"'{EVIL}"
    assert table(tmp_path / "csv", "inspections")[0]["note"] == f"'{EVIL}"
    book = openpyxl.load_workbook(tmp_path / "xlsx" / "records.xlsx")
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "f" not in kinds and "s" in kinds
    assert book["items"]["G2"].value == f"'{EVIL}"
    assert "bell \N{REPLACEMENT CHARACTER} rings" in [cell.value for cell in book["items"][2]]


def test_a_sheet_that_is_full_goes_on_in_the_next(services, tmp_path, monkeypatch):
    monkeypatch.setattr(export_files, "_MOST_ROWS", 5)
    export(tmp_path / "out", Export("xlsx", photos=False), MANAGER, services)
    book = openpyxl.load_workbook(tmp_path / "out" / "records.xlsx", read_only=True)
    assert {"answers", "answers 2", "answers 3"} <= set(book.sheetnames)
    assert [len(list(book[name].iter_rows())) for name in ("answers", "answers 2")] == [5, 5]


def photo_with_a_place() -> bytes:
    out = io.BytesIO()
    Image.open(io.BytesIO(picture(9))).save(out, "JPEG", exif=exif())
    return out.getvalue()


@pytest.fixture
def placed(tmp_path) -> Site:
    site = Site(tmp_path / "store")
    item = site.lanyard()
    photo = take_photo(photo_with_a_place(), site.services)
    site.record(site.check(item, photo_ids=(photo.id,)))
    return site


@pytest.mark.parametrize(
    ("wanted", "left"),
    [
        (Export(), False),
        (Export(originals=True), False),
        (Export(originals=True, with_location=True), True),
    ],
)
@pytest.mark.parametrize("place", ["out", "out.zip"])
def test_the_place_leaves_only_when_asked_for(placed, tmp_path, wanted, left, place):
    export(tmp_path / place, wanted, placed.manager, placed.services)
    if place.endswith(".zip"):
        with zipfile.ZipFile(tmp_path / place) as packed:
            everything = b"".join(packed.read(name) for name in packed.namelist())
    else:
        everything = b"".join(path.read_bytes() for path in (tmp_path / place).rglob("*") if path.is_file())
    assert (TIFF_OF_LATITUDE[">"] in everything) is left


def test_a_missing_photo_is_told_and_the_rest_is_written(placed, tmp_path):
    next((tmp_path / "store" / "photos").rglob("original")).unlink()
    made = export(tmp_path / "out", Export(), placed.manager, placed.services)
    assert len(made.missing) == 1 and made.photos == 0
    assert len(table(tmp_path / "out", "inspections")) == 1


def test_refusals_leave_nothing(placed, tmp_path):
    with pytest.raises(BadInput, match="no format"):
        Export("pdf")
    with pytest.raises(BadInput, match="Only originals know a place"):
        Export(with_location=True)
    with pytest.raises(NotAllowed, match="may not export"):
        export(tmp_path / "out", Export(), placed.worker, placed.services)
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "file").write_text("x")
    with pytest.raises(Conflict, match="is there already"):
        export(tmp_path / "taken", Export(), placed.manager, placed.services)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store", "taken"]


def test_an_empty_store_exports_too(tmp_path):
    site = Site(tmp_path / "store")
    for number, form in enumerate(("csv", "xlsx", "json", "annotations")):
        made = export(tmp_path / f"out-{number}", Export(form), site.manager, site.services)
        assert made.counts == {"people": 4}


def test_what_is_exported_does_not_change_while_others_record(placed, tmp_path):
    """Somebody records in the midst of it; the export tells the store of the moment at which it began."""
    other = replace(placed.services)

    def meanwhile(done: int, total: int, words: str) -> None:
        if words == "people" and done == 1:
            placed.record(placed.check(placed.lanyard("LAN-777"), "check-777"))

    export(tmp_path / "out", Export(), placed.manager, other, meanwhile)
    assert [row["tag"] for row in table(tmp_path / "out", "items")] == ["LAN-001"]
