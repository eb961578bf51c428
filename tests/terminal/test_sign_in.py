"""The command line in a site with sign-in: PINs from a file or the environment, and no way around them."""

import io
import json
import sys

import pytest

from inspect_core.terminal import main
from tests.usecases.locked import PINS, LockedSite
from tests.usecases.site import picture

NAMES = ("Worker", "Competent", "Expired", "Manager", "Administrator")


@pytest.fixture
def locked(tmp_path):
    return LockedSite(tmp_path / "store")


@pytest.fixture
def run(locked, capsys, monkeypatch):
    """Run one command; returns (exit code, standard output, standard error)."""
    monkeypatch.delenv("BARTACK_PIN", raising=False)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)

    def _run(*arguments: str, pin: str | None = None) -> tuple[int, str, str]:
        if pin is not None:
            monkeypatch.setenv("BARTACK_PIN", pin)
        else:
            monkeypatch.delenv("BARTACK_PIN", raising=False)
        with pytest.raises(SystemExit) as left:
            main(["--store", str(locked.folder), *arguments])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return _run


def pin_of(name: str) -> str:
    return PINS[name.lower()]


REGISTER = ("register", "--tag", "LAN-001", "--kind", "webbing lanyard", "--webbing-width-mm", "45")
ANSWERS = [f"--answer={part}=sound" for part in ("label", "webbing", "stitching", "snap hook", "energy absorber")]
ANSWERS += ["--answer=D-ring=absent", "--answer=indicator=absent"]


@pytest.fixture
def lanyard(run):
    code, _, err = run(*REGISTER, "--by", "Competent", pin=pin_of("Competent"))
    assert code == 0, err


def state(run) -> str:
    return str(json.loads(run("history", "LAN-001", "--json")[1])["standing"]["state"])


@pytest.mark.parametrize(
    "arguments",
    [
        (*REGISTER, "--by", "Worker"),
        ("people", "New", "--role", "administrator", "--by", "Administrator"),
        ("settings", "--two-person-release", "off", "--by", "Manager"),
        ("people", "Worker", "--give-pin", "--by", "Administrator"),
        ("people", "Worker", "--code", "P-1", "--by", "Administrator"),
    ],
)
def test_a_command_that_writes_needs_the_right_pin_of_whoever_it_names(run, arguments):
    code, out, err = run(*arguments)
    assert (code, out) == (1, "")
    assert "no PIN was given" in err and "--pin-file" in err
    code, out, err = run(*arguments, pin="739164")
    assert (code, out) == (1, "")
    assert "The name or the PIN is not right." in err


@pytest.mark.parametrize(
    "arguments", [("people", "New", "--role", "administrator"), ("demo",), ("people", "Manager", "--inactive")]
)
def test_a_command_that_names_nobody_writes_nothing(run, arguments):
    code, out, _ = run(*arguments)
    assert (code, out) == (1, "")
    assert "New" not in run("people")[1]


def test_a_new_name_is_not_entered_by_the_way(run):
    code, _, err = run(*REGISTER, "--by", "Stranger", "--role", "competent person", pin="739164")
    assert code == 1
    assert "The name or the PIN is not right." in err


def test_the_pin_comes_from_a_file_standard_input_or_the_keyboard(run, tmp_path, monkeypatch, locked):
    (tmp_path / "pin.txt").write_text(pin_of("Worker") + "\n")
    code, _, err = run("--pin-file", str(tmp_path / "pin.txt"), *REGISTER, "--by", "Worker")
    assert code == 0, err

    class Stdin:
        buffer = io.BytesIO(f"{pin_of('Worker')}\n".encode())

        def isatty(self):
            return False

    monkeypatch.setattr(sys, "stdin", Stdin())
    code, _, err = run("--pin-file", "-", "custody", "LAN-001", "put on hold", "--by", "Worker", "--reason", "odd")
    assert code == 0, err
    with locked.services.unit_of_work() as uow:  # the command signed out when it was done
        assert uow.sign_ins.guesses_since(locked.clock.now().replace(year=2000)) == 0


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("move", ["put on hold", "withdraw", "release", "destroy"])
def test_no_move_passes_that_the_table_forbids(run, lanyard, tmp_path, name, move):
    (tmp_path / "p.jpg").write_bytes(picture())
    if move in ("release", "destroy"):
        assert (
            run("custody", "LAN-001", "put on hold", "--by", "Worker", "--reason", "odd", pin=pin_of("Worker"))[0] == 0
        )
    if move == "destroy":
        gone = run("custody", "LAN-001", "withdraw", "--by", "Competent", "--reason", "odd", pin=pin_of("Competent"))
        assert gone[0] == 0, gone
    more: list[str] = []
    if move == "release":
        check = ("check", "LAN-001", "--type", "periodic", "--by", "Competent", *ANSWERS, "--json")
        code, out, err = run(*check, pin=pin_of("Competent"))
        assert code == 0, err
        more = ["--inspection", json.loads(out)["inspection"]["id"]]
        assert json.loads(out)["inspection"]["signature"]["how"] == "PIN entered again"
    if move == "destroy":
        more = [
            "--photo",
            str(tmp_path / "p.jpg"),
            "--witness",
            "Administrator" if name != "Administrator" else "Worker",
        ]
    before = state(run)
    allowed = {
        "put on hold": NAMES,
        "withdraw": ("Competent",),
        "release": ("Competent",),
        "destroy": ("Competent", "Manager"),
    }[move]
    command = ("custody", "LAN-001", move, "--by", name, "--reason", "seen and judged", *more)
    code, out, err = run(*command, pin=pin_of(name))
    if name in allowed:
        assert code == 0, err
        assert state(run) != before
        return
    assert (code, out) == (1, "")
    said = "qualification has run out" if name == "Expired" else f"may not {move}"
    assert said in err
    assert state(run) == before


def test_a_worker_records_no_inspection_in_detail(run, lanyard):
    check = ("check", "LAN-001", "--type", "after event", "--by", "Worker", *ANSWERS)
    code, _, err = run(*check, pin=pin_of("Worker"))
    assert code == 1
    assert "A worker may not inspect in detail." in err


def test_pins_are_given_chosen_and_never_printed(run, tmp_path):
    (tmp_path / "new.txt").write_text("618203\n")
    new = ("--new-pin-file", str(tmp_path / "new.txt"))
    code, out, err = run("people", "Worker", "--give-pin", *new, "--by", "Administrator", pin=pin_of("Administrator"))
    assert code == 0, err
    assert "choose their own" in out and "618203" not in out + err
    (tmp_path / "own.txt").write_text("504917\n")
    code, out, err = run("people", "Worker", "--set-pin", "--new-pin-file", str(tmp_path / "own.txt"), pin="618203")
    assert code == 0, err
    assert run(*REGISTER, "--by", "Worker", pin="504917")[0] == 0
    code, _, err = run("people", "Competent", "--give-pin", *new, "--by", "Manager", pin=pin_of("Manager"))
    assert code == 1
    assert "may not set another person's PIN" in err


def test_settings_kits_and_falls_by_command(run, lanyard):
    manager = {"pin": pin_of("Manager")}
    code, out, err = run(
        "settings", "--two-person-release", "on", "--hours", "8", "--by", "Manager", "--json", **manager
    )
    assert code == 0, err
    assert json.loads(out) == {"two_person_release": True, "hours": 8, "idle_minutes": 30, "shared_minutes": 5}
    code, _, err = run("kit", "Roof 1", "--make", "LAN-001", "--by", "Manager", **manager)
    assert code == 0, err
    code, out, err = run("kit", "roof 1", "--issue", "Worker", "--by", "Manager", "--json", **manager)
    assert code == 0, err
    assert json.loads(out)["holder"] == "Worker"
    code, _, err = run("fall", "LAN-001", "--by", "Worker", "--on", "2999-01-01", pin=pin_of("Worker"))
    assert code == 1 and "lies in the future" in err
    code, out, err = run("fall", "LAN-001", "--by", "Worker", "--said", "slipped", "--json", pin=pin_of("Worker"))
    assert json.loads(out) == {"held": ["LAN-001"]}, err
    listed = json.loads(run("kit", "--json")[1])
    assert not listed[0]["wearable"] and "LAN-001 is on hold" in listed[0]["why"]
    assert run("kit", "Roof 1", "--return", "--by", "Worker", pin=pin_of("Worker"))[0] == 0
    assert run("kit", "Roof 1", "--issue", "Worker", "--by", "Manager", **manager)[0] == 1
    assert json.loads(run("verify", "--json")[1])["faults"] == []


def test_a_name_is_replaced_by_a_code_by_command(run):
    code, out, err = run("people", "Worker", "--code", "P-9", "--by", "Administrator", pin=pin_of("Administrator"))
    assert code == 0, err
    assert "free text" in out and "P-9" in out
    assert "Worker" not in json.dumps(json.loads(run("people", "--json")[1])).replace("worker", "")
