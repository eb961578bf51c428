"""TOML that came from anywhere, read within limits.

The library takes time and memory with the square of the parts of a dotted key: two hundred kilobytes of `a.a.a…` take
gigabytes. It follows nested lists as deep as the interpreter goes, and a whole number of thousands of digits is refused
by the interpreter and not by the library.
"""

from __future__ import annotations

import tomllib
from typing import Any

#: No line of rules or settings holds so many dots; a dotted key cannot go on in the next line.
MOST_DOTS = 40
MOST_LETTERS = 300_000


def read_toml(text: str) -> dict[str, Any]:
    """What a TOML text says. Raises ValueError with the reason, whatever is wrong with it."""
    if len(text) > MOST_LETTERS:
        raise ValueError(f"it is longer than {MOST_LETTERS} characters")
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS:
            raise ValueError(f"line {number} holds more than {MOST_DOTS} dots")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:
        raise ValueError("it holds a number of great length") from None
    except RecursionError:
        raise ValueError("it is nested too deeply") from None
