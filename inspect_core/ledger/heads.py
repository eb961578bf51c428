"""Signed tree heads: size and root of the tree at one moment, signed with Ed25519 (RFC 8032).

What is signed is the canonical JSON (RFC 8785) of `{"at", "format", "root", "size"}`; the time is in UTC to the
microsecond, the root in hex. A head travels as JSON with its public key, so that a file alone can be checked.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.record import TreeHead
from inspect_core.ledger.chain import canonical

FORMAT = "bartack tree head 1"
_KEYS = ("at", "format", "public_key", "root", "signature", "size")


def head_message(size: int, root: bytes, at: datetime) -> bytes:
    """The bytes that a head's signature covers."""
    return canonical({"format": FORMAT, "size": size, "root": root.hex(), "at": _moment(at)})


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def signed_by(head: TreeHead) -> bool:
    """Whether the head's signature is that of its public key."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        key = Ed25519PublicKey.from_public_bytes(head.public_key)
        key.verify(head.signature, head_message(head.size, head.root, head.at))
    except (InvalidSignature, ValueError):
        return False
    return True


def key_id(public_key: bytes) -> str:
    """Hex SHA-256 of a public key: what names it."""
    return hashlib.sha256(public_key).hexdigest()


def fingerprint(public_key: bytes) -> str:
    """The first 16 digits of a key's id in fours, short enough to read out."""
    short = key_id(public_key)[:16]
    return " ".join(short[at : at + 4] for at in range(0, 16, 4))


def head_plain(head: TreeHead) -> dict[str, Any]:
    """A head as plain JSON data."""
    return {
        "format": FORMAT,
        "size": head.size,
        "root": head.root.hex(),
        "at": _moment(head.at),
        "public_key": head.public_key.hex(),
        "signature": base64.b64encode(head.signature).decode(),
    }


def head_from_plain(data: object) -> TreeHead:
    """The head that plain JSON data stand for; its signature is not checked here. Raises BadInput."""
    try:
        if not isinstance(data, Mapping) or sorted(data) != list(_KEYS) or data["format"] != FORMAT:
            raise ValueError
        size, at = data["size"], datetime.fromisoformat(data["at"])
        if isinstance(size, bool) or not isinstance(size, int) or not 0 < size < 2**53 or at.tzinfo is None:
            raise ValueError
        root, key = bytes.fromhex(data["root"]), bytes.fromhex(data["public_key"])
        signature = base64.b64decode(data["signature"], validate=True)
        if (len(root), len(key), len(signature)) != (32, 32, 64):
            raise ValueError
    except (ValueError, TypeError, binascii.Error):
        raise BadInput(
            "This is no signed head of an account.", "Give a file that “bartack heads” or an archive has written."
        ) from None
    return TreeHead(size, root, at, key, signature)
