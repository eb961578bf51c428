"""`python -m tests.bench.load` lets a site's people click through the program at once and says how long they wait.

Two processes of the program behind nginx (where it is installed) over a PostgreSQL server that is started for it, with
the demo site in it, one worker for jobs, and fifty people with five seconds between their clicks: today's page, an
item's page, a search, a check before use up to its record. Server, database and people share the machine. All of it
listens on this machine alone and ends after `--seconds`.

    python -m tests.bench.load --seconds 600              the whole run, ten minutes and about two to prepare
    python -m tests.bench.load --seconds 60 --people 50   a short one while mending
    python -m tests.bench.load --store ADDRESS …          over a store on a server that is there already
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from urllib.parse import quote
from uuid import uuid4

from inspect_core.bootstrap import open_services
from inspect_core.domain.custody import State
from inspect_core.domain.people import Role
from inspect_core.usecases.demo import fill_demo
from inspect_core.usecases.register import RegisterItem, parse_item, register
from inspect_core.usecases.services import Services
from tests.bench.load_person import Visitor
from tests.engines import pg_server

ROOT = Path(__file__).parents[2]
#: What is promised: so much of the reruns within so long, and memory that grows by no more than this after the people
#: have come in.
SHARE, MOST_SECONDS, MOST_GROWTH = 0.95, 0.5, 1.05
#: What docs/server/Procfile asks for as well: threads by the dozen otherwise keep memory that none of them needs.
_AS_THE_GUIDE = {"MALLOC_ARENA_MAX": "2"}
_SEARCHES = ("rust", "webbing", "hook", "cut", "North", "2025", "lanyard", "label")
_CHECKS = 0.25  # of visits
_ITEMS = 150


@dataclass
class Seen:
    """What the people saw: seconds by what they did, faults, and the memory of the processes by the second."""

    took: dict[str, list[float]] = field(default_factory=dict)
    faults: Counter[str] = field(default_factory=Counter)
    memory: list[tuple[float, int]] = field(default_factory=list)
    recorded: int = 0
    processor: float = 0.0

    def add(self, what: str, seconds: float) -> None:
        self.took.setdefault(what, []).append(seconds)

    @property
    def all(self) -> list[float]:
        return [one for many in self.took.values() for one in many]


def _share(values: Sequence[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else 0.0


class Person:
    """Goes from screen to screen. `pause`: seconds between two clicks."""

    def __init__(self, url: str, name: str, tags: Sequence[str], seen: Seen, dice: random.Random, pause: float) -> None:
        self._url, self._name, self._tags, self._seen = url, name, tags, seen
        self._dice, self._pause = dice, pause

    async def work(self, until: float) -> None:
        await asyncio.sleep(self._dice.uniform(0, 2 * self._pause))
        while time.monotonic() < until:
            try:
                async with Visitor(self._url, f"bartack_way={uuid4().hex}") as visitor:
                    await self._visit(visitor, until)
            except Exception as error:
                self._seen.faults[f"{type(error).__name__}: {str(error)[:80]}"] += 1
                await asyncio.sleep(1)

    async def _visit(self, visitor: Visitor, until: float) -> None:
        """A sitting: comes in, says who they are, then some dozens of clicks, then closes the browser."""
        await self._told("first page", visitor, visitor.go(""))
        await self._told("says who", visitor, visitor.go("check", tag=self._tag()))
        await self._says_who(visitor)
        for _ in range(self._dice.randint(8, 16)):
            if time.monotonic() >= until:
                return
            if self._dice.random() < _CHECKS:
                await self._check(visitor, until)
                continue
            what = self._dice.choice(("today", "item", "item", "search"))
            if what == "search":
                await self._told("opens search", visitor, visitor.go("search"))
                box = next((w for label, w in visitor.page.of("text_input")), None)
                if box is not None:
                    await self._told("searches", visitor, visitor.write(box, self._dice.choice(_SEARCHES)))
            elif what == "item":
                await self._told("item", visitor, visitor.go("item", tag=self._tag()))
            else:
                await self._told("today", visitor, visitor.go(""))

    async def _says_who(self, visitor: Visitor) -> None:
        box = next((w for label, w in visitor.page.of("selectbox") if label == "Your name"), None)
        if box is not None:
            chosen = next((one for one in box.options if one.startswith(self._name)), box.options[0])
            await self._told("says who", visitor, visitor.pick(box, chosen))

    async def _check(self, visitor: Visitor, until: float) -> None:
        """A check before use: nothing happened, every part sound, recorded."""
        await self._told("opens a check", visitor, visitor.go("check", tag=self._tag()))
        await self._says_who(visitor)
        answered: set[str] = set()
        for _ in range(30):
            if time.monotonic() >= until:
                return
            open_ = [w for _, w in visitor.page.of("button_group") if w.id not in answered and not list(w.default)]
            buttons = dict(visitor.page.of("button"))
            onward = next((w for label, w in buttons.items() if label.startswith("Next")), buttons.get("Record it"))
            if open_:
                answered.add(open_[0].id)
                await self._told("answers a part", visitor, visitor.choose(open_[0], 0))
            elif onward is None:
                return
            elif onward.label == "Record it":
                await self._told("records", visitor, visitor.press(onward))
                self._seen.recorded += not visitor.page.faults
                return
            else:
                await self._told("next step", visitor, visitor.press(onward))

    async def _told(self, what: str, visitor: Visitor, click: object) -> None:
        self._seen.add(what, await click)  # type: ignore[misc]
        for fault in visitor.page.faults:
            self._seen.faults[f"{what}: {fault[:120]}"] += 1
        faults = len(visitor.page.faults)
        await visitor.look()
        for fault in visitor.page.faults[faults:]:
            self._seen.faults[fault] += 1
        await asyncio.sleep(self._dice.uniform(0.8, 1.2) * self._pause)

    def _tag(self) -> str:
        return self._dice.choice(self._tags)


def _stock(services: Services) -> None:
    """Sees to it that enough gear is in service: lanyards that are new and due nowhere soon, so that a check with every
    part sound lets them pass and they can be checked again."""
    with services.unit_of_work() as uow:
        there = len(uow.items.rows(states=(State.IN_SERVICE,)))
        by = next(one.id for one in uow.people.all() if one.role is Role.COMPETENT_PERSON)
    today = services.today()
    for number in range(there, _ITEMS):
        given = {
            **{"tag": f"LOAD-{number:03}-{uuid4().hex[:4]}", "kind": "webbing lanyard", "site": "North yard"},
            **{"maker": "Maker A", "model": "A10", "serial": uuid4().hex[:10], "fibre": "polyester"},
            "made_on": (today - timedelta(days=200)).isoformat(),
            "first_used_on": (today - timedelta(days=20)).isoformat(),
            **{"webbing_width_mm": 45, "packed_length_mm": 210},
        }
        register(RegisterItem(parse_item(given, services.new_id()), by), services)


async def _warm(url: str, tag: str) -> None:
    """The first visitor of a process waits while everything is loaded; that is a start-up's time, told elsewhere."""
    async with Visitor(url) as visitor:
        await visitor.go("")
        for page in ("item", "check"):
            await visitor.go(page, tag=tag)
        await visitor.go("search")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def until_it_answers(url: str, process: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + 90
    while time.monotonic() < end and process.poll() is None:
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=2):  # noqa: S310 - loopback only
                return
        except OSError:
            time.sleep(0.1)
    raise SystemExit(f"{url} did not start.")


@contextmanager
def running(command: Sequence[str], log: Path, **environment: str) -> Iterator[subprocess.Popen[bytes]]:
    with log.open("wb") as sink:
        process = subprocess.Popen(
            command, cwd=ROOT, env={**os.environ, **environment}, stdout=sink, stderr=subprocess.STDOUT
        )
    try:
        yield process
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def nginx_over(folder: Path, ports: Sequence[int]) -> tuple[list[str], int] | None:
    """How to start nginx with the project's own configuration on free ports; None where it is not installed."""
    program = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if program is None:
        return None
    port = free_port()
    text = (ROOT / "docs" / "server" / "nginx.conf").read_text(encoding="utf-8")
    servers = "\n".join(f"        server 127.0.0.1:{one} max_fails=1 fail_timeout=5s;" for one in ports)
    text = re.sub(r"(?:^ +server 127\.0\.0\.1:\d+ .*\n)+", servers + "\n", text, flags=re.MULTILINE)
    text = text.replace("127.0.0.1:8500", f"127.0.0.1:{port}").replace("/tmp/bartack-nginx", f"{folder}/nginx")  # noqa: S108
    (folder / "nginx.conf").write_text(text, encoding="utf-8")
    user = ["-g", f"user {pg_server.ACCOUNT};"] if os.geteuid() == 0 else []
    return [program, "-p", str(folder), "-c", str(folder / "nginx.conf"), *user], port


def _rss(process: subprocess.Popen[bytes]) -> int:
    """Resident memory in bytes."""
    text = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    return int(text.split("VmRSS:")[1].split()[0]) * 1024


def _processor(process: subprocess.Popen[bytes]) -> float:
    """Processor time that it has used, in seconds."""
    used = Path(f"/proc/{process.pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    return (int(used[11]) + int(used[12])) / os.sysconf("SC_CLK_TCK")


async def _crowd(
    url: str,
    people: int,
    seconds: float,
    pause: float,
    store: str,
    apps: dict[str, subprocess.Popen[bytes]],
    seen: Seen,
) -> None:
    services = open_services(store)
    _stock(services)
    with services.unit_of_work() as uow:
        rows = uow.items.rows(states=(State.IN_SERVICE,))
        names = [person.name for person in uow.people.all() if person.active]
    services.close()
    tags = [row.item.tag for row in rows]
    for one in apps:
        await _warm(one, tags[0])
    begun = time.monotonic()
    until = begun + seconds

    async def weigh() -> None:
        while time.monotonic() < until:
            seen.memory.append((time.monotonic() - begun, sum(map(_rss, apps.values()))))
            await asyncio.sleep(1)

    crowd = [Person(url, names[n % len(names)], tags, seen, random.Random(n), pause).work(until) for n in range(people)]
    before = sum(map(_processor, apps.values()))
    await asyncio.gather(weigh(), *crowd)
    seen.processor = sum(map(_processor, apps.values())) - before


def _report(seen: Seen, seconds: float, people: int, behind: str, processes: int) -> int:
    every = seen.all
    print(f"{people} people, {processes} processes, {behind}, {seconds:.0f} s: {len(every):,} reruns,", end=" ")
    print(f"{len(every) / seconds:.1f} a second, {seen.recorded} checks recorded")
    print(f"{'what':<18}{'reruns':>8}{'median ms':>11}{'95 % ms':>9}{'most ms':>9}")
    for what, took in [*sorted(seen.took.items()), ("all", every)]:
        row = (statistics.median(took), _share(took, SHARE), max(took)) if took else (0.0, 0.0, 0.0)
        print(f"{what:<18}{len(took):>8,}{row[0] * 1000:>11.0f}{row[1] * 1000:>9.0f}{row[2] * 1000:>9.0f}")
    print(
        f"processor: {seen.processor * 1000 / max(1, len(every)):.0f} ms a rerun in the program's processes", end=", "
    )
    print(f"{seen.processor / seconds:.2f} cores")
    marks = [0.0, *(m for m in (120, 300, 600) if m < seconds), seconds] if seconds > 120 else [0, seconds / 2, seconds]
    at = {mark: min(seen.memory, key=lambda one, m=mark: abs(one[0] - m))[1] for mark in dict.fromkeys(marks)}  # type: ignore[misc]
    print("memory of all processes: " + ", ".join(f"{size / 1e6:.0f} MB at {mark:.0f} s" for mark, size in at.items()))
    base = at[marks[1]]
    growth = at[marks[-1]] / base
    for fault, many in seen.faults.most_common(10):
        print(f"fault, {many} times: {fault}")
    within = sum(one <= MOST_SECONDS for one in every) / len(every) if every else 0.0
    told = [
        (f"{within:.1%} of reruns within {MOST_SECONDS * 1000:.0f} ms, {SHARE:.0%} wanted", within >= SHARE),
        (f"{sum(seen.faults.values())} errors, none wanted", not seen.faults),
        (
            f"memory × {growth:.3f} from {marks[1]:.0f} s to the end, at most {MOST_GROWTH} wanted",
            growth <= MOST_GROWTH,
        ),
    ]
    for words, met in told:
        print(f"{'met' if met else 'MISSED'}: {words}")
    return 0 if all(met for _, met in told) else 1


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.load", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--people", type=int, default=50)
    parser.add_argument("--pause", type=float, default=5.0, help="seconds between two clicks of one person")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--store", help="address of a store on a server that holds items and people already")
    parser.add_argument("--pids", help="file that gets the processes' numbers, for a profiler")
    given = parser.parse_args(arguments)
    seen = Seen()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="load", dir="/tmp")))
        folder.chmod(0o755)
        store = given.store
        if store is None:
            server = stack.enter_context(pg_server.serving())
            store = f"{server.make_database('load')}?folder={quote(str(folder / 'store'), safe='')}"
            print("The demo site is being made …", flush=True)
            services = open_services(store)
            fill_demo(services)
            services.close()
        ports = [free_port() for _ in range(given.processes)]
        apps: dict[str, subprocess.Popen[bytes]] = {}
        for number, port in enumerate(ports):
            command = [sys.executable, "-m", "streamlit", "run", "streamlit_app.py", "--server.port", str(port)]
            command += ["--server.headless", "true", "--server.address", "127.0.0.1"]
            log = folder / f"app{number}.log"
            apps[f"http://127.0.0.1:{port}"] = stack.enter_context(
                running(command, log, BARTACK_STORE=store, **_AS_THE_GUIDE)
            )
        worker = [sys.executable, "-m", "inspect_core.terminal", "--store", store, "work"]
        stack.enter_context(running(worker, folder / "worker.log"))
        for one, app in apps.items():
            until_it_answers(one, app)
        front = nginx_over(folder, ports)
        if front is not None:
            stack.enter_context(running(front[0], folder / "nginx.log"))
            time.sleep(0.5)
        elif given.processes > 1:
            raise SystemExit("Install nginx, or try one process: --processes 1.")
        url = f"http://127.0.0.1:{front[1] if front else ports[0]}"
        if given.pids:
            Path(given.pids).write_text(" ".join(str(app.pid) for app in apps.values()), encoding="ascii")
        asyncio.run(_crowd(url, given.people, given.seconds, given.pause, store, apps, seen))
        for number in range(given.processes):
            lines = (folder / f"app{number}.log").read_text(encoding="utf-8", errors="replace").splitlines()
            seen.faults.update(f"log: {line[:120]}" for line in lines if "Error" in line or "Trace" in line)
        return _report(seen, given.seconds, given.people, "behind nginx" if front else "no proxy", given.processes)


if __name__ == "__main__":
    sys.exit(main())
