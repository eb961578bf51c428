from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy.engine import Engine

from inspect_core.ports import UnitOfWorkFactory
from storage.engine import open_engine
from storage.migrations import upgrade
from storage.unit_of_work import unit_of_work_factory


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    """A new store with its tables."""
    engine = open_engine(tmp_path / "store")
    upgrade(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def units(engine: Engine) -> UnitOfWorkFactory:
    return unit_of_work_factory(engine)
