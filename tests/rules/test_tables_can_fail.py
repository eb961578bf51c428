"""Each rule's numbers and words are pinned by the tables: change one and a line fails."""

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

import pytest

from inspect_core.deciding import decide
from inspect_core.domain.decision import Outcome
from inspect_core.rules.loader import load_rules, make_rule_set
from inspect_core.rules.model import Met, Rule, RuleSet
from tests.rules.tables import rows

RULES = load_rules()
ROWS = defaultdict(list)
for _row in rows():
    ROWS[_row.data["rule"]].append(_row)


def with_rule(changed: Rule) -> RuleSet:
    rules = tuple(changed if rule.id == changed.id else rule for rule in RULES.rules)
    return make_rule_set(RULES.version, rules, RULES.profiles, RULES.facts, RULES.sources)


def lines_that_fail(changed: Rule) -> list[str]:
    rules = with_rule(changed)
    failing = []
    for row in ROWS[changed.id]:
        case, on = row.case(RULES)
        if row.finds(decide(case, rules, on)) != row.data["finds"]:
            failing.append(row.name)
    return failing


def changes(rule: Rule) -> dict[str, Rule]:
    found = {"outcome": replace(rule, outcome=Outcome.HOLD if rule.outcome is Outcome.WITHDRAW else Outcome.WITHDRAW)}
    if isinstance(rule.limit, date):
        found["limit"] = replace(rule, limit=rule.limit + timedelta(days=1))
    elif rule.limit is not None:
        step = max(1.0, abs(rule.limit) * 0.11)
        found["limit up"] = replace(rule, limit=rule.limit + step)
        found["limit down"] = replace(rule, limit=rule.limit - step)
    if rule.met in (Met.AT_LEAST, Met.MORE_THAN):
        found["met"] = replace(rule, met=Met.MORE_THAN if rule.met is Met.AT_LEAST else Met.AT_LEAST)
    if rule.first_day:
        found["first day"] = replace(rule, first_day=rule.first_day + timedelta(days=1))
    if rule.only_if_known:
        found["only_if_known"] = replace(rule, only_if_known=())
    if rule.when:
        found["when"] = replace(rule, when=())
    if rule.profiles != ("common",):
        found["profiles"] = replace(rule, profiles=("common",))
    return found


CHANGES = [(rule, what, changed) for rule in RULES.rules for what, changed in changes(rule).items()]


@pytest.mark.parametrize(("rule", "what", "changed"), CHANGES, ids=[f"{rule.id}: {what}" for rule, what, _ in CHANGES])
def test_a_changed_rule_makes_a_line_fail(rule: Rule, what: str, changed: Rule):
    assert lines_that_fail(changed), f"no line notices that {what} of {rule.id} changed"
