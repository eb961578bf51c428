"""What the Parquet files hold: their columns, and how a case goes in and comes out again.

    fleet.json                                      which store, up to which entry, which form
    items.parquet                                   an item and where it stands
    inspections/site=…/year=…/part-….parquet        an inspection with the case as it was known on its day
    withdrawals.parquet                             a withdrawal with its reasons
    blind_looks.parquet, photo_uses.parquet         what agreement of inspectors is counted from

People are codes (the store's own identifiers), and no free text but an item's own note leaves the store.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from inspect_core.domain.decision import Answer, Case, CaseMark, FactValue
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category, Reading

FORMAT = "bartack parquet 1"
ABOUT = "fleet.json"
ITEMS, INSPECTIONS, WITHDRAWALS = "items.parquet", "inspections", "withdrawals.parquet"
BLIND_LOOKS, PHOTO_USES = "blind_looks.parquet", "photo_uses.parquet"


def schemas() -> Mapping[str, Any]:
    """The Arrow schema of each file, by its name."""
    import pyarrow as pa

    word, number, day = pa.string(), pa.float64(), pa.date32()
    reading = pa.struct(
        [("measure", word), ("value", number), ("unit", word), ("uncertainty", number), ("method", word)]
    )
    mark = pa.struct([("id", word), ("component", word), ("category", word), ("readings", pa.list_(reading))])
    fact = pa.struct([("fact", word), ("yes_no", pa.bool_()), ("number", number), ("day", day), ("word", word)])
    finding = pa.struct(
        [
            *((name, word) for name in ("rule", "outcome", "mark", "component", "measure")),
            *((name, number) for name in ("value", "uncertainty", "limit")),
            ("unit", word),
        ]
    )
    answer = pa.struct([("component", word), ("answer", word)])
    reason = pa.struct([("category", word), ("component", word), ("rule", word)])
    return {
        ITEMS: pa.schema(
            [
                *((name, word) for name in ("id", "tag", "kind", "site", "maker", "model", "note")),
                *((name, day) for name in ("made_on", "first_used_on", "registered_on")),
                ("maker_max_age_years", number),
                ("price", number),
                ("state", word),
                ("next_due", day),
                ("damage_used", number),
                ("last_inspection", word),
            ]
        ),
        INSPECTIONS: pa.schema(
            [
                *((name, word) for name in ("id", "item", "tag", "kind", "model")),
                ("at", pa.timestamp("us", "UTC")),
                ("day", day),
                *((name, word) for name in ("by", "type", "site", "profile", "outcome", "rules_outcome")),
                ("damage_used", number),
                ("rules_version", word),
                ("rules_digest", word),
                # Whether a later inspection corrects it, and whether its item may still be used and shows damage.
                ("corrected", pa.bool_()),
                ("worn", pa.bool_()),
                ("answers", pa.list_(answer)),
                ("facts", pa.list_(fact)),
                ("marks", pa.list_(mark)),
                ("findings", pa.list_(finding)),
            ]
        ),
        WITHDRAWALS: pa.schema(
            [
                *((name, word) for name in ("item", "tag", "kind", "maker", "model", "site")),
                ("day", day),
                ("first_day", day),
                ("price", number),
                ("reasons", pa.list_(reason)),
            ]
        ),
        BLIND_LOOKS: pa.schema(
            [
                *((name, word) for name in ("photo", "inspection", "item", "tag", "kind")),
                ("day", day),
                *((name, word) for name in ("first_by", "first", "second_by", "second")),
            ]
        ),
        PHOTO_USES: pa.schema(
            [
                *((name, word) for name in ("photo", "inspection", "item", "tag", "kind", "site", "model")),
                ("day", day),
                ("by", word),
            ]
        ),
    }


# A case, in and out --------------------------------------------------------------------------------------------------


def facts_in(facts: Mapping[str, FactValue]) -> list[dict[str, Any]]:
    """Facts in their order, each under its own type."""
    return [{"fact": name, **_typed(value)} for name, value in facts.items()]


def _typed(value: FactValue) -> dict[str, Any]:
    if isinstance(value, bool):
        return {"yes_no": value}
    if isinstance(value, date):
        return {"day": value}
    return {"word": value} if isinstance(value, str) else {"number": float(value)}


def marks_in(marks: Iterable[Any]) -> list[dict[str, Any]]:
    """Marks as the rules see them, with their readings."""
    return [
        {
            "id": mark.id,
            "component": mark.component.value,
            "category": mark.category.value,
            "readings": [
                {name: getattr(reading, name) for name in ("measure", "value", "unit", "uncertainty", "method")}
                for reading in mark.readings
            ],
        }
        for mark in marks
    ]


def case_of(row: Mapping[str, Any]) -> Case:
    """The case of a row of inspections."""
    return Case(
        Kind(row["kind"]),
        row["profile"],
        {fact["fact"]: _fact(fact) for fact in row["facts"]},
        {Component(one["component"]): Answer(one["answer"]) for one in row["answers"]},
        tuple(_mark(mark) for mark in row["marks"]),
    )


def _fact(fact: Mapping[str, Any]) -> FactValue:
    found: Sequence[FactValue] = [fact[name] for name in ("yes_no", "number", "day", "word") if fact[name] is not None]
    return found[0]


def _mark(mark: Mapping[str, Any]) -> CaseMark:
    return CaseMark(
        mark["id"],
        Component(mark["component"]),
        Category(mark["category"]),
        tuple(Reading(**reading) for reading in mark["readings"]),
    )
