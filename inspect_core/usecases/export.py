"""Everything recorded, taken away as files that other programs read."""

from __future__ import annotations

import json
import shutil
import uuid
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from inspect_core.domain.access import Action
from inspect_core.domain.errors import BadInput, BartackError, Conflict, StoreFault
from inspect_core.imaging.location import without_location
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.acting import acting
from inspect_core.usecases.annotations import CONTEXT, annotation
from inspect_core.usecases.export_files import CsvFiles, JsonLines, Sink, Workbook
from inspect_core.usecases.export_records import Flattened, Plain, objects
from inspect_core.usecases.fleet.write import write_parquet
from inspect_core.usecases.intake import photo_copy
from inspect_core.usecases.services import Services

Progress = Callable[[int, int, str], object]
FORMATS = ("csv", "xlsx", "json", "annotations", "parquet")
_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heif"}
_README = """\
Exported from Bartack. The tables and their columns are described in docs/records.md.

Photos in photos/ are copies without metadata. Names of photos are the SHA-256 of the originals.
Text that a spreadsheet would take for a formula has an apostrophe before it (CSV and XLSX only).
"""
_README_PARQUET = """\
Exported from Bartack for looking at many stores together. The files and their columns are described in docs/fleet.md.
People are codes; notes of inspections, names and photos are left out.
"""


@dataclass(frozen=True, slots=True)
class Export:
    """What is wanted. `photos`: the copies too. `originals`: the files as they came, without the place where they were
    taken unless `with_location`."""

    format: str = "csv"
    since: date | None = None
    photos: bool = True
    originals: bool = False
    with_location: bool = False

    def __post_init__(self) -> None:
        if self.format not in FORMATS:
            raise BadInput(f"“{self.format[:40]}” is no format of an export.", f"Use one of: {', '.join(FORMATS)}.")
        if self.format == "parquet" and (self.since or self.originals):
            raise BadInput(
                "An export as Parquet holds the whole past and no photo files.",
                "Leave out the day and the originals, or choose another format.",
            )
        if self.with_location and not self.originals:
            raise BadInput("Only originals know a place.", "Ask for the originals too, or leave the location out.")


@dataclass
class Exported:
    """What was written. `missing`: photos that could not be taken along, with the reason."""

    path: str
    counts: Counter[str] = field(default_factory=Counter)
    photos: int = 0
    missing: list[str] = field(default_factory=list)

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "path": self.path,
            "counts": dict(sorted(self.counts.items())),
            "photos": self.photos,
            "missing": self.missing,
        }


def export(
    path: Path,
    wanted: Export,
    by: str,
    services: Services,
    progress: Progress = lambda done, total, words: None,
) -> Exported:
    """Write everything recorded into a new folder, or into a zip file where the name ends in .zip.

    Streams: a store of any size takes the same memory. Raises NotAllowed, Conflict where the place is taken,
    StoreFault where it cannot be written.
    """
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.EXPORT)
    made = Exported(str(path))
    with _new_folder(path) as folder, services.unit_of_work() as uow:
        uow.rows.hold()
        if wanted.format == "parquet":
            (folder / "README.txt").write_text(_README_PARQUET, encoding="utf-8")
            write_parquet(folder, uow, services.rules.digest, made.counts, progress)
            return made
        (folder / "README.txt").write_text(_README, encoding="utf-8")
        _write(folder, wanted, uow, services, made, progress)
    return made


def _write(
    folder: Path, wanted: Export, uow: UnitOfWork, services: Services, made: Exported, progress: Progress
) -> None:
    sink = _sink(folder, wanted.format, uow)
    photos = uow.records.count("photo")
    total = sum(uow.records.count(kind) for kind in ("item", "inspection", "custody", "person")) + photos
    done = 0
    try:
        for name, found in objects(uow, wanted.since):
            sink.add(name, found)
            made.counts[name] += 1
            if name == "photos" and (wanted.photos or wanted.originals):
                _take_photo(folder, found, wanted, services, made)
            done += 1
            progress(min(done, total), total, name.replace("_", " "))
    finally:
        sink.close()


def _sink(folder: Path, format_: str, uow: UnitOfWork) -> Sink:
    if format_ == "csv":
        return CsvFiles(folder, Flattened(uow))
    if format_ == "xlsx":
        return Workbook(folder / "records.xlsx", Flattened(uow))
    return JsonLines(folder) if format_ == "json" else _Annotations(folder, uow)


class _Annotations:
    """The marks of each photo of each inspection as a W3C annotation page."""

    def __init__(self, folder: Path, uow: UnitOfWork) -> None:
        self._folder, self._uow = folder / "annotations", uow
        self._folder.mkdir()

    def add(self, name: str, found: Plain) -> None:
        if name != "inspections" or not found["marks"]:
            return
        (stored,) = self._uow.records.by_id("inspection", [found["id"]]).values()
        by_photo: dict[str, list[dict[str, Any]]] = {}
        for mark in stored.record.marks:
            by_photo.setdefault(mark.photo_id, []).append({**annotation(mark), "created": found["at"]})
        for photo_id, items in by_photo.items():
            page = {
                "@context": CONTEXT,
                "id": f"urn:bartack:inspection:{found['id']}:photo:{photo_id}",
                "type": "AnnotationPage",
                "items": items,
            }
            text = json.dumps(page, ensure_ascii=False, indent=1) + "\n"
            (self._folder / f"{photo_id}-{_safe(found['id'])}.jsonld").write_text(text, encoding="utf-8")

    def close(self) -> None:
        return


def _safe(text: str) -> str:
    return "".join(sign if sign.isalnum() or sign in "-_" else "_" for sign in text)[:80]


def _take_photo(folder: Path, photo: Plain, wanted: Export, services: Services, made: Exported) -> None:
    try:
        if wanted.photos:
            _put(folder / "photos" / f"{photo['id']}.jpg", photo_copy(photo["id"], "full", services))
        if wanted.originals:
            original = services.photos.original(photo["id"])
            content = original if wanted.with_location else without_location(original)
            ending = _ENDINGS.get(photo["media_type"], "bin")
            _put(folder / "originals" / f"{photo['id']}.{ending}", content)
    except BartackError as fault:
        made.missing.append(f"{photo['id']}: {fault.problem}")
    else:
        made.photos += 1


def _put(place: Path, content: bytes) -> None:
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(content)


@contextmanager
def _new_folder(path: Path) -> Iterator[Path]:
    """A folder to fill, which gets its name (or is packed into the zip of that name) when it is whole."""
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise Conflict(f"“{path}” is there already.", "Choose another name; an export never replaces anything.")
    packed = path.suffix.lower() == ".zip"
    aside = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.mkdir(mode=0o700)
        yield aside
        if packed:
            zipped = aside.with_suffix(".zip")
            try:
                _pack(aside, zipped)
                zipped.rename(path)
            finally:
                zipped.unlink(missing_ok=True)
        else:
            if path.exists():
                path.rmdir()
            aside.rename(path)
    except OSError as fault:
        reason = fault.strerror or "unwritable"
        raise StoreFault(f"The export cannot be written: {reason.lower()}.", "Choose another place for it.") from None
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _pack(folder: Path, target: Path) -> None:
    target.touch(mode=0o600, exist_ok=False)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as packed:
        for place in sorted(path for path in folder.rglob("*") if path.is_file()):
            packed.write(place, place.relative_to(folder).as_posix())
