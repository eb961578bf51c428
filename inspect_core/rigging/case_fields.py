"""Reading a case: named fields of known kinds, every fault told at once, nothing unknown let through."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.units import Dimension, parse

LONGEST_TEXT = 200
MOST_ENTRIES = 2500

#: Kinds that are quantities.
_DIMENSIONS = {"length": Dimension.LENGTH, "force": Dimension.FORCE, "mass": Dimension.MASS}


@dataclass(frozen=True, slots=True)
class Field:
    """One key of a case.

    `kind`: length, force, mass (quantities); number, whole number, flag, text, long text, date, choice;
    `point` (lengths), `pixel` (plain numbers); `object` and `list of …` with `inside` or the kind after "list of".
    `null`, or the key left out, means not known; a `needed` key may be neither.
    """

    kind: str
    words: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False
    inside: Mapping[str, Field] = field(default_factory=dict)
    default: str | None = None

    def as_dict(self) -> dict[str, object]:
        """Plain values for the vocabulary."""
        out: dict[str, object] = {"kind": self.kind, "needed": self.needed, "words": self.words}
        if self.choices:
            out["choices"] = list(self.choices)
        if self.inside:
            out["keys"] = {name: inner.as_dict() for name, inner in self.inside.items()}
        return out


class Faults(list[str]):
    """Every fault of a case, each as "key: what is wrong"."""

    def stop(self) -> None:
        """Raise BadInput when there is any."""
        if self:
            shown = "; ".join(self[:12]) + (f"; and {len(self) - 12} more" if len(self) > 12 else "")
            raise BadInput(
                f"The case has faults: {shown}.", "Mend each key named; docs/setup_checks.md shows every case."
            )


def read(form: Mapping[str, Field], raw: object, path: str, system: str | None, faults: Faults) -> dict[str, Any]:
    """Values of every key of `form`, None where not known. Faults are added to `faults`, never raised here."""
    if not isinstance(raw, Mapping):
        faults.append(f"{path or 'case'}: is no object")
        return dict.fromkeys(form)
    for key in raw:
        if key not in form:
            faults.append(f"{path}{str(key)[:40]}: unknown key")
    values: dict[str, Any] = {}
    for name, spec in form.items():
        given = raw.get(name)
        if given is None:
            values[name] = spec.default
            if spec.needed:
                faults.append(f"{path}{name}: missing")
            continue
        values[name] = _value(spec, given, f"{path}{name}", system, faults)
    return values


def _value(spec: Field, raw: object, path: str, system: str | None, faults: Faults) -> Any:
    if spec.kind.startswith("list of "):
        if not isinstance(raw, Sequence) or isinstance(raw, (str, bytes)):
            faults.append(f"{path}: is no list")
            return None
        if len(raw) > MOST_ENTRIES:
            faults.append(f"{path}: has {len(raw)} entries, {MOST_ENTRIES} is the most")
            return None
        inner = Field(spec.kind[8:], choices=spec.choices, inside=spec.inside)
        return [_value(inner, one, f"{path}[{i}]", system, faults) for i, one in enumerate(raw)]
    if spec.kind == "object":
        return read(spec.inside, raw, f"{path}.", system, faults)
    try:
        if spec.kind in _DIMENSIONS:
            return parse(raw, _DIMENSIONS[spec.kind], system)
        if spec.kind == "point":
            x, y = _pair(raw)
            return (parse(x, Dimension.LENGTH, system).value, parse(y, Dimension.LENGTH, system).value)
        if spec.kind == "pixel":
            x, y = _pair(raw)
            return (_number(x), _number(y))
        return _plain(spec, raw)
    except BadInput as fault:
        faults.append(f"{path}: {fault.problem.rstrip('.')}")
        return None


def _pair(raw: object) -> tuple[object, object]:
    if not isinstance(raw, Sequence) or isinstance(raw, (str, bytes)) or len(raw) != 2:
        raise BadInput("Is no pair of numbers.", "Give [x, y].")
    return raw[0], raw[1]


def _number(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, (int, float)) or abs(raw) > 1e9 or not math.isfinite(raw):
        raise BadInput("Is no usable number.", "Give a plain number.")
    return float(raw)


def _plain(spec: Field, raw: object) -> Any:
    if spec.kind == "number":
        return _number(raw)
    if spec.kind == "whole number":
        if isinstance(raw, bool) or not isinstance(raw, int) or abs(raw) > 10**6:
            raise BadInput("Is no whole number.", "Give a whole number.")
        return raw
    if spec.kind == "flag":
        if not isinstance(raw, bool):
            raise BadInput("Is neither true nor false.", "Give true, false, or null for not known.")
        return raw
    if not isinstance(raw, str):
        raise BadInput("Is no text.", "Give text.")
    if spec.kind == "choice":
        if raw not in spec.choices:
            raise BadInput(f"“{raw[:40]}” is not one of {', '.join(spec.choices)}.", "Use one of these.")
        return raw
    if spec.kind == "date":
        try:
            return date.fromisoformat(raw)
        except ValueError:
            raise BadInput(f"“{raw[:20]}” is no date.", "Write it as YYYY-MM-DD.") from None
    if spec.kind == "text" and len(raw) > LONGEST_TEXT:
        raise BadInput(f"Is longer than {LONGEST_TEXT} characters.", "Shorten it.")
    return raw
