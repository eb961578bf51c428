"""Tables of the signed account, in the same metadata as `storage.tables`."""

from __future__ import annotations

import sqlalchemy as sa

from storage.tables import UtcTime, metadata

_Number = sa.BigInteger().with_variant(sa.Integer, "sqlite")

#: The Merkle tree over the ledger: the hashes of the nodes that an entry completes, 32 bytes each, the leaf first.
tree_nodes = sa.Table(
    "tree_nodes",
    metadata,
    sa.Column("number", _Number, primary_key=True, autoincrement=False),
    sa.Column("nodes", sa.LargeBinary, nullable=False),
)

#: Signed heads: the newest, and the last of every earlier day (in UTC).
tree_heads = sa.Table(
    "tree_heads",
    metadata,
    sa.Column("size", _Number, primary_key=True, autoincrement=False),
    sa.Column("day", sa.Date, nullable=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("root", sa.LargeBinary, nullable=False),
    sa.Column("public_key", sa.LargeBinary, nullable=False),
    sa.Column("signature", sa.LargeBinary, nullable=False),
)
