"""The language in which the command line answers people. What programs read (JSON, CSV, exports) stays English."""

from __future__ import annotations

import os
import sys
from typing import Any

import click

from inspect_core.languages import ENGLISH, Language, language

VARIABLE = "BARTACK_LANGUAGE"
_now: list[Language] = [ENGLISH]


def speak(code: str | None) -> None:
    """Answer in that language from now on: as asked for, else as the system is set where somebody reads along."""
    _now[0] = language(code) if code else _of_system()


def tongue() -> Language:
    """The language of this run."""
    return _now[0]


def say(message: Any = "", *, err: bool = False, nl: bool = True) -> None:
    """Print a text for people, in their language."""
    click.echo(_now[0].tell(message) if isinstance(message, str) else message, err=err, nl=nl)


def _of_system() -> Language:
    # Scripts that read what is printed get the same words on every machine.
    if sys.stdout is None or not sys.stdout.isatty():
        return ENGLISH
    asked = next((os.environ[name] for name in ("LC_ALL", "LC_MESSAGES", "LANG") if os.environ.get(name)), None)
    found = language(asked)
    return found if found.complete else ENGLISH
