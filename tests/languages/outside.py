"""What a page or a paper in the pseudo-language says outside the brackets: what was not recognised."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from streamlit.testing.v1 import AppTest

from inspect_core.languages.language import PSEUDO

#: What stands in a page's messages for the machine, by the names of their fields.
_MACHINE = {
    *("id", "form_id", "key", "css", "icon", "url", "type", "page_script_hash", "url_path", "width", "gap", "spec"),
    *(
        "user_key",
        "element_id",
        "color",
        "columns",
        "mime_type",
        "format",
        "data",
        "file_id",
        "default",
        "autocomplete",
    ),
    *("page", "query_string", "mime"),
    *("value", "raw_values", "language", "element_type", "arrow_data", "imgs", "json", "dataset_name", "name", "form"),
}
_NO_WORDS = re.compile(r"<(style|script).*?</\1>|<[^>]*>|:material/\w+:|:[a-z-]+\[|\(?[A-Z]{1,4}\\?-\d+\)?", re.DOTALL)
_WORD = re.compile(r"[A-Za-z][A-Za-z’'-]{2,}")


def texts(app: AppTest) -> Iterator[str]:
    """Every text of a page that a person reads."""

    def messages(block: Any) -> Iterator[Any]:
        for child in block.children.values():
            if getattr(child, "proto", None) is not None:
                yield child.proto
            if getattr(child, "children", None):
                yield from messages(child)

    def strings(message: Any) -> Iterator[str]:
        for field, value in message.ListFields():
            if field.name in _MACHINE:
                continue
            many = value if hasattr(value, "__iter__") and not isinstance(value, str | bytes) else [value]
            for one in many:
                if isinstance(one, str):
                    yield one
                elif hasattr(one, "ListFields"):
                    yield from strings(one)

    for message in messages(app._tree):
        yield from strings(message)


def words_outside(text: str, *, known: set[str]) -> list[str]:
    """The words of a text that stand in no bracket and are no name or code."""
    bare = re.sub(
        r"<(style|script).*?</\1>|<[^>]*>|:material/\w+:|:[a-z-]+\[|\(?[A-Z]{1,4}\\?-\d+\)?", " ", text, flags=re.DOTALL
    )
    depth, outside = 0, ""
    for sign in bare:
        depth += (sign == "‹") - (sign == "›")
        outside += sign if depth == 0 else " "
    return [word for word in _WORD.findall(outside) if word not in known and not re.fullmatch(r"[0-9a-f]+", word)]


def pseudo() -> str:
    return PSEUDO.code
