"""Feeding spoilt inputs under watch: what they raise, how long each takes, and what is written where."""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

from inspect_core.domain.errors import BartackError

LONGEST = 2.0


class Hung(BaseException):
    """An input took more than two seconds of this process's own time. No error of the usual kind, so that no handler
    of those takes it for a refusal."""


@contextmanager
def watched() -> Iterator[None]:
    """Ends what takes too long; own time, so that a busy machine is no fault."""

    def ring(_signal: int, _frame: FrameType | None) -> None:
        raise Hung

    before = signal.signal(signal.SIGVTALRM, ring)
    signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def attack(name: str, many: int, spoil: Callable[[random.Random], Any], use: Callable[[Any], object]) -> dict[str, Any]:
    """Feeds spoilt inputs; returns how many were taken and refused, and the slowest with its seed. Anything but a
    refusal in words is a failure that names its seed: `random.Random(f"{name}{seed}")` makes the same input again."""
    told: dict[str, Any] = {"taken": 0, "refused": 0, "slowest": (0.0, -1)}
    for seed in range(many):
        given = spoil(random.Random(f"{name}{seed}"))
        begun = time.process_time()
        try:
            with watched():
                use(given)
            told["taken"] += 1
        except BartackError as refusal:
            assert refusal.problem and refusal.remedy, (name, seed)
            told["refused"] += 1
        except (Exception, Hung) as fault:
            raise AssertionError(f"{name}, seed {seed}: {type(fault).__name__}: {fault}") from fault
        took = time.process_time() - begun  # a library that does not look up cannot be rung at, so it is measured too
        assert took < LONGEST, f"{name}, seed {seed}: took {took:.1f} s"
        told["slowest"] = max(told["slowest"], (took, seed))
    return told


# Where is it written? -----------------------------------------------------------------------------------------------

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
#: Events of the interpreter that change a file, with the places of each path, and of the open folder to which it is
#: relative (none: -1), among their arguments.
_CHANGES: dict[str, tuple[tuple[int, int], ...]] = {
    "os.mkdir": ((0, 2),),
    "os.remove": ((0, 1),),
    "os.rmdir": ((0, 1),),
    "os.truncate": ((0, -1),),
    "os.chmod": ((0, 2),),
    "os.chown": ((0, 3),),
    "os.rename": ((0, 2), (1, 3)),
    "os.link": ((0, 2), (1, 3)),
    "os.symlink": ((1, 2),),
    "sqlite3.connect": ((0, -1),),
}
_REACHES = ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.fork", "socket.connect", "socket.bind")
_inside: Path | None = None
_strays: list[str] = []
_listening = False


def _hear(event: str, arguments: tuple[Any, ...]) -> None:
    if _inside is None:
        return
    if event in _REACHES:
        _strays.append(f"{event} {arguments[:1]!r}")
        return
    if event == "open":
        path, _mode, flags = arguments
        places = [(path, -1)] if flags & _WRITES else []
    else:
        places = [(arguments[at], arguments[base] if base > 0 else -1) for at, base in _CHANGES.get(event, ())]
    for place, base in places:
        if isinstance(place, int) or os.fspath(place) in (os.devnull, ":memory:"):
            continue
        folder = f"/proc/self/fd/{base}" if isinstance(base, int) and base >= 0 else ""
        path = Path(os.path.realpath(os.path.join(folder, os.fsdecode(place))))  # noqa: PTH118 - a path may be bytes
        if not path.is_relative_to(_inside):
            _strays.append(f"{event} {path}")


@contextmanager
def nothing_written_outside(folder: Path) -> Iterator[None]:
    """Fails where anything inside the block writes, makes, renames or removes outside of `folder`, runs a program or
    opens a connection. What the interpreter itself tells of is heard, whether or not it worked."""
    global _inside, _listening
    if not _listening:
        sys.addaudithook(_hear)  # it cannot be taken away again, so it is one that does nothing outside of such a block
        _listening = True
    bytecode, sys.dont_write_bytecode = sys.dont_write_bytecode, True
    _strays.clear()
    _inside = folder.resolve()
    try:
        yield
    finally:
        _inside, sys.dont_write_bytecode = None, bytecode
    assert not _strays, _strays[:20]
