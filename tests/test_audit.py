"""The audit of the libraries finds what it looks for; what is pinned here may be used."""

from importlib.metadata import distributions

import pytest

from tests.audit import ROOT, Library, direct, licence_fault, named, of, pin_faults, pins

PINS = pins((ROOT / "constraints.txt").read_text(encoding="utf-8"))


def test_everything_that_the_project_asks_for_is_pinned() -> None:
    assert direct((ROOT / "pyproject.toml").read_text(encoding="utf-8")) <= set(PINS)


@pytest.mark.parametrize(
    "one", [of(found) for found in distributions() if named(found.name) in PINS], ids=lambda o: o.name
)
def test_what_is_pinned_and_installed_may_be_used(one: Library) -> None:
    assert licence_fault(one) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [("a>=1", "pins nothing"), ("a==1\nA==1", "twice"), ("a_b==1\na-b==2", "twice"), ("a==*", "nothing")],
)
def test_a_line_that_pins_nothing_or_twice_is_a_fault(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        pins(text)


def test_what_is_not_pinned_so_and_what_nothing_needs_is_told() -> None:
    here = [Library("a", "1"), Library("b", "2"), Library("pip", "9")]
    assert pin_faults(here, {"a": "1", "b": "2"}) == []
    assert pin_faults(here, {"b": "3", "c": "1", "authlib": "1"}) == [
        "a 1 is not pinned",
        "b is pinned to 3, and 2 is installed",
        "c is pinned, and nothing needs it",
    ]


@pytest.mark.parametrize(
    "bad",
    [
        Library("x", "1", "GPL-3.0-only"),
        Library("x", "1", "MIT AND GPL-2.0-or-later"),
        Library("x", "1", "AGPL-3.0-only"),
        Library("psycopg", "1", "AGPL-3.0-only"),
        Library("psycopg", "1", "LGPL-3.0-only AND GPL-3.0-only"),
        Library("x", "1", "LGPL-3.0-only"),
        Library("x", "1", "", "", ("GNU General Public License v3 (GPLv3)",)),
        Library("x", "1", "", "Commercial"),
        Library("x", "1", "SSPL-1.0"),
        Library("x", "1"),
    ],
    ids=str,
)
def test_a_licence_that_the_project_may_not_take_is_told(bad: Library) -> None:
    assert licence_fault(bad)


@pytest.mark.parametrize(
    "good",
    [
        Library("x", "1", "MIT AND PSF-2.0"),
        Library("x", "1", "Apache-2.0 OR BSD-3-Clause"),
        Library("psycopg", "1", "LGPL-3.0-only"),
        Library("x", "1", "", "Copyright (c) somebody", ("OSI Approved", "BSD License")),
        Library("x", "1", "", "MPL-2.0 AND MIT"),
    ],
    ids=str,
)
def test_a_licence_that_it_may_take_is_no_fault(good: Library) -> None:
    assert licence_fault(good) is None
