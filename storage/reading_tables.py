"""The table of blind second readings, in the same metadata as `storage.tables`."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import UtcTime, metadata

second_readings = sa.Table(
    "second_readings",
    metadata,
    sa.Column("number", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("photo_id", sa.Text, sa.ForeignKey("photos.id"), nullable=False),
    sa.Column("inspection_id", sa.Text, sa.ForeignKey("inspections.id"), nullable=False),
    sa.Column("by", sa.Text, nullable=False, index=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("at_offset", sa.Integer, nullable=False),
    sa.Column("answer", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.UniqueConstraint("photo_id", "by"),
)
