"""Writing a BagIt bag (RFC 8493) as a folder or as a zip file, streaming.

Written here and not by the `bagit` library, which makes a bag out of a folder that lies there already: it changes the
working directory of the whole process, reads every file a second time and knows no zip. Tests let that library
validate what this writes.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import uuid
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Protocol

from inspect_core.domain.errors import Conflict, StoreFault

_DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
#: Every file of a zip carries this time, so that the same content gives the same bytes.
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)
_ROOT = "bartack-archive"
_ALREADY_SMALL = ("original", "preview", "thumb")


class _Target(Protocol):
    def open(self, name: str) -> IO[bytes]: ...


class BagWriter:
    """Adds payload files one after the other; the manifests are written at the end."""

    def __init__(self, target: _Target) -> None:
        self._target = target
        self._digests: dict[str, str] = {}
        self._bytes = 0

    def add(self, name: str, content: Iterable[bytes]) -> None:
        """A payload file under `data/`."""
        path = f"data/{name}"
        digest = hashlib.sha256()
        with self._target.open(path) as file:
            for part in content:
                digest.update(part)
                self._bytes += len(part)
                file.write(part)
        self._digests[path] = digest.hexdigest()

    def finish(self, info: Mapping[str, str]) -> None:
        """The tag files. `info` goes into bag-info.txt in the order given."""
        manifest = "".join(f"{digest}  {path}\n" for path, digest in sorted(self._digests.items()))
        about = {**info, "Payload-Oxum": f"{self._bytes}.{len(self._digests)}"}
        tags = {
            "bag-info.txt": "".join(f"{key}: {value}\n" for key, value in about.items()).encode(),
            "bagit.txt": _DECLARATION,
            "manifest-sha256.txt": manifest.encode(),
        }
        signed = "".join(f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in sorted(tags.items()))
        tags["tagmanifest-sha256.txt"] = signed.encode()
        for name, content in tags.items():
            with self._target.open(name) as file:
                file.write(content)


@contextmanager
def writing_bag(path: Path) -> Iterator[BagWriter]:
    """A bag at `path`: a zip file where its name ends in .zip, else a folder.

    It is written beside its place and renamed when it is whole, so that what carries the name is never half a bag.
    Raises Conflict where the place is taken, StoreFault where it cannot be written.
    """
    if path.exists():
        raise Conflict(f"“{path}” is there already.", "Choose another name; an archive never replaces one.")
    aside = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix.lower() == ".zip":
            aside.touch(mode=0o600, exist_ok=False)
            with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as packed:
                yield BagWriter(_Zip(packed))
            with aside.open("rb") as file:
                os.fsync(file.fileno())
        else:
            aside.mkdir(mode=0o700)
            yield BagWriter(_Folder(aside))
        aside.rename(path)
    except OSError as fault:
        reason = fault.strerror or "unwritable"
        raise StoreFault(f"The archive cannot be written: {reason.lower()}.", "Choose another place for it.") from None
    finally:
        if aside.is_dir():
            shutil.rmtree(aside, ignore_errors=True)
        else:
            aside.unlink(missing_ok=True)


class _Folder:
    def __init__(self, root: Path) -> None:
        self._root = root

    @contextmanager
    def _opened(self, name: str) -> Iterator[IO[bytes]]:
        place = self._root / name
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("xb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())

    def open(self, name: str) -> IO[bytes]:
        return self._opened(name)  # type: ignore[return-value]


class _Zip:
    """RFC 8493, 4.1: a serialized bag holds one folder, which is the bag."""

    def __init__(self, packed: zipfile.ZipFile) -> None:
        self._packed = packed

    def open(self, name: str) -> IO[bytes]:
        about = zipfile.ZipInfo(f"{_ROOT}/{name}", _ZIP_TIME)
        small = name.rsplit("/", 1)[-1] in _ALREADY_SMALL
        about.compress_type = zipfile.ZIP_STORED if small else zipfile.ZIP_DEFLATED
        about.external_attr = 0o644 << 16
        return self._packed.open(about, "w", force_zip64=True)
