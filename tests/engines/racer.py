"""One of two people who decide at the same moment: `python -m tests.engines.racer STORE PERSON`.

Reads lines ITEM INSPECTION EVENT, releases the item at once, and answers “done”, or “told” with what it was told.
"""

from __future__ import annotations

import sys

from inspect_core.bootstrap import open_services
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BartackError
from inspect_core.usecases.custody import MakeMove, make_move


def main() -> None:
    store, person = sys.argv[1:]
    services = open_services(store)
    print("ready", flush=True)
    for line in sys.stdin:
        item, inspection, event = line.split()
        command = MakeMove(event, item, Move.RELEASE, person, "found fit", inspection_id=inspection)
        try:
            make_move(command, services)
        except BartackError as refusal:
            print(f"told {type(refusal).__name__} {refusal.problem}", flush=True)
        else:
            print("done", flush=True)


if __name__ == "__main__":
    main()
