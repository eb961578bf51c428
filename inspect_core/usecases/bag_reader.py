"""Reading a BagIt bag (RFC 8493) that came from anywhere: a folder or a zip file. Nothing is unpacked to be looked at.

A bag is refused whole for one wrong checksum, one file too many or too few, a path that leads out of it, a link, or a
zip that would grow beyond measure.
"""

from __future__ import annotations

import hashlib
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO

from inspect_core.domain.errors import BadInput

Progress = Callable[[int, int, str], object]
_PART = 1 << 20
#: A file of a zip larger than this may not grow to more than so many times what it takes in the zip.
_FREE_TO_GROW, _MOST_GROWTH = 10_000_000, 200
#: All files of a zip together may grow so far whatever they take in it.
_ALL_FREE_TO_GROW = 1_000_000_000
#: Files that are read whole: a photo is taken in up to 30 MiB, and its copy in full size may be larger.
_MOST_WHOLE = 128 * 1024 * 1024
_MOST_TAG_BYTES = 200_000_000
_LONGEST_LINE = 100_000_000
_MOST_FILES = 20_000_000
_LINE = re.compile(r"([0-9a-fA-F]{64}) [ *]?(\S.*)")
_TAGS = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt")


def _refused(what: str) -> BadInput:
    return BadInput(f"This archive is refused: {what}.", "Use another copy of it; nothing was restored.")


class Bag:
    """A bag whose files can be read. `files` maps each path inside it to its size in bytes."""

    def __init__(self, files: Mapping[str, int], opener: Callable[[str], IO[bytes]]) -> None:
        self.files = files
        self._open = opener

    def parts(self, name: str) -> Iterator[bytes]:
        """The content of a file, some at a time; never more than its size says."""
        left = self.files[name]
        try:
            with self._open(name) as file:
                while part := file.read(_PART):
                    left -= len(part)
                    if left < 0:
                        raise _refused(f"“{name}” is longer than it says")
                    yield part
        except (
            OSError,
            zipfile.BadZipFile,
            NotImplementedError,
            EOFError,
            ValueError,
            RuntimeError,
            zlib.error,
        ) as fault:
            raise _refused(f"“{name}” cannot be read ({fault})") from None

    def content(self, name: str) -> bytes:
        """The whole of a file."""
        if self.files[name] > _MOST_WHOLE:
            raise _refused(f"“{name}” is larger than any photo")
        return b"".join(self.parts(name))

    def lines(self, name: str) -> Iterator[bytes]:
        """The lines of a file."""
        begun, length = list[bytes](), 0
        for part in self.parts(name):
            first, *others = part.split(b"\n")
            begun.append(first)
            length += len(first)
            if length > _LONGEST_LINE:
                raise _refused(f"“{name}” holds a line that is too long")
            if others:
                yield b"".join(begun)
                yield from others[:-1]
                begun, length = [others[-1]], len(others[-1])
        if last := b"".join(begun):
            yield last

    def text(self, name: str) -> str:
        """A tag file as text."""
        if self.files.get(name, 0) > _MOST_TAG_BYTES:
            raise _refused(f"“{name}” is too large")
        try:
            return b"".join(self.parts(name)).decode("utf-8-sig")
        except UnicodeDecodeError:
            raise _refused(f"“{name}” is not UTF-8") from None

    def info(self) -> dict[str, str]:
        """What bag-info.txt says."""
        pairs = (line.split(":", 1) for line in self.text("bag-info.txt").splitlines() if ":" in line)
        return {key.strip(): value.strip() for key, value in pairs}

    def validate(self, progress: Progress = lambda done, total, words: None) -> None:
        """Checks every file against the manifests (RFC 8493, section 3). Raises BadInput."""
        for needed in ("bagit.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt", "bag-info.txt"):
            if needed not in self.files:
                raise _refused(f"“{needed}” is missing")
        if "fetch.txt" in self.files:
            raise _refused("it wants to fetch files from elsewhere")
        declared = self.text("bagit.txt")
        if not re.match(r"BagIt-Version: (0\.97|1\.0)\s+Tag-File-Character-Encoding: UTF-8\s*\Z", declared):
            raise _refused("it does not say that it is a bag of version 0.97 or 1.0 in UTF-8")
        payload, tags = self._manifest("manifest-sha256.txt"), self._manifest("tagmanifest-sha256.txt")
        have = {name for name in self.files if name.startswith("data/")}
        for name in sorted(have ^ set(payload)):
            raise _refused(f"“{name}” is {'not named by the manifest' if name in have else 'missing'}")
        for name in sorted(set(self.files) - have - set(tags) - {"tagmanifest-sha256.txt"}):
            raise _refused(f"“{name}” is not named by the manifest")
        size = sum(self.files[name] for name in have)
        if self.info().get("Payload-Oxum") != f"{size}.{len(have)}":
            raise _refused("its payload has not the size that it says")
        done, total = 0, size
        for name, digest in (*tags.items(), *payload.items()):
            found = hashlib.sha256()
            for part in self.parts(name):
                found.update(part)
                done += len(part) if name in have else 0
            progress(done, total, "checking the archive")
            if found.hexdigest() != digest:
                raise _refused(f"“{name}” was changed: its checksum is wrong")

    def _manifest(self, name: str) -> dict[str, str]:
        found: dict[str, str] = {}
        for line in self.text(name).splitlines():
            match = _LINE.fullmatch(line)
            if match is None:
                raise _refused(f"“{name}” holds a line that is none of a manifest")
            path = match[2].replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")
            if not _inside(path) or path in found or path.startswith("data/") != name.startswith("manifest"):
                raise _refused(f"“{name}” names a path that is not allowed: {path[:80]}")
            if path not in self.files:
                raise _refused(f"“{path}” is missing")
            found[path] = match[1].lower()
        return found


@contextmanager
def reading_bag(path: Path) -> Iterator[Bag]:
    """The bag at `path`. Raises BadInput where it is none or is not safe to read."""
    if path.is_symlink():
        raise _refused("it is a link")
    if path.is_dir():
        yield _folder(path)
        return
    if not path.is_file():
        raise BadInput(f"“{path}” is no archive.", "Give the folder or the zip file that “bartack archive” wrote.")
    try:
        packed = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError, struct.error):
        raise BadInput(f"“{path}” is no archive.", "Give the folder or the zip file that it was written to.") from None
    with packed:
        yield _zip(packed, path.stat().st_size)


def _inside(name: str) -> bool:
    """Whether a name stays inside the bag on every system."""
    path = PurePosixPath(name)
    return (
        bool(name)
        and not path.is_absolute()
        and "\\" not in name
        and "\0" not in name
        and ":" not in name
        and not name.startswith("~")
        and str(path) == name
        and ".." not in path.parts
    )


def _folder(root: Path) -> Bag:
    files: dict[str, int] = {}
    for place in root.rglob("*"):
        name = place.relative_to(root).as_posix()
        about = place.lstat()
        if stat.S_ISDIR(about.st_mode):
            continue
        if not stat.S_ISREG(about.st_mode):
            raise _refused(f"“{name[:80]}” is a link or no file")
        if not _inside(name):
            raise _refused(f"it holds a path that is not allowed: {name[:80]}")
        files[name] = about.st_size
    return Bag(files, lambda name: (root / name).open("rb"))


def _zip(packed: zipfile.ZipFile, size: int) -> Bag:
    members = [member for member in packed.infolist() if not member.is_dir()]
    if not members or len(members) > _MOST_FILES:
        raise _refused("the zip file holds nothing, or too much")
    taken, grown = sum(m.compress_size for m in members), sum(m.file_size for m in members)
    # Files that lie over each other in the zip add up to more than it has: a small one that unpacks for ever.
    if taken > size or grown > max(_ALL_FREE_TO_GROW, _MOST_GROWTH * taken):
        raise _refused("it would grow beyond measure")
    root = members[0].filename.split("/", 1)[0]
    named: dict[str, zipfile.ZipInfo] = {}
    for member in members:
        kind = stat.S_IFMT(member.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise _refused(f"“{member.filename[:80]}” is a link or no file")
        if not _inside(member.filename) or not member.filename.startswith(f"{root}/"):
            raise _refused(f"it holds a path that is not allowed: {member.filename[:80]}")
        if member.flag_bits & 1:
            raise _refused("it is locked with a password")
        if member.file_size > max(_FREE_TO_GROW, _MOST_GROWTH * member.compress_size):
            raise _refused(f"“{member.filename[:80]}” would grow beyond measure")
        name = member.filename.removeprefix(f"{root}/")
        if name in named:
            raise _refused(f"“{name[:80]}” stands in it twice")
        named[name] = member
    sizes = {name: member.file_size for name, member in named.items()}
    return Bag(sizes, lambda name: packed.open(named[name]))
