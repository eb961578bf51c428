"""Writes docs/rule_list.md: every rule, and what each mark means, for people who do not read data files.

`python -m tests.rules.rule_list` rewrites the page; a test fails while it is out of date.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from inspect_core.deciding import decide
from inspect_core.domain.decision import Answer, Case, CaseMark
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category
from inspect_core.domain.wording import shown
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import LooksAt, Met, ReadingUse, Rule

PAGE = Path(__file__).parents[2] / "docs" / "rule_list.md"
PAGE_DAY = date(2026, 5, 4)
RULES = load_rules()
_HEADINGS = {
    LooksAt.MARKS: "Marks on photographs",
    LooksAt.ANSWERS: "Answers",
    LooksAt.FACTS: "Facts",
    LooksAt.AGE: "Age",
    LooksAt.INTERVAL: "Periodic inspection",
    LooksAt.LINE: "Load-bearing line",
    LooksAt.UNSETTLED: "Marks that no rule settles",
    LooksAt.MAKER: "Maker's limits",
}


def page() -> str:
    """The whole page as Markdown."""
    parts = [
        "# Every rule\n",
        "Written from the rule files by `python -m tests.rules.rule_list`; how to read and change them:\n"
        "[rules.md](rules.md). The maker's instructions, local codes and a competent person come first.\n",
        _matrix(),
    ]
    for looks_at, heading in _HEADINGS.items():
        rules = [rule for rule in RULES.rules if rule.looks_at is looks_at]
        parts.append(f"## {heading}\n")
        parts.append("| rule | where | met when | answer | source | basis |\n| --- | --- | --- | --- | --- | --- |")
        parts.append("\n".join(_line(rule) for rule in rules) + "\n")
    return "\n".join(parts)


def _line(rule: Rule) -> str:
    where = ", ".join(rule.kinds or ()) or ""
    on = ", ".join(rule.components) or ("every component" if rule.looks_at is LooksAt.MARKS else "")
    place = "; ".join(part for part in (where, on, *(p for p in rule.profiles if p != "common")) if part)
    basis = rule.basis.value + (", written for lifting gear" if rule.analogue else "")
    cells = (
        f"{rule.title} `{rule.id}`",
        place or "every kind",
        _met_when(rule),
        rule.outcome.value,
        rule.citation,
        basis,
    )
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _met_when(rule: Rule) -> str:
    words = [", ".join(rule.categories or rule.answers)]
    if rule.measure or (rule.fact and rule.met is not Met.IS):
        limit = rule.limit_fact or (shown(rule.limit, rule.unit) if isinstance(rule.limit, int | float) else rule.limit)
        use = " (if read)" if rule.reading is ReadingUse.IF_TAKEN else ""
        words.append(f"{rule.measure or rule.fact}{use} {rule.met or 'reaches'} {limit}")
    elif rule.fact:
        words.append(f"{rule.fact}: {' or '.join(_value(value) for value in rule.values)}")
    words += [f"{c.fact} {' or '.join(_value(value) for value in c.values)}" for c in rule.when]
    words += [f"unless {c.fact} {' or '.join(_value(value) for value in c.values)}" for c in rule.unless]
    words += [f"unless {name} is known" for name in rule.unless_known]
    words += [f"from {rule.first_day}"] if rule.first_day else []
    return "; ".join(word for word in words if word)


def _value(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _matrix() -> str:
    """What a mark means without any reading, under the common profile."""
    categories = list(Category)
    head = "| component | " + " | ".join(category.value for category in categories) + " |"
    lines = [
        "## What a mark means\n",
        "Common profile, no reading taken. **W** withdraws; h is a hold; m is a hold that readings can clear.\n"
        "Shown for the first kind that has the component. On a rope grab any rust withdraws; on the end fitting of a\n"
        "wire rope rust withdraws and broken wires are counted.\n",
        head,
        "| --- |" + " --- |" * len(categories),
    ]
    for component in Component:
        cells = [_cell(component, category) for category in categories]
        lines.append(f"| {component.value} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _cell(component: Component, category: Category) -> str:
    kind = next(kind for kind in Kind if component in components_of(kind))
    answers = dict.fromkeys(components_of(kind), Answer.SOUND)
    case = Case(kind, "common", {}, answers, (CaseMark("m", component, category),))
    decision = decide(case, RULES, PAGE_DAY)
    if decision.outcome.value == "withdraw":
        return "**W**"
    return "m" if all(finding.measure for finding in decision.findings) else "h"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
