"""Opens a store on PostgreSQL. Everything that is peculiar to that engine as a server stands here.

Units of work that write take one advisory lock of the database at their start, so that two of them never overlap:
what one has read cannot change under it, two people cannot decide one item at once, and the ledger stays a single
chain. Units that read see one snapshot from their first statement on (REPEATABLE READ), as they do in SQLite.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import URL, Engine

from inspect_core.domain.errors import BadInput
from storage.faults import database_faults

#: Names of the server's own settings that an address may carry; anything else in it is a mistake to be told.
_OPTIONS = frozenset({"sslmode", "sslrootcert", "sslcert", "sslkey", "connect_timeout", "application_name"})
#: Any fixed number: the lock belongs to this database alone.
_WRITE_LOCK = 0x6261727461636B
_OLDEST = 130000  # version 13, the first whose `unaccent` an ordinary owner of a database may install
_SETTINGS = {
    "timezone": "UTC",
    "statement_timeout": "120s",
    "idle_in_transaction_session_timeout": "120s",
    # A text that is asked for is a text: backslashes mean nothing.
    "standard_conforming_strings": "on",
}


def open_postgres(url: URL, *, patience: float, writes: str, to_json: Callable[[Any], str]) -> Engine:
    """The engine of a store on a server, `postgresql+psycopg://ACCOUNT@HOST/DATABASE`. `patience`: how long a save
    waits for another one, in seconds; `writes`: name of the execution option of connections that take the write
    lock. Raises BadInput for an address with unknown options, StoreFault where the server cannot be used."""
    unknown = sorted(set(url.query) - _OPTIONS)
    if unknown:
        raise BadInput(
            f"This address carries “{unknown[0]}”, which means nothing here.",
            f"Leave it out; known are {', '.join(sorted(_OPTIONS))}.",
        )
    settings = {**_SETTINGS, "lock_timeout": f"{int(patience * 1000)}ms"}
    engine = sa.create_engine(
        url.set(drivername="postgresql+psycopg"),
        hide_parameters=True,
        connect_args={
            "connect_timeout": 5,
            "options": " ".join(f"-c {name}={value}" for name, value in settings.items()),
            # Found dead within half a minute where the network was cut and nobody said so.
            "keepalives_idle": 10,
            "keepalives_interval": 5,
            "keepalives_count": 3,
        },
        json_serializer=to_json,
        pool_size=8,
        max_overflow=24,
        # Asks each connection whether it lives before it is used: a server that was restarted is not noticed otherwise.
        pool_pre_ping=True,
    )

    def begin(connection: sa.Connection) -> None:
        if connection.get_execution_options().get(writes, False):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITE_LOCK})")
        else:
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")

    event.listen(engine, "begin", begin)
    try:
        with database_faults(), engine.connect() as connection:
            version = int(connection.exec_driver_sql("SHOW server_version_num").scalar_one())
            encoding = connection.exec_driver_sql("SHOW server_encoding").scalar_one()
    except BaseException:
        engine.dispose()
        raise
    if version < _OLDEST or encoding != "UTF8":
        engine.dispose()
        raise BadInput(
            "This database cannot hold a store.", "Use PostgreSQL 13 or newer and a database with the encoding UTF8."
        )
    return engine
