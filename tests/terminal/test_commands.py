"""The command line: what it prints, its exit codes, and that it says no to what is wrong."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from inspect_core.terminal import bartack
from tests.usecases.site import picture

CASE = {
    "kind": "webbing lanyard",
    "profile": "common",
    "on": "2026-03-02",
    "facts": {"fibre": "polyester"},
    "answers": {
        "label": "sound",
        "webbing": "defect",
        "stitching": "sound",
        "snap hook": "sound",
        "energy absorber": "sound",
        "D-ring": "absent",
        "indicator": "absent",
    },
    "marks": [
        {
            "id": "m1",
            "component": "webbing",
            "category": "cut",
            "readings": [{"measure": "depth from edge", "value": 1.0, "unit": "mm", "uncertainty": 0.2}],
        }
    ],
}


@pytest.fixture
def case_file(tmp_path):
    def _write(data) -> str:
        path = tmp_path / "case.json"
        path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
        return str(path)

    return _write


def register(run, tag="LAN-001"):
    code, out, err = run(
        *("register", "--tag", tag, "--kind", "webbing lanyard", "--site", "North Quay", "--by", "Ana", "--json"),
        *("--webbing-width-mm", "45", "--fibre", "polyester", "--standards", "CSA Z259.11"),
    )
    assert code == 0, err
    return json.loads(out)


SOUND = [f"--answer={part}=sound" for part in ("label", "webbing", "stitching", "snap hook", "energy absorber")] + [
    "--answer=D-ring=absent",
    "--answer=indicator=absent",
]


def test_a_case_is_decided_with_the_keys_of_the_contract(run, case_file):
    code, out, _ = run("decide", case_file(CASE), "--json")
    assert code == 0
    answer = json.loads(out)
    assert list(answer) == ["outcome", "damage_used", "findings", "rules"]
    assert answer["outcome"] == "withdraw"
    assert answer["damage_used"] >= 1
    assert list(answer["findings"][0]) == [
        *("rule", "outcome", "mark", "component", "measure", "value", "uncertainty", "limit", "unit"),
        *("reason", "source", "basis"),
    ]
    assert any("INDG367" in f["source"] and f["mark"] == "m1" for f in answer["findings"])
    assert list(answer["rules"]) == ["version", "digest"]


def test_the_same_case_gives_the_same_bytes_in_another_process(case_file):
    command = [sys.executable, "-m", "inspect_core.terminal", "decide", case_file(CASE), "--json"]
    runs = [
        subprocess.run(command, capture_output=True, check=True, env={"PYTHONHASHSEED": seed, "PATH": ""}).stdout
        for seed in ("1", "2")
    ]
    assert runs[0] == runs[1] != b""


def test_the_vocabulary_names_every_kind_with_its_components(run):
    code, out, _ = run("decide", "--list", "--json")
    assert code == 0
    words = json.loads(out)
    assert len(words["kinds"]) == 10
    assert {"categories", "measures", "facts", "profiles", "rules"} <= set(words)
    assert all(rule["source"] and rule["basis"] for rule in words["rules"]["list"])
    assert run("decide", "--list", "--json")[1] == out


def test_a_case_comes_from_standard_input(run, monkeypatch):
    import io

    class Stdin:
        buffer = io.BytesIO(json.dumps(CASE).encode())

    monkeypatch.setattr(sys, "stdin", Stdin)
    assert json.loads(run("decide", "-", "--json")[1])["outcome"] == "withdraw"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        ("[1,2]", ""),
        ('{"kind": "webbing lanyard", "kind": "harness"}', "stands twice"),
        ('{"kind": NaN}', "no number"),
        ("[" * 100_000, ""),
    ],
)
def test_a_file_that_is_no_case_is_refused_with_exit_code_1(run, case_file, text, said):
    code, out, err = run("decide", case_file(text), "--json")
    assert code == 1
    assert out == ""
    assert said in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    "arguments",
    [
        ("decide",),
        ("decide", "--lsit"),
        ("unknown",),
        ("history",),
        ("register", "--kind", "ladder", "--by", "Ana"),
        ("check", "LAN-001", "--answer=label", "--by", "Ana"),
        ("check", "LAN-001"),
        ("due", "--days", "soon"),
        ("search", "x", "--since", "yesterday"),
        ("certificate", "abc"),
    ],
)
def test_wrong_use_ends_with_exit_code_2(run, arguments):
    code, out, err = run(*arguments)
    assert code == 2
    assert out == ""
    assert err.startswith("Usage:") or "Error:" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("history", "LAN-404"), "No item carries"),
        (("history", "a b"), "is no tag"),
        (("decide", "nowhere.json"), "cannot be read"),
        (("certificate", "abcd", "-o", "x.pdf"), "No inspection is called"),
        (("search", "x" * 300), "longer than"),
        (("search", "x", "--limit", "1000"), "1 to 100"),
        (("search", "--person", "Nobody 9"), "Nobody here is called"),
        (("search", "x", "--saved", "Cuts"), "Give --saved alone"),
        (("search", "--saved", "Cuts"), "No search is saved"),
        (("search", "--damage-from", "2", "--damage-to", "1"), "smaller damage"),
        (("due", "--days", "-4"), "number of days"),
        (("register", "--tag", "A 1", "--kind", "harness", "--by", "Ana"), "is no tag"),
        (("register", "--tag", "A1", "--kind", "harness", "--by", "Ana", "--made-on", "1.2.2024"), "not a date"),
        (("register", "--tag", "A1", "--kind", "harness", "--by", "Ana", "--profile", "moon"), "no profile"),
        (("custody", "LAN-404", "put on hold", "--by", "Ana", "--reason", "worn"), "No item carries"),
    ],
)
def test_a_refusal_ends_with_exit_code_1_and_says_what_to_do(run, arguments, said):
    code, out, err = run(*arguments)
    assert code == 1
    assert out == ""
    assert said in err
    assert len(err.strip().splitlines()) == 2  # what is wrong, what to do


def test_the_main_job_from_register_to_certificate(run, tmp_path):
    registered = register(run)
    assert registered["standing"]["state"] == "in service"
    (tmp_path / "webbing.jpg").write_bytes(picture())
    check = {
        "by": "Ana",
        "answers": CASE["answers"],
        "photos": [
            {
                "path": "webbing.jpg",
                "marks": [
                    {
                        "component": "webbing",
                        "category": "cut",
                        "shape": {"type": "line", "points": [[100, 100], [130, 160]]},
                        "readings": [{"measure": "depth from edge", "value": 2.0, "unit": "mm", "uncertainty": 0.5}],
                    }
                ],
            }
        ],
    }
    (tmp_path / "check.json").write_text(json.dumps(check))
    dry = run("check", "lan-001", str(tmp_path / "check.json"), "--dry-run", "--json")
    assert json.loads(dry[1])["decision"]["outcome"] == "withdraw"
    code, out, err = run("check", "lan-001", str(tmp_path / "check.json"), "--json")
    assert code == 0, err
    result = json.loads(out)
    assert result["standing"]["state"] == "withdrawn"
    assert result["standing"]["usable"] is False
    life = json.loads(run("history", "LAN-001", "--json")[1])
    assert [i["outcome"] for i in life["inspections"]] == ["withdraw"]
    assert life["inspections"][0]["marks"][0]["shape"]["points"] == [[100, 100], [130, 160]]
    hits = json.loads(run("search", "cut", "--json")[1])["hits"]
    assert [h["tag"] for h in hits] == ["LAN-001"]
    narrowed = (
        "search",
        "--mark",
        "cut",
        "--outcome",
        "withdraw",
        "--type",
        "before use",
        "--damage-from",
        "1",
        "--json",
    )
    assert [h["inspection"] for h in json.loads(run(*narrowed)[1])["hits"]] == [result["inspection"]["id"]]
    assert json.loads(run("search", "--mark", "cut", "--damage-to", "0.5", "--json")[1])["hits"] == []
    trends = json.loads(run("trends", "--json")[1])
    assert [(s["label"], s["count"]) for s in trends["shares"]] == [("cut", 1)]
    inspection = result["inspection"]["id"]
    code, _, err = run("certificate", inspection[:8], "-o", str(tmp_path / "c.pdf"))
    assert code == 0, err
    assert (tmp_path / "c.pdf").read_bytes().startswith(b"%PDF")
    assert json.loads(run("verify", "--json")[1])["faults"] == []


def test_a_sound_check_by_options_keeps_the_item_in_service(run):
    register(run)
    code, out, err = run("check", "LAN-001", "--by", "Ana", *SOUND)
    assert code == 0, err
    assert "IN SERVICE" in out
    assert "no reading proves strength" in out


def test_verify_finds_a_photo_that_was_changed(run, tmp_path):
    register(run)
    (tmp_path / "p.jpg").write_bytes(picture())
    check = {"by": "Ana", "answers": CASE["answers"] | {"webbing": "sound"}, "photos": [{"path": "p.jpg"}]}
    (tmp_path / "check.json").write_text(json.dumps(check))
    code, out, err = run("check", "LAN-001", str(tmp_path / "check.json"), "--json")
    assert code == 0, err
    photo = json.loads(out)["inspection"]["photos"][0]
    original = next((tmp_path / "store" / "photos").rglob(f"{photo}/original"))
    data = bytearray(original.read_bytes())
    data[len(data) // 2] ^= 1
    original.chmod(0o600)
    original.write_bytes(bytes(data))
    code, out, _ = run("verify", "--json")
    assert code == 1
    assert any(photo in fault for fault in json.loads(out)["faults"])


def test_a_bad_check_file_stores_nothing(run, tmp_path):
    register(run)
    (tmp_path / "p.jpg").write_bytes(picture())
    bad = {
        "by": "Ana",
        "answers": CASE["answers"],
        "photos": [{"path": "p.jpg", "marks": [{"component": "webbing", "category": "smudge", "shape": {}}]}],
    }
    (tmp_path / "check.json").write_text(json.dumps(bad))
    code, _, err = run("check", "LAN-001", str(tmp_path / "check.json"))
    assert code == 1
    assert err
    assert json.loads(run("history", "LAN-001", "--json")[1])["inspections"] == []
    assert [p for p in (tmp_path / "store" / "photos").rglob("*") if p.is_file()] == []


SWING = {"check": "swing", "profile": "us construction", "units": "feet", "height": 35, "offset": 18, "clear": 40}


def test_a_set_up_is_checked_and_recorded_with_its_sheet(run, case_file, tmp_path):
    register(run)
    code, out, err = run("rig", case_file(SWING), "--json")
    assert code == 0, err
    assert json.loads(out)["check"] == "swing"
    sheet = str(tmp_path / "sheet.pdf")
    recorded = run("rig", case_file(SWING), "--record", "--by", "Ana", "--tag", "LAN-001", "--sheet", sheet)
    assert recorded[0] == 0, recorded[2]
    assert Path(sheet).read_bytes().startswith(b"%PDF")
    life = json.loads(run("history", "LAN-001", "--json")[1])
    assert [s["check"] for s in life["setups"]] == ["swing"]
    assert run("rig", case_file({"check": "juggling"}), "--json")[0] == 1
    assert run("rig", case_file([1]), "--registered")[0] == 1
    assert run("rig", case_file(SWING), "--record")[0] == 2
    assert len(json.loads(run("rig", "--list")[1])["checks"]) == 7


def test_every_command_explains_itself(run):
    for name in bartack.commands:
        code, out, _ = run(name, "--help")
        assert code == 0
        assert len(out.splitlines()) > 4
        assert bartack.commands[name].help


def test_every_command_is_named_in_the_readme_or_its_help():
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    for name in ("demo", "due", "search", "history", "decide", "certificate", "trends", "verify"):
        assert f"bartack {name}" in readme


def test_what_if_weighs_the_past_by_other_rules_and_refuses_a_folder_without_them(run, tmp_path):
    register(run)
    assert run("check", "LAN-001", "--by", "Ana", *SOUND)[0] == 0
    code, out, err = run("what-if", "--rules", str(tmp_path / "nowhere"), "--json")
    assert code == 1
    assert out == ""
    assert err
    rules = str(Path(__file__).parents[2] / "inspect_core" / "rules" / "data")
    code, out, err = run("what-if", "--rules", rules, "--json")
    assert code == 0, err
    assert json.loads(out)["cases"] == 1
    assert json.loads(out)["changes"] == []
