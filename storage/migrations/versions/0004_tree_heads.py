"""The Merkle tree over the ledger, its signed heads, and the hashes of a photo's copies."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "tree_nodes",
        sa.Column("number", _Number, autoincrement=False, nullable=False),
        sa.Column("nodes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_tree_nodes"),
    )
    op.create_table(
        "tree_heads",
        sa.Column("size", _Number, autoincrement=False, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("root", sa.LargeBinary(), nullable=False),
        sa.Column("public_key", sa.LargeBinary(), nullable=False),
        sa.Column("signature", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("size", name="pk_tree_heads"),
    )
    op.add_column("photos", sa.Column("copies", sa.JSON(), nullable=False, server_default=sa.text("'{}'")))
