"""The statements that an item's life is read with: only the columns that a page shows, sent straight to the driver.

A page asks for a fixed number of statements and rows, however long the life is.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import sqlalchemy as sa

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import FindingOutcome
from storage.prepared import Prepared
from storage.tables import UtcTime, custody, findings, inspection_photos, inspections, marks, photos

#: Numbers of inspections that one statement names; what is not needed is filled up with 0, which no row has.
SLOTS = 21
_OTHER = inspections.alias("other")
_N, _M = inspections.c, marks.c


def _slots() -> list[sa.BindParameter[int]]:
    return [sa.bindparam(f"n{place}", type_=sa.BigInteger) for place in range(SLOTS)]


_CORRECTED = sa.exists().where(_OTHER.c.corrects == _N.id).label("corrected")
#: A mark's columns. Points and readings come as the text they are kept as, so that a row made into a mark once is known
#: again.
_MARK = (
    _M.inspection, _M.id, _M.photo_id, _M.component, _M.category, _M.shape, sa.cast(_M.points, sa.Text),
    sa.cast(_M.readings, sa.Text), _M.note, _M.made_by,
)  # fmt: skip
MARKS = Prepared(sa.select(*_MARK).where(_M.inspection.in_(_slots())).order_by(_M.inspection, _M.position))
SHOWN = Prepared(
    sa.select(_M.inspection, _M.photo_id, _M.component, _M.category)
    .where(_M.inspection.in_(_slots()))
    .order_by(_M.inspection, _M.position)
)
_F = findings.c
DECIDING = Prepared(
    sa.select(
        _F.inspection, _F.rule, _F.outcome, _F.reason, _F.source, _F.basis, _F.mark, _F.component, _F.measure,
        _F.value, _F.uncertainty, _F.limit_value, _F.unit, _F.analogue,
    )
    .where(_F.inspection.in_(_slots()), _F.outcome != sa.literal_column(f"'{FindingOutcome.CLEARED.value}'"))
    .order_by(_F.inspection, _F.position)
)  # fmt: skip
PHOTOS = Prepared(
    sa.select(inspection_photos.c.inspection, photos.c.id, photos.c.width, photos.c.height)
    .join_from(inspection_photos, photos, photos.c.id == inspection_photos.c.photo_id)
    .where(inspection_photos.c.inspection.in_(_slots()))
    .order_by(inspection_photos.c.inspection, inspection_photos.c.position)
)
_ITEM = sa.bindparam("item", type_=sa.Text)
_AT = sa.bindparam("at", type_=UtcTime)
_NUMBER = sa.bindparam("number", type_=sa.BigInteger)
BY_YEAR = Prepared(
    sa.select(sa.func.substr(_N.month, 1, 4).label("year"), sa.func.count(inspection_photos.c.photo_id).label("many"))
    .outerjoin_from(inspections, inspection_photos, inspection_photos.c.inspection == _N.number)
    .where(_N.item_id == _ITEM)
    .group_by(sa.text("1"))
    .order_by(sa.text("1 DESC"))
)
SHOWN_KINDS = Prepared(
    sa.select(_M.component, _M.category)
    .join_from(inspections, marks, _M.inspection == _N.number)
    .where(_N.item_id == _ITEM)
    .distinct()
)
TYPES = Prepared(sa.select(_N.type, sa.func.count().label("many")).where(_N.item_id == _ITEM).group_by(_N.type))
READINGS = Prepared(
    sa.select(_N.number, _N.id, _N.at, _N.at_offset, _M.id, _M.component, _M.category, _M.readings)
    .join_from(inspections, marks, _M.inspection == _N.number)
    .where(_N.item_id == _ITEM, ~sa.exists().where(_OTHER.c.corrects == _N.id))
    .order_by(_N.at, _N.number, _M.position)
)
LIMITS = Prepared(
    sa.select(_F.inspection, _F.mark, _F.measure, _F.limit_value, _F.unit, _F.rule)
    .join_from(inspections, findings, _F.inspection == _N.number)
    .where(_N.item_id == _ITEM, _F.mark.is_not(None), _F.limit_value.is_not(None))
    .order_by(_F.inspection, _F.position)
)
COMPARABLE = Prepared(
    sa.select(_N.id, _N.at, _N.at_offset, _N.type, _M.component, photos.c.id, photos.c.width, photos.c.height)
    .join_from(inspections, marks, _M.inspection == _N.number)
    .join(photos, photos.c.id == _M.photo_id)
    .where(_N.item_id == _ITEM, ~sa.exists().where(_OTHER.c.corrects == _N.id))
    .order_by(_N.at.desc(), _N.number.desc(), _M.position)
)
ITS_MARKS = Prepared(
    sa.select(*_MARK)
    .join_from(inspections, marks, _M.inspection == _N.number)
    .where(_N.id == sa.bindparam("id", type_=sa.Text))
    .order_by(_M.position)
)
#: How many inspections of the same item lie before one.
EARLIER = Prepared(
    sa.select(sa.func.count().label("earlier"))
    .select_from(_OTHER.join(inspections, sa.and_(_N.item_id == _OTHER.c.item_id, _N.at < _OTHER.c.at)))
    .where(_OTHER.c.id == sa.bindparam("id", type_=sa.Text))
)
CORRECTING = Prepared(
    sa.select(_N.id).where(_N.corrects == sa.bindparam("id", type_=sa.Text)).order_by(_N.at.desc(), _N.number.desc())
)


@cache
def looks(component: bool, category: bool, type_: bool, year: bool) -> Prepared:
    """Inspections of an item before a place, with the filters that are set."""
    statement: sa.Select[Any] = sa.select(
        _N.number, _N.id, _N.type, _N.at, _N.at_offset, _N.by, _N.outcome, _N.hand_outcome, _N.hand_reason,
        _N.hand_by, _N.corrects, _CORRECTED, _N.note, _N.signed_at, _N.signed_how,
    )  # fmt: skip
    statement = _narrowed(statement, type_, year).where(_before(_N.at, _N.number))
    if component or category:
        marked = [_M.inspection == _N.number, *_marked(component, category)]
        statement = statement.where(sa.exists().where(*marked))
    return Prepared(statement.order_by(_N.at.desc(), _N.number.desc()).limit(sa.bindparam("limit", type_=sa.Integer)))


@cache
def moves(year: bool) -> Prepared:
    own = custody.c
    statement: sa.Select[Any] = sa.select(
        own.number, own.id, own.item_id, own.at, own.at_offset, own.by, own.move, own.before, own.after, own.reason,
        own.inspection_id, own.photo_id, own.witness, own.witness_id, own.signed_at, own.signed_how,
    ).where(
        own.item_id == _ITEM,
        sa.or_(own.inspection_id.is_(None), own.move == Move.RELEASE.value),
        _before(own.at, own.number),
    )  # fmt: skip
    if year:
        statement = statement.where(
            own.day.between(sa.bindparam("first", type_=sa.Date), sa.bindparam("end", type_=sa.Date))
        )
    return Prepared(statement.order_by(own.at.desc(), own.number.desc()).limit(sa.bindparam("limit", type_=sa.Integer)))


@cache
def pictured(component: bool, category: bool, type_: bool, year: bool) -> Prepared:
    """Photos of an item's inspections after a place in the timeline."""
    taken = inspection_photos.c
    statement: sa.Select[Any] = sa.select(
        _N.number, taken.position, _N.id, _N.at, _N.at_offset, _N.type, _N.outcome, _CORRECTED, photos.c.id,
        photos.c.width, photos.c.height,
    )  # fmt: skip
    statement = (
        _narrowed(statement, type_, year)
        .join_from(inspections, inspection_photos, taken.inspection == _N.number)
        .join(photos, photos.c.id == taken.photo_id)
        .where(
            sa.tuple_(_N.at, _N.number) <= sa.tuple_(_AT, _NUMBER),
            sa.or_(_N.number != _NUMBER, taken.position > sa.bindparam("position", type_=sa.Integer)),
        )
    )
    if component or category:
        marked = [_M.inspection == _N.number, _M.photo_id == taken.photo_id, *_marked(component, category)]
        statement = statement.where(sa.exists().where(*marked))
    ordered = statement.order_by(_N.at.desc(), _N.number.desc(), taken.position)
    return Prepared(ordered.limit(sa.bindparam("limit", type_=sa.Integer)))


def _before(at: sa.Column[Any], number: sa.Column[Any]) -> sa.ColumnElement[bool]:
    return sa.tuple_(at, number) < sa.tuple_(_AT, _NUMBER)


def _narrowed(statement: sa.Select[Any], type_: bool, year: bool) -> sa.Select[Any]:
    statement = statement.where(_N.item_id == _ITEM)
    if type_:
        statement = statement.where(_N.type == sa.bindparam("type", type_=sa.Text))
    if year:
        statement = statement.where(
            _N.day.between(sa.bindparam("first", type_=sa.Date), sa.bindparam("end", type_=sa.Date))
        )
    return statement


def _marked(component: bool, category: bool) -> list[sa.ColumnElement[bool]]:
    found: list[sa.ColumnElement[bool]] = []
    if component:
        found.append(_M.component == sa.bindparam("component", type_=sa.Text))
    if category:
        found.append(_M.category == sa.bindparam("category", type_=sa.Text))
    return found
