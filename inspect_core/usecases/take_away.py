"""Exports, archives and heads as one file each, for a browser that downloads them."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from pathlib import Path

from inspect_core.domain.errors import BadInput
from inspect_core.usecases.archive import archive
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.heads import head_plain, newest_head
from inspect_core.usecases.services import Services

#: A server holds a download in memory; what is larger than this, in bytes of photos, goes by the command line.
MOST_BYTES = 500_000_000
_PAGE = 500


def photo_bytes(services: Services) -> int:
    """How much all originals take, in bytes."""
    total, after = 0, None
    with services.unit_of_work() as uow:
        while page := uow.records.page("photo", after=after, limit=_PAGE):
            after = page[-1].key
            total += sum(one.record.size for one in page if one.record is not None)
    return total


def check_size(services: Services) -> None:
    """Nothing, or a refusal where the photos of this site are too many to be fetched by a browser."""
    if photo_bytes(services) > MOST_BYTES:
        raise BadInput(
            "The photos of this site are too many for a download.",
            "Use “bartack export” or “bartack archive” on the site's computer.",
        )


def export_zip(wanted: Export, by: str, services: Services) -> bytes:
    """An export as the bytes of a zip file. Raises NotAllowed."""
    return _made(lambda path: export(path, wanted, by, services))


def archive_zip(by: str, services: Services) -> bytes:
    """An archive as the bytes of a zip file. Raises NotAllowed, StoreFault."""
    return _made(lambda path: archive(path, by, services))


def head_file(services: Services) -> bytes:
    """The newest signed head as a JSON file. Raises NotFound where nothing was signed yet."""
    return (json.dumps(head_plain(newest_head(services)), indent=2) + "\n").encode()


def _made(write: Callable[[Path], object]) -> bytes:
    with tempfile.TemporaryDirectory(prefix="bartack-") as folder:
        path = Path(folder) / "taken.zip"
        write(path)
        return path.read_bytes()
