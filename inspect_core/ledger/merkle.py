"""The Merkle tree over a growing list of entries, as RFC 6962 section 2.1 defines it (unchanged in RFC 9162).

Leaf: SHA-256(0x00 ‖ entry). Node: SHA-256(0x01 ‖ left ‖ right). A tree of n leaves splits at the largest power of two
below n. Positions count from 0, sizes are numbers of leaves, hashes are 32 bytes.

Every complete subtree's hash is kept once, with the entry that completes it: entry number n (from 1) completes one
node on each level from 0 to the number of zero bits at the end of n. So one short row per entry holds the tree, adding
an entry reads and writes O(log n) hashes, and so do roots and proofs of any size.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence

#: The root of a tree without leaves.
EMPTY_ROOT = hashlib.sha256(b"").digest()
#: Gives the hash of the complete subtree at (level, position on that level).
Node = Callable[[int, int], bytes]


def leaf_hash(content: bytes) -> bytes:
    """The leaf of one entry."""
    return hashlib.sha256(b"\x00" + content).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The node above two subtrees."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def _level(number: int) -> int:
    """The highest level on which entry `number` completes a node."""
    return (number & -number).bit_length() - 1


def frontier_numbers(size: int) -> tuple[int, ...]:
    """The entries whose highest nodes together make up a tree of that size, left to right."""
    numbers: list[int] = []
    while size:
        numbers.append(size)
        size &= size - 1
    return tuple(reversed(numbers))


def node_place(level: int, position: int) -> tuple[int, int]:
    """Where a complete subtree's hash is kept: the number of the entry that completes it, and which of its nodes."""
    return (position + 1) << level, level


class Frontier:
    """The right edge of a tree: what has to be known to add an entry and to tell the root.

    `peaks` are the highest nodes of `frontier_numbers(size)`.
    """

    def __init__(self, size: int = 0, peaks: Sequence[bytes] = ()) -> None:
        if len(peaks) != size.bit_count():
            raise ValueError(f"a tree of {size} leaves has {size.bit_count()} peaks, not {len(peaks)}")
        self.size = size
        self._peaks = list(peaks)

    def add(self, leaf: bytes) -> tuple[bytes, ...]:
        """Adds a leaf and returns the nodes that it completes, level by level, the leaf itself first."""
        self.size += 1
        nodes = [leaf]
        for _ in range(_level(self.size)):
            nodes.append(node_hash(self._peaks.pop(), nodes[-1]))
        self._peaks.append(nodes[-1])
        return tuple(nodes)

    def root(self) -> bytes:
        """The root over all leaves added so far."""
        if not self._peaks:
            return EMPTY_ROOT
        root = self._peaks[-1]
        for peak in reversed(self._peaks[:-1]):
            root = node_hash(peak, root)
        return root


def _split(size: int) -> int:
    """The largest power of two below a size of at least 2."""
    return int(1 << ((size - 1).bit_length() - 1))


def _subtree(start: int, end: int, node: Node) -> bytes:
    """The hash over leaves `start` to `end` (exclusive), where `start` is a multiple of the size's power of two."""
    size = end - start
    if size & (size - 1) == 0:
        level = size.bit_length() - 1
        return node(level, start >> level)
    middle = start + _split(size)
    return node_hash(_subtree(start, middle, node), _subtree(middle, end, node))


def inclusion_path(position: int, size: int, node: Node) -> tuple[bytes, ...]:
    """The audit path of one leaf in a tree of `size` leaves, from the leaf up (RFC 6962, 2.1.1).

    Raises ValueError where the tree has no such leaf.
    """
    if not 0 <= position < size:
        raise ValueError(f"a tree of {size} leaves has none at {position}")
    path: list[bytes] = []
    start, end = 0, size
    while end - start > 1:
        middle = start + _split(end - start)
        if position < middle:
            path.append(_subtree(middle, end, node))
            end = middle
        else:
            path.append(_subtree(start, middle, node))
            start = middle
    return tuple(reversed(path))


def root_by_path(leaf: bytes, position: int, size: int, path: Sequence[bytes]) -> bytes | None:
    """The root that a leaf and its audit path lead to; None where the path cannot be one (RFC 9162, 2.1.3.2)."""
    if not 0 <= position < size:
        return None
    here, last, root = position, size - 1, leaf
    for other in path:
        if last == 0:
            return None
        if here & 1 or here == last:
            root = node_hash(other, root)
            while not here & 1 and here:
                here, last = here >> 1, last >> 1
        else:
            root = node_hash(root, other)
        here, last = here >> 1, last >> 1
    return root if last == 0 else None


def consistency_path(old: int, new: int, node: Node) -> tuple[bytes, ...]:
    """The proof that a tree of `new` leaves begins with one of `old` leaves (RFC 6962, 2.1.2).

    Raises ValueError where `old` is not between 1 and `new`.
    """
    if not 1 <= old <= new:
        raise ValueError(f"no proof leads from {old} leaves to {new}")
    path: list[bytes] = []
    start, end, whole = 0, new, True
    while old != end:
        middle = start + _split(end - start)
        if old <= middle:
            path.append(_subtree(middle, end, node))
            end = middle
        else:
            path.append(_subtree(start, middle, node))
            start, whole = middle, False
    if not whole:
        path.append(_subtree(start, end, node))
    return tuple(reversed(path))


def consistency_holds(old: int, new: int, old_root: bytes, new_root: bytes, path: Sequence[bytes]) -> bool:
    """Whether a proof shows that the larger tree begins with the smaller one (RFC 9162, 2.1.4.2)."""
    if not 1 <= old <= new:
        return False
    if old == new:
        return not path and old_root == new_root
    rest = list(path)
    if old & (old - 1) == 0:
        rest.insert(0, old_root)
    if not rest:
        return False
    here, last = old - 1, new - 1
    while here & 1:
        here, last = here >> 1, last >> 1
    smaller = larger = rest[0]
    for other in rest[1:]:
        if last == 0:
            return False
        if here & 1 or here == last:
            smaller, larger = node_hash(other, smaller), node_hash(other, larger)
            while not here & 1 and here:
                here, last = here >> 1, last >> 1
        else:
            larger = node_hash(larger, other)
        here, last = here >> 1, last >> 1
    return last == 0 and smaller == old_root and larger == new_root
