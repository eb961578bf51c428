"""Signed heads for people who keep them outside the store."""

from __future__ import annotations

from inspect_core.domain.errors import NotFound
from inspect_core.domain.record import TreeHead
from inspect_core.ledger import fingerprint, head_from_plain, head_plain
from inspect_core.usecases.services import Services

__all__ = ["all_heads", "head_from_plain", "head_plain", "key_of", "newest_head"]


def newest_head(services: Services) -> TreeHead:
    """The newest signed head. Raises NotFound where nothing was signed yet."""
    with services.unit_of_work() as uow:
        head = uow.tree.newest_head()
    if head is None:
        raise NotFound("No head of the account was signed yet.", "Record something first; each record signs one.")
    return head


def key_of(head: TreeHead) -> str:
    """The fingerprint of the key that signed a head."""
    return fingerprint(head.public_key)


def all_heads(services: Services) -> tuple[TreeHead, ...]:
    """Every head that the store keeps: the newest, and the last of every earlier day. Smallest first."""
    with services.unit_of_work() as uow:
        return tuple(uow.tree.heads())
