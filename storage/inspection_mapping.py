"""An inspection ↔ its row and the rows of its photos, marks and findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy.engine import Row

from inspect_core.domain.decision import (
    Answer,
    Basis,
    Decision,
    FactValue,
    Finding,
    FindingOutcome,
    HandDecision,
    Outcome,
    RulesStamp,
)
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Point, Shape, ShapeType
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from storage.mapping import Values, offset_of, on_site, signature_of, signature_values


def facts_to_json(facts: Mapping[str, FactValue]) -> Values:
    """JSON has no dates, so a date becomes {"date": "YYYY-MM-DD"}; yes or no, numbers and words are themselves."""
    return {name: _fact_to_json(name, value) for name, value in facts.items()}


def _fact_to_json(name: str, value: FactValue) -> Any:
    if isinstance(value, datetime):
        raise BadInput(f"The fact “{name}” holds a time of day.", "Give the date alone.")
    return {"date": value.isoformat()} if isinstance(value, date) else value


def facts_of(stored: Mapping[str, Any]) -> Mapping[str, FactValue]:
    return MappingProxyType(
        {
            name: date.fromisoformat(value["date"]) if isinstance(value, dict) else value
            for name, value in stored.items()
        }
    )


def cover_of(inspection: Inspection) -> str | None:
    """The last photo that carries a mark, else None."""
    marked = {mark.photo_id for mark in inspection.marks}
    return next((photo_id for photo_id in reversed(inspection.photo_ids) if photo_id in marked), None)


def inspection_values(inspection: Inspection) -> Values:
    """The columns of the inspection's own row."""
    decision, hand = inspection.decision, inspection.hand
    day = inspection.at.date()
    return {
        "id": inspection.id,
        "item_id": inspection.item_id,
        "type": inspection.type.value,
        "at": inspection.at,
        "at_offset": offset_of(inspection.at),
        "day": day,
        "month": day.isoformat()[:7],
        "by": inspection.by,
        "site": inspection.site,
        "profile": inspection.profile,
        "answers": {component.value: answer.value for component, answer in inspection.answers.items()},
        "answer_notes": {component.value: note for component, note in inspection.answer_notes.items()},
        "facts": facts_to_json(inspection.facts),
        "rules_outcome": decision.outcome.value,
        "damage_used": decision.damage_used,
        "rules_version": decision.rules.version,
        "rules_digest": decision.rules.digest,
        "hand_outcome": hand.outcome.value if hand else None,
        "hand_reason": hand.reason if hand else None,
        "hand_by": hand.by if hand else None,
        "outcome": inspection.outcome.value,
        "corrects": inspection.corrects,
        "next_due": inspection.next_due,
        "note": inspection.note,
        "photo_id": cover_of(inspection) or (inspection.photo_ids[-1] if inspection.photo_ids else None),
        **signature_values(inspection.signature),
    }


def photo_rows(number: int, inspection: Inspection) -> list[Values]:
    return [
        {"inspection": number, "position": position, "photo_id": photo_id}
        for position, photo_id in enumerate(inspection.photo_ids)
    ]


def mark_rows(number: int, inspection: Inspection) -> list[Values]:
    return [
        {
            "inspection": number,
            "position": position,
            "id": mark.id,
            "photo_id": mark.photo_id,
            "component": mark.component.value,
            "category": mark.category.value,
            "shape": mark.shape.type.value,
            "points": [[point.x, point.y] for point in mark.shape.points],
            "readings": [[r.measure, r.value, r.unit, r.uncertainty, r.method] for r in mark.readings],
            "note": mark.note,
            "made_by": mark.made_by,
        }
        for position, mark in enumerate(inspection.marks)
    ]


def finding_rows(number: int, inspection: Inspection) -> list[Values]:
    return [
        {
            "inspection": number,
            "position": position,
            "rule": finding.rule,
            "outcome": finding.outcome.value,
            "reason": finding.reason,
            "source": finding.source,
            "basis": finding.basis.value,
            "mark": finding.mark,
            "component": finding.component.value if finding.component else None,
            "measure": finding.measure,
            "value": finding.value,
            "uncertainty": finding.uncertainty,
            "limit_value": finding.limit,
            "unit": finding.unit,
            "analogue": finding.analogue,
        }
        for position, finding in enumerate(inspection.decision.findings)
    ]


def mark_of(row: Row[Any]) -> Mark:
    return Mark(
        id=row.id,
        photo_id=row.photo_id,
        component=Component(row.component),
        category=Category(row.category),
        shape=Shape(ShapeType(row.shape), tuple(Point(x, y) for x, y in row.points)),
        readings=tuple(Reading(*reading) for reading in row.readings),
        note=row.note,
        made_by=row.made_by,
    )


def finding_of(row: Row[Any]) -> Finding:
    return Finding(
        rule=row.rule,
        outcome=FindingOutcome(row.outcome),
        reason=row.reason,
        source=row.source,
        basis=Basis(row.basis),
        mark=row.mark,
        component=Component(row.component) if row.component else None,
        measure=row.measure,
        value=row.value,
        uncertainty=row.uncertainty,
        limit=row.limit_value,
        unit=row.unit,
        analogue=row.analogue,
    )


def inspection_of(
    row: Row[Any], photos: Sequence[Row[Any]], marks: Sequence[Row[Any]], findings: Sequence[Row[Any]]
) -> Inspection:
    """The inspection, from its row and its child rows in their order."""
    hand = HandDecision(Outcome(row.hand_outcome), row.hand_reason, row.hand_by) if row.hand_outcome else None
    return Inspection(
        id=row.id,
        item_id=row.item_id,
        type=InspectionType(row.type),
        at=on_site(row.at, row.at_offset),
        by=row.by,
        site=row.site,
        profile=row.profile,
        answers=MappingProxyType({Component(name): Answer(value) for name, value in row.answers.items()}),
        facts=facts_of(row.facts),
        marks=tuple(mark_of(mark) for mark in marks),
        photo_ids=tuple(photo.photo_id for photo in photos),
        decision=Decision(
            outcome=Outcome(row.rules_outcome),
            damage_used=row.damage_used,
            findings=tuple(finding_of(finding) for finding in findings),
            rules=RulesStamp(row.rules_version, row.rules_digest),
        ),
        hand=hand,
        corrects=row.corrects,
        next_due=row.next_due,
        note=row.note,
        answer_notes=MappingProxyType({Component(name): note for name, note in row.answer_notes.items()}),
        signature=signature_of(row),
    )
