"""No figure is invented: every rule with one stands on a row of the list of figures, and every row is accounted for."""

import re
import tomllib
from pathlib import Path

import pytest

from inspect_core.domain.decision import Basis
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import Rule

RULES = load_rules()
FILE = Path(__file__).parent.parent / "reference" / "facts_rows.toml"
ROWS = {row["id"]: row for row in tomllib.loads(FILE.read_text(encoding="utf-8"))["row"]}
DOCS = (Path(__file__).parents[2] / "docs" / "rules.md").read_text(encoding="utf-8")


def users() -> dict[str, set[str]]:
    """Row id → names of the rules, intervals and duties that stand on it."""
    found: dict[str, set[str]] = {}
    for rule in RULES.rules:
        for row in (rule.row, *rule.also):
            found.setdefault(row, set()).add(rule.id)
    for profile in RULES.profiles:
        for interval in profile.intervals:
            found.setdefault(interval.row, set()).add(f"interval of {profile.name}")
        for duty in profile.before_use:
            found.setdefault(duty.row, set()).add(f"before use, {profile.name}")
    found.pop("", None)
    return found


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda row: row["id"])
def test_each_row_is_used_by_a_rule_or_listed_with_the_reason_why_not(row):
    used = users().get(row["id"], set())
    if "not_used" in row:
        assert not used, f"{row['id']} is listed as not used, yet {used} stand on it"
        assert len(row["not_used"]) > 20
        assert f"| {row['id']} |" in DOCS, f"docs/rules.md does not list {row['id']}"
    else:
        assert used, f"{row['id']} ({row['topic']}: {row['figure']}) is neither used nor listed with a reason"


def test_every_row_that_a_rule_names_is_in_the_list():
    assert set(users()) - set(ROWS) == set()


def cited():
    for rule in RULES.rules:
        if rule.row:
            yield rule.id, rule.row, rule.source.title, rule.section, rule.basis, rule.analogue
    for profile in RULES.profiles:
        for part in (*profile.intervals, *profile.before_use):
            if part.row:
                analogue = getattr(part, "analogue", False)
                yield f"{profile.name} {part.row}", part.row, part.source.title, part.section, part.basis, analogue


@pytest.mark.parametrize(("name", "row", "title", "section", "basis", "analogue"), list(cited()))
def test_source_section_and_basis_are_those_of_the_row(name, row, title, section, basis, analogue):
    stated = ROWS[row]
    assert title == stated["source"]
    assert section == ("" if stated["section"] == "-" else stated["section"])
    if stated["seen"] == "memory":
        assert basis is Basis.FROM_MEMORY
    else:
        assert basis is (Basis.PUBLISHED if stated["basis"].startswith("published") else Basis.COMMON_PRACTICE)
    if "analogue" in stated["basis"]:
        assert analogue


def figures_of(rule: Rule) -> set[str]:
    """The rule's limit in every way in which a table may print it."""
    limit = rule.limit
    if not isinstance(limit, int | float):
        return {str(limit)}
    if rule.unit == "share":
        return {"1/3"} if abs(limit - 1 / 3) < 1e-6 else {f"{limit * 100:g}"}
    if rule.unit == "degC":
        return {f"{limit:g}", f"{round(limit * 9 / 5 + 32):g}"}
    return {f"{limit:g}"}


@pytest.mark.parametrize("rule", [r for r in RULES.rules if r.row and r.limit], ids=lambda rule: rule.id)
def test_the_limit_of_a_rule_stands_in_its_row(rule: Rule):
    row = ROWS[rule.row]
    if row["figure"] == "presence" and rule.unit == "count":
        assert rule.limit == 1  # the first one counted is its presence
        return
    printed = set(re.findall(r"\d{4}-\d{2}-\d{2}|1/3|-?\d+(?:\.\d+)?", f"{row['figure']} {row['unit']} {row['says']}"))
    assert figures_of(rule) & printed, (rule.limit, rule.unit, row["figure"])


def test_a_limit_without_a_row_is_none_or_one_or_stated_as_common_practice():
    """Without a row a rule may say "none at all" (0, or 1 of something counted); the only other figures are the usual
    16 mm lifeline and the lowest figure for heat, both stated as common practice."""
    bare = {rule.id: rule.limit for rule in RULES.rules if rule.limit is not None and not rule.row}
    assert {id_: limit for id_, limit in bare.items() if limit not in (0, 1)} == {
        "rope-grab-16mm-thin": 16,
        "rope-grab-16mm-thick": 16,
        "heat-other-fibres": 82.2,
    }
    assert all(rule.basis is Basis.COMMON_PRACTICE for rule in RULES.rules if rule.id in bare)


def test_intervals_are_the_months_of_their_rows():
    months = {"A08": 12, "A09": 6, "A10": 3, "A11": 12, "A12": 6, "A16": 3, "A17": 12}  # read off the rows' figures
    stated = {i.row: i.months for profile in RULES.profiles for i in profile.intervals}
    assert stated == months
