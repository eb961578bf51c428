"""The photo store in a folder: write-once, one folder per photo, complete from the moment it is visible.

    FOLDER/3f/3fa9…/original      the bytes as they came, named by their SHA-256
    FOLDER/3f/3fa9…/preview …     copies without metadata
    FOLDER/incoming/…             what is being written; never read

A photo is written and forced to disk under `incoming`, then its whole folder is renamed into place: after a crash
or a power cut there is either the original with all its copies or nothing. Renaming onto a folder that has
content fails on every system, which is what makes the store write-once.
"""

from __future__ import annotations

import os
import shutil
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path

from storage.faults import disk_faults
from storage.photo_names import ORIGINAL, check_copy, check_named, is_id, unchanged, unknown


class PhotosOnDisk:
    """Fulfils PhotoStore. The folder is made with mode 0700 when it is first needed."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def put(self, photo_id: str, original: bytes, copies: Mapping[str, bytes]) -> bool:
        """Store an original with its copies. True when it was new, False when it was there already; copies that
        were still missing are added then. Durable when this returns. Raises BadInput where the name is not the
        SHA-256 of the bytes, StoreFault when it cannot be written or the stored one is damaged."""
        check_named(photo_id, original, copies)
        files = {ORIGINAL: original, **copies}
        with disk_faults():
            if not self._place(photo_id).exists() and self._move_in(photo_id, files):
                return True
            new = not self.has(photo_id)  # true only where somebody took the original out of its folder
            self._complete(photo_id, files)
        self.original(photo_id)  # a damaged original must not pass for a stored one
        return new

    def original(self, photo_id: str) -> bytes:
        """The stored bytes. Raises NotFound, or StoreFault when they no longer match their name."""
        return unchanged(photo_id, self._read(photo_id, ORIGINAL))

    def copy(self, photo_id: str, name: str) -> bytes:
        """A derived copy by name. Raises NotFound."""
        check_copy(name)
        return self._read(photo_id, name)

    def has(self, photo_id: str) -> bool:
        with disk_faults():
            return is_id(photo_id) and (self._place(photo_id) / ORIGINAL).is_file()

    def ids(self) -> Iterator[str]:
        """Every stored photo, in the order of their SHA-256."""
        with disk_faults():
            for group in sorted(self._folder.glob("[0-9a-f][0-9a-f]")):
                yield from sorted(path.name for path in group.iterdir() if is_id(path.name))

    def clear_leftovers(self, older_than: float = 86_400.0) -> int:
        """Removes what interrupted writes left under `incoming`, untouched for that many seconds, and counts it."""
        cleared = 0
        with disk_faults():
            for left in self._incoming().glob("*"):
                # By the files' own clock: a folder that another process is filling is not old.
                if time.time() - left.stat().st_mtime < older_than:
                    continue
                if left.is_dir():
                    shutil.rmtree(left)
                else:
                    left.unlink()
                cleared += 1
        return cleared

    def _place(self, photo_id: str) -> Path:
        return self._folder / photo_id[:2] / photo_id

    def _incoming(self) -> Path:
        return self._folder / "incoming"

    def _read(self, photo_id: str, name: str) -> bytes:
        if not is_id(photo_id):
            raise unknown()
        with disk_faults():
            try:
                return (self._place(photo_id) / name).read_bytes()
            except FileNotFoundError:
                raise unknown() from None

    def _move_in(self, photo_id: str, files: Mapping[str, bytes]) -> bool:
        """Writes the photo's folder aside and renames it into place; False where it is there already."""
        place = self._place(photo_id)
        made = self._make_folders(place.parent, self._incoming())
        aside = self._incoming() / uuid.uuid4().hex
        aside.mkdir(mode=0o700)
        try:
            for name, content in files.items():
                _write(aside / name, content)
            _sync_folder(aside)
            try:
                aside.rename(place)
            except OSError:
                if place.exists():
                    return False  # somebody else was quicker
                raise
            for folder in (place.parent, *made):
                _sync_folder(folder)
            return True
        finally:
            with suppress(OSError):
                shutil.rmtree(aside)

    def _complete(self, photo_id: str, files: Mapping[str, bytes]) -> None:
        """Adds what a stored photo's folder lacks and sees to it that all of it is durable."""
        place = self._place(photo_id)
        self._make_folders(self._incoming())
        for name, content in files.items():
            if (place / name).exists():
                continue
            aside = self._incoming() / uuid.uuid4().hex
            try:
                _write(aside, content)
                with suppress(FileExistsError):
                    (place / name).hardlink_to(aside)  # a link, unlike a rename, never writes over a file
            finally:
                with suppress(OSError):
                    aside.unlink()
        for folder in (place, place.parent, self._folder):
            _sync_folder(folder)

    def _make_folders(self, *folders: Path) -> list[Path]:
        """Makes what is missing and returns the folders that got a new entry and must be synced for it to last."""
        changed: list[Path] = []
        for folder in folders:
            new = [p for p in (folder, *folder.parents) if not p.exists()]
            for path in reversed(new):
                path.mkdir(mode=0o700, exist_ok=True)
                changed.append(path.parent)
        return changed


def _write(path: Path, content: bytes) -> None:
    """A new file, forced to disk. Read-only, since nothing may write to it again."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o400)
    try:
        left = memoryview(content)
        while left:
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder(folder: Path) -> None:
    """Forces a folder's entries to disk, so that a new name outlives a power cut. Windows does this by itself."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
