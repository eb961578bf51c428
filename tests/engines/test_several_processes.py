"""Two processes of the program behind nginx, with the configuration that the guide gives: people stay where their
session is, and when a process ends its people go on in the other."""

from __future__ import annotations

import asyncio
import re
import shutil
import sys
import urllib.request
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import quote

import pytest

from tests.bench.load import free_port, nginx_over, running, until_it_answers
from tests.bench.load_person import Visitor
from tests.engines import pg_server
from tests.usecases.site import Site

pytestmark = pytest.mark.engine


def way_of(url: str) -> str:
    """The cookie that a browser gets with its first page."""
    with urllib.request.urlopen(f"{url}/", timeout=20) as answer:  # noqa: S310 - loopback only
        given = re.search(r"bartack_way=([0-9a-f]{32})", answer.headers["Set-Cookie"])
    assert given
    return given[0]


async def says_who(visitor: Visitor, item: str) -> None:
    await visitor.go("check", tag=item)
    (box,) = (w for label, w in visitor.page.of("selectbox") if label == "Your name")
    await visitor.pick(box, "Worker, worker")
    assert known(visitor) and visitor.page.faults == [], (box.options, visitor.page)


def known(visitor: Visitor) -> bool:
    return any(label == "Worker" for label, _ in visitor.page.of("button"))


async def people(url: str, ways: list[str], item: str, end_one: list[object]) -> None:
    async with asyncio.timeout(120):
        for way in ways:
            async with Visitor(url, way) as visitor:
                await says_who(visitor, item)
                await visitor.go("today")
                assert known(visitor)  # the session is the one that knows them
        end_one[0].kill()  # type: ignore[attr-defined]
        end_one[0].wait()  # type: ignore[attr-defined]
        for way in ways:
            async with Visitor(url, way) as visitor:
                await says_who(visitor, item)


def test_people_stay_with_their_process_and_outlive_it(tmp_path: Path) -> None:
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    if not (shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")):
        pytest.skip("the proxy nginx is not installed")
    with ExitStack() as stack:
        server = stack.enter_context(pg_server.serving())
        store = f"{server.make_database('several')}?folder={quote(str(tmp_path / 'store'), safe='')}"
        site = Site(store)  # type: ignore[arg-type]
        item = site.lanyard("WL-0001")
        site.services.close()
        apps, figures = {}, []
        for number in range(2):
            port, at = free_port(), free_port()
            command = [sys.executable, "-m", "streamlit", "run", "streamlit_app.py", "--server.port", str(port)]
            command += ["--server.headless", "true", "--server.address", "127.0.0.1"]
            settings = {"BARTACK_STORE": store, "BARTACK_FIGURES": f"127.0.0.1:{at}"}
            apps[port] = stack.enter_context(running(command, tmp_path / f"app{number}.log", **settings))
            figures.append(f"http://127.0.0.1:{at}/metrics")
        for port, app in apps.items():
            until_it_answers(f"http://127.0.0.1:{port}", app)
        front = nginx_over(tmp_path, list(apps))
        assert front
        proxy = stack.enter_context(running(front[0], tmp_path / "nginx.log"))
        url = f"http://127.0.0.1:{front[1]}"
        until_it_answers(url, proxy)
        ways = list(dict.fromkeys(way_of(url) for _ in range(12)))
        assert len(ways) == 12

        drawn = []

        class Ending:
            """Ends the first process, after both have told what they drew."""

            def kill(self) -> None:
                for one in figures:
                    with urllib.request.urlopen(one, timeout=10) as answer:  # noqa: S310 - loopback only
                        text = answer.read().decode()
                    drawn.append(sum(map(float, re.findall(r'_count{ended="drawn",screen="today"} (\S+)', text))))
                next(iter(apps.values())).kill()

            def wait(self) -> None:
                next(iter(apps.values())).wait()

        asyncio.run(people(url, ways, item.tag, [Ending()]))
        assert sum(drawn) >= 12 and min(drawn) > 0  # both had people
