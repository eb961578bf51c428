"""The chain, against an independent computation of RFC 8785 and SHA-256, and against tampering."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from inspect_core.ledger import GENESIS, broken_links, canonical, next_entry

AT = datetime(2026, 1, 2, 3, 4, 5, 6, tzinfo=UTC)


def chain(length: int = 6):
    entries, head = [], None
    for number in range(length):
        head = next_entry(head, AT + timedelta(hours=number), "inspection", f"i{number}", {"n": number})
        entries.append(head)
    return entries


def test_canonical_form_of_the_example_in_rfc_8785():
    # RFC 8785, section 3.2.2 (sample input) and 3.2.4 (its UTF-8 bytes, from memory; the serialization rules are
    # those of sections 3.2.2.2 and 3.2.2.3).
    data = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 1e-27],
        "string": '€$\u000f\nA\'B"\\\\"/',
        "literals": [None, True, False],
    }
    expected = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical(data) == expected.encode()


def test_a_digest_is_sha256_over_the_canonical_entry():
    entry = next_entry(None, AT, "item", "x", {"b": 1, "a": "é"})
    content = {
        "at": "2026-01-02T03:04:05.000006+00:00",
        "body": {"a": "é", "b": 1},
        "number": 1,
        "previous": GENESIS,
        "subject": "item",
        "subject_id": "x",
    }
    plain = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert entry.digest == hashlib.sha256(plain).hexdigest()


def test_the_same_moment_in_another_zone_gives_the_same_digest():
    there = AT.astimezone(timezone(timedelta(hours=-5)))
    assert next_entry(None, AT, "s", "i", {}).digest == next_entry(None, there, "s", "i", {}).digest


def test_a_whole_chain_has_no_fault():
    assert broken_links(chain()) == ()
    assert broken_links([]) == ()


@pytest.mark.parametrize(
    ("harm", "named"),
    [
        (lambda c: [*c[:2], replace(c[2], body={"n": 99}), *c[3:]], "Entry 3"),
        (lambda c: [*c[:2], replace(c[2], subject_id="other"), *c[3:]], "Entry 3"),
        (lambda c: [*c[:2], replace(c[2], at=c[2].at + timedelta(seconds=1)), *c[3:]], "Entry 3"),
        (lambda c: [*c[:2], *c[3:]], "Entry 3 is missing"),
        (lambda c: [*c[:2], c[3], c[2], *c[4:]], "out of order"),
        (lambda c: [c[0], next_entry(c[0], AT, "inspection", "new", {}), *c[1:]], "out of order"),
        (lambda c: c[1:], "Entry 1 is missing"),
    ],
)
def test_tampering_is_found_and_named(harm, named):
    assert any(named in fault for fault in broken_links(harm(chain())))
