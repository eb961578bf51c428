"""A real PostgreSQL server for the tests, on this machine alone, in a folder of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ACCOUNT = "postgres"
#: Where folders of servers are made: sockets have short names, and the server's account must be able to walk there.
_ON_DISK = "/tmp"  # noqa: S108 - each gets a folder of its own
_SAFE = ("fsync=on",)
#: For servers whose data nobody needs after the tests: nothing waits for the disk.
_THROW_AWAY = (
    *("fsync=off", "synchronous_commit=off", "full_page_writes=off", "autovacuum=off", "wal_level=minimal"),
    *("max_wal_senders=0", "max_wal_size=4GB", "checkpoint_timeout=1h"),
)


def program(name: str) -> str | None:
    """Where one of the server's programs lies: in Debian's folder of the newest version, or on the path."""
    homes = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: float(path.parts[4]))
    return str(homes[-1]) if homes else shutil.which(name)


def account() -> str | None:
    """The account whose the server's files must be, where it is not our own: the server refuses to run as root."""
    return ACCOUNT if os.name == "posix" and os.geteuid() == 0 else None


def _as_account() -> list[str]:
    owner = account()
    return ["setpriv", f"--reuid={owner}", f"--regid={owner}", "--init-groups"] if owner else []


@dataclass
class PgServer:
    """A server over one folder; it may be killed and started again on the same port."""

    folder: Path
    port: int
    settings: tuple[str, ...] = _SAFE

    def url(self, database: str = ACCOUNT) -> str:
        return f"postgresql+psycopg://{ACCOUNT}@127.0.0.1:{self.port}/{database}"

    def start(self) -> None:
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -k {self.folder} -c max_connections=120"
        options += "".join(f" -c {setting}" for setting in self.settings)
        self._control("start", "-w", "-t", "60", "-l", str(self.folder / "log"), "-o", options)

    def kill(self) -> None:
        """Ends it at once, as a power cut would; the next start recovers."""
        self._control("stop", "-m", "immediate", "-w")

    def stop(self) -> None:
        self._control("stop", "-m", "fast", "-w")

    def make_database(self, name: str, *, template: str = "template0") -> str:
        """Makes a database and returns its address."""
        import psycopg

        with psycopg.connect(f"postgresql://{ACCOUNT}@127.0.0.1:{self.port}/postgres", autocommit=True) as server:
            server.execute(f"CREATE DATABASE \"{name}\" TEMPLATE {template} ENCODING 'UTF8'".encode())
        return self.url(name)

    def runs(self) -> bool:
        try:
            self._control("status")
        except subprocess.CalledProcessError:
            return False
        return True

    def _control(self, *arguments: str) -> None:
        control = str(program("pg_ctl"))
        # Its own output goes nowhere: a server that inherits the pipe would keep it open for ever.
        subprocess.run(
            [*_as_account(), control, "-D", str(self.folder / "data"), *arguments],
            check=True,
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )


def _in_memory() -> str:
    """A folder that lies in memory, where there is one with room; making and dropping databases is quick there."""
    memory = Path("/dev/shm")  # noqa: S108 - a folder of its own is made in it
    if memory.is_dir() and os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > 2**31:
        return str(memory)
    return _ON_DISK


@contextmanager
def new_folder(*, in_memory: bool = False) -> Iterator[Path]:
    """A folder for a server's data that its account may use."""
    folder = Path(tempfile.mkdtemp(prefix="pg", dir=_in_memory() if in_memory else _ON_DISK))
    if owner := account():
        shutil.chown(folder, owner, owner)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def serving(*, throw_away: bool = False) -> Iterator[PgServer]:
    """`throw_away`: for tests that never kill the server; its data lie in memory and are not forced to disk."""
    with (
        new_folder(in_memory=throw_away) as folder,
        serving_in(folder, settings=_THROW_AWAY if throw_away else _SAFE) as server,
    ):
        yield server


@contextmanager
def serving_in(folder: Path, *, settings: tuple[str, ...] = _SAFE) -> Iterator[PgServer]:
    """A server over that folder, empty and its account's own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        server = PgServer(folder, free.getsockname()[1], settings)
    subprocess.run(
        [
            *(*_as_account(), str(program("initdb")), "-D", str(folder / "data"), "-U", ACCOUNT),
            *("--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync", "--wal-segsize=1"),
        ],
        check=True,
        cwd="/",
        stdout=subprocess.DEVNULL,
    )
    server.start()
    try:
        yield server
    finally:
        if server.runs():
            server.kill()
