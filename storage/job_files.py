"""Files of jobs in a folder: what was handed in for one, and what came out of it until somebody fetched it.

    FOLDER/3f9a…/roll.json …      one folder for each job, named by its id

Nothing in it is a record: what matters is kept elsewhere when a job ends, and the folder goes after some days.
"""

from __future__ import annotations

import os
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

from inspect_core.domain.errors import NotFound
from storage.faults import disk_faults

_ID = re.compile(r"[0-9a-f]{32}")
_NAME = re.compile(r"[0-9A-Za-z_][0-9A-Za-z_.-]{0,99}")


class JobFilesOnDisk:
    """Fulfils JobFiles. The folder is made with mode 0700 when it is first needed."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def put(self, job_id: str, name: str, content: bytes) -> None:
        place = self.place(job_id, name)
        aside = place.with_name(f".{name}.part")
        with disk_faults():
            with aside.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            aside.rename(place)

    def names(self, job_id: str) -> tuple[str, ...]:
        with disk_faults():
            folder = self._of(job_id)
            found = folder.iterdir() if folder.is_dir() else ()
            return tuple(sorted(path.name for path in found if not path.name.startswith(".")))

    def read(self, job_id: str, name: str) -> bytes:
        with disk_faults():
            try:
                return self._place(job_id, name).read_bytes()
            except FileNotFoundError:
                raise NotFound("This file is no longer kept.", "Ask for it again.") from None

    def place(self, job_id: str, name: str) -> Path:
        place = self._place(job_id, name)
        with disk_faults():
            for folder in (self._folder, place.parent):
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return place

    def forget(self, job_id: str) -> None:
        with disk_faults():
            if self._of(job_id).exists():
                shutil.rmtree(self._of(job_id))

    def forget_old(self, before: datetime) -> None:
        with disk_faults():
            for folder in self._folder.iterdir() if self._folder.is_dir() else ():
                touched = datetime.fromtimestamp(folder.stat().st_mtime, UTC)
                if _ID.fullmatch(folder.name) and touched < before:
                    shutil.rmtree(folder, ignore_errors=True)

    def _of(self, job_id: str) -> Path:
        if not _ID.fullmatch(job_id):
            raise NotFound("No such job is known.", "Ask for it again.")
        return self._folder / job_id

    def _place(self, job_id: str, name: str) -> Path:
        if not _NAME.fullmatch(name):
            raise NotFound("No such file is known.", "Ask for it again.")
        return self._of(job_id) / name
