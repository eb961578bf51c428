"""The page server as a stranger meets it, over plain sockets: foreign pages, forged uploads, paths that lead out."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from websockets.exceptions import InvalidHandshake
from websockets.sync.client import connect

ROOT = Path(__file__).parent.parent.parent

pytestmark = pytest.mark.slow
#: What an address that names nothing gets: the page, which then says so.
PAGE = b'<div id="root">'


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        free = int(probe.getsockname()[1])
    store = tmp_path_factory.mktemp("served") / "store"
    command = [sys.executable, "-m", "streamlit", "run", "streamlit_app.py", "--server.port", str(free)]
    command += ["--server.address", "127.0.0.1", "--server.headless", "true"]
    running = subprocess.Popen(command, cwd=ROOT, env={**os.environ, "BARTACK_STORE": str(store)})
    try:
        for _ in range(600):
            try:
                if _asked(free, "GET", "/_stcore/health")[0] == 200:
                    break
            except OSError:
                time.sleep(0.1)
        yield free
    finally:
        running.terminate()
        running.wait(20)


def _asked(port: int, method: str, path: str, body: bytes = b"", **headers: str) -> tuple[int, bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        connection.putrequest(method, path, skip_host="Host" in headers)
        for name, value in {"Content-Length": str(len(body)), **headers}.items():
            connection.putheader(name, value)
        connection.endheaders(body)
        answer = connection.getresponse()
        return answer.status, answer.read()
    finally:
        connection.close()


def test_a_foreign_page_opens_no_session(port: int) -> None:
    address = f"ws://127.0.0.1:{port}/_stcore/stream"
    with connect(address, origin=f"http://127.0.0.1:{port}", subprotocols=["streamlit"]):  # type: ignore[list-item]
        pass
    for origin in ("http://evil.example", "https://127.0.0.1.evil.example", "null", f"http://localhost.evil:{port}"):
        with pytest.raises(InvalidHandshake):
            connect(address, origin=origin, subprotocols=["streamlit"])  # type: ignore[list-item,arg-type]


def test_an_upload_without_the_sites_token_is_refused(port: int) -> None:
    boundary = b'--x\r\nContent-Disposition: form-data; name="f"; filename="a.jpg"\r\n\r\nx\r\n--x--\r\n'
    kind = {"Content-Type": "multipart/form-data; boundary=x", "Origin": "http://evil.example"}
    for headers in (kind, {**kind, "X-Xsrftoken": "forged", "Cookie": "_streamlit_xsrf=forged"}):
        status, _ = _asked(port, "PUT", "/_stcore/upload_file/anybody/anything", boundary, **headers)
        assert status in (400, 401, 403), status


@pytest.mark.parametrize(
    "path",
    [
        "/../../../../etc/passwd",
        "/..%2f..%2f..%2fetc/passwd",
        "/static/../../../../etc/passwd",
        "/static/..%2f..%2fweb/server/server.py",
        "/app/static/../config.toml",
        "/.streamlit/config.toml",
        "/media/../../../etc/passwd",
        "/media/" + "a" * 56 + ".jpg",
        "/component/x/../../../../etc/passwd",
        "/_stcore/component/%00",
    ],
)
def test_no_path_leads_out_or_tells_of_the_inside(port: int, path: str) -> None:
    status, body = _asked(port, "GET", path)
    assert b"root:" not in body and b"maxUploadSize" not in body and b"Traceback" not in body
    assert status >= 400 or PAGE in body


def test_there_is_no_address_for_agents_and_none_of_static_files(port: int) -> None:
    for path in ("/_stcore/agent", "/_stcore/agent/sessions", "/app/static/x"):
        status, body = _asked(port, "GET", path)
        assert status >= 400 or PAGE in body
    status, _ = _asked(port, "POST", "/_stcore/agent/mcp", b"{}", **{"Content-Type": "application/json"})
    assert status >= 400
