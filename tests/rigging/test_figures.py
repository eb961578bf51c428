from __future__ import annotations

import re
from pathlib import Path

import pytest

from inspect_core.domain.errors import BadRules
from inspect_core.rigging import figures
from inspect_core.rigging.figures import PROFILES, find, read, shipped

GOOD = """
[[figure]]
row = "C01"
use = "top rail height"
profiles = ["us construction"]
unit = "in"
low = 39
words = "At least 39 in."
source = "a source"
basis = "published"
seen = "seen"
"""


def test_the_shipped_figures_load_and_every_one_names_row_source_and_basis() -> None:
    assert len(shipped()) > 50
    for figure in shipped():
        assert re.fullmatch(r"[ABC]\d\d", figure.row), figure
        assert figure.source
        assert figure.words.endswith(".")


def test_a_figure_nobody_saw_in_print_says_so_wherever_it_is_cited() -> None:
    remembered = [figure for figure in shipped() if figure.seen == "memory"]
    assert {figure.row for figure in remembered} >= {"B74", "B84", "C05", "C11", "C15", "C29"}
    for figure in remembered:
        assert figure.basis == "from memory"
        assert "from memory" in figure.cautions()


def test_figures_of_neighbouring_places_are_never_applied() -> None:
    elsewhere = [figure for figure in shipped() if not figure.profiles]
    assert {figure.place for figure in elsewhere} >= {"Quebec", "Manitoba", "Alberta"}
    found = [find(figure.use, profile) for figure in shipped() for profile in PROFILES]
    assert not any(figure is not None and figure.place for figure in found)


def test_a_profile_without_a_figure_gets_none_rather_than_a_neighbours() -> None:
    assert find("free fall", "canada ontario") is None
    assert find("top rail height", "common") is None
    assert find("no such use", "common") is None


FAULTS = {
    "unknown key": GOOD + "colour = 1\n",
    "missing": GOOD.replace('source = "a source"\n', ""),
    "wrong type": GOOD.replace("low = 39", 'low = "39"'),
    "is no profile": GOOD.replace("us construction", "the moon"),
    "is no unit": GOOD.replace('unit = "in"', 'unit = "cubit"'),
    "is not one of published": GOOD.replace('"published"', '"hearsay"'),
    "is not one of seen": GOOD.replace('seen = "seen"', 'seen = "maybe"'),
    "nobody saw in print is from memory": GOOD.replace('seen = "seen"', 'seen = "memory"'),
    "names the place": GOOD.replace('["us construction"]', "[]"),
    "lies above high": GOOD + "high = 3\n",
    "has this figure twice": GOOD + GOOD,
    "unknown table": GOOD + "[other]\n",
    "figures.toml:": "[[figure]\n",
}


@pytest.mark.parametrize("words", FAULTS)
def test_a_faulty_data_file_is_refused_by_name(words: str) -> None:
    with pytest.raises(BadRules, match=words):
        read(FAULTS[words])


def test_every_fault_is_told_at_once() -> None:
    text = GOOD.replace("us construction", "the moon").replace('unit = "in"', 'unit = "cubit"')
    with pytest.raises(BadRules) as refusal:
        read(text)
    assert len(refusal.value.faults) == 2


def test_no_check_holds_a_limit_of_its_own() -> None:
    """Every use that a check asks for exists in the data, and no use in a profile is left unasked."""
    folder = Path(figures.__file__).parent
    code = "".join(path.read_text("utf-8") for path in sorted(folder.glob("*.py")))
    for figure in shipped():
        if figure.profiles and not figure.use.startswith(
            ("absorber ", "anchor: ", "defective gear: ", "protection from", "wire rope rail")
        ):
            assert f'"{figure.use}"' in code, figure.use
