"""The command that corrects the register, and where it shows afterwards."""

import json

import pytest

BY = ("--by", "Max", "--role", "manager")


def registered(run) -> None:
    code, _, err = run(
        *("register", "--tag", "LAN-1", "--kind", "webbing lanyard", "--serial", "S-1", "--made-on", "2024-05-01"),
        *("--lasting", "absorber class=E4", *BY),
    )
    assert code == 0, err


def test_a_field_is_corrected_and_the_history_tells_the_old_value_and_why(run):
    registered(run)
    code, out, err = run("correct", "LAN-1", "--serial", "S-9", "--tag", "lan-2", "--reason", "read again", *BY)
    assert code == 0, err
    assert "LAN-2 is corrected, and stands IN SERVICE." in out
    assert "Serial number: S-9 instead of S-1" in out and "Tag: LAN-2 instead of LAN-1" in out
    code, out, _ = run("history", "LAN-1")
    assert code == 0 and out.startswith("LAN-2")
    assert "register corrected by Max because: read again." in out
    (told,) = json.loads(run("history", "LAN-2", "--json")[1])["corrections"]
    assert told["before"] == {"tag": "LAN-1", "serial": "S-1"} and told["after"] == {"tag": "LAN-2", "serial": "S-9"}


def test_a_correction_that_shows_gear_to_be_too_old_says_that_it_is_on_hold(run):
    registered(run)
    code, out, _ = run("correct", "LAN-1", "--made-on", "2001-05-01", "--reason", "digit misread", *BY)
    assert code == 0
    assert "stands ON HOLD" in out and "ended on 2011-05-01" in out
    assert "Made on: 2001-05-01 instead of 2024-05-01" in out


def test_a_field_can_be_cleared_and_a_lasting_fact_added(run):
    registered(run)
    code, out, err = run(
        *("correct", "LAN-1", "--clear", "serial", "--lasting", "aluminium fittings=yes"),
        *("--reason", "not on the label", *BY, "--json"),
    )
    assert code == 0, err
    item = json.loads(out)["item"]
    assert item["serial"] == ""
    assert item["lasting_facts"] == {"absorber class": "E4", "aluminium fittings": True}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--reason", "read again"), "Nothing differs"),
        (("--serial", "S-9", "--reason", ""), "needs its reason"),
        (("--lasting", "mould=yes", "--reason", "seen"), "does not last"),
        (("--lasting", "absorber class", "--reason", "seen"), "no fact with its value"),
        (("--made-on", "soon", "--reason", "seen"), "is not a date"),
    ],
)
def test_a_correction_that_cannot_be_made_says_what_to_do(run, arguments, said):
    registered(run)
    code, out, err = run("correct", "LAN-1", *arguments, *BY)
    assert (code, out) == (1, "") and said in err


def test_a_worker_is_refused(run):
    registered(run)
    code, _, err = run("correct", "LAN-1", "--serial", "S-9", "--reason", "read again", "--by", "Wim")
    assert code == 1 and "may not correct what is registered" in err
