"""Real Chromium for every browser test: one browser, a phone and a desk, and Streamlit apps on free ports."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

playwright_api = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
START_SECONDS = 60
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
DESK = {"viewport": {"width": 1280, "height": 900}}

StartApp = Callable[..., str]
OpenPage = Callable[..., Any]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything below this folder drives a browser, marked so or not.

    A real browser on a busy machine sometimes waits past its time limit, or loses what it was about to press to a
    redraw. Only these errors of the browser's own, and nothing that a test asserts, are tried again; what fails twice
    more has failed.
    """
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.flaky(reruns=2, reruns_delay=2, only_rerun=["^TimeoutError: ", "^Error: "]))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """One Chromium for the whole session; skips, saying why, where none is installed."""
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        pytest.skip("no Chromium found; install it or name it in the variable CHROMIUM")
    with playwright_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable, args=list(CHROMIUM_ARGUMENTS))
        yield browser
        browser.close()


def _opener(chromium: Any, settings: Mapping[str, Any]) -> Iterator[OpenPage]:
    contexts = []

    def open_page(url: str | None = None, **more: Any) -> Any:
        context = chromium.new_context(**{**settings, **more})
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        if url is not None:
            page.goto(url)
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def phone(chromium: Any) -> Iterator[OpenPage]:
    """Opens pages on a phone: 390 by 844, touch. `phone(url, color_scheme="dark")`; each call is a new visitor."""
    yield from _opener(chromium, PHONE)


@pytest.fixture
def desk(chromium: Any) -> Iterator[OpenPage]:
    """Opens pages at a desk: 1280 by 900, mouse and keyboard."""
    yield from _opener(chromium, DESK)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for_health(url: str, process: subprocess.Popen[bytes], log: Path) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            break
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=2) as answer:  # noqa: S310 - loopback only
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.1)
    pytest.fail(f"the app did not start:\n{log.read_text(errors='replace')[-4000:]}")


@pytest.fixture(scope="session")
def start_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[StartApp]:
    """`start_app(script, env)` serves a Streamlit script on a free loopback port and returns its URL.

    The same script with the same `env` is started once per session. It runs in the project's folder, so the project's
    own .streamlit/config.toml applies.
    """
    running: dict[tuple[str, tuple[tuple[str, str], ...]], str] = {}
    processes: list[subprocess.Popen[bytes]] = []

    def start(script: Path | str, env: Mapping[str, str] | None = None) -> str:
        extra = dict(env or {})
        name = (str(script), tuple(sorted(extra.items())))
        if name in running:
            return running[name]
        port = _free_port()
        url = f"http://127.0.0.1:{port}"
        log = tmp_path_factory.mktemp("app") / "log.txt"
        command = [sys.executable, "-m", "streamlit", "run", str(script), "--server.port", str(port)]
        settings = {
            "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep),
            "STREAMLIT_BROWSER_GATHER_USAGE_STATS": "false",
            "STREAMLIT_SERVER_HEADLESS": "true",
            "STREAMLIT_SERVER_ADDRESS": "127.0.0.1",
            "STREAMLIT_SERVER_FILE_WATCHER_TYPE": "none",
        }
        with log.open("wb") as sink:
            process = subprocess.Popen(
                command, cwd=ROOT, env={**os.environ, **settings, **extra}, stdout=sink, stderr=subprocess.STDOUT
            )
        processes.append(process)
        _wait_for_health(url, process, log)
        running[name] = url
        return url

    yield start
    for process in processes:
        process.terminate()
    for process in processes:
        process.wait(timeout=20)
