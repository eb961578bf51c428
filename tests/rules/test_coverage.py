"""Every kind, component and category has an answer, and the page that lists them is up to date."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark, FindingOutcome
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category
from tests.rules.rule_list import PAGE, PAGE_DAY, RULES, page
from tests.rules.tables import rows

PROFILES = [profile.name for profile in RULES.profiles]


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("profile", PROFILES)
def test_no_mark_without_a_reading_leaves_gear_in_service(kind: Kind, profile: str):
    answers = dict.fromkeys(components_of(kind), Answer.SOUND)
    for component in components_of(kind):
        for category in Category:
            case = Case(kind, profile, {}, answers, (CaseMark("m", component, category),))
            decision = decide(case, RULES, PAGE_DAY)
            standing = [f for f in decision.findings if f.outcome is not FindingOutcome.CLEARED]
            assert decision.outcome.severity >= 1, (component, category)
            assert all(f.reason and f.source and f.mark == "m" and f.component is component for f in standing)


@pytest.mark.parametrize("category", list(Category))
def test_each_category_is_named_by_a_rule_or_left_to_the_competent_person(category: Category):
    named = any(category in rule.categories for rule in RULES.rules)
    assert named or category is Category.OTHER


@pytest.mark.parametrize("component", list(Component))
def test_each_component_is_named_by_a_rule_of_its_own(component: Component):
    assert any(component in rule.components for rule in RULES.rules)


def test_the_list_of_rules_in_the_docs_is_up_to_date():
    expected, actual = page(), PAGE.read_text(encoding="utf-8")
    assert expected == actual, "run python -m tests.rules.rule_list"


def test_the_example_in_the_docs_is_the_rule_as_it_stands():
    text = (PAGE.parent / "rules.md").read_text(encoding="utf-8")
    example = text.split("```toml\n")[1].split("```")[0]
    [shown] = tomllib.loads(example)["rule"]
    data = files("inspect_core.rules") / "data" / "webbing.toml"
    rules = {rule["id"]: rule for rule in tomllib.loads(data.read_text(encoding="utf-8"))["rule"]}
    assert shown == rules[shown["id"]]


def test_the_line_in_the_docs_is_a_line_of_the_tables():
    text = (PAGE.parent / "rules.md").read_text(encoding="utf-8")
    [shown] = tomllib.loads("cases = [" + text.split("```toml\n")[2].split("```")[0] + "]")["cases"]
    assert shown in [row.data for row in rows()]
