"""The case tables under tests/cases, read as a competent person reads them."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from inspect_core.domain.decision import Case, Decision
from inspect_core.domain.gear import Kind, components_of
from inspect_core.domain.measures import MEASURES
from inspect_core.rules.model import RuleSet
from inspect_core.usecases.casefile import parse_case

FOLDER = Path(__file__).parent.parent / "cases"
DAY = "2026-05-04"
_KEYS = {"name", "kind", "profile", "on", "mark", "reads", "facts", "answers", "outcome", "rule", "finds", "source"}
_READS = re.compile(r"(?P<value>-?[\d.]+)(?: ± (?P<spread>[\d.]+))?(?P<unit>.*)")
_UNITS = {"": ("count", "grade"), " mm": ("mm",), " %": ("share",), "°": ("deg",), " °C": ("degC",)}


@dataclass(frozen=True)
class Row:
    """One line of a table."""

    file: str
    name: str
    data: dict[str, Any]

    def case(self, rules: RuleSet) -> tuple[Case, date]:
        """The case, through the same door that case files use."""
        kind = self.data["kind"]
        answers = {component.value: "sound" for component in components_of(Kind(kind))}
        answers |= self.data.get("answers", {})
        marks = []
        if "mark" in self.data:
            category, _, component = self.data["mark"].partition(" on ")
            readings = [reading(words) for words in self.data.get("reads", [])]
            marks.append({"id": "m", "category": category, "component": component, "readings": readings})
        return parse_case(
            {
                "kind": kind,
                "profile": self.data.get("profile", "common"),
                "on": self.data.get("on", DAY),
                "facts": self.data.get("facts", {}),
                "answers": {component: answer for component, answer in answers.items() if answer != "unanswered"},
                "marks": marks,
            },
            rules,
        )

    def finds(self, decision: Decision) -> str:
        """What the row's rule says: the worst of its findings, or nothing."""
        found = [f.outcome for f in decision.findings if f.rule == self.data["rule"]]
        return max(found, key=lambda outcome: outcome.severity).value if found else "nothing"


def reading(words: str) -> dict[str, Any]:
    """A reading such as "depth from edge 0.9 ± 0.3 mm" as case file data; a share is written in per cent."""
    name = max((measure for measure in MEASURES if words.startswith(f"{measure} ")), key=len)
    parts = _READS.fullmatch(words.removeprefix(f"{name} "))
    assert parts, words
    unit = MEASURES[name].unit.value
    assert unit in _UNITS[parts["unit"]], words
    part = Decimal(100) if unit == "share" else Decimal(1)
    value, spread = Decimal(parts["value"]) / part, Decimal(parts["spread"] or 0) / part
    return {"measure": name, "value": float(value), "unit": unit, "uncertainty": float(spread)}


def rows() -> list[Row]:
    """Every line of every table."""
    found = []
    for file in sorted(FOLDER.glob("*.toml")):
        for data in tomllib.loads(file.read_text(encoding="utf-8"))["cases"]:
            assert set(data) <= _KEYS, (file.name, data)
            found.append(Row(file.stem, data["name"], data))
    return found
