"""What every photo store checks alike: names of photos and copies, and that an original is what its name says."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable

from inspect_core.domain.errors import BadInput, NotFound, StoreFault

#: The name under which the bytes as they came are kept; no copy is called so.
ORIGINAL = "original"
_ID = re.compile(r"[0-9a-f]{64}")
_COPY = re.compile(r"[a-z][a-z0-9_]{0,31}")


def is_id(photo_id: str) -> bool:
    """Whether a text is the name of a photo: the SHA-256 of its bytes."""
    return bool(_ID.fullmatch(photo_id))


def check_named(photo_id: str, original: bytes, copies: Iterable[str]) -> None:
    """Raises BadInput where the name is not the SHA-256 of the bytes, or a copy's name is none."""
    if not is_id(photo_id) or hashlib.sha256(original).hexdigest() != photo_id:
        raise BadInput("The photo does not match its name.", "Send the photo again.")
    for name in copies:
        if not _is_copy(name):
            raise BadInput(f"“{name[:40]}” is no name for a copy.", "Use preview, thumb or full.")


def check_copy(name: str) -> None:
    """Raises NotFound where no copy can be called so."""
    if not _is_copy(name):
        raise unknown()


def unchanged(photo_id: str, found: bytes) -> bytes:
    """The stored bytes. Raises StoreFault where they no longer match their name."""
    if hashlib.sha256(found).hexdigest() != photo_id:
        raise StoreFault(
            f"The stored photo {photo_id[:12]} was changed or damaged after it was stored.",
            "Do not rely on it; restore it from an archive.",
        )
    return found


def unknown() -> NotFound:
    return NotFound("The store holds no such photo.", "Open it from the item's history.")


def _is_copy(name: str) -> bool:
    return name != ORIGINAL and bool(_COPY.fullmatch(name))
