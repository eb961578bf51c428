"""The loader takes sound rule files and tells every fault of bad ones at once, with file and key."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from inspect_core.domain.decision import Basis, Outcome
from inspect_core.domain.errors import BadRules
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import LooksAt

DATA = Path(__file__).parents[2] / "inspect_core" / "rules" / "data"
CUT = """
[[rule]]
id = "test-cut"
title = "A cut"
looks_at = "marks"
components = ["webbing"]
categories = ["cut"]
measure = "depth from edge"
reading = "needed"
met = "at least"
limit = 2
unit = "mm"
outcome = "withdraw"
reason = "For this test."
source = "common practice"
basis = "common practice"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for file in DATA.glob("*.toml"):
        shutil.copy(file, tmp_path / file.name)
    return tmp_path


def faults_of(folder: Path, text: str, name: str = "zz_test.toml") -> tuple[str, ...]:
    (folder / name).write_text(text, encoding="utf-8")
    with pytest.raises(BadRules) as told:
        load_rules(folder)
    return told.value.faults


def test_the_packaged_rules_load_and_are_loaded_once():
    assert load_rules() is load_rules()
    assert len(load_rules().rules) > 100


def test_the_same_files_give_the_same_digest_and_any_change_another(folder: Path):
    assert load_rules(folder).digest == load_rules().digest
    (folder / "zz_test.toml").write_text(CUT, encoding="utf-8")
    assert load_rules(folder).digest != load_rules().digest


def test_a_rule_is_read_with_all_its_fields(folder: Path):
    rule = next(r for r in load_rules().rules if r.id == "webbing-cut-edge-1mm")
    assert (rule.limit, rule.unit, rule.outcome, rule.basis) == (1.0, "mm", Outcome.WITHDRAW, Basis.PUBLISHED)
    assert rule.citation == "HSE INDG367 defect list, detailed inspection (B03)"
    assert rule.looks_at is LooksAt.MARKS
    dated = next(r for r in load_rules().rules if r.id == "absorber-class-withdrawn")
    assert (dated.first_day, dated.in_force(date(2020, 1, 31)), dated.in_force(date(2020, 2, 1))) == (
        date(2020, 2, 1),
        False,
        True,
    )


FAULTS = [
    # (what is changed in the sound rule, the fault that is told)
    ('title = "A cut"', 'titel = "A cut"', "test-cut.titel: unknown key"),
    ('title = "A cut"', "", "test-cut.title: is missing"),
    ('title = "A cut"', "title = 7", "test-cut.title: must be words in quotes"),
    ('id = "test-cut"', 'id = "Test Cut"', "Test Cut.id: use lower-case words joined by dashes"),
    ('unit = "mm"', 'unit = "inch"', "test-cut.unit: “inch” is not the unit of depth from edge, which is mm"),
    ('unit = "mm"', "", "test-cut.unit: “” is not the unit of depth from edge"),
    ('source = "common practice"', "", "test-cut.source: is missing"),
    ('source = "common practice"', 'source = "hearsay"', "test-cut.source: “hearsay” is missing from the sources"),
    ('basis = "common practice"', 'basis = "published"', "test-cut.row: is missing; a rule published names its row"),
    ('basis = "common practice"', 'basis = "rumour"', "test-cut.basis: “rumour” is not known"),
    ('["webbing"]', '["hull"]', "test-cut.components: “hull” is not known"),
    ('["cut"]', '["bite"]', "test-cut.categories: “bite” is not known"),
    ('["cut"]', '["cut", "cut"]', "test-cut.categories: names “cut” twice"),
    ('["cut"]', "[]", "test-cut.categories: must be a list of words"),
    ('looks_at = "marks"', 'looks_at = "stars"', "test-cut.looks_at: “stars” is not known"),
    ('looks_at = "marks"', 'looks_at = "marks"\nkinds = ["ladder"]', "test-cut.kinds: “ladder” is not known"),
    ('looks_at = "marks"', 'looks_at = "marks"\nkinds = ["connector"]', "components: no kind can reach this rule"),
    ('looks_at = "marks"', 'looks_at = "marks"\nanswers = ["maybe"]', "test-cut.answers: “maybe” is not known"),
    ('measure = "depth from edge"', 'measure = "strength"', "test-cut.measure: “strength” is no known measure"),
    ('measure = "depth from edge"', 'measure = "pack length"', "pack length by itself is neither good nor bad"),
    ('reading = "needed"', "", "test-cut.reading: is missing"),
    ('met = "at least"', 'met = "about"', "test-cut.met: “about” is not known"),
    ('met = "at least"', 'met = "less than"', "test-cut.met: points the wrong way for depth from edge"),
    ("limit = 2", "", "test-cut.limit: is missing"),
    ("limit = 2", 'limit = "two"', "test-cut.limit: must be a number"),
    ("limit = 2", "limit = 2026-01-01", "test-cut.limit: must be a number"),
    ("limit = 2", "limit = nan", "test-cut.limit: must be a number"),
    ("limit = 2", 'limit = 2\nlimit_fact = "throat"', "give the limit or the fact that holds it, not both"),
    ("limit = 2", 'limit = 2\nwhen = { "mood" = ["bad"] }', "test-cut.when: “mood” is no known fact"),
    ("limit = 2", 'limit = 2\nwhen = { "fibre" = ["straw"] }', "“straw” does not fit the fact “fibre”"),
    ("limit = 2", 'limit = 2\nwhen = { "fibre" = [] }', "test-cut.when.fibre: must be a list with at least one value"),
    ("limit = 2", "limit = 2\nwhen = 3", "test-cut.when: must be a table such as"),
    ("limit = 2", 'limit = 2\nunless_known = ["mood"]', "test-cut.unless_known: “mood” is no known fact"),
    ("limit = 2", 'limit = 2\nprofiles = ["atlantis"]', "test-cut.profiles: “atlantis” is no known profile"),
    ("limit = 2", 'limit = 2\nfirst_day = "2026-01-01"', "test-cut.first_day: must be a day written as 2026-01-31"),
    ("limit = 2", "limit = 2\nfirst_day = 2026-02-01\nlast_day = 2026-01-31", "test-cut.last_day: lies before"),
    ("limit = 2", 'limit = 2\nrow = "B3"', "test-cut.row: “B3” is no row of the list of figures"),
    ("limit = 2", "limit = 2\nanalogue = true", "test-cut.analogue: the source was not written for lifting gear"),
    ('source = "common practice"', 'source = "B30.9"', "test-cut.analogue: is missing; the source was written for"),
    ('outcome = "withdraw"', 'outcome = "in service"', "a rule can hold or withdraw; none puts gear in service"),
    ('outcome = "withdraw"', "outcome = true", "test-cut.outcome: must be words in quotes"),
    ('id = "test-cut"', 'id = "webbing-heat"', "webbing-heat.id: duplicate; another rule has this id"),
    ("limit = 2", "limit = 2\nwithout_marks = 1", "test-cut.without_marks: must be true or false"),
]


@pytest.mark.parametrize(("sound", "bad", "fault"), FAULTS, ids=[fault for _, _, fault in FAULTS])
def test_a_fault_is_told_with_file_and_key(folder: Path, sound: str, bad: str, fault: str):
    assert sound in CUT
    told = faults_of(folder, CUT.replace(sound, bad))
    assert any(line.startswith("zz_test.toml: ") and fault in line for line in told), told


def test_every_fault_of_every_file_is_told_at_once(folder: Path):
    (folder / "yy_other.toml").write_text(
        '[[source]]\nkey = "x"\ntitle = "X"\nwritten_for = "boats"\n', encoding="utf-8"
    )
    bad = CUT.replace('title = "A cut"', "").replace('unit = "mm"', 'unit = "inch"').replace('["cut"]', '["bite"]')
    told = faults_of(folder, bad)
    assert len([line for line in told if line.startswith("zz_test.toml: test-cut.")]) >= 3
    assert any(line.startswith("yy_other.toml: x.written_for: “boats” is not known") for line in told)


def test_overlapping_dates_are_told(folder: Path):
    first = CUT.replace("limit = 2", "limit = 2\nlast_day = 2026-06-30")
    second = CUT.replace("limit = 2", "limit = 1\nfirst_day = 2026-06-30")
    told = faults_of(folder, first + second)
    assert told == (
        "zz_test.toml: test-cut.first_day: overlapping dates; the other rule of this id is still in force then",
    )


def test_a_rule_may_stand_twice_for_times_that_do_not_overlap(folder: Path):
    first = CUT.replace("limit = 2", "limit = 2\nlast_day = 2026-06-30")
    second = CUT.replace("limit = 2", "limit = 1\nfirst_day = 2026-07-01")
    (folder / "zz_test.toml").write_text(first + second, encoding="utf-8")
    rules = [rule for rule in load_rules(folder).rules if rule.id == "test-cut"]
    assert [[r.limit for r in rules if r.in_force(day)] for day in (date(2026, 6, 30), date(2026, 7, 1))] == [[2], [1]]


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        ("zz.toml", "[[rule]\n", "zz.toml: file: is no valid TOML"),
        ("zz.toml", "pigs = 3\n", "zz.toml: pigs: unknown key"),
        ("zz.toml", 'version = "2"\n', "rules: version: must stand in exactly one file and stands in 2"),
        ("zz.toml", "rule = 3\n", "zz.toml: rule: must be tables, each begun by [[rule]]"),
        ("zz.toml", "#" * 1_000_001, "zz.toml: file: is larger than"),
        (
            "zz.toml",
            '[[fact]]\nname = "mood"\ntype = "number"\nmeaning = "m"\nunit = "stone"\n',
            "zz.toml: mood.unit: “stone” is no known unit of a fact",
        ),
        (
            "zz.toml",
            '[[fact]]\nname = "fibre"\ntype = "yes or no"\nmeaning = "m"\n',
            "zz.toml: fibre.name: duplicate; stands twice",
        ),
        ("zz.toml", '[[fact]]\nname = "mood"\ntype = "word"\nmeaning = "m"\n', "zz.toml: mood.values: is missing"),
        (
            "zz.toml",
            '[[profile]]\nname = "moon"\ntitle = "Moon"\n[[profile.interval]]\nmonths = 1.5\nsource = "EN 365"\n'
            'basis = "published"\nrow = "A08"\n',
            "months: must be whole months, 1 to 120",
        ),
        ("set.toml", "", "rules: version: must stand in exactly one file and stands in 0"),
        (
            "cautions.toml",
            "",
            "rules: marks that no rule settles: must stand in the set exactly once",
        ),
        ("profiles.toml", "", "profiles: common: is missing"),
    ],
    ids=lambda value: value[:40] if isinstance(value, str) else None,
)
def test_faults_of_whole_files_are_told(folder: Path, name: str, text: str, fault: str):
    assert any(fault in line for line in faults_of(folder, text, name)), fault


def test_a_file_that_is_no_text_is_told(folder: Path):
    (folder / "zz.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadRules) as told:
        load_rules(folder)
    assert told.value.faults == ("zz.toml: file: is not UTF-8 text",)


def test_an_empty_or_missing_folder_is_told(tmp_path: Path):
    with pytest.raises(BadRules, match=r"holds no \.toml file"):
        load_rules(tmp_path)
    with pytest.raises(BadRules, match="is missing"):
        load_rules(tmp_path / "nowhere")
