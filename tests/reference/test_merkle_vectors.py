"""The Merkle tree against the vectors of the certificate transparency project, and against a tree built by the book.

Leaves, roots, consistency proofs and the audit path of a certificate in a public log: google/certificate-transparency,
python/ct/crypto/merkle_test.py (Apache-2.0), read there. The proofs for eight leaves are also in the C++ tests of that
project (merkletree/merkle_tree_test.cc), from memory.
"""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspect_core.ledger import (
    EMPTY_ROOT,
    Frontier,
    consistency_holds,
    consistency_path,
    frontier_numbers,
    inclusion_path,
    leaf_hash,
    node_hash,
    node_place,
    root_by_path,
)

LEAVES = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
CONSISTENCY = {
    (1, 1): [],
    (1, 8): [
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ],
    (6, 8): [
        "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ],
    (2, 5): [
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ],
}
INCLUSION = {
    (0, 8): CONSISTENCY[(1, 8)],
    (5, 8): [
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ],
}
#: A leaf of a public log with 3,630,887 entries.
LOG_LEAF, LOG_POSITION, LOG_SIZE = "7a395c866d5ecdb0cccb623e011dbc392cd348d1d1d72776174e127a24b09c78", 848049, 3630887
LOG_ROOT = "78316a05c9bcf14a3a4548f5b854a9adfcd46a4c034401b3ce7eb7ac2f1d0ecb"
LOG_PATH = [
    "1a208aeebcd1b39fe2de247ee8db9454e1e93a312d206b87f6ca9cc6ec6f1ddd",
    "0a1b78b383f580856f433c01a5741e160d451c185910027f6cc9f828687a40c4",
    "3d1745789bc63f2da15850de1c12a5bf46ed81e1cc90f086148b1662e79aab3d",
    "9095b61e14d8990acf390905621e62b1714fb8e399fbb71de5510e0aef45affe",
    "0a332b91b8fab564e6afd1dd452449e04619b18accc0ff9aa8393cd4928451f2",
    "2336f0181d264aed6d8f3a6507ca14a8d3b3c3a23791ac263e845d208c1ee330",
    "b4ce56e300590500360c146c6452edbede25d4ed83919278749ee5dbe178e048",
    "933f6ddc848ea562e4f9c5cfb5f176941301dad0c6fdb9d1fbbe34fac1be6966",
    "b95a6222958a86f74c030be27c44f57dbe313e5e7c7f4ffb98bcbd3a03bb52f2",
    "daeeb3ce5923defd0faeb8e0c210b753b85b809445d7d3d3cd537a9aabaa9c45",
    "7fadd0a13e9138a2aa6c3fdec4e2275af233b94812784f66bcca9aa8e989f2bc",
    "1864e6ba3e32878610546539734fb5eeae2529991f130c575c73a7e25a2a7c56",
    "12842d1202b1dc6828a17ab253c02e7ce9409b5192430feba44189f39cc02d66",
    "29af64b16fa3053c13d02ac63aa75b23aa468506e44c3a2315edc85d2dc22b11",
    "b527b99934a0bd9edd154e449b0502e2c499bba783f3bc3dfe23364b6b532009",
    "4584db8ae8e351ace08e01f306378a92bfd43611714814f3d834a2842d69faa8",
    "86a9a41573b0d6e4292f01e93243d6cc65b30f06606fc6fa57390e7e90ed580f",
    "a88b98fbe84d4c6aae8db9d1605dfac059d9f03fe0fcb0d5dff1295dacba09e6",
    "06326dc617a6d1f7021dc536026dbfd5fffc6f7c5531d48ef6ccd1ed1569f2a1",
    "f41fe8fdc3a2e4e8345e30216e7ebecffee26ff266eeced208a6c2a3cf08f960",
    "40cf5bde8abb76983f3e98ba97aa36240402975674e120f234b3448911090f8d",
    "b3222dc8658538079883d980d7fdc2bef9285344ea34338968f736b04aeb387a",
]


def by_the_book(leaves: list[bytes]) -> bytes:
    """The definition of RFC 6962, 2.1, word for word: slow and plain."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    middle = 1
    while middle * 2 < len(leaves):
        middle *= 2
    return hashlib.sha256(b"\x01" + by_the_book(leaves[:middle]) + by_the_book(leaves[middle:])).digest()


def path_by_the_book(position: int, leaves: list[bytes]) -> list[bytes]:
    """PATH of RFC 6962, 2.1.1."""
    if len(leaves) == 1:
        return []
    middle = 1
    while middle * 2 < len(leaves):
        middle *= 2
    if position < middle:
        return [*path_by_the_book(position, leaves[:middle]), by_the_book(leaves[middle:])]
    return [*path_by_the_book(position - middle, leaves[middle:]), by_the_book(leaves[:middle])]


def proof_by_the_book(old: int, leaves: list[bytes], whole: bool = True) -> list[bytes]:
    """SUBPROOF of RFC 6962, 2.1.2."""
    if old == len(leaves):
        return [] if whole else [by_the_book(leaves)]
    middle = 1
    while middle * 2 < len(leaves):
        middle *= 2
    if old <= middle:
        return [*proof_by_the_book(old, leaves[:middle], whole), by_the_book(leaves[middle:])]
    return [*proof_by_the_book(old - middle, leaves[middle:], False), by_the_book(leaves[:middle])]


class Grown:
    """A tree grown leaf by leaf, with the nodes kept as the store keeps them: by the entry that completes them."""

    def __init__(self, leaves: list[bytes]) -> None:
        self.frontier, self.rows, self.roots = Frontier(), {}, [EMPTY_ROOT]
        for number, leaf in enumerate(leaves, start=1):
            self.rows[number] = self.frontier.add(leaf_hash(leaf))
            self.roots.append(self.frontier.root())

    def node(self, level: int, position: int) -> bytes:
        number, place = node_place(level, position)
        return self.rows[number][place]


EIGHT = Grown(LEAVES)


def test_roots_of_nought_to_eight_leaves():
    assert [root.hex() for root in EIGHT.roots] == ROOTS


def test_a_leaf_and_a_node():
    assert leaf_hash(bytes.fromhex("101112131415161718191a1b1c1d1e1f")).hex() == (
        "3bfb960453ebaebf33727da7a1f4db38acc051d381b6da20d6d4e88f0eabfd7a"
    )
    left, right = bytes(range(32)), bytes(range(32, 64))
    assert node_hash(left, right).hex() == "1a378704c17da31e2d05b6d121c2bb2c7d76f6ee6fa8f983e596c2d034963c57"


@pytest.mark.parametrize(("old", "new"), CONSISTENCY)
def test_consistency_proofs(old: int, new: int):
    path = consistency_path(old, new, EIGHT.node)
    assert [part.hex() for part in path] == CONSISTENCY[old, new]
    assert consistency_holds(old, new, EIGHT.roots[old], EIGHT.roots[new], path)


@pytest.mark.parametrize(("position", "size"), INCLUSION)
def test_audit_paths(position: int, size: int):
    path = inclusion_path(position, size, EIGHT.node)
    assert [part.hex() for part in path] == INCLUSION[position, size]
    assert root_by_path(leaf_hash(LEAVES[position]), position, size, path) == EIGHT.roots[size]


def test_the_audit_path_of_a_certificate_in_a_public_log():
    path = [bytes.fromhex(part) for part in LOG_PATH]
    root = root_by_path(bytes.fromhex(LOG_LEAF), LOG_POSITION, LOG_SIZE, path)
    assert root is not None and root.hex() == LOG_ROOT
    assert root_by_path(bytes.fromhex(LOG_LEAF), LOG_POSITION + 1, LOG_SIZE, path) != root
    assert root_by_path(bytes.fromhex(LOG_LEAF), LOG_POSITION, LOG_SIZE, path[:-1]) is None
    assert root_by_path(bytes.fromhex(LOG_LEAF), LOG_POSITION, LOG_SIZE, [*path, path[0]]) is None


@pytest.mark.parametrize("size", range(1, 36))
def test_every_small_tree_agrees_with_the_definition(size: int):
    leaves = [b"%d" % n for n in range(size)]
    tree = Grown(leaves)
    assert tree.roots[size] == by_the_book(leaves)
    for position in range(size):
        path = inclusion_path(position, size, tree.node)
        assert list(path) == path_by_the_book(position, leaves)
        assert root_by_path(leaf_hash(leaves[position]), position, size, path) == tree.roots[size]
    for old in range(1, size + 1):
        path = consistency_path(old, size, tree.node)
        assert list(path) == proof_by_the_book(old, leaves)
        assert consistency_holds(old, size, tree.roots[old], tree.roots[size], path)


@given(st.integers(2, 200), st.data())
def test_a_proof_changed_anywhere_holds_no_more(size: int, data: st.DataObject):
    tree = Grown([b"%d" % n for n in range(size)])
    old = data.draw(st.integers(1, size - 1))
    path = list(consistency_path(old, size, tree.node))
    place = data.draw(st.integers(0, len(path) - 1))
    changed = [*path[:place], hashlib.sha256(path[place]).digest(), *path[place + 1 :]]
    assert not consistency_holds(old, size, tree.roots[old], tree.roots[size], changed)
    assert not consistency_holds(old, size, tree.roots[old], tree.roots[size], path[:place] + path[place + 1 :])
    assert not consistency_holds(old, size, tree.roots[size], tree.roots[size], path)


@given(st.integers(0, 2000))
def test_a_tree_goes_on_from_its_frontier(size: int):
    tree = Grown([b"%d" % n for n in range(size)])
    peaks = [tree.rows[number][-1] for number in frontier_numbers(size)]
    again = Frontier(size, peaks)
    assert again.root() == tree.roots[size]
    assert again.add(leaf_hash(b"next")) == tree.frontier.add(leaf_hash(b"next"))
    assert again.root() == tree.frontier.root()


def test_proofs_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="has none at 8"):
        inclusion_path(8, 8, EIGHT.node)
    with pytest.raises(ValueError, match="no proof leads"):
        consistency_path(0, 8, EIGHT.node)
    assert root_by_path(EIGHT.roots[1], 8, 8, ()) is None
    assert not consistency_holds(9, 8, EIGHT.roots[8], EIGHT.roots[8], ())
    with pytest.raises(ValueError, match="3 peaks, not 0"):
        Frontier(7, ())
