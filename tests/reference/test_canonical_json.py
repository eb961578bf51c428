"""Canonical JSON against the test files published with RFC 8785.

Inputs and outputs: cyberphone/json-canonicalization, testdata/input and testdata/output (Apache-2.0), by the author of
the RFC, which names that collection in its appendix; the output of arrays.json follows from the rules of section 3.2.
Numbers: RFC 8785, appendix B, from memory.
"""

from __future__ import annotations

import json
import struct

import pytest

from inspect_core.ledger import canonical

FILES = {
    "arrays": (
        '[\n  56,\n  {\n    "d": true,\n    "10": null,\n    "1": [ ]\n  }\n]',
        '[56,{"1":[],"10":null,"d":true}]',
    ),
    "french": (
        '{\n  "peach": "This sorting order",\n  "péché": "is wrong according to French",\n'
        '  "pêche": "but canonicalization MUST",\n  "sin":   "ingnore locale"\n}\n',
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ingnore locale"}',
    ),
    "structures": (
        '{\n  "1": {"f": {"f": "hi","F": 5} ,"\\n": 56.0},\n  "10": { },\n  "": "empty",\n  "a": { },\n'
        '  "111": [ { } ],\n  "A": { }\n}',
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}',
    ),
    "unicode": (
        '{\n  "Unnormalized Unicode":"\\u1e0d\\u0307"\n}\n',
        '{"Unnormalized Unicode":"\u1e0d\u0307"}',
    ),
    "values": (
        '{\n  "numbers": [1E30, 4.50, 333333333.33333329, 2e-3, 0.000000000000000000000000001],\n'
        '  "escaping": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/",\n'
        '  "literals": [null, true, false]\n}',
        '{"escaping":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/","literals":[null,true,false],'
        '"numbers":[1e+30,4.5,333333333.3333333,0.002,1e-27]}',
    ),
    "weird": (
        '{\n  "\\u20ac": "Euro Sign",\n  "1": "One",\n  "\\u0080": "Control\\u007f",\n'
        '  "\\ud83d\\ude02": "Smiley",\n  "\\u00f6": "Latin Small Letter O With Diaeresis",\n'
        '  "\\ufb33": "Hebrew Letter Dalet With Dagesh",\n  "</script>": "Browser Challenge"\n}\n',
        '{"1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f",'
        '"ö":"Latin Small Letter O With Diaeresis","€":"Euro Sign","\U0001f602":"Smiley",'
        '"\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    ),
}
#: IEEE 754 bits → text.
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize("name", FILES)
def test_the_published_files(name: str):
    given, expected = FILES[name]
    assert canonical(json.loads(given)) == expected.encode()


@pytest.mark.parametrize("bits", NUMBERS)
def test_numbers_as_the_rfc_writes_them(bits: str):
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical(value).decode() == NUMBERS[bits]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_json_cannot_say_is_refused(value: float):
    with pytest.raises(ValueError, match=r"."):
        canonical(value)
