"""Asking for each kind of job: what a screen hands in becomes files and choices of a job."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path

from inspect_core.domain.errors import BadInput
from inspect_core.domain.jobs import Job, JobKind
from inspect_core.rules.loader import load_rules
from inspect_core.usecases import jobs
from inspect_core.usecases.export import Export
from inspect_core.usecases.job_kinds import ROLL_LIST
from inspect_core.usecases.roll import MOST_IN_ROLL
from inspect_core.usecases.services import Services

_RULE_FILE = re.compile(r"[0-9A-Za-z_][0-9A-Za-z_-]{0,59}\.toml")
_MOST_RULE_FILES = 100
_MOST_RULE_BYTES = 5_000_000


def read_roll(
    roll_id: str, photos: Sequence[tuple[str, bytes]], by: str, services: Services, *, job_id: str | None = None
) -> Job:
    """Have photos, as (name, bytes) in their order, read into a roll. They are safe on disk when this returns. Raises
    NotFound for an unknown roll, BadInput where they are too many."""
    with services.unit_of_work() as uow:
        uow.rolls.get(roll_id)
        held = len(uow.rolls.photos(roll_id))
    if held + len(photos) > MOST_IN_ROLL:
        raise BadInput(f"More than {MOST_IN_ROLL} photos in one roll.", "Begin another roll for the rest.")
    listed = [(f"photo-{number:04}", name) for number, (name, _) in enumerate(photos)]
    handed_in = {place: data for (place, _), (_, data) in zip(listed, photos, strict=True)}
    return jobs.ask(
        JobKind.ROLL,
        by,
        services,
        job_id=job_id,
        subject=roll_id,
        wanted={"held": held},
        files={**handed_in, ROLL_LIST: json.dumps(listed).encode()},
    )


def ask_what_if(by: str, changed: Mapping[str, bytes], services: Services, *, job_id: str | None = None) -> Job:
    """Have the past weighed by the rules of today, or by those with some files changed: {name: content}, of which each
    takes the place of the file of that name or stands beside the others. Raises BadRules with every fault in them."""
    for name in changed:
        if not _RULE_FILE.fullmatch(name):
            raise BadInput(f"“{name[:40]}” is no rule file.", "Rule files are named in plain letters and end in .toml.")
    if len(changed) > _MOST_RULE_FILES or sum(map(len, changed.values())) > _MOST_RULE_BYTES:
        raise BadInput("These are too many rule files.", "Give only those that you changed.")
    whole: dict[str, bytes] = {}
    if changed:
        packaged = files("inspect_core.rules") / "data"
        whole = {one.name: one.read_bytes() for one in packaged.iterdir() if one.name.endswith(".toml")}
        whole.update(changed)
        with tempfile.TemporaryDirectory(prefix="bartack-") as folder:
            for name, content in whole.items():
                (Path(folder) / name).write_bytes(content)
            load_rules(Path(folder))  # faults are told to whoever asks, not later
    return jobs.ask(JobKind.WHAT_IF, by, services, job_id=job_id, wanted={"changed": len(changed)}, files=whole)


def ask_export(wanted: Export, by: str, services: Services, *, job_id: str | None = None) -> Job:
    """Have everything recorded written as a zip file."""
    choices = {
        "format": wanted.format,
        "since": wanted.since.isoformat() if wanted.since else None,
        "photos": wanted.photos,
        "originals": wanted.originals,
        "with_location": wanted.with_location,
    }
    return jobs.ask(JobKind.EXPORT, by, services, job_id=job_id, wanted=choices)


def ask_archive(by: str, services: Services, *, job_id: str | None = None) -> Job:
    """Have an archive made as a zip file."""
    return jobs.ask(JobKind.ARCHIVE, by, services, job_id=job_id)
