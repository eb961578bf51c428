"""Wiping what a database keeps of values that were changed: old rows in free pages, in the log, in the index."""

from __future__ import annotations

from sqlalchemy.engine import Engine

from storage.faults import database_faults


def scrub(engine: Engine) -> None:
    """Writes the database anew without its free pages, and empties its log. Takes as long as copying the file.

    Called after a name was taken out. Raises StoreFault while somebody else is writing or where the disk is full; what
    was committed stays, and a later call does the same.
    """
    with database_faults(), engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        if engine.dialect.name != "sqlite":
            connection.exec_driver_sql("VACUUM FULL people")
            return
        raw = connection.connection.driver_connection
        if raw is None:
            return
        cursor = raw.cursor()
        try:
            # Beside SQLAlchemy, which would begin a transaction, and VACUUM runs in none.
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            cursor.close()
