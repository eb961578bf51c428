"""The tables of camera rolls."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import UtcTime, _Number, _text, metadata

rolls = sa.Table(
    "rolls",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("begun_at", UtcTime, nullable=False),
    _text("by"),
    sa.Column("done", sa.Boolean, nullable=False),
)

roll_photos = sa.Table(
    "roll_photos",
    metadata,
    sa.Column("roll", _Number, sa.ForeignKey("rolls.number"), primary_key=True, autoincrement=False),
    sa.Column("photo_id", sa.Text, sa.ForeignKey("photos.id"), primary_key=True),
    sa.Column("position", sa.Integer, nullable=False),
    _text("name"),
    *(sa.Column(name, sa.JSON, nullable=False) for name in ("tags", "codes")),
    sa.Column("item_id", sa.Text),
    sa.Column("left_out", sa.Boolean),
    sa.Column("draft_id", sa.Text),
    sa.Column("camera", sa.Text, nullable=False, server_default=sa.text("''")),
    sa.Index(None, "photo_id"),
)
