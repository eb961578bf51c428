"""Two people decide one item at the same moment from two processes: one decision stands, the other person is told."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import quote

import pytest

from inspect_core.domain.custody import Move, State
from inspect_core.domain.inspection import InspectionType
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import RecordInspection, record
from inspect_core.usecases.verify import verify
from tests.engines import pg_server
from tests.usecases.site import Site

ROOT = Path(__file__).parents[2]


@pytest.fixture(params=["folder", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    if request.param == "folder":
        yield str(tmp_path / "store")
        return
    if pg_server.program("initdb") is None:
        pytest.skip("PostgreSQL not installed")
    with pg_server.serving() as server:
        yield f"{server.make_database('race')}?folder={quote(str(tmp_path), safe='')}"


def race(address: str, rounds: int) -> None:
    site = Site(address)  # type: ignore[arg-type]
    with ExitStack() as stack:
        people = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-m", "tests.engines.racer", address, person],
                    cwd=ROOT,
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    text=True,
                )
            )
            for person in (site.competent, site.second)
        ]
        stack.callback(lambda: [process.kill() for process in people])
        assert [process.stdout.readline() for process in people if process.stdout] == ["ready\n"] * 2
        won = [0, 0]
        seen: dict[str, None] = {}
        for number in range(rounds):
            # A release reads the item's whole life: a new item now and then keeps it short.
            item = site.lanyard(f"LAN-{number // 25}")
            seen[item.id] = None
            site.clock.move(minutes=1)
            make_move(MakeMove(f"hold-{number}", item.id, Move.HOLD, site.worker, "in doubt"), site.services)
            site.clock.move(minutes=1)
            command = RecordInspection(
                f"look-{number}", item.id, InspectionType.PERIODIC, site.competent, site.sound(item)
            )
            assert record(command, site.services).inspection.outcome.value == "in service"
            for place, process in enumerate(people):
                assert process.stdin
                process.stdin.write(f"{item.id} look-{number} release-{number}-{place}\n")
                process.stdin.flush()
            said = [process.stdout.readline().strip() for process in people if process.stdout]
            assert sorted(word.split(" ", 1)[0] for word in said) == ["done", "told"], said
            assert "told NotAllowed This item is in service; it cannot be moved by “release”." in said
            won[said.index("done")] += 1
            with site.services.unit_of_work() as uow:
                assert uow.items.standing(item.id).state is State.IN_SERVICE
        with site.services.unit_of_work() as uow:
            moves = [event.move for item_id in seen for event in uow.custody.of_item(item_id)]
        assert moves.count(Move.RELEASE) == moves.count(Move.HOLD) == rounds
        assert verify(site.services).faults == ()
    site.services.close()


@pytest.mark.engine
def test_of_two_who_decide_at_once_one_is_told(address: str) -> None:
    race(address, 12)


@pytest.mark.engine
@pytest.mark.slow
def test_of_two_who_decide_at_once_one_is_told_a_thousand_times(address: str) -> None:
    race(address, 1000)
