"""Moving a store and looking at many stores, as a person types it."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import pytest

from inspect_core.bootstrap import open_services
from inspect_core.terminal import main
from inspect_core.usecases.sign_in import begin_locked
from tests.usecases.tampered import filled

pytestmark = pytest.mark.sqlite
RULES = str(files("inspect_core.rules") / "data")


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    filled(tmp_path / "store")

    def call(*words: str, store: str = "store") -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["--store", str(tmp_path / store), *words])
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return call


def test_a_store_is_moved_used_and_opened_again(run, tmp_path: Path) -> None:
    code, out, err = run("relocate", str(tmp_path / "new"), "--by", "Manager")
    assert code == 0, err
    assert "without a fault" in out and "The signing key was taken along" in out and "takes no more records" in out
    held = ("custody", "LAN-002", "put on hold", "--by", "Worker", "--reason", "found on the floor")
    code, _, err = run(*held)
    assert code == 1 and "nothing is recorded here any more" in err and "Work there." in err
    assert run(*held, store="new")[0] == 0
    code, out, _ = run("relocate", str(tmp_path / "third"), "--by", "Manager", "--json", store="new")
    assert code == 0 and json.loads(out)["place"] == str(tmp_path / "third")
    code, out, _ = run("reopen", "--by", "Manager", "--json")
    assert code == 0 and json.loads(out)["reopened"] is True
    assert run(*held)[0] == 0


def test_a_site_with_sign_in_asks_for_the_pin_and_takes_it_along(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    services = open_services(str(tmp_path / "store"))
    begin_locked("Keeper", "739154", services)
    services.close()
    code, _, err = run("relocate", str(tmp_path / "new"), "--by", "Keeper")
    assert code == 1 and "no PIN was given" in err and not (tmp_path / "new").exists()
    monkeypatch.setenv("BARTACK_PIN", "739154")
    code, out, err = run("relocate", str(tmp_path / "new"), "--by", "Keeper")
    assert (code, err) == (0, "") and "without a fault" in out
    code, _, err = run("archive", str(tmp_path / "bag"), "--by", "Keeper")
    assert code == 1 and "were moved to" in err
    code, _, err = run("archive", str(tmp_path / "bag"), "--by", "Keeper", store="new")
    assert code == 0, err
    assert run("reopen", "--by", "Keeper")[0] == 0
    assert run("archive", str(tmp_path / "bag2"), "--by", "Keeper")[0] == 0


def test_a_fleet_is_exported_weighed_again_and_asked(run, tmp_path: Path) -> None:
    filled(tmp_path / "other")
    for name, store in (("one", "store"), ("two", "other")):
        code, _, err = run(
            "export", "--to", str(tmp_path / "fleet" / name), "--format", "parquet", "--by", "Manager", store=store
        )
        assert code == 0, err
    code, out, err = run("fleet", "what-if", str(tmp_path / "fleet"), "--rules", RULES)
    assert code == 0, err
    assert "2 stores: 6 inspections weighed again, 0 would have ended otherwise." in out
    code, out, err = run("fleet", "trends", str(tmp_path / "fleet"), "--question", "rates", "--json")
    assert code == 0, err
    told = json.loads(out)
    assert told["stores"] == 2 and told["all"]["items"] == 6
    code, out, _ = run("fleet", "trends", str(tmp_path / "fleet" / "one"))
    assert code == 0 and out.startswith("1 store.") and "Method:" in out
    code, _, err = run("fleet", "trends", str(tmp_path / "store"))
    assert code == 1 and "holds no export as Parquet" in err
    code, _, err = run("fleet", "trends", str(tmp_path / "fleet"), "--question", "everything")
    assert code == 1 and "There is no question" in err


def test_a_cluster_that_is_not_there_is_told_in_words(run, tmp_path: Path) -> None:
    run("export", "--to", str(tmp_path / "one"), "--format", "parquet", "--by", "Manager")
    code, _, err = run(
        "fleet", "trends", str(tmp_path / "one"), "--question", "rates", "--cluster", "tcp://127.0.0.1:9"
    )
    assert code == 1 and ("distributed" in err or "No cluster answers" in err)
