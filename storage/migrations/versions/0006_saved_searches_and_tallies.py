"""Saved searches; tallies that trends read instead of counting every inspection; the words of the index in order.

What is there already is counted by `storage.derived`, right after the steps.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

#: Each tally with its key and its counts.
_TALLIES = (
    ("inspection_tallies", ("month", "kind", "model", "site", "outcome"), ("many",)),
    ("person_tallies", ("month", "by", "kind", "model", "site", "type", "outcome"), ("many",)),
    ("part_tallies", ("kind", "month", "component", "model", "site"), ("looked", "marked")),
    ("category_tallies", ("month", "kind", "model", "site", "category"), ("marked",)),
    ("mark_tallies", ("kind", "month", "component", "category", "model", "site"), ("marks",)),
    ("mark_items", ("kind", "component", "month", "model", "site", "item_id"), ("marks",)),
)


def upgrade() -> None:
    op.create_table(
        "saved_searches",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("query", sa.JSON(), nullable=False),
        sa.Column("saved_by", sa.Text(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_saved_searches"),
        sa.UniqueConstraint("id", name="uq_saved_searches_id"),
        sa.UniqueConstraint("person_id", "name_key", name="uq_saved_searches_person_id_name_key"),
    )
    for name, key, counts in _TALLIES:
        op.create_table(
            name,
            *(sa.Column(column, sa.Text(), nullable=False) for column in key),
            *(sa.Column(column, sa.Integer(), nullable=False) for column in counts),
            sa.PrimaryKeyConstraint(*key, name=f"pk_{name}"),
            sqlite_with_rowid=False,
        )
    op.create_table(
        "shared_photos",
        sa.Column("photo_id", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("photo_id", name="pk_shared_photos"),
        sqlite_with_rowid=False,
    )
    # Walked backwards for the newest that ended out of service. The outcome's word, because a value that is bound
    # later does not let SQLite use the index.
    op.create_index(
        "ix_inspections_found",
        "inspections",
        ["day"],
        sqlite_where=sa.text("outcome <> 'in service'"),
        postgresql_where=sa.text("outcome <> 'in service'"),
    )
    if op.get_bind().dialect.name == "sqlite":
        # Every word of the index in order, without room of its own: what a typed beginning may stand for.
        op.get_bind().exec_driver_sql("CREATE VIRTUAL TABLE search_terms USING fts5vocab(search_index, instance)")

