"""Signed heads: what is signed, what a changed head looks like, what a file may hold."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from inspect_core.domain.errors import BadInput
from inspect_core.domain.record import TreeHead
from inspect_core.ledger import fingerprint, head_from_plain, head_message, head_plain, key_id, signed_by

AT = datetime(2026, 3, 4, 5, 6, 7, 8, tzinfo=UTC)
#: RFC 8032, section 7.1, test 1: secret key and the public key that belongs to it (from memory; the pair is checked).
SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")


def head(size: int = 3, root: bytes = b"r" * 32) -> TreeHead:
    key = Ed25519PrivateKey.from_private_bytes(SECRET)
    return TreeHead(size, root, AT, PUBLIC, key.sign(head_message(size, root, AT)))


def test_the_key_pair_is_that_of_the_rfc():
    assert Ed25519PrivateKey.from_private_bytes(SECRET).public_key().public_bytes_raw() == PUBLIC


def test_a_signed_head_is_accepted_in_any_zone():
    assert signed_by(head())
    assert signed_by(replace(head(), at=AT.astimezone(timezone(timedelta(hours=5)))))


@pytest.mark.parametrize(
    "change",
    [
        {"size": 4},
        {"root": b"s" * 32},
        {"at": AT + timedelta(microseconds=1)},
        {"public_key": bytes(32)},
        {"public_key": b"short"},
        {"signature": bytes(64)},
    ],
)
def test_a_head_with_anything_changed_is_not(change):
    assert not signed_by(replace(head(), **change))


def test_the_signed_bytes_are_written_out_in_full():
    assert head_message(3, b"\xab" * 32, AT) == (
        b'{"at":"2026-03-04T05:06:07.000008+00:00","format":"bartack tree head 1","root":"'
        + b"ab" * 32
        + b'","size":3}'
    )


def test_a_head_survives_its_file():
    assert head_from_plain(json.loads(json.dumps(head_plain(head())))) == head()


@pytest.mark.parametrize(
    "change",
    [
        {"format": "another"},
        {"size": 0},
        {"size": True},
        {"size": 2**60},
        {"size": "3"},
        {"root": "ab"},
        {"root": 7},
        {"at": "2026-03-04T05:06:07"},
        {"at": "yesterday"},
        {"public_key": "zz"},
        {"signature": "!!!"},
        {"more": 1},
    ],
)
def test_files_that_are_no_head_are_refused(change):
    with pytest.raises(BadInput, match="no signed head"):
        head_from_plain(head_plain(head()) | change)


@pytest.mark.parametrize("data", [None, [], "x", 3, {}])
def test_other_json_is_refused(data):
    with pytest.raises(BadInput, match="no signed head"):
        head_from_plain(data)


def test_a_fingerprint_is_the_start_of_the_key_id():
    assert fingerprint(PUBLIC).replace(" ", "") == key_id(PUBLIC)[:16]
    assert len(fingerprint(PUBLIC).split()) == 4
