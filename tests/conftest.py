"""What holds for every test."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, nullcontext

import pytest
from hypothesis import settings

from tests.engines import everywhere, photos_everywhere

# How long one example takes depends on what else the machine does; speed is measured in tests/bench, not here.
settings.register_profile("bartack", deadline=None)
settings.load_profile("bartack")

_until_the_end = ExitStack()


def pytest_configure(config: pytest.Config) -> None:
    # Before the tests' own modules are read, since they take the function by its name. The process that only hands out
    # tests to others needs no server.
    hands_out = config.getoption("dist", "no") != "no" and not hasattr(config, "workerinput")
    if everywhere.WANTED and not hands_out:
        everywhere.install()
    if photos_everywhere.WANTED and not hands_out:
        _until_the_end.enter_context(photos_everywhere.installed())


def pytest_unconfigure() -> None:
    if server := everywhere.here():
        server.close()
    _until_the_end.close()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if everywhere.here():
        for item in items:
            if item.get_closest_marker("sqlite") or item.get_closest_marker("engine"):
                item.add_marker(pytest.mark.skip(reason="what one engine does itself, or both in turn"))


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef: pytest.FixtureDef[object]) -> Iterator[None]:
    server = everywhere.here()
    with server.lasting() if server and fixturedef.scope != "function" else nullcontext():
        return (yield)  # type: ignore[misc]


@pytest.fixture(autouse=everywhere.WANTED)
def _databases_of_this_test_alone() -> Iterator[None]:
    yield
    if server := everywhere.here():
        server.drop()
