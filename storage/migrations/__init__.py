"""Brings a store's tables up to date when it is opened. The steps are Alembic's, run from the installed package.

A step that has been released is never edited; what changes gets a step of its own.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from inspect_core.domain.errors import StoreFault
from storage import derived
from storage.engine import WRITES
from storage.faults import database_faults

if TYPE_CHECKING:
    from alembic.config import Config

#: The last step. Kept here as well so that opening a store that is up to date need not load Alembic.
HEAD = "0009"


def upgrade(engine: Engine) -> None:
    """Runs the steps that a store has not seen, all in one transaction. Quick where there is none.

    Raises StoreFault where the store was written by a newer program, or cannot be written.
    """
    with database_faults(), engine.connect() as connection:
        if revision_of(connection) == HEAD and derived.is_fresh(connection):
            return
    from alembic import command
    from alembic.script import ScriptDirectory

    config = scripts()
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    # The write lock is taken first: of two programs that start at once, one makes the tables and one finds them.
    with database_faults(), engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        found = revision_of(connection)
        if found == HEAD and derived.is_fresh(connection):
            return
        if found is not None and found not in known:
            raise StoreFault(
                "This store was written by a newer version of the program.",
                "Open it with that version or a later one; nothing was changed.",
            )
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if not derived.is_fresh(connection):
            derived.refresh(connection)


def revision_of(connection: Connection) -> str | None:
    """The last step a store has seen, None for a store without tables."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    revision: str | None = connection.scalar(sa.text("SELECT version_num FROM alembic_version"))
    return revision


def scripts() -> Config:
    """Alembic's configuration, made here so that no ini file has to be found."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    return config
