"""What the commands share: opening the store late, reading JSON, printing."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inspect_core.domain.errors import BadInput
from inspect_core.terminal.spoken import tongue

if TYPE_CHECKING:
    from inspect_core.domain.people import Person, Role
    from inspect_core.usecases.services import Services

#: A case or a check file larger than this is no such file.
MOST_BYTES = 5_000_000
#: No file that a command reads whole is larger; a device or a pipe could go on for ever.
MOST_READ = 200 * 1024 * 1024
PIN_VARIABLE = "BARTACK_PIN"

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")


class Session:
    """One run of the program over one store, opened only by a command that needs it."""

    def __init__(self, store: str | None, pin_file: str | None = None) -> None:
        self.store, self.pin_file = store, pin_file
        self.pin: str | None = None  # of whoever acts, for what has to be signed

    @cached_property
    def services(self) -> Services:
        from inspect_core import bootstrap

        return bootstrap.open_services(self.store)

    def person(self, name: str, role: Role) -> Person:
        """The person of that name, signed in where the site has sign-in; else entered with that role where unknown."""
        from inspect_core.usecases.register import person_named
        from inspect_core.usecases.sign_in import is_locked, sign_in

        if not is_locked(self.services):
            return person_named(name, role, self.services)
        self.pin = self._secret()
        signed = sign_in(name, self.pin, self.services)
        self.services = replace(self.services, actor=signed.actor)
        return signed.person

    def _secret(self) -> str:
        """The PIN or pass phrase: from a file, the environment or, unseen, from the keyboard; never an argument."""
        if self.pin_file == "-":
            return sys.stdin.buffer.readline().decode("utf-8", "replace").rstrip("\r\n")
        if self.pin_file is not None:
            lines = read_bytes(self.pin_file).decode("utf-8", "replace").splitlines()
            return lines[0] if lines else ""
        if PIN_VARIABLE in os.environ:
            return os.environ[PIN_VARIABLE]
        if not sys.stdin.isatty():
            raise BadInput(
                "This site has sign-in, and no PIN was given.",
                f"Run it where the PIN can be typed, or use --pin-file FILE or the variable {PIN_VARIABLE}.",
            )
        return str(click.prompt(tongue().tell("PIN or pass phrase"), hide_input=True, err=True))

    def leave(self) -> None:
        """End the sign-in that this run began, and let go of the store."""
        if "services" not in self.__dict__:
            return
        try:
            if self.services.actor is not None:
                from inspect_core.usecases.sign_in import sign_out

                sign_out(self.services)
        finally:
            self.services.close()


def read_bytes(path: str) -> bytes:
    """A file's bytes, or standard input for "-". Raises BadInput where it cannot be read or never ends."""
    try:
        if path == "-":
            data = sys.stdin.buffer.read(MOST_READ + 1)
        else:
            with Path(path).open("rb") as file:
                data = file.read(MOST_READ + 1)
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or "unreadable"
        raise BadInput(
            f"“{path}” cannot be read: {reason.lower()}.", "Check the path, or give - for standard input."
        ) from None
    if len(data) > MOST_READ:
        raise BadInput(f"“{path}” is larger than {MOST_READ // 2**20} MB.", "Give a smaller file.")
    return data


def read_json(path: str) -> Any:
    """JSON from a file or standard input. Raises BadInput with the place of the fault."""
    data = read_bytes(path)
    if len(data) > MOST_BYTES:
        raise BadInput("The file is larger than 5 MB.", "Give one case a file.")
    try:
        return json.loads(data.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_constant)
    except UnicodeDecodeError:
        raise BadInput("The file is not UTF-8 text.", "Save it as UTF-8.") from None
    except json.JSONDecodeError as fault:
        raise BadInput(
            f"The file is not JSON: {fault.msg} in line {fault.lineno}, column {fault.colno}.", "Mend that place."
        ) from None
    except ValueError:  # a whole number of thousands of digits
        raise BadInput("The file holds a number of great length.", "Leave out what was not measured.") from None
    except RecursionError:
        raise BadInput("The file is nested too deeply to be a case.", "Give one case as the help shows.") from None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in pairs:
        if key in result:
            raise BadInput(f"The key “{key}” stands twice.", "Keep the one that is meant.")
        result[key] = value
    return result


def _no_constant(word: str) -> Any:
    raise BadInput(f"“{word}” is no number.", "Leave out what was not measured.")


def photo_reader(base: str) -> Callable[[str], bytes]:
    """Reads a photo named in a file, relative to that file's folder ("-": the present folder)."""
    folder = Path.cwd() if base == "-" else Path(base).parent

    def read(path: str) -> bytes:
        return read_bytes(str(folder / path))

    return read


def print_json(value: Any) -> None:
    """Plain JSON, keys in the order given, the same bytes for the same value."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False))


def write_file(path: str, data: bytes) -> None:
    """Write a whole file or raise BadInput; "-" is standard output."""
    if path == "-":
        sys.stdout.buffer.write(data)
        return
    try:
        Path(path).write_bytes(data)
    except OSError as fault:
        reason = fault.strerror or "unwritable"
        raise BadInput(f"“{path}” cannot be written: {reason.lower()}.", "Choose another place.") from None


def table(rows: Sequence[tuple[str, ...]], header: tuple[str, ...]) -> str:
    """Plain columns in the language of the run, as wide as their longest cell."""
    tell = tongue().tell
    cell = tongue().cell
    lines = [tuple(map(tell, header)), *(tuple(map(cell, header, row)) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    # What is told already is not told again.
    return "\n".join(
        tongue().written("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())
        for line in lines
    )


def finding_lines(finding: Mapping[str, Any]) -> str:
    """A finding for people: outcome and reason, the number with unit and uncertainty, source and basis."""
    measured = ""
    if finding["value"] is not None:
        measured = (
            f"\n      {finding['measure']}: {finding['value']:g} ± {finding['uncertainty']:g} {finding['unit']} (k = 2)"
        )
        if finding["limit"] is not None:
            measured += f", limit {finding['limit']:g} {finding['unit']}"
    return (
        f"  {finding['outcome']}: {finding['reason']}{measured}\n"
        f"      source: {finding['source']} · basis: {finding['basis']} · rule: {finding['rule']}"
    )


CAUTION = (
    "The maker's instructions, local codes and a competent person come first. "
    "A photo shows no hidden damage, and no reading proves strength."
)
