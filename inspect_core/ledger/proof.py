"""Inclusion proofs that travel in a file: entries in full, their audit paths, and the signed head they lead to.

    {"format": "bartack proof 1", "head": {…}, "entries": [{"entry": {…}, "leaf": hex, "path": [hex, …]}, …]}

`entry` is what the ledger says (number, at, subject, subject_id, body, previous). Its canonical JSON gives the leaf,
leaf and path give the root (RFC 6962, 2.1.1), and the head's signature covers size and root.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.record import LedgerEntry, TreeHead
from inspect_core.ledger.chain import canonical, content_of
from inspect_core.ledger.heads import head_from_plain, head_plain, signed_by
from inspect_core.ledger.merkle import Node, inclusion_path, leaf_hash, root_by_path

FORMAT = "bartack proof 1"
#: A path of more hashes than this would belong to a ledger larger than any.
_LONGEST_PATH = 64
_MOST_ENTRIES = 20


def leaf_of(entry: LedgerEntry) -> bytes:
    """The leaf that stands for an entry in the tree."""
    return leaf_hash(canonical(content_of(entry)))


def proof_plain(head: TreeHead, entries: Sequence[LedgerEntry], node: Node) -> dict[str, Any]:
    """The proof that these entries are part of what the head signs, as plain JSON data."""
    return {
        "format": FORMAT,
        "head": head_plain(head),
        "entries": [
            {
                "entry": content_of(entry),
                "leaf": leaf_of(entry).hex(),
                "path": [part.hex() for part in inclusion_path(entry.number - 1, head.size, node)],
            }
            for entry in entries
        ],
    }


@dataclass(frozen=True, slots=True)
class Proved:
    """What a proof says, and what is wrong with it; without faults the head's key signed every one of the entries."""

    head: TreeHead
    entries: tuple[Mapping[str, Any], ...]
    faults: tuple[str, ...]


def check_proof(data: object) -> Proved:
    """Check a proof by itself. Raises BadInput where it is none."""
    try:
        if not isinstance(data, Mapping) or data["format"] != FORMAT:
            raise ValueError
        head = head_from_plain(data["head"])
        parts = list(data["entries"])
        if not 1 <= len(parts) <= _MOST_ENTRIES:
            raise ValueError
        faults = [fault for part in parts for fault in _faults(part, head)]
        entries = tuple(part["entry"] for part in parts)
    except (ValueError, TypeError, LookupError, AttributeError, RecursionError):
        raise BadInput("This is no proof of a record.", "Give the file as it was issued.") from None
    if not signed_by(head):
        faults.append("The signature of the head is false.")
    return Proved(head, entries, tuple(faults))


def _faults(part: Mapping[str, Any], head: TreeHead) -> list[str]:
    entry, path = part["entry"], [bytes.fromhex(text) for text in part["path"]]
    number = entry["number"]
    if isinstance(number, bool) or not isinstance(number, int) or len(path) > _LONGEST_PATH:
        raise ValueError
    leaf = leaf_hash(canonical(entry))
    if leaf.hex() != part["leaf"]:
        return [f"Entry {number} was changed: it does not give the leaf beside it."]
    if root_by_path(leaf, number - 1, head.size, path) != head.root:
        return [f"Entry {number} is not part of what was signed."]
    return []
