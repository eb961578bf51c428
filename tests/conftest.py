"""What holds for every test."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import settings

from tests.engines import everywhere

# How long one example takes depends on what else the machine does; speed is measured in tests/bench, not here.
settings.register_profile("bartack", deadline=None)
settings.load_profile("bartack")

# Before the tests' own modules are read, since they take the function by its name.
_SERVER = everywhere.install() if everywhere.WANTED else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if _SERVER is not None:
        for item in items:
            if item.get_closest_marker("sqlite") or item.get_closest_marker("engine"):
                item.add_marker(pytest.mark.skip(reason="what one engine does itself, or both in turn"))


@pytest.fixture(autouse=_SERVER is not None)
def _databases_of_this_test_alone() -> Iterator[None]:
    yield
    if _SERVER is not None:
        _SERVER.drop()


def pytest_sessionfinish() -> None:
    if _SERVER is not None:
        _SERVER.close()
