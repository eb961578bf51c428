"""What each kind of job does. Every one can be begun again after it was cut off: what is there is not made twice.

Each takes the job, the services with what was granted, and `progress(done, total, words)`, and gives back what came out
as plain data. The programs they need are loaded only when one is done.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any, Protocol

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.domain.jobs import Job, JobKind
from inspect_core.ports_jobs import JobFiles
from inspect_core.usecases.services import Services

#: What came out of an export or an archive; and of a what-if, with everything that the screen only counts.
TAKEN, REPORT = "taken.zip", "report.json"
#: The photos that were handed in, in order, as [file, name].
ROLL_LIST = "roll.json"
_MOST_TOLD = 100


class Progress(Protocol):
    def __call__(self, done: int, total: int, words: str = "") -> None: ...


def _files(services: Services) -> JobFiles:
    assert services.job_files is not None  # noqa: S101 - nothing can be asked for without
    return services.job_files


def _roll(job: Job, services: Services, progress: Progress) -> dict[str, Any]:
    """Takes photos into a roll. Those that it holds already are passed over by their bytes alone."""
    from inspect_core.usecases.roll import read_photo

    files = _files(services)
    listed: list[tuple[str, str]] = json.loads(files.read(job.id, ROLL_LIST))
    with services.unit_of_work() as uow:
        held = {photo.photo_id for photo in uow.rolls.photos(job.subject)}
    refused: list[list[str]] = []
    handed_in: set[str] = set()
    for done, (place, name) in enumerate(listed):
        progress(done, len(listed), "photos")
        data = files.read(job.id, place)
        photo_id = hashlib.sha256(data).hexdigest()
        handed_in.add(photo_id)
        if photo_id in held:
            continue
        try:
            read_photo(job.subject, data, name, services)
            held.add(photo_id)
        except StoreFault:  # says nothing against the photo: what was handed in stays for another beginning
            raise
        except BartackError as error:
            refused.append([name, error.problem, error.remedy])
    with services.unit_of_work() as uow:
        now = [photo.photo_id for photo in uow.rolls.photos(job.subject)]
    # Counted by what was there when it was asked for, so that a second beginning gives the same answer.
    fresh = len(set(now[int(job.wanted.get("held", 0)) :]) & handed_in)
    return {"fresh": fresh, "twice": len(listed) - fresh - len(refused), "refused": refused}


def _what_if(job: Job, services: Services, progress: Progress) -> dict[str, Any]:
    """Weighs the past by the rule files that were handed in, or by the rules of today where there are none."""
    from inspect_core.rules.loader import load_rules
    from inspect_core.usecases.what_if import report_plain, what_if

    files = _files(services)
    progress(0, 0, "inspections")
    handed_in = any(name.endswith(".toml") for name in files.names(job.id))
    other = load_rules(files.place(job.id, REPORT).parent) if handed_in else services.rules
    report = report_plain(what_if(services, other, progress=lambda done, total: progress(done, total, "inspections")))
    files.put(job.id, REPORT, json.dumps(report, ensure_ascii=False, indent=1).encode())
    concerned = report["items_in_service"]
    return {
        "rules": [other.version, other.digest],
        "cases": report["cases"],
        "changes": len(report["changes"]),
        "by_rule": list(report["by_rule"].items())[:_MOST_TOLD],
        "refused": len(report["refused"]),
        "concerned": len(concerned),
        "items": [
            [one["tag"], one["on"], one["would_be"], [finding["reason"] for finding in one["appearing"]][:3]]
            for one in concerned[:_MOST_TOLD]
        ],
    }


def _export(job: Job, services: Services, progress: Progress) -> dict[str, Any]:
    from inspect_core.usecases.export import Export, export

    wanted = dict(job.wanted)
    since = wanted.pop("since", None)
    chosen = Export(since=date.fromisoformat(since) if since else None, **wanted)

    def write(place: Path) -> dict[str, Any]:
        made = export(place, chosen, job.asked_by, services, progress)
        return {"missing": made.missing[:_MOST_TOLD], "photos": made.photos}

    return _taken(job, services, "export", write)


def _archive(job: Job, services: Services, progress: Progress) -> dict[str, Any]:
    from inspect_core.usecases.archive import archive

    def write(place: Path) -> dict[str, Any]:
        made = archive(place, job.asked_by, services, progress)
        return {"entries": made.entries, "photos": made.photos}

    return _taken(job, services, "archive", write)


def _taken(job: Job, services: Services, what: str, write: Callable[[Path], dict[str, Any]]) -> dict[str, Any]:
    """A file to be fetched. It has its name only when it is whole; what an earlier beginning left is thrown away."""
    from inspect_core.usecases.take_away import check_size

    check_size(services)
    files = _files(services)
    files.forget(job.id)
    place = files.place(job.id, TAKEN)
    told = write(place)
    day = services.today().isoformat()
    return {**told, "name": f"bartack-{what}-{day}.zip", "bytes": place.stat().st_size}


#: What was handed in for these is of no use once their end is kept.
USED_UP = frozenset({JobKind.ROLL})
DOING: Mapping[JobKind, Callable[[Job, Services, Progress], dict[str, Any]]] = MappingProxyType(
    {JobKind.ROLL: _roll, JobKind.WHAT_IF: _what_if, JobKind.EXPORT: _export, JobKind.ARCHIVE: _archive}
)
