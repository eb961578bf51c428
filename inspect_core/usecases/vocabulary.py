"""Everything a case file may say, as plain JSON data for `bartack decide --list`."""

from __future__ import annotations

from typing import Any

from inspect_core.domain.decision import Answer, Outcome
from inspect_core.domain.gear import PARTS
from inspect_core.domain.marks import Category
from inspect_core.domain.measures import MEASURES
from inspect_core.rules.loader import plain
from inspect_core.rules.model import MAKER_LIMIT, Interval, Profile, Rule, RuleSet


def vocabulary(rules: RuleSet) -> dict[str, Any]:
    """Kinds with their components, answers, categories, measures, facts, outcomes, profiles, sources and rules."""
    return {
        "kinds": [
            {
                "kind": kind.value,
                "components": [
                    {"component": part.component.value, "may_be_absent": part.may_be_absent} for part in parts
                ],
            }
            for kind, parts in PARTS.items()
        ],
        "answers": [answer.value for answer in Answer],
        "categories": [category.value for category in Category],
        "measures": [
            {
                "measure": measure.name,
                "unit": measure.unit.value,
                "meaning": measure.description,
                "larger_is_worse": measure.larger_is_worse,
                "from_photo": measure.source.value == "photo",
            }
            for measure in MEASURES.values()
        ],
        "facts": [
            *(
                {
                    "fact": spec.name,
                    "type": spec.type.value,
                    "unit": spec.unit,
                    "values": list(spec.values) or None,
                    "meaning": spec.meaning,
                }
                for spec in rules.facts
            ),
            {
                "fact": f"{MAKER_LIMIT}<measure>",
                "type": "number",
                "unit": "the measure's own",
                "values": None,
                "meaning": "The maker's own limit for a measure; a reading that reaches it withdraws the item.",
            },
        ],
        "outcomes": [outcome.value for outcome in Outcome],
        "profiles": [_profile(profile) for profile in rules.profiles],
        "sources": [
            {"source": s.key, "title": s.title, "written_for": s.written_for.value, "note": s.note or None}
            for s in rules.sources
        ],
        "rules": {
            "version": rules.version,
            "digest": rules.digest,
            "list": [rule_json(rule) for rule in rules.rules],
        },
    }


def rule_json(rule: Rule) -> dict[str, Any]:
    """One rule with every field; None or an empty list where a field does not apply."""
    return {
        "rule": rule.id,
        "title": rule.title,
        "looks_at": rule.looks_at.value,
        "kinds": [kind.value for kind in rule.kinds],
        "components": [component.value for component in rule.components],
        "categories": [category.value for category in rule.categories],
        "answers": list(rule.answers),
        "without_marks": rule.without_marks,
        "measure": rule.measure,
        "reading": rule.reading.value if rule.reading else None,
        "fact": rule.fact,
        "met": rule.met.value if rule.met else None,
        "values": plain(rule.values),
        "limit": plain(rule.limit),
        "limit_fact": rule.limit_fact,
        "unit": rule.unit,
        "when": {condition.fact: plain(condition.values) for condition in rule.when},
        "unless": {condition.fact: plain(condition.values) for condition in rule.unless},
        "unless_known": list(rule.unless_known),
        "only_if_known": list(rule.only_if_known),
        "hold_if_unknown": rule.hold_if_unknown,
        "outcome": rule.outcome.value,
        "reason": rule.reason,
        "source": rule.source.title,
        "section": rule.section or None,
        "row": rule.row or None,
        "also": list(rule.also),
        "basis": rule.basis.value,
        "analogue": rule.analogue,
        "profiles": list(rule.profiles),
        "first_day": plain(rule.first_day),
        "last_day": plain(rule.last_day),
    }


def _profile(profile: Profile) -> dict[str, Any]:
    return {
        "profile": profile.name,
        "title": profile.title,
        "intervals": [_interval(interval) for interval in profile.intervals],
        "before_use": [
            {"duty": d.duty, "source": d.source.title, "section": d.section or None, "basis": d.basis.value}
            for d in profile.before_use
        ],
    }


def _interval(interval: Interval) -> dict[str, Any]:
    return {
        "months": interval.months,
        "service": "severe" if interval.severe else "normal",
        "source": interval.source.title,
        "section": interval.section or None,
        "row": interval.row or None,
        "basis": interval.basis.value,
        "analogue": interval.analogue,
    }
