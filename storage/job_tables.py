"""The table of jobs, in the same metadata as `storage.tables`."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import UtcTime, metadata

_Number = sa.BigInteger().with_variant(sa.Integer, "sqlite")

#: What was asked for, how far it is and what came out. On a server the queue beside it says only which are to be taken.
jobs = sa.Table(
    "jobs",
    metadata,
    sa.Column("number", _Number, primary_key=True),
    sa.Column("id", sa.Text, nullable=False, unique=True),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("asked_by", sa.Text, nullable=False),
    sa.Column("asked_at", UtcTime, nullable=False),
    sa.Column("subject", sa.Text, nullable=False),
    sa.Column("wanted", sa.JSON, nullable=False),
    sa.Column("state", sa.Text, nullable=False, index=True),
    sa.Column("attempt", sa.Integer, nullable=False),
    sa.Column("beat_at", UtcTime),
    sa.Column("done", sa.Integer, nullable=False),
    sa.Column("total", sa.Integer, nullable=False),
    sa.Column("words", sa.Text, nullable=False),
    sa.Column("stop_asked", sa.Boolean, nullable=False),
    sa.Column("ended_at", UtcTime),
    sa.Column("problem", sa.Text, nullable=False),
    sa.Column("remedy", sa.Text, nullable=False),
    sa.Column("result", sa.JSON, nullable=False),
)
