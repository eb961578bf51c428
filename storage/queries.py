"""Reads that count over the whole store."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import FindingOutcome
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.record import Retirement
from storage.tables import custody, findings, inspections, items, marks
from storage.trend_queries import SqlTrendCounts
from storage.trend_splits import SqlTrendSplits

Reason = tuple[Category | None, Component | None, str]
_BATCH = 500
_OF_ITEM = tuple(items.c[name] for name in ("id", "tag", "kind", "maker", "model", "site", "first_used_on", "price"))


class SqlReviews(SqlTrendCounts, SqlTrendSplits):
    """Fulfils Reviews. An inspection that a later one corrects counts as what the later one says."""

    def retirements(self, *, since: date | None = None, until: date | None = None) -> tuple[Retirement, ...]:
        """Withdrawals in order of their day, bounds included.

        `first_day` is the first day of use, None where it is not known. The reasons are the findings of the
        inspection behind the withdrawal, or of its last correction, that said "withdraw". Where a person withdrew
        by hand and no finding did, they are those that held it: those on a mark if any, else all. A withdrawal
        without an inspection has none.
        """
        statement = (
            sa.select(custody.c.inspection_id, custody.c.day, *_OF_ITEM)
            .join_from(custody, items, items.c.id == custody.c.item_id)
            .where(custody.c.move == Move.WITHDRAW.value)
            .order_by(custody.c.day, custody.c.number)
        )
        if since is not None:
            statement = statement.where(custody.c.day >= since)
        if until is not None:
            statement = statement.where(custody.c.day <= until)
        rows = self._work.rows(statement)
        latest = self._latest()
        causes = {row.inspection_id: _last(latest, row.inspection_id) for row in rows if row.inspection_id}
        reasons = self._reasons(sorted(set(causes.values())))
        return tuple(_retirement(row, reasons.get(causes.get(row.inspection_id, ""), ())) for row in rows)

    def _latest(self) -> dict[str, str]:
        """Corrected inspection → the one that corrects it; the last recorded where there are several."""
        column = inspections.c
        statement = sa.select(column.corrects, column.id, column.number).where(column.corrects.is_not(None))
        # Sorted here: asked for in that order, the database would walk every inspection instead of the few.
        return {row.corrects: row.id for row in sorted(self._work.rows(statement), key=lambda row: row.number)}

    def _reasons(self, ids: Sequence[str]) -> dict[str, tuple[Reason, ...]]:
        found: dict[str, list[Row[Any]]] = {}
        for start in range(0, len(ids), _BATCH):
            for row in self._work.rows(_standing_findings(ids[start : start + _BATCH])):
                found.setdefault(row.id, []).append(row)
        return {inspection_id: _deciding(rows) for inspection_id, rows in found.items()}


def _last(latest: Mapping[str, str], inspection_id: str) -> str:
    # A correction names an inspection recorded before it, so the chain ends.
    while inspection_id in latest:
        inspection_id = latest[inspection_id]
    return inspection_id


def _standing_findings(ids: Sequence[str]) -> sa.Select[Any]:
    """Findings that were not cleared, with what the mark they lie on shows, in the order they were found."""
    on_mark = sa.and_(marks.c.inspection == findings.c.inspection, marks.c.id == findings.c.mark)
    component = sa.func.coalesce(findings.c.component, marks.c.component).label("component")
    return (
        sa.select(inspections.c.id, findings.c.outcome, findings.c.rule, marks.c.category, component)
        .select_from(inspections)
        .join(findings, findings.c.inspection == inspections.c.number)
        .outerjoin(marks, on_mark)
        .where(inspections.c.id.in_(ids), findings.c.outcome != FindingOutcome.CLEARED.value)
        .order_by(findings.c.inspection, findings.c.position)
    )


def _deciding(rows: Sequence[Row[Any]]) -> tuple[Reason, ...]:
    withdrew = [row for row in rows if row.outcome == FindingOutcome.WITHDRAW.value]
    chosen = withdrew or [row for row in rows if row.category is not None] or rows
    return tuple(
        dict.fromkeys(
            (
                Category(row.category) if row.category else None,
                Component(row.component) if row.component else None,
                row.rule,
            )
            for row in chosen
        )
    )


def _retirement(row: Row[Any], reasons: tuple[Reason, ...]) -> Retirement:
    return Retirement(
        item_id=row.id,
        tag=row.tag,
        kind=Kind(row.kind),
        maker=row.maker,
        model=row.model,
        site=row.site,
        on=row.day,
        first_day=row.first_used_on,
        reasons=reasons,
        price=row.price,
    )
