"""Tables of PINs, sign-ins and kits, in the same metadata as `storage.tables`."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import UtcTime, metadata

_Number = sa.BigInteger().with_variant(sa.Integer, "sqlite")

credentials = sa.Table(
    "credentials",
    metadata,
    sa.Column("person_id", sa.Text, sa.ForeignKey("people.id"), primary_key=True),
    sa.Column("hash", sa.Text, nullable=False),
    sa.Column("set_at", UtcTime, nullable=False),
    sa.Column("given", sa.Boolean, nullable=False),
    sa.Column("failures", sa.Integer, nullable=False),
    sa.Column("locked_until", UtcTime),
)

sign_ins = sa.Table(
    "sign_ins",
    metadata,
    sa.Column("key", sa.Text, primary_key=True),
    sa.Column("person_id", sa.Text, sa.ForeignKey("people.id"), nullable=False, index=True),
    sa.Column("method", sa.Text, nullable=False),
    sa.Column("started_at", UtcTime, nullable=False),
    sa.Column("seen_at", UtcTime, nullable=False),
    sa.Column("ends_at", UtcTime, nullable=False),
    sa.Column("idle_seconds", sa.Integer, nullable=False),
)

#: Wrong guesses of the last minutes, over the whole store.
guesses = sa.Table(
    "guesses",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("at", UtcTime, nullable=False, index=True),
)

kits = sa.Table(
    "kits",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("since", UtcTime, nullable=False),
    sa.Column("since_offset", sa.Integer, nullable=False),
    sa.Column("holder", sa.Text, sa.ForeignKey("people.id")),
    sa.Column("dissolved", sa.Boolean, nullable=False),
)

#: What each kit holds now; the key keeps an item out of a second kit.
kit_items = sa.Table(
    "kit_items",
    metadata,
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), primary_key=True),
    sa.Column("kit", _Number, sa.ForeignKey("kits.number"), nullable=False, index=True),
    sa.Column("position", sa.Integer, nullable=False),
)

kit_events = sa.Table(
    "kit_events",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("kit", _Number, sa.ForeignKey("kits.number"), nullable=False, index=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("at_offset", sa.Integer, nullable=False),
    sa.Column("by", sa.Text, nullable=False),
    sa.Column("move", sa.Text, nullable=False),
    sa.Column("holder", sa.Text),
    sa.Column("taken_out", sa.Text),
    sa.Column("put_in", sa.Text),
    sa.Column("note", sa.Text, nullable=False),
)

kit_event_items = sa.Table(
    "kit_event_items",
    metadata,
    sa.Column("event", _Number, sa.ForeignKey("kit_events.number"), primary_key=True, autoincrement=False),
    sa.Column("item_id", sa.Text, sa.ForeignKey("items.id"), primary_key=True, index=True),
    sa.Column("position", sa.Integer, nullable=False),
)
