"""The figures of the profiles, read from data/figures.toml: no check knows a number that is not there."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from inspect_core.domain.errors import BadRules
from inspect_core.rigging.units import UNITS, Dimension, dimension_of, to_base

#: Sets of figures a site can work under. "common" holds what every profile shares.
PROFILES = ("common", "canada ontario", "us construction", "us general industry", "uk europe")
BASES = ("published", "maker", "common practice", "from memory", "geometry")
SEEN = ("seen", "seen in part, rest from memory", "memory")
_KEYS: dict[str, type | tuple[type, ...]] = {
    "row": str,
    "use": str,
    "profiles": list,
    "unit": str,
    "place": str,
    "low": (int, float),
    "high": (int, float),
    "value": (int, float),
    "tolerance": (int, float),
    "per_person": bool,
    "words": str,
    "source": str,
    "section": str,
    "basis": str,
    "seen": str,
    "caution": str,
}
_NEEDED = ("row", "use", "profiles", "unit", "words", "source", "basis", "seen")


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of one source. `low`, `high` and `value` are as printed, in `unit`; limits are inclusive.

    `profiles` is empty for a neighbouring place (`place`), kept for comparison and never applied.
    """

    row: str
    use: str
    profiles: tuple[str, ...]
    unit: str
    words: str
    source: str
    basis: str
    seen: str
    section: str = ""
    place: str = ""
    low: float | None = None
    high: float | None = None
    value: float | None = None
    tolerance: float | None = None
    per_person: bool = False
    caution: str = ""

    def base(self, name: str) -> float | None:
        """`low`, `high`, `value` or `tolerance` in metres, kilonewtons or kilograms; None where there is none."""
        printed: float | None = getattr(self, name)
        return None if printed is None else to_base(printed, self.unit, dimension_of(self.unit))

    def needed(self, name: str) -> float:
        """Like `base` for a figure that must have it."""
        number = self.base(name)
        if number is None:
            raise BadRules((f"figures.toml: {self.row} {self.use}: has no {name}",))
        return number

    def cautions(self) -> str:
        """What a reader must know before leaning on the figure."""
        notes = [self.caution] if self.caution else []
        if self.seen == "memory":
            notes.append("Written down from memory: check the printed text.")
        elif self.seen != "seen":
            notes.append("Seen in print only in part, the rest from memory.")
        return " ".join(notes)

    def as_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "row": self.row,
            "use": self.use,
            "profiles": list(self.profiles),
            "place": self.place,
            "low": self.low,
            "high": self.high,
            "value": self.value,
            "tolerance": self.tolerance,
            "unit": self.unit,
            "per_person": self.per_person,
            "words": self.words,
            "source": self.source,
            "section": self.section,
            "basis": self.basis,
            "seen": self.seen,
            "caution": self.caution,
        }


def read(text: str) -> tuple[Figure, ...]:
    """Figures from the text of a data file. Raises BadRules with every fault at once."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadRules((f"figures.toml: {fault}",)) from None
    faults = [f"figures.toml: {key}: unknown table" for key in table if key != "figure"]
    figures: list[Figure] = []
    taken: set[tuple[str, str]] = set()
    for place, raw in enumerate(table.get("figure", []), start=1):
        name = f"figures.toml: figure {place} ({raw.get('row', 'no row')})"
        wrong = [f"{name}: {key}: unknown key" for key in raw if key not in _KEYS]
        wrong += [f"{name}: {key}: missing" for key in _NEEDED if key not in raw]
        wrong += [f"{name}: {k}: wrong type" for k, v in raw.items() if k in _KEYS and not isinstance(v, _KEYS[k])]
        if not wrong:
            figure = Figure(**{**raw, "profiles": tuple(raw["profiles"])})
            wrong = [f"{name}: {fault}" for fault in _faults(figure)]
            for profile in figure.profiles:
                if (profile, figure.use) in taken:
                    wrong.append(f"{name}: use: {profile} has this figure twice")
                taken.add((profile, figure.use))
            figures.append(figure)
        faults += wrong
    if faults:
        raise BadRules(tuple(faults))
    return tuple(figures)


def _faults(figure: Figure) -> list[str]:
    faults = [f"profiles: “{p}” is no profile" for p in figure.profiles if p not in PROFILES]
    if figure.basis not in BASES:
        faults.append(f"basis: “{figure.basis}” is not one of {', '.join(BASES)}")
    if figure.seen not in SEEN:
        faults.append(f"seen: “{figure.seen}” is not one of {', '.join(SEEN)}")
    if figure.seen == "memory" and figure.basis == "published":
        faults.append("basis: a figure nobody saw in print is from memory")
    if not figure.profiles and not figure.place:
        faults.append("place: a figure without a profile names the place it belongs to")
    numbers = (figure.low, figure.high, figure.value, figure.tolerance)
    if any(n is not None for n in numbers) and not any(figure.unit in UNITS[d] for d in Dimension):
        faults.append(f"unit: “{figure.unit}” is no unit")
    if figure.low is not None and figure.high is not None and figure.low > figure.high:
        faults.append("low: lies above high")
    return faults


@cache
def shipped() -> tuple[Figure, ...]:
    """The figures that come with the program."""
    return read(resources.files("inspect_core.rigging").joinpath("data/figures.toml").read_text("utf-8"))


def find(use: str, profile: str) -> Figure | None:
    """The figure of that use for a profile, else the common one, else None: then a competent person decides."""
    for wanted in (profile, "common"):
        for figure in shipped():
            if figure.use == use and wanted in figure.profiles:
                return figure
    return None
