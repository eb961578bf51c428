"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_FULL_TEXT = """
CREATE VIRTUAL TABLE search_index USING fts5(
    own, about, facets, content = 'search_docs', content_rowid = 'id',
    columnsize = 0, prefix = '2 3', tokenize = 'unicode61 remove_diacritics 2');
CREATE TRIGGER search_docs_added AFTER INSERT ON search_docs BEGIN
    INSERT INTO search_index (rowid, own, about, facets) VALUES (new.id, new.own, new.about, new.facets);
END;
CREATE TRIGGER search_docs_removed AFTER DELETE ON search_docs BEGIN
    INSERT INTO search_index (search_index, rowid, own, about, facets)
    VALUES ('delete', old.id, old.own, old.about, old.facets);
END;
CREATE TRIGGER search_docs_changed AFTER UPDATE ON search_docs BEGIN
    INSERT INTO search_index (search_index, rowid, own, about, facets)
    VALUES ('delete', old.id, old.own, old.about, old.facets);
    INSERT INTO search_index (rowid, own, about, facets) VALUES (new.id, new.own, new.about, new.facets);
END;
CREATE VIRTUAL TABLE search_people USING fts5(
    name, content = 'people', content_rowid = 'number',
    columnsize = 0, tokenize = 'unicode61 remove_diacritics 2');
CREATE TRIGGER people_added AFTER INSERT ON people BEGIN
    INSERT INTO search_people (rowid, name) VALUES (new.number, new.name);
END;
CREATE TRIGGER people_removed AFTER DELETE ON people BEGIN
    INSERT INTO search_people (search_people, rowid, name) VALUES ('delete', old.number, old.name);
END;
CREATE TRIGGER people_changed AFTER UPDATE ON people BEGIN
    INSERT INTO search_people (search_people, rowid, name) VALUES ('delete', old.number, old.name);
    INSERT INTO search_people (rowid, name) VALUES (new.number, new.name);
END;
"""

_Number = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_Time = sa.DateTime(timezone=True)


def upgrade() -> None:
    _tables()
    if op.get_bind().dialect.name == "sqlite":
        _full_text()


def _full_text() -> None:
    statement = ""
    for line in _FULL_TEXT.strip().splitlines():
        statement += line + "\n"
        # A trigger ends with END; and holds other semicolons.
        if line.endswith(";") and (not statement.startswith("CREATE TRIGGER") or line == "END;"):
            op.get_bind().exec_driver_sql(statement)
            statement = ""


def _tables() -> None:
    op.create_table(
        "drafts",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("saved_at", _Time, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_drafts")),
    )
    op.create_index(op.f("ix_drafts_item_id"), "drafts", ["item_id"], unique=False)
    op.create_index(op.f("ix_drafts_saved_at"), "drafts", ["saved_at"], unique=False)
    op.create_table(
        "items",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=True),
        sa.Column("first_used_on", sa.Date(), nullable=True),
        sa.Column("registered_on", sa.Date(), nullable=True),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("fibre", sa.Text(), nullable=False),
        sa.Column("standards", sa.JSON(), nullable=False),
        sa.Column("webbing_width_mm", sa.Float(), nullable=True),
        sa.Column("rope_diameter_mm", sa.Float(), nullable=True),
        sa.Column("rope_range_least_mm", sa.Float(), nullable=True),
        sa.Column("rope_range_most_mm", sa.Float(), nullable=True),
        sa.Column("packed_length_mm", sa.Float(), nullable=True),
        sa.Column("throat_mm", sa.Float(), nullable=True),
        sa.Column("maker_max_age_years", sa.Float(), nullable=True),
        sa.Column("maker_limits", sa.JSON(), nullable=False),
        sa.Column("price", sa.Float(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("since", _Time, nullable=False),
        sa.Column("since_offset", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("last_inspection_id", sa.Text(), nullable=True),
        sa.Column("last_seen_on", sa.Date(), nullable=True),
        sa.Column("last_periodic_on", sa.Date(), nullable=True),
        sa.Column("next_due", sa.Date(), nullable=True),
        sa.Column("damage_used", sa.Float(), nullable=True),
        sa.Column("photo_id", sa.Text(), nullable=True),
        sa.Column("photo_at", _Time, nullable=True),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_items")),
        sa.UniqueConstraint("id", name=op.f("uq_items_id")),
        sa.UniqueConstraint("tag", name=op.f("uq_items_tag")),
    )
    op.create_index(op.f("ix_items_next_due_tag"), "items", ["next_due", "tag"], unique=False)
    op.create_index(op.f("ix_items_serial"), "items", ["serial"], unique=False)
    op.create_index(op.f("ix_items_site"), "items", ["site"], unique=False)
    op.create_index(op.f("ix_items_state_next_due_tag"), "items", ["state", "next_due", "tag"], unique=False)
    op.create_table(
        "ledger",
        sa.Column("number", _Number, autoincrement=False, nullable=False),
        sa.Column("at", _Time, nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("subject_id", sa.Text(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("previous", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_ledger")),
        sa.UniqueConstraint("digest", name=op.f("uq_ledger_digest")),
    )
    op.create_index(op.f("ix_ledger_subject_subject_id"), "ledger", ["subject", "subject_id"], unique=False)
    op.create_table(
        "people",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("qualified_until", sa.Date(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_people")),
        sa.UniqueConstraint("id", name=op.f("uq_people_id")),
    )
    op.create_index(op.f("ix_people_name_key"), "people", ["name_key"], unique=False)
    op.create_table(
        "photos",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("captured_at", sa.Text(), nullable=True),
        sa.Column("phash", sa.Text(), nullable=False),
        sa.Column("sharpness", sa.Float(), nullable=False),
        sa.Column("exposure", sa.Float(), nullable=False),
        sa.Column("glare_share", sa.Float(), nullable=False),
        sa.Column("advice", sa.JSON(), nullable=False),
        sa.Column("received_at", _Time, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photos")),
    )
    op.create_index(op.f("ix_photos_phash"), "photos", ["phash"], unique=False)
    op.create_table(
        "search_docs",
        sa.Column("id", _Number, autoincrement=False, nullable=False),
        sa.Column("item_id", sa.Text(), nullable=True),
        sa.Column("inspection_id", sa.Text(), nullable=True),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("own", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("facets", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_search_docs")),
    )
    op.create_index(op.f("ix_search_docs_item_id"), "search_docs", ["item_id"], unique=False)
    op.create_table(
        "inspections",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("type", sa.Text(), nullable=False),
        sa.Column("at", _Time, nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("month", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("answers", sa.JSON(), nullable=False),
        sa.Column("answer_notes", sa.JSON(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("rules_outcome", sa.Text(), nullable=False),
        sa.Column("damage_used", sa.Float(), nullable=False),
        sa.Column("rules_version", sa.Text(), nullable=False),
        sa.Column("rules_digest", sa.Text(), nullable=False),
        sa.Column("hand_outcome", sa.Text(), nullable=True),
        sa.Column("hand_reason", sa.Text(), nullable=True),
        sa.Column("hand_by", sa.Text(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("corrects", sa.Text(), nullable=True),
        sa.Column("next_due", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("photo_id", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["corrects"], ["inspections.id"], name=op.f("fk_inspections_corrects")),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name=op.f("fk_inspections_item_id")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_inspections")),
        sa.UniqueConstraint("id", name=op.f("uq_inspections_id")),
    )
    op.create_index(
        "ix_inspections_corrects",
        "inspections",
        ["corrects"],
        unique=False,
        sqlite_where=sa.text("corrects IS NOT NULL"),
        postgresql_where=sa.text("corrects IS NOT NULL"),
    )
    op.create_index(op.f("ix_inspections_item_id_at"), "inspections", ["item_id", "at"], unique=False)
    op.create_index(op.f("ix_inspections_month_outcome"), "inspections", ["month", "outcome"], unique=False)
    op.create_table(
        "custody",
        sa.Column("number", _Number, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("item_id", sa.Text(), nullable=False),
        sa.Column("at", _Time, nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("move", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("inspection_id", sa.Text(), nullable=True),
        sa.Column("photo_id", sa.Text(), nullable=True),
        sa.Column("witness", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["inspection_id"],
            ["inspections.id"],
            name=op.f("fk_custody_inspection_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name=op.f("fk_custody_item_id")),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photos.id"], name=op.f("fk_custody_photo_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_custody")),
        sa.UniqueConstraint("id", name=op.f("uq_custody_id")),
    )
    op.create_index(op.f("ix_custody_inspection_id"), "custody", ["inspection_id"], unique=False)
    op.create_index(op.f("ix_custody_item_id_at"), "custody", ["item_id", "at"], unique=False)
    op.create_index(op.f("ix_custody_move_day"), "custody", ["move", "day"], unique=False)
    op.create_table(
        "findings",
        sa.Column("inspection", _Number, autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=True),
        sa.Column("component", sa.Text(), nullable=True),
        sa.Column("measure", sa.Text(), nullable=True),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("uncertainty", sa.Float(), nullable=True),
        sa.Column("limit_value", sa.Float(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("analogue", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.number"], name=op.f("fk_findings_inspection")),
        sa.PrimaryKeyConstraint("inspection", "position", name=op.f("pk_findings")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "inspection_photos",
        sa.Column("inspection", _Number, autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("photo_id", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.number"], name=op.f("fk_inspection_photos_inspection")),
        sa.ForeignKeyConstraint(
            ["photo_id"],
            ["photos.id"],
            name=op.f("fk_inspection_photos_photo_id"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("inspection", "position", name=op.f("pk_inspection_photos")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_inspection_photos_photo_id"), "inspection_photos", ["photo_id"], unique=False)
    op.create_table(
        "marks",
        sa.Column("inspection", _Number, autoincrement=False, nullable=False),
        sa.Column("position", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("photo_id", sa.Text(), nullable=False),
        sa.Column("component", sa.Text(), nullable=False),
        sa.Column("category", sa.Text(), nullable=False),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("points", sa.JSON(), nullable=False),
        sa.Column("readings", sa.JSON(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["inspection"], ["inspections.number"], name=op.f("fk_marks_inspection")),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photos.id"], name=op.f("fk_marks_photo_id"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("inspection", "position", name=op.f("pk_marks")),
        sqlite_with_rowid=False,
    )
