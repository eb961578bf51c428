"""A register as a spreadsheet holds it: invented rows, and bad ones planted with the reason that must be told."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from datetime import date, timedelta
from typing import NamedTuple

HEADER = (
    "Asset No.", "Type", "Location", "Manufacturer", "Model", "Serial Number", "Date of Manufacture",
    "In service since", "Web width (mm)", "Rope diameter", "Rope range", "Material", "Purchase price", "Remarks",
)  # fmt: skip
_KINDS = (
    "harness", "Webbing Lanyard", "synthetic rope lanyard", "wire rope lanyard", "rope grab", "vertical lifeline",
    "horizontal lifeline", "self-retracting lifeline", "connector", "anchor sling",
)  # fmt: skip
_WIDTH = ("harness", "webbing lanyard")
_DIAMETER = ("synthetic rope lanyard", "wire rope lanyard", "vertical lifeline")


class Planted(NamedTuple):
    """A row that must be refused: words that its reason has to hold, and the heading that has to be named."""

    row: int
    column: str
    words: str


class Register(NamedTuple):
    header: tuple[str, ...]
    rows: list[list[str]]
    planted: list[Planted]

    def csv(self, delimiter: str = ",", encoding: str = "utf-8") -> bytes:
        out = io.StringIO(newline="")
        csv.writer(out, delimiter=delimiter).writerows([self.header, *self.rows])
        return out.getvalue().encode(encoding)


def _good(n: int, rng: random.Random) -> list[str]:
    kind = rng.choice(_KINDS)
    plain = kind.lower()
    made = date(2019, 1, 1) + timedelta(days=rng.randrange(2200))
    used = made + timedelta(days=rng.randrange(200))
    return [
        f"{plain[:2].upper()}-{n:05}", kind, rng.choice(("North Quay", "Mill Street", "Hall 4")), "Maker A",
        f"M{rng.randrange(90)}", f"S{rng.randrange(10**8):08}", made.isoformat(), used.isoformat(),
        str(rng.choice((44, 45, 47))) if plain in _WIDTH else "",
        rng.choice(("11", "12,5", "14 mm")) if plain in _DIAMETER else "",
        "14-16" if plain == "rope grab" else "", rng.choice(("polyester", "nylon", "")),
        rng.choice(("", "89.50")), rng.choice(("", "spare", "kept in the van; blue bag")),
    ]  # fmt: skip


def _set(column: str, value: str) -> Callable[[list[str]], None]:
    def change(row: list[str]) -> None:
        row[HEADER.index(column)] = value

    return change


def _harness_without_width(row: list[str]) -> None:
    row[1], row[8] = "harness", ""


def _used_before_made(row: list[str]) -> None:
    row[6], row[7] = "2024-05-01", "2024-04-30"


def _cell_too_many(row: list[str]) -> None:
    row.append("one too many")


#: How a row goes wrong, the heading that must be named, and words of the reason.
WRONGS: tuple[tuple[Callable[[list[str]], None], str, str], ...] = (
    (_set("Date of Manufacture", "2023-02-30"), "Date of Manufacture", "no day in the calendar"),
    (_set("Date of Manufacture", "soon"), "Date of Manufacture", "is not a date"),
    (_set("In service since", "03/04/2024"), "In service since", "can be read as two days"),
    (_set("Date of Manufacture", "2024-05"), "Date of Manufacture", "names no day"),
    (_set("In service since", "2031-01-01"), "In service since", "lies in the future"),
    (_set("Type", "hammock"), "Type", "is no kind of gear"),
    (_set("Type", "lanyard"), "Type", "is no kind of gear"),
    (_set("Type", ""), "Type", "The kind is missing"),
    (_set("Asset No.", ""), "Asset No.", "The tag is missing"),
    (_set("Asset No.", "bad tag!"), "Asset No.", "is no tag"),
    (_harness_without_width, "Web width (mm)", "the rules of a harness need it"),
    (_used_before_made, "In service since", "before the day of making"),
    (_set("Web width (mm)", "1.75"), "Web width (mm)", "1.75 mm is no webbing width"),
    (_set("Web width (mm)", "45 kN"), "Web width (mm)", "has the unit kN"),
    (_set("Rope diameter", "thick"), "Rope diameter", "is not a number"),
    (_set("Rope range", "14"), "Rope range", "needs two numbers"),
    (_set("Material", "leather"), "Material", "is no fibre"),
    (_set("Purchase price", "-5"), "Purchase price", "below zero"),
    (_set("Purchase price", "#N/A"), "Purchase price", "holds the error"),
    (_cell_too_many, "", "The row has 15 cells"),
)  # fmt: skip


def register(rows: int, bad: int, seed: int, in_use: tuple[str, ...] = ()) -> Register:
    """A register with so many rows, so many of them bad: one wrong each, in turn, at places that the seed picks. Of the
    bad ones a few share their tag with another bad row, and one for each tag `in_use` carries that."""
    rng = random.Random(seed)
    table = [_good(n, rng) for n in range(1, rows + 1)]
    places = sorted(rng.sample(range(rows), bad))
    rng.shuffle(places)
    planted: list[Planted] = []

    def number(place: int) -> int:
        return place + 2  # the header is row 1

    for tag in in_use:
        place = places.pop()
        table[place][0] = tag
        planted.append(Planted(number(place), "Asset No.", "is in use by a"))
    for n in range(min(4, len(places) // 4)):
        one, other = places.pop(), places.pop()
        table[one][0] = table[other][0] = f"TWICE-{n}"
        planted.append(Planted(number(one), "Asset No.", f"stands in row {number(other)} as well"))
        planted.append(Planted(number(other), "Asset No.", f"stands in row {number(one)} as well"))
    for n, place in enumerate(places):
        change, column, words = WRONGS[n % len(WRONGS)]
        change(table[place])
        planted.append(Planted(number(place), column, words))
    return Register(HEADER, table, sorted(planted))
