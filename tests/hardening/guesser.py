"""Signs in again and again from a process of its own: `python -m tests.hardening.guesser STORE NAME PIN…`.

It waits for a line on standard input, then prints what was said to each as JSON."""

from __future__ import annotations

import json
import sys
from dataclasses import replace

from inspect_core import bootstrap
from inspect_core.domain.errors import BartackError
from inspect_core.usecases.sign_in import sign_in
from tests.usecases.locked import CHEAP


def main() -> None:
    store, name, *pins = sys.argv[1:]
    services = replace(bootstrap.open_services(store), hasher=CHEAP)
    print("ready", flush=True)
    sys.stdin.readline()
    said = []
    for pin in pins:
        try:
            said.append(f"open {sign_in(name, pin, services).actor.token}")
        except BartackError as refused:
            said.append(refused.problem)
    services.close()
    print(json.dumps(said), flush=True)


if __name__ == "__main__":
    main()
