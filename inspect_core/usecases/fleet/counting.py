"""What trends count of inspections, one piece of Parquet at a time: Arrow does the counting, the answers add up."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inspect_core.domain.damage import damage_of
from inspect_core.domain.decision import Answer, Basis, Finding, FindingOutcome
from inspect_core.domain.gear import Component
from inspect_core.usecases.fleet.stores import Piece

_SEEN = (Answer.SOUND.value, Answer.DEFECT.value)
_COLUMNS = ("item", "kind", "model", "day", "by", "type", "site", "outcome", "corrected", "answers", "marks")


@dataclass
class Counts:
    """Counts of some inspections, corrected ones left out. Keys are words of the record.

    `inspections`: kind, site, month, model, outcome. `people`: person, kind, type, outcome. `categories`: kind,
    category, in how many inspections. `marks`: kind, component, category. `looks`: kind, component, in how many
    inspections it was marked. `seen`: kind, component, in how many it was answered sound or defect, or marked.
    `items`: kind, component, and the items with a mark on it.
    """

    inspections: Counter[tuple[str, ...]] = field(default_factory=Counter)
    people: Counter[tuple[str, ...]] = field(default_factory=Counter)
    categories: Counter[tuple[str, ...]] = field(default_factory=Counter)
    marks: Counter[tuple[str, ...]] = field(default_factory=Counter)
    looks: Counter[tuple[str, ...]] = field(default_factory=Counter)
    seen: Counter[tuple[str, ...]] = field(default_factory=Counter)
    items: dict[tuple[str, ...], set[str]] = field(default_factory=dict)


def merged(one: Counts, other: Counts) -> Counts:
    """Both together, in a new value."""
    items = {key: set(found) for key, found in one.items.items()}
    for key, found in other.items.items():
        items.setdefault(key, set()).update(found)
    return Counts(
        one.inspections + other.inspections,
        one.people + other.people,
        one.categories + other.categories,
        one.marks + other.marks,
        one.looks + other.looks,
        one.seen + other.seen,
        items,
    )


def count(piece: Piece, site: str | None, model: str | None, since: date | None, until: date | None) -> Counts:
    """What one piece counts within a site, a model and a period, bounds included; None: no bound."""
    import pyarrow as pa
    import pyarrow.compute as pc

    table = _within(piece.read(_COLUMNS), site, model, since, until)
    if not table.num_rows:
        return Counts()
    table = table.append_column("month", pc.strftime(table["day"], "%Y-%m"))
    table = table.append_column("row", pa.array(range(table.num_rows), pa.int64()))
    marks, answers = _spread(table, "marks"), _spread(table, "answers")
    answers = answers.filter(pc.is_in(answers["answer"], pa.array(_SEEN)))
    parts = pa.concat_tables([one.select(["row", "kind", "component"]) for one in (marks, answers)])
    named = piece.store.named
    items: dict[tuple[str, ...], set[str]] = {}
    for kind, part, item in _distinct(marks, "kind", "component", "item"):
        items.setdefault((kind, part), set()).add(named(item))
    people = _counted(table, "by", "kind", "type", "outcome")
    return Counts(
        _counted(table, "kind", "site", "month", "model", "outcome"),
        Counter({(named(by), *rest): many for (by, *rest), many in people.items()}),
        _many(_distinct(marks, "row", "kind", "category")),
        _counted(marks, "kind", "component", "category"),
        _many(_distinct(marks, "row", "kind", "component")),
        _many(_distinct(parts, "row", "kind", "component")),
        items,
    )


def _within(table: Any, site: str | None, model: str | None, since: date | None, until: date | None) -> Any:
    import pyarrow.compute as pc

    kept = pc.invert(table["corrected"])
    if site is not None:
        kept = pc.and_(kept, pc.equal(table["site"], site))
    if model is not None:
        kept = pc.and_(kept, pc.equal(table["model"], model))
    if since is not None:
        kept = pc.and_(kept, pc.greater_equal(table["day"], since))
    if until is not None:
        kept = pc.and_(kept, pc.less_equal(table["day"], until))
    return table.filter(kept).combine_chunks()


def _spread(table: Any, column: str) -> Any:
    """A row for each part of a list column, with its inspection's row, kind and item beside it."""
    import pyarrow as pa
    import pyarrow.compute as pc

    lists = table[column].combine_chunks()
    parents, parts = pc.list_parent_indices(lists), pc.list_flatten(lists)
    beside = table.select(["row", "kind", "item"]).take(parents)
    fields = [parts.type.field(number).name for number in range(parts.type.num_fields)]
    flat = {name: pc.struct_field(parts, name) for name in fields if name not in ("id", "readings")}
    return pa.table({**{name: beside[name] for name in beside.column_names}, **flat})


def _groups(table: Any, keys: tuple[str, ...], counts: list[Any]) -> list[tuple[Any, ...]]:
    grouped = table.group_by(list(keys)).aggregate(counts)
    columns = [grouped[name].to_pylist() for name in (*keys, *(["count_all"] if counts else []))]
    return list(zip(*columns, strict=True))


def _counted(table: Any, *keys: str) -> Counter[tuple[str, ...]]:
    return Counter({row[:-1]: row[-1] for row in _groups(table, keys, [([], "count_all")])})


def _distinct(table: Any, *keys: str) -> list[tuple[Any, ...]]:
    return _groups(table, keys, [])


def _many(rows: list[tuple[Any, ...]]) -> Counter[tuple[str, ...]]:
    """How many rows there are of each key, whichever inspection they belong to."""
    return Counter(row[1:] for row in rows)


# Damage --------------------------------------------------------------------------------------------------------------

#: The largest damage used of one item's component on one day.
Damages = dict[tuple[str, str, date], float]


def damages(piece: Piece) -> Damages:
    """Measured damage of items that may still be used and whose last look found some."""
    import pyarrow.compute as pc

    table = piece.read(("item", "day", "corrected", "worn", "findings"))
    table = table.filter(pc.and_(table["worn"], pc.invert(table["corrected"])))
    largest: Damages = {}
    for row in table.to_pylist():
        for finding in row["findings"]:
            if finding["component"] is None or finding["value"] is None:
                continue
            key = (piece.store.named(row["item"]), finding["component"], row["day"])
            largest[key] = max(largest.get(key, 0.0), damage_of(_finding(finding)))
    return largest


def worst(one: Damages, other: Damages) -> Damages:
    """The larger of both."""
    return {key: max(one.get(key, 0.0), other.get(key, 0.0)) for key in {**one, **other}}


def _finding(row: dict[str, Any]) -> Finding:
    return Finding(
        rule=row["rule"],
        outcome=FindingOutcome(row["outcome"]),
        reason="",
        source="",
        basis=Basis.FROM_MEMORY,
        mark=row["mark"],
        component=Component(row["component"]),
        measure=row["measure"],
        value=row["value"],
        uncertainty=row["uncertainty"],
        limit=row["limit"],
        unit=row["unit"],
    )
