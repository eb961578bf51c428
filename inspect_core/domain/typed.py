"""Text as people type it or files bring it, without what a person does not see but a terminal or a browser obeys.

Control characters move a terminal's cursor and rewrite what stands on it; signs that turn the direction of writing make
a serial number read as another one (Unicode Standard Annex 9). Signs that belong to a script, such as joiners, stay.
"""

from __future__ import annotations

_TURNING = (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
_LINES = (0x09, 0x0A)
#: Halves of characters, which JSON and command lines can hold and no database can.
_HALVES = range(0xD800, 0xE000)
#: For str.translate: control characters and turning signs go, tabs and line ends stay.
UNSEEN = {
    **dict.fromkeys((*range(0x20), *range(0x7F, 0xA0), *_TURNING, *_HALVES)),
    **{code: code for code in _LINES},
    **dict.fromkeys((0x0B, 0x0C, 0x0D, 0x85, 0x2028, 0x2029), " "),
}
#: The same where nothing may be lost from sight: a sign stands for each.
SEEN = {code: "\N{REPLACEMENT CHARACTER}" if code in UNSEEN and code not in _LINES else code for code in UNSEEN}


def one_line(text: str) -> str:
    """A name, tag, maker or the like: one line, single blanks, nothing unseen.

    >>> one_line("  Ward\\x1b[2J  7\\n")
    'Ward[2J 7'
    """
    return " ".join(text.translate(UNSEEN).split())


def some_lines(text: str) -> str:
    """A note: its lines as they are, nothing unseen.

    >>> some_lines("wet\\r\\nand \\u202edirty ")
    'wet\\nand dirty'
    """
    return text.replace("\r\n", "\n").translate(UNSEEN).strip()
