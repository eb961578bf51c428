"""Deciding a case from a file, without a store."""

from __future__ import annotations

from typing import Any

from inspect_core.deciding import decide
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.casefile import decision_json, parse_case


def decide_case(data: object, rules: RuleSet) -> dict[str, Any]:
    """The decision of a case file as plain data: the same case and rules give the same data. Raises BadInput."""
    case, on = parse_case(data, rules)
    return decision_json(decide(case, rules, on))
