"""What Alembic runs for every command. `storage.migrations.upgrade` hands the open connection in."""

from __future__ import annotations

from typing import Any

from alembic import context

from storage.fts5 import is_index_table
from storage.tables import metadata


def _ours(name: str | None, kind: str, _parents: Any) -> bool:
    """Tables that the full-text index makes for itself are not compared with the metadata."""
    return not (kind == "table" and name is not None and is_index_table(name))


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    include_name=_ours,
)
with context.begin_transaction():
    context.run_migrations()
