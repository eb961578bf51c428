from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest
from sqlalchemy.engine import Engine

from inspect_core.ports import UnitOfWorkFactory
from storage.engine import FILE_NAME, open_engine
from storage.migrations import upgrade
from storage.unit_of_work import unit_of_work_factory
from tests.engines import everywhere


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a store with its tables and nothing in them, to be copied."""
    folder = tmp_path_factory.mktemp("empty")
    server = everywhere.here()
    # Said here as well as in the hook for fixtures: every test of this folder rests on it.
    with server.lasting() if server else nullcontext():
        engine = open_engine(folder)
        upgrade(engine)
        engine.dispose()
    return folder / FILE_NAME


@pytest.fixture
def folder(tmp_path: Path, empty_store: Path) -> Path:
    """A new store's folder."""
    folder = tmp_path / "store"
    folder.mkdir(mode=0o700)
    if empty_store.exists():  # on a server it is a template there
        shutil.copy(empty_store, folder / FILE_NAME)
    return folder


@pytest.fixture
def engine(folder: Path) -> Iterator[Engine]:
    engine = open_engine(folder)
    yield engine
    engine.dispose()


@pytest.fixture
def units(engine: Engine) -> UnitOfWorkFactory:
    return unit_of_work_factory(engine)
