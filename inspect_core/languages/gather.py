"""All sentences of the program, in the order of the files, gathered from the source tree."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from inspect_core.languages.sources import Message, pieces, python_messages

ROOT = Path(__file__).parents[2]
#: Where sentences for people stand.
_PLACES = ("inspect_core", "storage", "streamlit_app.py")
#: Where none do: steps of the database, this package, the notes of an invented site, the shape of a file.
_LEFT_OUT = (
    *("storage/migrations/", "storage/tables.py", "storage/mapping.py", "storage/life_statements.py"),
    *("inspect_core/languages/", "inspect_core/usecases/demo", "inspect_core/trends/outline"),
    *(
        "inspect_core/reports/attachments.py",
        "inspect_core/reports/typeface.py",
        "inspect_core/imaging/label_standards.py",
    ),
    *("inspect_core/rules/data", "inspect_core/rigging/data", "inspect_core/screens/state.py"),
)
#: Files that are tables of the trade's words: single words count as sentences there.
_WORDS = (
    "inspect_core/domain/",
    "inspect_core/screens/words/",
    "inspect_core/rigging/words.py",
    "inspect_core/rules/model.py",
    "inspect_core/reports/site_sheet.py",
)
#: What the front ends in the browser say, with named places as they stand.
_PHRASES = "inspect_core/screens/marking/phrases.py"
#: Keys of rule and figure tables that are read by people, by the table they stand in.
_SAID = {
    "rule": ("title", "reason", "note"),
    "source": ("note",),
    "fact": ("name", "meaning", "values"),
    "profile": ("title",),
    "before_use": ("duty",),
    "figure": ("use", "words", "caution"),
}
#: How a decision says where a reading stands against its limit.
_WEIGHED = tuple(
    f"{{number}} {verb} the limit of {{limit}}{whose}{end}"
    for verb, end in (
        *((verb, ".") for verb in ("reaches", "is more than", "is less than", "stays above", "stays below")),
        ("stays within", "."),
        ("leaves", " within its uncertainty; measure it by hand."),
    )
    for whose in ("", " set by the maker")
)
#: Sentences put together where the syntax tree does not show them as one.
_PUT_TOGETHER = (
    *_WEIGHED,
    "The {component} was not answered.",
    *("{shown} is above the limit.", "{shown} is below the limit."),
    "{show_length} from the anchor ± {spread}",
    *(f"At most {{force}} by its {by}; the profile has no limit here to set it against." for by in ("label", "class")),
    "Enter the loads it was designed or tested for, or have a competent person accept it.",
    "Enter the loads it was designed or tested for: {loads}, or have a competent person accept it.",
    *("A {seen}", "An {seen}", "Photo {number}:"),
    *(f"When {{measure}} is {met} {{limit}}." for met in ("more than", "less than", "at least", "at most")),
    *(
        "Use one of: {words}.",
        "Pick one of: {words}.",
        "yes",
        "no",
        "none",
        "today",
        "{start} and {end}",
        "{start} or {end}",
    ),
    *("common practice, no published source", "maker's instructions", "{low} to {high}", "years", "months", "days"),
    *(
        "{tag} and {tag2}",
        "share",
        "grade {number}",
        "page {page} of",
        "not recorded",
        "not known",
        "any",
        "everywhere",
        "never",
    ),
)


def messages() -> Iterator[Message]:
    """Every sentence, each as often as it stands somewhere."""
    for path in _files():
        place = path.relative_to(ROOT).as_posix()
        if place == _PHRASES:
            yield from _phrases(path.read_text(encoding="utf-8"), place)
        elif path.suffix == ".py":
            words = any(place.startswith(start) for start in _WORDS)
            yield from python_messages(path.read_text(encoding="utf-8"), place, words=words)
        elif path.suffix == ".toml":
            yield from _table_messages(path, place)
    for text in _PUT_TOGETHER:
        yield Message(text, "", "inspect_core/languages/gather.py")


def _files() -> Iterator[Path]:
    for place in _PLACES:
        start = ROOT / place
        found = [start] if start.is_file() else sorted(p for p in start.rglob("*") if p.suffix in (".py", ".toml"))
        for path in found:
            name = path.relative_to(ROOT).as_posix()
            if path.suffix != ".py" or not any(name.startswith(left) for left in _LEFT_OUT):
                yield path


def _table_messages(path: Path, place: str) -> Iterator[Message]:
    for text in _said(tomllib.loads(path.read_text(encoding="utf-8")), ""):
        for piece in pieces(text.replace("{", "{{").replace("}", "}}")):
            yield Message(piece, "", place)


def _said(table: dict[str, Any], kind: str) -> Iterator[str]:
    for key, value in table.items():
        if key in _SAID.get(kind, ()):
            yield from [value] if isinstance(value, str) else [one for one in value if isinstance(one, str)]
        elif isinstance(value, dict):
            yield from _said(value, key)
        elif isinstance(value, list):
            for one in value:
                if isinstance(one, dict):
                    yield from _said(one, key)


def _phrases(source: str, place: str) -> Iterator[Message]:
    for node in ast.parse(source).body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id == "PHRASES":
            for one in ast.walk(node.value):
                if isinstance(one, ast.Constant) and isinstance(one.value, str):
                    yield Message(one.value, "", place)
