"""Starting: until the server answers its health, until the first page stands, and a command's help.

Each round starts a new process. The floor is Streamlit's own server with a page of one line, and Python that imports
the library of commands; both read the same compiled files. The page is asked for as a browser asks, and stands when the
server says that the script has finished.
"""

from __future__ import annotations

import asyncio
import atexit
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from functools import cache
from pathlib import Path

from inspect_core.usecases.register import RegisterItem, parse_item, register
from tests.bench.load_person import Visitor
from tests.bench.registry import Job, bench
from tests.usecases.site import Site

_ROOT = Path(__file__).parents[2]
_OPTIONS = ("--server.headless=true", "--server.fileWatcherType=none", "--browser.gatherUsageStats=false")


@cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="bench-start-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    (folder / "bare.py").write_text("import streamlit as st\nst.write('One line')\n")
    site = Site(folder / "store")
    for number in range(20):
        item = parse_item({"tag": f"LAN-{number}", "kind": "webbing lanyard", "site": "North Quay"}, f"item-{number}")
        register(RegisterItem(item, site.worker), site.services)
    site.services.close()
    return folder


def _serve(script: Path, *, page: bool) -> None:
    """Starts a server, waits for its health and, if wanted, for its first page, and ends it."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
    command = (sys.executable, "-m", "streamlit", "run", str(script), f"--server.port={port}", *_OPTIONS)
    surroundings = {**os.environ, "BARTACK_STORE": str(_folder() / "store"), "PYTHONPATH": str(_ROOT)}
    server = subprocess.Popen(
        command, cwd=_folder(), env=surroundings, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        _wait(f"http://127.0.0.1:{port}/_stcore/health", server)
        if page:
            asyncio.run(_first_page(f"http://127.0.0.1:{port}"))
    finally:
        server.kill()
        server.wait()


def _wait(address: str, server: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end and server.poll() is None:
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:  # noqa: S310 - our own server
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.01)
    raise AssertionError("the server did not start")


async def _first_page(address: str) -> None:
    async with Visitor(address) as visitor:
        await visitor.go("")
        if visitor.page.faults:
            raise AssertionError(f"the first page told a fault: {visitor.page.faults}")


def _run(*arguments: str) -> None:
    subprocess.run([sys.executable, *arguments], cwd=_ROOT, check=True, stdout=subprocess.DEVNULL)


@bench("start: until the server answers")
def health() -> Job:
    """The server itself loads nothing of ours: the first page does."""
    bare = _folder() / "bare.py"
    ours = _ROOT / "streamlit_app.py"
    return Job(lambda: _serve(ours, page=False), lambda: _serve(bare, page=False), rounds=5)


@bench("start: until the first page stands")
def first_page() -> Job:
    """Today, with twenty items, in a store that exists."""
    bare = _folder() / "bare.py"
    ours = _ROOT / "streamlit_app.py"
    return Job(lambda: _serve(ours, page=True), lambda: _serve(bare, page=True), rounds=5, note="floor: one line")


@bench("start: bartack --help")
def help_of_commands() -> Job:
    return Job(
        lambda: _run("-m", "inspect_core.terminal", "--help"),
        lambda: _run("-c", "import click"),
        rounds=7,
        note="floor: Python and click alone",
    )
