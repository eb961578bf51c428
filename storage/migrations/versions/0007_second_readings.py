"""Blind second readings of recorded photos."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "second_readings",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("photo_id", sa.Text(), nullable=False),
        sa.Column("inspection_id", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_second_readings"),
        sa.UniqueConstraint("id", name="uq_second_readings_id"),
        sa.UniqueConstraint("photo_id", "by", name="uq_second_readings_photo_id_by"),
        sa.ForeignKeyConstraint(["photo_id"], ["photos.id"], name="fk_second_readings_photo_id"),
        sa.ForeignKeyConstraint(["inspection_id"], ["inspections.id"], name="fk_second_readings_inspection_id"),
    )
    op.create_index("ix_second_readings_by", "second_readings", ["by"])
