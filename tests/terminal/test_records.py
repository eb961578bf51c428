"""Commands about the record as a whole, as a person types them."""

from __future__ import annotations

import json

import pytest
import sqlalchemy as sa

from inspect_core.bootstrap import open_services
from inspect_core.usecases.certificate import certificate_pdf
from storage.tables import metadata
from tests.engines import stores
from tests.usecases.tampered import filled


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    folder = tmp_path_factory.mktemp("records") / "store"
    filled(folder)
    return folder


@pytest.fixture
def run(template, tmp_path, capsys):
    from inspect_core.terminal import main

    store = stores.copy_of(template, tmp_path / "store")

    def call(*words, store=store):
        with pytest.raises(SystemExit) as ended:
            main(["--store", str(store), *words])
        out, err = capsys.readouterr()
        return ended.value.code or 0, out, err

    return call


def test_verify_says_that_all_is_well_and_in_json_what_it_saw(run):
    code, out, _ = run("verify")
    assert code == 0 and "No fault found." in out and "Signed heads exist since" in out
    code, out, _ = run("verify", "--json")
    told = json.loads(out)
    assert code == 0 and told["faults"] == [] and told["signed"]["size"] == told["entries"]


def test_verify_names_what_was_changed_and_ends_with_one(run, tmp_path):
    assert stores.changed(tmp_path / "store", "UPDATE inspections SET next_due = '2030-01-01' WHERE id = 'cut-1'") == 1
    code, out, _ = run("verify")
    assert code == 1 and "inspection of LAN-001 on 2026-03-03 (cut-1) was changed in the store: next_due" in out
    code, out, _ = run("verify", "--json")
    assert code == 1 and json.loads(out)["found"][0]["tag"] == "LAN-001"


def test_a_head_kept_elsewhere_shows_an_end_that_was_cut_off(run, tmp_path):
    code, out, _ = run("heads")
    assert code == 0
    (tmp_path / "head.json").write_text(out)
    assert run("verify", "--head", str(tmp_path / "head.json"))[0] == 0
    with stores.beside(tmp_path / "store") as connection:
        last = connection.scalar(sa.select(sa.func.max(metadata.tables["ledger"].c.number)))
        for table, column in (("ledger", "number"), ("tree_nodes", "number"), ("tree_heads", "size")):
            counted = metadata.tables[table]
            connection.execute(sa.delete(counted).where(counted.c[column] > last - 1))
    code, out, _ = run("verify", "--head", str(tmp_path / "head.json"))
    assert code == 1 and f"The end is cut off: entry {last} is missing." in out


def test_all_heads_are_printed_one_a_line(run):
    code, out, _ = run("heads", "--all")
    sizes = [json.loads(line)["size"] for line in out.splitlines()]
    assert code == 0 and sizes == sorted(sizes) and len(sizes) == 3  # three days of work


def test_a_certificate_is_checked_without_any_store(run, tmp_path):
    services = open_services(str(tmp_path / "store"))
    (tmp_path / "paper.pdf").write_bytes(certificate_pdf("cut-1", services))
    services.close()
    nowhere = tmp_path / "nowhere"
    code, out, _ = run("verify", "--certificate", str(tmp_path / "paper.pdf"), store=nowhere)
    assert code == 0 and "The file is whole." in out and "Webbing lanyard LAN-001" in out and "does not prove" in out
    assert not nowhere.exists()
    code, out, _ = run("verify", "--certificate", str(tmp_path / "paper.pdf"), "--json", store=nowhere)
    assert code == 0 and json.loads(out)["facts"]["outcome"] == "Withdraw"
    (tmp_path / "other.pdf").write_bytes(b"%PDF-1.4 nothing")
    code, _, err = run("verify", "--certificate", str(tmp_path / "other.pdf"), store=nowhere)
    assert code == 1 and "Give the file as it was issued." in err


@pytest.mark.parametrize("place", ["bag", "bag.zip"])
def test_an_archive_is_made_and_restored(run, tmp_path, place):
    code, out, err = run("archive", str(tmp_path / place), "--by", "Manager", "--json")
    assert code == 0, err
    head = json.loads(out)["head"]
    new = tmp_path / "new"
    code, out, err = run("restore", str(tmp_path / place), "--json", store=new)
    assert code == 0, err
    assert json.loads(out)["head"] == head and json.loads(out)["faults"] == []
    code, _, err = run("restore", str(tmp_path / place), store=new)
    assert code == 1 and "is not empty" in err


def test_a_worker_takes_nothing_away(run, tmp_path):
    for words in (("archive", str(tmp_path / "bag")), ("export", "--to", str(tmp_path / "out"))):
        code, _, err = run(*words, "--by", "Worker")
        assert code == 1 and "A worker may not" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["store"]


def test_an_export_says_what_it_wrote(run, tmp_path):
    code, out, err = run(
        "export", "--to", str(tmp_path / "out"), "--by", "Competent", "--since", "2026-03-04", "--json"
    )
    assert code == 0, err
    assert json.loads(out)["counts"]["inspections"] == 2
    code, out, _ = run("export", "--to", str(tmp_path / "x.zip"), "--format", "xlsx", "--no-photos", "--by", "Manager")
    assert code == 0 and "4 inspections" in out and (tmp_path / "x.zip").stat().st_size > 1000
    code, _, err = run("export", "--to", str(tmp_path / "y"), "--with-location", "--by", "Manager")
    assert code == 1 and "Only originals know a place" in err
