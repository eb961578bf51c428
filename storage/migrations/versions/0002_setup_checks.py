"""Set-up checks, with the items that each of them used."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "setups",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("check_name", sa.Text(), nullable=False),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("asked", sa.JSON(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=False),
        sa.Column("photo_ids", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_setups"),
        sa.UniqueConstraint("id", name="uq_setups_id"),
    )
    op.create_table(
        "setup_items",
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("setup", _Number, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("item_id", "setup", name="pk_setup_items"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_setup_items_item_id"),
        sa.ForeignKeyConstraint(["setup"], ["setups.number"], name="fk_setup_items_setup"),
    )
    op.create_index("ix_setup_items_setup", "setup_items", ["setup"])
