"""The stores of a fleet, as folders that `bartack export --format parquet` wrote."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.usecases.fleet.form import ABOUT, FORMAT, INSPECTIONS

#: One process is handed so many rows at most: large against handing over, small against its memory.
MOST_ROWS = 50_000


@dataclass(frozen=True, slots=True)
class Store:
    """One store's folder. `name` stands before tags and identifiers where several stores are looked at; "" else."""

    folder: Path
    name: str
    origin: str
    entries: int
    head: str

    def named(self, text: str) -> str:
        """An identifier, or a tag, as it is told over all stores."""
        return f"{self.name}: {text}" if self.name else text


@dataclass(frozen=True, slots=True)
class Piece:
    """Some row groups of one file of inspections."""

    store: Store
    path: Path
    groups: tuple[int, ...]
    rows: int

    def read(self, columns: Sequence[str]) -> Any:
        """An Arrow table of these rows."""
        import pyarrow.parquet as pq

        with reading(self.path), pq.ParquetFile(self.path) as file:
            return file.read_row_groups(list(self.groups), columns=list(columns))


class reading:  # noqa: N801 - used as a context, reads like a word
    """Tells in words what Arrow refuses about a file."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        import pyarrow as pa

        if isinstance(error, OSError | pa.ArrowException):
            raise BadInput(
                f"“{self._path}” cannot be read as part of an export.", "Export the store anew into an empty folder."
            ) from None


def open_stores(folders: Sequence[Path]) -> tuple[Store, ...]:
    """The stores in those folders; a folder that is no export is looked through for exports one level below. Raises
    BadInput for a folder without one, or for two exports of one store."""
    found = [place for folder in folders for place in _exports(folder)]
    names = _names(found)
    stores = [_store(place, names[place] if len(found) > 1 else "") for place in found]
    seen: dict[str, Store] = {}
    for store in stores:
        twice = seen.setdefault(store.origin, store)
        if twice is not store:
            raise BadInput(
                f"“{twice.folder}” and “{store.folder}” are exports of one store.",
                "Give the newer one; else everything in it would count twice.",
            )
    return tuple(stores)


def _exports(folder: Path) -> list[Path]:
    if (folder / ABOUT).is_file():
        return [folder]
    below = sorted(place.parent for place in folder.glob(f"*/{ABOUT}")) if folder.is_dir() else []
    if not below:
        raise BadInput(f"“{folder}” holds no export as Parquet.", "Make one with “bartack export --format parquet”.")
    return below


def _names(folders: Sequence[Path]) -> dict[Path, str]:
    """The last part of each path, with more of it where two would be called alike."""
    for parts in range(1, 20):
        names = {folder: "/".join(folder.resolve().parts[-parts:]) for folder in folders}
        if len(set(names.values())) == len(folders):
            return names
    raise BadInput("One folder is given twice.", "Give each folder once.")


def _store(folder: Path, name: str) -> Store:
    try:
        about = json.loads((folder / ABOUT).read_text(encoding="utf-8"))
        if about["format"] != FORMAT:
            raise ValueError
        return Store(folder, name, str(about["store"]), int(about["entries"]), str(about["head"]))
    except (OSError, ValueError, TypeError, LookupError):
        raise BadInput(f"“{folder / ABOUT}” is of another program or version.", "Export the store anew.") from None


def pieces(stores: Sequence[Store]) -> Iterator[Piece]:
    """Every inspection of every store, in pieces of at most MOST_ROWS rows or one row group."""
    import pyarrow.parquet as pq

    for store in stores:
        for path in sorted((store.folder / INSPECTIONS).rglob("*.parquet")):
            with reading(path):
                about = pq.read_metadata(path)
            groups, rows = list[int](), 0
            for number in range(about.num_row_groups):
                many = about.row_group(number).num_rows
                if groups and rows + many > MOST_ROWS:
                    yield Piece(store, path, tuple(groups), rows)
                    groups, rows = [], 0
                groups.append(number)
                rows += many
            if groups:
                yield Piece(store, path, tuple(groups), rows)


def small_rows(store: Store, name: str, columns: Sequence[str] | None = None) -> Iterator[dict[str, Any]]:
    """The rows of one of the small files and its further parts, some at a time."""
    import pyarrow.parquet as pq

    stem = name.removesuffix(".parquet")
    for path in sorted({store.folder / name, *store.folder.glob(f"{stem}-*.parquet")}):
        with reading(path), pq.ParquetFile(path) as file:
            for batch in file.iter_batches(columns=list(columns) if columns else None):
                yield from batch.to_pylist()
