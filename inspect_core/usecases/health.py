"""Whether the program can do its work: asked by machines, so it names nobody and nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.usecases.jobs import figures
from inspect_core.usecases.services import Services

_NO_PHOTO = "0" * 64


def health(services: Services) -> Mapping[str, Any]:
    """`ok` with one answer each of database and photo store (“answers”, or what is wrong), how many jobs wait, run and
    failed lately, the number of the ledger's last entry and the version of the rules. Not `ok` either where jobs wait
    and nobody is there to take them. Never raises for a store that fails."""
    told: dict[str, Any] = {"rules": services.rules.version}
    try:
        with services.unit_of_work() as uow:
            head = uow.ledger.head()
        queue = figures(services)
        told["jobs"] = f"{queue.waiting} wait, {queue.running} run, {queue.failed} failed lately"
        if queue.stuck:
            told["jobs"] = f"no worker takes jobs: {queue.waiting} wait. Start “bartack work”."
        told["database"], told["entries"] = "answers", head.number if head else 0
    except BartackError as fault:
        told["database"] = fault.problem
    try:
        services.photos.has(_NO_PHOTO)
        told["photos"] = "answers"
    except BartackError as fault:
        told["photos"] = fault.problem
    told["ok"] = told["database"] == told["photos"] == "answers" and not queue.stuck
    return told
