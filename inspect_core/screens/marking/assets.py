"""The component's script and style, read from the files beside this one.

Each .js file is an ES module that says what it imports; the browser gets them as one script. Joining drops
the import lines and the word `export`, so every top-level name must be unique over all files.
"""

from __future__ import annotations

import re
from importlib.resources import files

#: In the order in which they are joined; a file uses only names from files before it, outside functions.
SCRIPT_FILES = (
    "tongue.js",
    "geometry.js",
    "history.js",
    "store.js",
    "elements.js",
    "icons.js",
    "view.js",
    "photo.js",
    "stage.js",
    "loupe.js",
    "drawing.js",
    "reshape.js",
    "gestures.js",
    "keyboard.js",
    "chooser.js",
    "toolbar.js",
    "list.js",
    "desk.js",
    "intake.js",
    "frame.js",
    "main.js",
)
STYLE_FILES = ("frame.css", "stage.css", "controls.css")

_IMPORT_LINE = re.compile(r"^import [^\n]*;\n", re.MULTILINE)
_EXPORT_WORD = re.compile(r"^export (?!default)", re.MULTILINE)


def read_text(name: str) -> str:
    """One file of this package as text."""
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


def _joined(names: tuple[str, ...]) -> str:
    return "\n".join(_EXPORT_WORD.sub("", _IMPORT_LINE.sub("", read_text(name))) for name in names)


def script() -> str:
    """The marking component as one ES module with one default export."""
    return _joined(SCRIPT_FILES)


def readings_script() -> str:
    """The little component that hands readings to the large one."""
    return _joined(("readings.js",))


def forget_script() -> str:
    """The little component that drops the browser's copies."""
    return _joined(("store.js", "forget.js"))


def style() -> str:
    """The whole style sheet; it lives in the component's shadow root."""
    return "\n".join(read_text(name) for name in STYLE_FILES)
