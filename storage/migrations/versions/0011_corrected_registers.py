"""Tags that an item carried before, facts that last as long as the gear, the maker's limit of the time in use, the
camera of a roll's photos; and indexes for serial numbers and for gear of some age."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("items", sa.Column("maker_max_use_years", sa.Float()))
    op.add_column("items", sa.Column("lasting_facts", sa.JSON(), nullable=False, server_default=sa.text("'{}'")))
    op.add_column("items", sa.Column("former_tags", sa.JSON(), nullable=False, server_default=sa.text("'[]'")))
    op.add_column("roll_photos", sa.Column("camera", sa.Text(), nullable=False, server_default=sa.text("''")))
    op.create_table(
        "former_tags",
        sa.Column("tag", sa.Text(), nullable=False),
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("tag", name="pk_former_tags"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_former_tags_item_id"),
    )
    # As serial numbers are compared: case and spaces aside.
    op.create_index("ix_items_serial_key", "items", [sa.text("lower(replace(serial, ' ', ''))")])
    op.create_index("ix_items_state_made_on", "items", ["state", "made_on"])
    op.create_index("ix_items_state_first_used_on", "items", ["state", "first_used_on"])
