"""Stores are brought up to date when they are opened, and never by an older program."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import event
from sqlalchemy.engine import Engine

import storage.migrations
from inspect_core.domain.errors import StoreFault
from storage.engine import integrity_faults, open_engine
from storage.fts5 import is_index_table
from storage.migrations import HEAD, revision_of, scripts, upgrade
from storage.tables import metadata
from storage.unit_of_work import unit_of_work_factory
from tests.storage import made

pytestmark = pytest.mark.sqlite


def _ours(name: str | None, kind: str, _parents: object) -> bool:
    return not (kind == "table" and name is not None and is_index_table(name))


@pytest.mark.filterwarnings("ignore:.*expression-based index")  # compared word for word by the test after it
def test_an_upgrade_from_nothing_gives_the_tables_of_the_metadata(tmp_path: Path) -> None:
    engine = open_engine(tmp_path)
    upgrade(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"include_name": _ours, "compare_type": True})
        assert compare_metadata(context, metadata) == []
        assert revision_of(connection) == HEAD
    assert integrity_faults(engine) == ()


def test_the_tables_metadata_would_make_are_word_for_word_those_of_the_migrations(tmp_path: Path) -> None:
    # The comparison above looks past deferred keys, partial indexes and WITHOUT ROWID.
    migrated, direct = open_engine(tmp_path / "migrated"), open_engine(tmp_path / "direct")
    upgrade(migrated)
    metadata.create_all(direct)
    assert _definitions(direct) == _definitions(migrated)


def _definitions(engine: Engine) -> dict[str, list[str]]:
    """Each table's or index's definition as its sorted parts, since the order of columns and keys says nothing, and a
    column that was added later stands on a line with others."""
    with engine.connect() as connection:
        rows = connection.execute(
            sa.text("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND type != 'trigger'")
        )
        return {
            row.name: sorted(filter(None, (part.strip(" \t)") for part in re.split("[\n,]", row.sql))))
            for row in rows
            if not is_index_table(row.name) and row.name != "alembic_version"
        }


def test_head_is_the_last_step_of_the_scripts() -> None:
    assert ScriptDirectory.from_config(scripts()).get_heads() == [HEAD]


def test_a_second_upgrade_changes_nothing_and_does_not_load_alembic(engine: Engine, folder: Path) -> None:
    written: list[str] = []
    event.listen(engine, "before_cursor_execute", lambda *args: written.append(args[2]))
    upgrade(engine)
    assert not [sql for sql in written if not sql.startswith(("SELECT", "PRAGMA", "BEGIN"))], written
    program = (
        "import sys; from storage.engine import open_engine; from storage.migrations import upgrade;"
        f"upgrade(open_engine({str(folder)!r})); sys.exit('alembic' in sys.modules)"
    )
    root = Path(storage.migrations.__file__).parents[2]
    assert subprocess.run([sys.executable, "-c", program], cwd=root, check=False).returncode == 0


def test_a_store_of_a_newer_program_is_refused_and_left_alone(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreFault, match="newer version"):
        upgrade(engine)
    with engine.connect() as connection:
        assert revision_of(connection) == "9999"


def test_an_upgrade_that_fails_leaves_no_half_made_store(tmp_path: Path) -> None:
    engine = open_engine(tmp_path)

    def fail(_connection: object, _cursor: object, sql: str, *_rest: object) -> None:
        if "CREATE TABLE marks" in sql:
            raise RuntimeError("power cut")

    event.listen(engine, "before_cursor_execute", fail)
    with pytest.raises(RuntimeError, match="power cut"):
        upgrade(engine)
    event.remove(engine, "before_cursor_execute", fail)
    with engine.connect() as connection:
        assert sa.inspect(connection).get_table_names() == []
    upgrade(engine)
    with unit_of_work_factory(engine)(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))


def test_programs_that_start_at_once_make_the_tables_once(tmp_path: Path) -> None:
    program = (
        "import sys; from storage.engine import open_engine; from storage.migrations import upgrade;"
        f"sys.stdin.readline(); upgrade(open_engine({str(tmp_path)!r}))"
    )
    root = Path(storage.migrations.__file__).parents[2]
    started = [
        subprocess.Popen([sys.executable, "-c", program], cwd=root, stdin=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(3)
    ]
    for process in started:
        assert process.stdin
        process.stdin.write(b"\n")
        process.stdin.flush()
    errors = [process.communicate()[1] for process in started]
    assert [process.returncode for process in started] == [0, 0, 0], errors
    with open_engine(tmp_path).connect() as connection:
        assert revision_of(connection) == HEAD
