"""Every table, as SQLAlchemy Core metadata. What changes here needs a migration beside it.

Times are kept in UTC to the microsecond. Where people read the time as it was on site (inspections, custody,
standing), the offset from UTC in seconds stands beside it and the time is given back with that offset; the others
are given back in UTC. A day column holds the date on site, which is what lists and trends count by.

Inspections, marks and findings are rows because trends count them; what is only ever read whole with its
inspection (answers, facts, points, readings) is JSON. Child rows hang on a short number, not on the id, so that
they are written and read in one run.
"""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class UtcTime(TypeDecorator[datetime]):
    """An aware time, kept in UTC and given back in UTC."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        at = value.astimezone(UTC)
        # SQLite has no zones: the text it keeps must not pretend to one, or comparisons would go by letters.
        return at.replace(tzinfo=None) if dialect.name == "sqlite" else at

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


#: A number the database gives out; INTEGER in SQLite, where only that word makes it the row's own key.
_Number = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)


def _signed() -> tuple[sa.Column[datetime], sa.Column[str]]:
    return sa.Column("signed_at", UtcTime), sa.Column("signed_how", sa.Text)


items = sa.Table(
    "items",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("tag", sa.Text, nullable=False, unique=True),
    _text("kind"),
    _text("site"),
    _text("maker"),
    _text("model"),
    _text("serial"),
    sa.Column("made_on", sa.Date),
    sa.Column("first_used_on", sa.Date),
    sa.Column("registered_on", sa.Date),
    _text("profile"),
    _text("fibre"),
    sa.Column("standards", sa.JSON, nullable=False),
    sa.Column("webbing_width_mm", sa.Float),
    sa.Column("rope_diameter_mm", sa.Float),
    sa.Column("rope_range_least_mm", sa.Float),
    sa.Column("rope_range_most_mm", sa.Float),
    sa.Column("packed_length_mm", sa.Float),
    sa.Column("throat_mm", sa.Float),
    sa.Column("maker_max_age_years", sa.Float),
    sa.Column("maker_max_use_years", sa.Float),
    sa.Column("maker_limits", sa.JSON, nullable=False),
    sa.Column("lasting_facts", sa.JSON, nullable=False, server_default=sa.text("'{}'")),
    sa.Column("former_tags", sa.JSON, nullable=False, server_default=sa.text("'[]'")),
    sa.Column("price", sa.Float),
    _text("note"),
    # Where the item stands, in the same row so that lists need neither history nor join.
    _text("state"),
    sa.Column("since", UtcTime, nullable=False),
    sa.Column("since_offset", sa.Integer, nullable=False),
    _text("reason"),
    sa.Column("last_inspection_id", sa.Text),
    sa.Column("last_seen_on", sa.Date),
    sa.Column("last_periodic_on", sa.Date),
    sa.Column("next_due", sa.Date),
    sa.Column("damage_used", sa.Float),
    # The photo that lists show: of the newest inspection that marked one.
    sa.Column("photo_id", sa.Text),
    sa.Column("photo_at", UtcTime),
    sa.Index(None, "next_due", "tag"),
    sa.Index(None, "state", "next_due", "tag"),
    sa.Index(None, "site"),
    sa.Index(None, "serial"),
    # As serial numbers are compared: case and spaces aside.
    sa.Index("ix_items_serial_key", sa.text("lower(replace(serial, ' ', ''))")),
    # For gear of some age that nobody has looked at since it grew too old.
    sa.Index(None, "state", "made_on"),
    sa.Index(None, "state", "first_used_on"),
)

photos = sa.Table(
    "photos",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    _text("media_type"),
    sa.Column("width", sa.Integer, nullable=False),
    sa.Column("height", sa.Integer, nullable=False),
    sa.Column("size", sa.BigInteger, nullable=False),
    sa.Column("captured_at", sa.Text),  # ISO 8601 as the camera gave it, with or without a zone
    _text("phash"),
    sa.Column("sharpness", sa.Float, nullable=False),
    sa.Column("exposure", sa.Float, nullable=False),
    sa.Column("glare_share", sa.Float, nullable=False),
    sa.Column("advice", sa.JSON, nullable=False),
    sa.Column("received_at", UtcTime, nullable=False),
    sa.Column("copies", sa.JSON, nullable=False, server_default=sa.text("'{}'")),  # SHA-256 of each copy, by its name
    sa.Index(None, "phash"),
)

inspections = sa.Table(
    "inspections",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), nullable=False),
    _text("type"),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("at_offset", sa.Integer, nullable=False),
    sa.Column("day", sa.Date, nullable=False),
    _text("month"),  # "YYYY-MM" of the day
    _text("by"),
    _text("site"),
    _text("profile"),
    sa.Column("answers", sa.JSON, nullable=False),
    sa.Column("answer_notes", sa.JSON, nullable=False),
    sa.Column("facts", sa.JSON, nullable=False),
    _text("rules_outcome"),
    sa.Column("damage_used", sa.Float, nullable=False),
    _text("rules_version"),
    _text("rules_digest"),
    sa.Column("hand_outcome", sa.Text),
    sa.Column("hand_reason", sa.Text),
    sa.Column("hand_by", sa.Text),
    _text("outcome"),  # what counts: by hand where there is one, else the rules
    sa.Column("corrects", sa.Text, sa.ForeignKey("inspections.id")),
    sa.Column("next_due", sa.Date),
    _text("note"),
    sa.Column("photo_id", sa.Text),  # the photo to show for it
    *_signed(),
    sa.Index(None, "item_id", "at"),
    sa.Index(None, "month", "outcome"),
    # Walked backwards for the newest that ended out of service.
    sa.Index(
        "ix_inspections_found",
        "day",
        sqlite_where=sa.text("outcome <> 'in service'"),
        postgresql_where=sa.text("outcome <> 'in service'"),
    ),
    sa.Index(
        "ix_inspections_corrects",
        "corrects",
        sqlite_where=sa.text("corrects IS NOT NULL"),
        postgresql_where=sa.text("corrects IS NOT NULL"),
    ),
)


def _of_inspection() -> tuple[sa.Column[int], sa.Column[int]]:
    return (
        sa.Column("inspection", _Number, sa.ForeignKey("inspections.number"), primary_key=True, autoincrement=False),
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
    )


def _known_photo() -> sa.ForeignKey:
    # Checked at the end of the transaction: the order in which a save adds its parts is its own affair.
    return sa.ForeignKey("photos.id", deferrable=True, initially="DEFERRED")


inspection_photos = sa.Table(
    "inspection_photos",
    metadata,
    *_of_inspection(),
    sa.Column("photo_id", sa.Text, _known_photo(), nullable=False),
    sa.Index(None, "photo_id"),
    sqlite_with_rowid=False,
)

marks = sa.Table(
    "marks",
    metadata,
    *_of_inspection(),
    _text("id"),
    sa.Column("photo_id", sa.Text, _known_photo(), nullable=False),
    _text("component"),
    _text("category"),
    _text("shape"),
    sa.Column("points", sa.JSON, nullable=False),
    sa.Column("readings", sa.JSON, nullable=False),
    _text("note"),
    _text("made_by"),
    sqlite_with_rowid=False,
)

findings = sa.Table(
    "findings",
    metadata,
    *_of_inspection(),
    _text("rule"),
    _text("outcome"),
    _text("reason"),
    _text("source"),
    _text("basis"),
    sa.Column("mark", sa.Text),
    sa.Column("component", sa.Text),
    sa.Column("measure", sa.Text),
    sa.Column("value", sa.Float),
    sa.Column("uncertainty", sa.Float),
    sa.Column("limit_value", sa.Float),
    sa.Column("unit", sa.Text),
    sa.Column("analogue", sa.Boolean, nullable=False),
    sqlite_with_rowid=False,
)

custody = sa.Table(
    "custody",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), nullable=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("at_offset", sa.Integer, nullable=False),
    sa.Column("day", sa.Date, nullable=False),
    _text("by"),
    _text("move"),
    sa.Column("before", sa.Text),
    _text("after"),
    _text("reason"),
    sa.Column(
        "inspection_id", sa.Text, sa.ForeignKey("inspections.id", deferrable=True, initially="DEFERRED"), index=True
    ),
    sa.Column("photo_id", sa.Text, _known_photo()),
    _text("witness"),
    sa.Column("witness_id", sa.Text),
    *_signed(),
    sa.Index(None, "item_id", "at"),
    sa.Index(None, "move", "day"),
)

people = sa.Table(
    "people",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    _text("name"),
    sa.Column("name_key", sa.Text, nullable=False, index=True),  # the name with case folded
    _text("role"),
    sa.Column("qualified_until", sa.Date),
    sa.Column("active", sa.Boolean, nullable=False),
    sa.Column("name_salt", sa.Text, nullable=False, server_default=sa.text("''")),
    sa.Column("coded", sa.Boolean, nullable=False, server_default=sa.false()),
)

drafts = sa.Table(
    "drafts",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("item_id", sa.Text, nullable=False, index=True),
    sa.Column("body", sa.JSON, nullable=False),
    sa.Column("saved_at", UtcTime, nullable=False, index=True),
)

ledger = sa.Table(
    "ledger",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=False),
    sa.Column("at", UtcTime, nullable=False),
    _text("subject"),
    _text("subject_id"),
    sa.Column("body", sa.JSON, nullable=False),
    _text("previous"),
    sa.Column("digest", sa.Text, nullable=False, unique=True),
    sa.Index(None, "subject", "subject_id"),
)

#: What the full-text index reads. See `storage.search` for how the columns are filled and what the id means.
search_docs = sa.Table(
    "search_docs",
    metadata,
    sa.Column("id", _Number, primary_key=True, autoincrement=False),
    sa.Column("item_id", sa.Text, index=True),
    sa.Column("inspection_id", sa.Text),
    sa.Column("day", sa.Date),
    _text("own"),
    _text("about"),
    _text("facets"),
)

#: A search that somebody named. `person_id` "": everybody at this site's store sees it.
saved_searches = sa.Table(
    "saved_searches",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    _text("name"),
    _text("name_key"),
    _text("person_id"),
    sa.Column("query", sa.JSON, nullable=False),
    _text("saved_by"),
    sa.Column("saved_at", UtcTime, nullable=False),
    sa.UniqueConstraint("person_id", "name_key"),
)


def _tally(name: str, key: tuple[str, ...], *counts: str) -> sa.Table:
    return sa.Table(
        name,
        metadata,
        *(sa.Column(column, sa.Text, primary_key=True) for column in key),
        *(sa.Column(column, sa.Integer, nullable=False) for column in counts),
        sqlite_with_rowid=False,
    )


# Counts that `storage.tallies` keeps; corrected inspections are not in them. `model`: maker and model in one label.
#: Inspections by the gear, and by who signed them.
inspection_tallies = _tally("inspection_tallies", ("month", "kind", "model", "site", "outcome"), "many")
person_tallies = _tally("person_tallies", ("month", "by", "kind", "model", "site", "type", "outcome"), "many")
#: Inspections that looked at a component, those that marked it, and those that marked a category anywhere.
part_tallies = _tally("part_tallies", ("kind", "month", "component", "model", "site"), "looked", "marked")
category_tallies = _tally("category_tallies", ("month", "kind", "model", "site", "category"), "marked")
#: Marks by what they show, and by the item they lie on.
mark_tallies = _tally("mark_tallies", ("kind", "month", "component", "category", "model", "site"), "marks")
mark_items = _tally("mark_items", ("kind", "component", "month", "model", "site", "item_id"), "marks")

#: Photos that stand in more than one inspection, kept as inspections are added: to find them anew is to walk them all.
shared_photos = sa.Table(
    "shared_photos", metadata, sa.Column("photo_id", sa.Text, primary_key=True), sqlite_with_rowid=False
)

setups = sa.Table(
    "setups",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("at_offset", sa.Integer, nullable=False),
    *map(_text, ("by", "site", "place", "check_name", "profile", "answer")),
    sa.Column("asked", sa.JSON, nullable=False),
    sa.Column("result", sa.JSON, nullable=False),
    sa.Column("photo_ids", sa.JSON, nullable=False),
)

setup_items = sa.Table(
    "setup_items",
    metadata,
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), primary_key=True),
    sa.Column("setup", _Number, sa.ForeignKey("setups.number"), primary_key=True),
    sa.Column("position", sa.Integer, nullable=False),
    sa.Index(None, "setup"),
)

#: What the store itself remembers, by name: where its calendar file lies, which messages were sent.
settings = sa.Table(
    "settings",
    metadata,
    sa.Column("name", sa.Text, primary_key=True),
    sa.Column("value", sa.JSON, nullable=False),
)
