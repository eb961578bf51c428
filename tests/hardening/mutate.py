"""Spoils good inputs at random, from a seed: plain data, bytes and text."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

#: What strangers send: wrong kinds, extremes, syntax of other languages, broken text.
ODD: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 10**30, -(10**30), 0.1, -0.0, 1e308, -1e308, 5e-324),
    *(float("nan"), float("inf"), float("-inf"), "", " ", "\0", "\ud83d", "x" * 5000, "=1+1", "@x", "-2+3"),
    *("'; DROP TABLE items; --", "<script>alert(1)</script>", "../../etc/passwd", "C:\\x", "${x}", "{{x}}", "%n%s"),
    *("2026-02-30", "9999-12-31", "0001-01-01", "1e999", "NaN", "\u202ereversed", "ﷺ" * 50, "🧵"),
    *([], {}, [[]], {"": None}, [None] * 50, [[0, 0]] * 3, {"type": "box", "points": [[0, 0], [1e300, 1]]}),
)


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    if isinstance(value, dict):
        for key, entry in value.items():
            yield from _places(entry, (*path, key))
    elif isinstance(value, list):
        for place, entry in enumerate(value):
            yield from _places(entry, (*path, place))


def _parent(value: Any, path: tuple[Any, ...]) -> Any:
    for step in path[:-1]:
        value = value[step]
    return value


def spoiled_data(rng: random.Random, good: Any) -> Any:
    """A copy of plain data with one to three places spoilt: replaced, removed, doubled, renamed, nested or moved."""
    data = copy.deepcopy(good)
    for _ in range(rng.randint(1, 3)):
        paths = [path for path in _places(data) if path]
        if not paths:
            return copy.deepcopy(rng.choice(ODD))
        path = rng.choice(paths)
        parent, key = _parent(data, path), path[-1]
        what = rng.randrange(7)
        if what <= 1:
            parent[key] = copy.deepcopy(rng.choice(ODD))
        elif what == 2:
            del parent[key]
        elif what == 3 and isinstance(parent, list):
            parent.extend([copy.deepcopy(parent[key])] * rng.randint(1, 3))
        elif what == 4 and isinstance(parent, dict):
            parent[rng.choice(("x", "", "id", "type", str(key) + " ", "__class__", "marks"))] = parent.pop(key)
        elif what == 5:
            parent[key] = [parent[key]] if rng.random() < 0.5 else {"value": parent[key]}
        else:
            parent[key] = copy.deepcopy(_parent(data, rng.choice(paths)))
    return data


def nested(depth: int) -> Any:
    """A list in a list in a list."""
    value: Any = []
    for _ in range(depth):
        value = [value]
    return value


def spoiled_bytes(rng: random.Random, good: bytes) -> bytes:
    """Bytes flipped, cut, doubled, filled or swapped at one to eight places, early ones more often than late ones."""
    data = bytearray(good)
    for _ in range(rng.randint(1, 8)):
        if not data:
            break
        # Headers decide most: half of all places lie among the first five hundred bytes.
        at = rng.randrange(min(len(data), 500)) if rng.random() < 0.5 else rng.randrange(len(data))
        length = rng.choice((1, 1, 2, 4, 16, 200))
        what = rng.randrange(6)
        if what == 0:
            data[at] ^= 1 << rng.randrange(8)
        elif what == 1:
            data[at : at + length] = rng.randbytes(len(data[at : at + length]))
        elif what == 2:
            del data[at : at + length]
        elif what == 3:
            data[at:at] = data[at : at + length]
        elif what == 4:
            data[at : at + length] = bytes([rng.choice((0, 255, 127, 128))]) * length
        else:
            del data[at:]
    return bytes(data)


def spoiled_text(rng: random.Random, good: str) -> bytes:
    """Text with words, lines or signs spoilt, mostly still UTF-8."""
    lines = good.splitlines(keepends=True)
    for _ in range(rng.randint(1, 4)):
        if not lines:
            break
        at = rng.randrange(len(lines))
        what = rng.randrange(7)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif what == 2:
            lines[at] = lines[at].replace(rng.choice((",", "=", '"', " ", "1", ".")), str(rng.choice(ODD))[:40], 1)
        elif what == 3:
            place = rng.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:place] + rng.choice("\"'[]{}=,;\t#\\\n\0é") + lines[at][place:]
        elif what == 4:
            lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
        elif what == 5:
            words = lines[at].split(" ")
            words[rng.randrange(len(words))] = str(rng.choice(ODD))[:60]
            lines[at] = " ".join(words)
        else:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
    raw = "".join(lines).encode("utf-8", "surrogatepass")
    return spoiled_bytes(rng, raw) if rng.random() < 0.1 else raw
