"""Signatures beside what is signed, salts beside names, PINs, sign-ins, and kits."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_Time = sa.DateTime(timezone=True)


def upgrade() -> None:
    for table in ("inspections", "custody"):
        op.add_column(table, sa.Column("signed_at", _Time, nullable=True))
        op.add_column(table, sa.Column("signed_how", sa.Text(), nullable=True))
    op.add_column("custody", sa.Column("witness_id", sa.Text(), nullable=True))
    op.add_column("people", sa.Column("name_salt", sa.Text(), nullable=False, server_default=sa.text("''")))
    op.add_column("people", sa.Column("coded", sa.Boolean(), nullable=False, server_default=sa.false()))
    _sign_in()
    _kits()


def _sign_in() -> None:
    op.create_table(
        "credentials",
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("set_at", _Time, nullable=False),
        sa.Column("given", sa.Boolean(), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("locked_until", _Time, nullable=True),
        sa.PrimaryKeyConstraint("person_id", name="pk_credentials"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_credentials_person_id"),
    )
    op.create_table(
        "sign_ins",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("started_at", _Time, nullable=False),
        sa.Column("seen_at", _Time, nullable=False),
        sa.Column("ends_at", _Time, nullable=False),
        sa.Column("idle_seconds", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_sign_ins"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_sign_ins_person_id"),
    )
    op.create_index("ix_sign_ins_person_id", "sign_ins", ["person_id"])
    op.create_table(
        "guesses",
        sa.Column("number", _Number, nullable=False),
        sa.Column("at", _Time, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_guesses"),
    )
    op.create_index("ix_guesses_at", "guesses", ["at"])


def _kits() -> None:
    op.create_table(
        "kits",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("since", _Time, nullable=False),
        sa.Column("since_offset", sa.Integer(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=True),
        sa.Column("dissolved", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_kits"),
        sa.UniqueConstraint("id", name="uq_kits_id"),
        sa.ForeignKeyConstraint(["holder"], ["people.id"], name="fk_kits_holder"),
    )
    op.create_table(
        "kit_items",
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("kit", _Number, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("item_id", name="pk_kit_items"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_kit_items_item_id"),
        sa.ForeignKeyConstraint(["kit"], ["kits.number"], name="fk_kit_items_kit"),
    )
    op.create_index("ix_kit_items_kit", "kit_items", ["kit"])
    op.create_table(
        "kit_events",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("kit", _Number, nullable=False),
        sa.Column("at", _Time, nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("move", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=True),
        sa.Column("taken_out", sa.Text(), nullable=True),
        sa.Column("put_in", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_kit_events"),
        sa.UniqueConstraint("id", name="uq_kit_events_id"),
        sa.ForeignKeyConstraint(["kit"], ["kits.number"], name="fk_kit_events_kit"),
    )
    op.create_index("ix_kit_events_kit", "kit_events", ["kit"])
    op.create_table(
        "kit_event_items",
        sa.Column("event", _Number, nullable=False),
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("event", "item_id", name="pk_kit_event_items"),
        sa.ForeignKeyConstraint(["event"], ["kit_events.number"], name="fk_kit_event_items_event"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_kit_event_items_item_id"),
    )
    op.create_index("ix_kit_event_items_item_id", "kit_event_items", ["item_id"])
