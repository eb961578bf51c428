"""Camera rolls with their photos, and what the store itself is told to remember."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "rolls",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("done", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_rolls"),
        sa.UniqueConstraint("id", name="uq_rolls_id"),
    )
    op.create_table(
        "roll_photos",
        sa.Column("roll", _Number, nullable=False),
        sa.Column("photo_id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("tags", sa.JSON(), nullable=False),
        sa.Column("codes", sa.JSON(), nullable=False),
        sa.Column("item_id", sa.Text(), nullable=True),
        sa.Column("left_out", sa.Boolean(), nullable=True),
        sa.Column("draft_id", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("roll", "photo_id", name="pk_roll_photos"),
        sa.ForeignKeyConstraint(["roll"], ["rolls.number"], name="fk_roll_photos_roll"),
        sa.ForeignKeyConstraint(["photo_id"], ["photos.id"], name="fk_roll_photos_photo_id"),
    )
    op.create_index("ix_roll_photos_photo_id", "roll_photos", ["photo_id"])
    op.create_table(
        "settings",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
