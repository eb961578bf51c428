"""One process that moves a store, so that it can be killed in the middle: `python -m tests.engines.mover FROM TO BY`.

It says a line at each step, so that it can be killed at any of them. A process of its own and no fork: the bucket's
client works with threads.
"""

from __future__ import annotations

import sys

from inspect_core import bootstrap
from inspect_core.usecases.relocate import relocate


def main(source: str, target: str, by: str) -> None:
    services = bootstrap.open_services(source, closed=True)

    def progress(done: int, total: int, words: str) -> None:
        print(words, done, total, flush=True)

    progress(0, 0, "begun")
    relocate(services, target, by, bootstrap.open_services, progress=progress)
    services.close()


if __name__ == "__main__":
    main(*sys.argv[1:4])
