"""Full-text search on PostgreSQL; SQLite has had its own since the first step."""

from __future__ import annotations

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

# `unaccent` depends on a dictionary that could be exchanged, so PostgreSQL will not have it in a stored column; this
# function promises for it. Letters and digits stay, whatever else is there parts words, as in the other engine.
_STEPS = (
    "CREATE EXTENSION IF NOT EXISTS unaccent",
    """
    CREATE FUNCTION bartack_words(given text) RETURNS tsvector
    LANGUAGE plpgsql IMMUTABLE STRICT PARALLEL SAFE AS $$
    BEGIN
        RETURN to_tsvector('simple'::regconfig,
            regexp_replace(lower(unaccent('unaccent'::regdictionary, normalize(given, NFC))), '[^[:alnum:]]+', ' ', 'g'));
    END $$
    """,
    """
    ALTER TABLE search_docs ADD COLUMN words tsvector GENERATED ALWAYS AS (
        setweight(bartack_words(own), 'A') || setweight(bartack_words(about), 'B')
        || setweight(bartack_words(facets), 'C')) STORED
    """,
    "CREATE INDEX ix_search_docs_words ON search_docs USING gin (words)",
    "CREATE INDEX ix_people_words ON people USING gin (bartack_words(name))",
)


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for step in _STEPS:
            op.get_bind().exec_driver_sql(step)
