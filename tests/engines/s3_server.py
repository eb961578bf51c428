"""A real S3 server for the tests, from PyPI, on this machine alone."""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

KEYS = {"AWS_ACCESS_KEY_ID": "yard", "AWS_SECRET_ACCESS_KEY": "yard-for-tests"}


def program() -> str | None:
    """Where the server lies: beside this Python, or on the path."""
    beside = Path(sys.executable).with_name("weed")
    return str(beside) if beside.exists() else shutil.which("weed")


@dataclass
class S3Server:
    """A server over one folder; it may be killed and started again on the same ports."""

    folder: Path
    ports: tuple[int, int, int, int]
    process: subprocess.Popen[bytes] | None = field(default=None, repr=False)

    def address(self, prefix: str) -> str:
        return f"s3://photos/{prefix}?endpoint=http://127.0.0.1:{self.ports[0]}"

    def start(self) -> None:
        s3, master, volume, filer = self.ports
        identity = {"name": "yard", "actions": ["Admin", "Read", "Write", "List", "Tagging"]}
        identity["credentials"] = [{"accessKey": KEYS["AWS_ACCESS_KEY_ID"], "secretKey": KEYS["AWS_SECRET_ACCESS_KEY"]}]
        config = self.folder / "keys.json"
        config.write_text(json.dumps({"identities": [identity]}), encoding="utf-8")
        data = self.folder / "data"
        data.mkdir(exist_ok=True)
        self.process = subprocess.Popen(
            [
                str(program()),
                "server",
                "-ip=127.0.0.1",
                "-ip.bind=127.0.0.1",
                f"-dir={data}",
                "-s3",
                f"-s3.port={s3}",
                f"-s3.config={config}",
                f"-master.port={master}",
                f"-volume.port={volume}",
                f"-filer.port={filer}",
                "-master.volumeSizeLimitMB=64",
                "-master.electionTimeout=500ms",  # it is alone, and is killed and started often
                "-master.heartbeatInterval=100ms",
                "-master.telemetry=false",  # tests never reach the network
                "-s3.port.iceberg=0",
                "-s3.port.lance=0",
            ],
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            with suppress(OSError), socket.create_connection(("127.0.0.1", s3), timeout=1):
                return
            time.sleep(0.2)
        raise RuntimeError("the S3 server did not start within a minute")

    def kill(self) -> None:
        """Ends it as a power cut would."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None


@contextmanager
def serving(folder: Path) -> Iterator[S3Server]:
    server = S3Server(folder, _free_ports())
    server.start()
    try:
        yield server
    finally:
        server.kill()


def _free_ports() -> tuple[int, int, int, int]:
    """Four ports whose partners 10,000 above, which the server takes for itself, are free as well."""
    found: list[int] = []
    while len(found) < 4:
        with socket.socket() as one, socket.socket() as other:
            one.bind(("127.0.0.1", 0))
            port = one.getsockname()[1]
            if port > 55_000 or port in found:
                continue
            with suppress(OSError):
                other.bind(("127.0.0.1", port + 10_000))
                found.append(port)
    return found[0], found[1], found[2], found[3]
