"""Originals are written once, whole or not at all, and never pass for themselves when they were changed."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.errors import BadInput, NotFound, StoreFault
from storage.photos_on_disk import PhotosOnDisk

ORIGINAL = b"the bytes of a photograph" * 100
ID = hashlib.sha256(ORIGINAL).hexdigest()
COPIES = {"preview": b"smaller", "thumb": b"small"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "photos"


@pytest.fixture
def photos(folder: Path) -> PhotosOnDisk:
    return PhotosOnDisk(folder)


def _files(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def _original(folder: Path) -> Path:
    return folder / ID[:2] / ID / "original"


def test_a_photo_comes_back_with_its_copies(photos: PhotosOnDisk) -> None:
    assert not photos.has(ID)
    assert photos.put(ID, ORIGINAL, COPIES) is True
    assert photos.has(ID)
    assert photos.original(ID) == ORIGINAL
    assert {name: photos.copy(ID, name) for name in COPIES} == COPIES


def test_the_same_photo_twice_is_stored_once_and_not_touched(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    before = {path: (path.stat().st_ino, path.stat().st_mtime_ns) for path in folder.rglob("*") if path.is_file()}
    assert photos.put(ID, ORIGINAL, {"preview": b"another", "thumb": b"other"}) is False
    after = {path: (path.stat().st_ino, path.stat().st_mtime_ns) for path in folder.rglob("*") if path.is_file()}
    assert after == before and len(before) == 3
    assert photos.copy(ID, "preview") == b"smaller"


def test_copies_that_were_missing_are_added(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, {})
    assert photos.put(ID, ORIGINAL, COPIES) is False
    assert photos.copy(ID, "thumb") == b"small"
    assert len(_files(folder)) == 3


def test_an_original_taken_out_of_its_folder_is_put_back(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    _original(folder).unlink()
    with pytest.raises(NotFound):
        photos.original(ID)
    assert photos.put(ID, ORIGINAL, COPIES) is True
    assert photos.original(ID) == ORIGINAL


def test_folders_and_files_are_the_owners_alone_and_originals_read_only(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(_original(folder).stat().st_mode) == 0o400


def test_a_changed_original_is_found_when_read_and_when_put_again(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    path = _original(folder)
    path.chmod(0o600)
    path.write_bytes(ORIGINAL[:-1] + b"!")
    for use in (lambda: photos.original(ID), lambda: photos.put(ID, ORIGINAL, COPIES)):
        with pytest.raises(StoreFault, match="changed or damaged"):
            use()


def test_bytes_that_do_not_match_their_name_are_refused(photos: PhotosOnDisk, folder: Path) -> None:
    for wrong in ("ab" * 32, ID.upper(), ID[:-1], "../" + ID, ""):
        with pytest.raises(BadInput):
            photos.put(wrong, ORIGINAL, {})
    assert not folder.exists()


@pytest.mark.parametrize("name", ["", "..", "../x", "a/b", "original", "Preview", "x" * 40, "a\0", "thumb\n"])
def test_names_that_are_none_reach_no_file(photos: PhotosOnDisk, folder: Path, name: str) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    with pytest.raises(BadInput):
        photos.put(ID, ORIGINAL, {name: b"x"})
    with pytest.raises(NotFound):
        photos.copy(ID, name)
    with pytest.raises(NotFound):
        photos.original(name)
    with pytest.raises(NotFound):
        photos.copy(name, "thumb")
    assert photos.has(name) is False
    assert len(_files(folder)) == 3


def test_what_is_not_there_is_told(photos: PhotosOnDisk) -> None:
    with pytest.raises(NotFound):
        photos.original(ID)
    photos.put(ID, ORIGINAL, COPIES)
    with pytest.raises(NotFound):
        photos.copy(ID, "full")


@pytest.mark.parametrize(
    ("code", "words"), [(errno.ENOSPC, "disk is full"), (errno.EROFS, "only be read"), (errno.EIO, "disk could not")]
)
@pytest.mark.parametrize("function", ["open", "write", "fsync", "rename", "mkdir"])
def test_a_failing_disk_is_told_and_leaves_nothing_to_be_seen(
    photos: PhotosOnDisk, folder: Path, monkeypatch: pytest.MonkeyPatch, function: str, code: int, words: str
) -> None:
    def fail(*_args: Any, **_kwargs: Any) -> Any:
        raise OSError(code, os.strerror(code))

    with monkeypatch.context() as patch, pytest.raises(StoreFault, match=words):
        patch.setattr(os, function, fail)
        photos.put(ID, ORIGINAL, COPIES)
    assert not photos.has(ID) and not _files(folder)
    assert photos.put(ID, ORIGINAL, COPIES) is True


def test_files_are_on_disk_before_the_photo_is_seen_and_its_name_before_put_returns(
    photos: PhotosOnDisk, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    photos.put(hashlib.sha256(b"x").hexdigest(), b"x", {})  # folders are there
    told: list[str] = []
    names: dict[int, str] = {}

    def watched(function: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            result = real(*args, **kwargs)
            if function == "open":
                names[result] = Path(args[0]).name
            else:
                told.append(function if function == "rename" else f"fsync {names[args[0]]}")
            return result

        return call

    for function in ("open", "fsync", "rename"):
        monkeypatch.setattr(os, function, watched(function, getattr(os, function)))
    photos.put(ID, ORIGINAL, COPIES)
    renamed = told.index("rename")
    assert {"fsync original", "fsync preview", "fsync thumb"} <= set(told[:renamed])
    assert f"fsync {ID[:2]}" in told[renamed:]


def test_leftovers_of_interrupted_writes_are_cleared_when_they_are_old(photos: PhotosOnDisk, folder: Path) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    left = folder / "incoming" / "left"
    left.mkdir()
    (left / "original").write_bytes(b"half")
    (folder / "incoming" / "file").write_bytes(b"half")
    assert photos.clear_leftovers() == 0
    assert photos.clear_leftovers(older_than=0.0) == 2
    assert photos.original(ID) == ORIGINAL and len(_files(folder)) == 3
