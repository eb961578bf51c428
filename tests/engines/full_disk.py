"""A disk of its own that a test may fill: a small file system in memory, which only root can mount."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

_BLOCK = 4096


@dataclass
class SmallDisk:
    folder: Path

    @property
    def _ballast(self) -> Path:
        return self.folder / "ballast"

    def fill(self, leave: int = 0) -> None:
        """Takes all room but so many bytes."""
        with self._ballast.open("ab") as ballast, suppress(OSError):
            while (room := self.room() - leave) >= _BLOCK:
                ballast.write(b"\0" * min(room, 1 << 20))
                ballast.flush()

    def room(self) -> int:
        told = os.statvfs(self.folder)
        return told.f_bavail * told.f_frsize

    def clear(self) -> None:
        """Gives the room back."""
        self._ballast.unlink(missing_ok=True)


@contextmanager
def small_disk(folder: Path, megabytes: int, *, owner: str | None = None) -> Iterator[SmallDisk]:
    """Mounted at `folder` while the block lasts. Skips, saying why, where none can be mounted."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m,mode=0755", "none", str(folder)]
    if shutil.which("mount") is None or subprocess.run(mount, check=False, capture_output=True).returncode:
        pytest.skip("no small disk can be mounted here to be filled (needs root)")
    try:
        if owner is not None:
            shutil.chown(folder, owner, owner)
        yield SmallDisk(folder)
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)
