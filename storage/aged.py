"""Gear by its age, as rows."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from inspect_core.domain.ages import AgeCut
from inspect_core.domain.custody import State
from inspect_core.domain.gear import Kind
from inspect_core.domain.record import ItemRow
from storage import mapping
from storage.tables import items
from storage.work import Work


def age_limits(work: Work) -> tuple[tuple[float | None, float | None], ...]:
    old, used = items.c.maker_max_age_years, items.c.maker_max_use_years
    statement = sa.select(old, used).where(sa.or_(old.is_not(None), used.is_not(None))).distinct()
    return tuple((row.maker_max_age_years, row.maker_max_use_years) for row in work.rows(statement))


def maybe_aged(
    work: Work, cuts: Sequence[AgeCut], *, kinds: Sequence[Kind] = (), sites: Sequence[str] = ()
) -> tuple[ItemRow, ...]:
    if not cuts:
        return ()
    statement = sa.select(items).where(sa.or_(*map(_within, cuts)))
    if kinds:
        statement = statement.where(items.c.kind.in_([kind.value for kind in kinds]))
    if sites:
        statement = statement.where(items.c.site.in_(list(sites)))
    return tuple(mapping.item_row_of(row) for row in work.rows(statement.order_by(items.c.tag)))


def _within(cut: AgeCut) -> sa.ColumnElement[bool]:
    """In service, and made or first used on the cut's day or before."""
    begun, limit = (
        (items.c.first_used_on, items.c.maker_max_use_years)
        if cut.in_use
        else (items.c.made_on, items.c.maker_max_age_years)
    )
    old = begun <= cut.day
    return sa.and_(
        items.c.state == State.IN_SERVICE.value,
        sa.or_(old, begun.is_(None)) if cut.unknown else old,
        limit.is_(None) if cut.limit_years is None else limit == cut.limit_years,
    )
