"""Every line of the case tables decides as it says; the expected answers come from the sources named there."""

from collections import defaultdict

import pytest

from inspect_core.deciding import decide
from inspect_core.rules.loader import load_rules
from tests.rules.tables import Row, rows

RULES = load_rules()
ROWS = rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.file}: {row.name}")
def test_case_decides_as_its_line_says(row: Row):
    case, on = row.case(RULES)
    decision = decide(case, RULES, on)
    told = [(f.rule, f.outcome.value, f.reason) for f in decision.findings]
    assert (decision.outcome.value, row.finds(decision)) == (row.data["outcome"], row.data["finds"]), told


def test_there_are_at_least_four_hundred_lines_and_each_has_its_own_name():
    assert len(ROWS) >= 400
    assert len({row.name for row in ROWS}) == len(ROWS)


def test_every_line_names_the_source_of_its_answer():
    assert [row.name for row in ROWS if not row.data.get("source", "").strip()] == []


def test_every_rule_is_covered_on_both_sides():
    sides = defaultdict(set)
    for row in ROWS:
        sides[row.data["rule"]].add("fires" if row.data["finds"] in ("hold", "withdraw") else "clears")
    assert {rule.id for rule in RULES.rules} == set(sides)
    assert {rule: found for rule, found in sides.items() if len(found) < 2} == {}


def test_every_outcome_that_a_rule_can_give_has_a_line():
    given = {(row.data["rule"], row.data["finds"]) for row in ROWS}
    missing = [rule.id for rule in RULES.rules if (rule.id, rule.outcome.value) not in given]
    assert missing == []


def test_lines_name_the_source_that_the_rule_cites():
    """The row of the list of figures in a line is the rule's own, or that of the interval that decides it."""
    by_id = {rule.id: rule for rule in RULES.rules}
    strays = []
    for row in ROWS:
        rule = by_id[row.data["rule"]]
        if rule.row and rule.row not in row.data["source"]:
            strays.append((row.name, rule.row))
    assert strays == []
