"""The Merkle tree's nodes and signed heads as rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Row

from inspect_core.domain.errors import Conflict
from inspect_core.domain.record import TreeHead
from storage.account_tables import tree_heads, tree_nodes
from storage.prepared import Change, Prepared
from storage.work import Work

_HASH = 32
_NODES = sa.select(tree_nodes).where(tree_nodes.c.number.in_(sa.bindparam("numbers", expanding=True)))
_NEWEST = Prepared(sa.select(tree_heads).order_by(tree_heads.c.size.desc()).limit(1))
_REPLACE = Change(
    sa.update(tree_heads)
    .where(tree_heads.c.size == sa.bindparam("old_size"))
    .values({column: sa.bindparam(f"new_{column.name}") for column in tree_heads.c})
)


class SqlTree:
    """Fulfils TreeRepository. What one unit of work has read or added it does not read again."""

    def __init__(self, work: Work) -> None:
        self._work = work
        self._known: dict[int, tuple[bytes, ...]] = {}

    def nodes(self, numbers: Sequence[int]) -> Mapping[int, tuple[bytes, ...]]:
        unknown = [number for number in numbers if number not in self._known]
        if unknown:
            for row in self._work.rows(_NODES, {"numbers": unknown}):
                self._known[row.number] = _parts(row.nodes)
        return {number: self._known[number] for number in numbers if number in self._known}

    def add(self, number: int, nodes: Sequence[bytes]) -> None:
        clash = Conflict(
            f"Entry {number} of the ledger is written already.", "Read the ledger's head again, then save."
        )
        self._work.insert(tree_nodes, {"number": number, "nodes": b"".join(nodes)}, clash=clash)
        self._known[number] = tuple(nodes)

    def add_many(self, nodes: Mapping[int, Sequence[bytes]]) -> None:
        self._work.insert_many(
            tree_nodes, [{"number": number, "nodes": b"".join(parts)} for number, parts in nodes.items()]
        )

    def last(self) -> int:
        row = self._work.first(sa.select(sa.func.max(tree_nodes.c.number).label("last")))
        return int(row.last or 0) if row is not None else 0

    def newest_head(self) -> TreeHead | None:
        row = self._work.first(_NEWEST)
        return _head(row) if row is not None else None

    def heads(self) -> Iterator[TreeHead]:
        return (_head(row) for row in self._work.rows(sa.select(tree_heads).order_by(tree_heads.c.size)))

    def keep_head(self, head: TreeHead) -> None:
        day = head.at.astimezone(UTC).date()
        values = {
            "size": head.size,
            "day": day,
            "at": head.at,
            "root": head.root,
            "public_key": head.public_key,
            "signature": head.signature,
        }
        newest = self._work.first(_NEWEST)
        if newest is not None and newest.day == day:
            new = {f"new_{name}": value for name, value in values.items()}
            self._work.change(_REPLACE, {"old_size": newest.size, **new})
        else:
            self._work.insert(tree_heads, values)


def _parts(nodes: bytes) -> tuple[bytes, ...]:
    return tuple(nodes[at : at + _HASH] for at in range(0, len(nodes), _HASH))


def _head(row: Row[Any]) -> TreeHead:
    return TreeHead(row.size, row.root, row.at, row.public_key, row.signature)
