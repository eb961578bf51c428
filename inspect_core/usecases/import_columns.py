"""Which column of a register's file is which field of an item: guessed from the headings, confirmed by a person."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Kind


@dataclass(frozen=True, slots=True)
class Field:
    """A field of an item as an import knows it. `range`: what is plausible, in millimetres or years (common practice,
    no source); outside of it the unit is probably another one."""

    name: str
    words: str
    synonyms: tuple[str, ...]
    range: tuple[float, float] | None = None
    length: bool = False


def _names(text: str) -> tuple[str, ...]:
    return tuple(text.split("; "))


FIELDS: tuple[Field, ...] = (
    Field("tag", "Tag", _names("tag; tag number; asset tag; asset number; asset; item id; equipment id; "
                               "inventory number; equipment number; unit number; id")),
    Field("kind", "Kind", _names("kind; type; item type; equipment type; gear type; category; equipment; gear")),
    Field("site", "Site", _names("site; job site; location; project; depot; branch; store; where")),
    Field("maker", "Maker", _names("maker; manufacturer; manufactured by; made by; make; brand; mfr")),
    Field("model", "Model", _names("model; model number; part number; article number; article; "
                                   "product")),
    Field("serial", "Serial number", _names("serial; serial number; sn; s n")),
    Field("made_on", "Made on", _names("made on; date of manufacture; manufacture date; manufactured on; manufactured; "
                                       "dom; date made; production date; date of production; mfg date")),
    Field("first_used_on", "First used on", _names("first used on; date of first use; first use; put into service; "
                                                   "in service date; in service since; in use since; start of use")),
    Field("profile", "Rules of which place", _names("profile; jurisdiction; rules")),
    Field("fibre", "Fibre", _names("fibre; fiber; fibre material; material")),
    Field("standards", "Standards on its label", _names("standards; standard; standard marks; norms; norm; "
                                                        "conforms to")),
    Field("webbing_width_mm", "Webbing width", _names("webbing width; web width; strap width; width"), (10, 150), True),
    Field("rope_diameter_mm", "Rope diameter", _names("rope diameter; cable diameter; wire diameter; rope size; "
                                                      "diameter"), (3, 40), True),
    Field("rope_range_mm", "Rope diameters it accepts", _names("rope range; accepted rope; rope diameter range; "
                                                               "rope diameters accepted"), (3, 40), True),
    Field("packed_length_mm", "Energy absorber, packed length", _names("packed length; absorber length; "
                                                                       "energy absorber length"), (50, 1500), True),
    Field("throat_mm", "Hook throat opening", _names("throat; throat opening; gate opening; hook opening"),
          (5, 150), True),
    Field("maker_max_age_years", "Longest life the maker allows", _names("maximum age; max age; maximum life; "
                                                                         "max life; service life; life span; lifespan"),
          (0.5, 50)),
    Field("maker_max_use_years", "Longest time in use the maker allows",
          _names("maximum time in use; max time in use; maximum use; max use; time in use"), (0.5, 50)),
    Field("price", "Price", _names("price; purchase price; unit cost; cost; value")),
    Field("note", "Note", _names("note; notes; remark; remarks; comment; comments; description")),
)  # fmt: skip
#: Whether the gear is in use. An import takes in only what is; it is no field of an item, whose state comes from moves.
STATE = Field("state", "State", _names("state; status; condition; outcome; result; item status; gear status; "
                                       "equipment status; current status; inspection result; inspection outcome; "
                                       "last result; disposition"))  # fmt: skip
BY_NAME: Mapping[str, Field] = MappingProxyType({field.name: field for field in (*FIELDS, STATE)})

#: The number without which the rules of a kind cannot weigh a measured damage of its line.
NEEDED: Mapping[Kind, str] = MappingProxyType(
    {
        Kind.HARNESS: "webbing_width_mm",
        Kind.WEBBING_LANYARD: "webbing_width_mm",
        Kind.SYNTHETIC_ROPE_LANYARD: "rope_diameter_mm",
        Kind.WIRE_ROPE_LANYARD: "rope_diameter_mm",
        Kind.VERTICAL_LIFELINE: "rope_diameter_mm",
        Kind.ROPE_GRAB: "rope_range_mm",
    }
)

#: Other words of the trade that mean one kind and no other; "lanyard" or "lifeline" alone do not. The two types of
#: fall arrester are those of EN 353-2 and EN 360 (titles, from memory).
KIND_WORDS: Mapping[str, Kind] = MappingProxyType(
    {
        "full body harness": Kind.HARNESS,
        "safety harness": Kind.HARNESS,
        "body harness": Kind.HARNESS,
        "web lanyard": Kind.WEBBING_LANYARD,
        "cable lanyard": Kind.WIRE_ROPE_LANYARD,
        "guided type fall arrester": Kind.ROPE_GRAB,
        "retractable type fall arrester": Kind.SELF_RETRACTING_LIFELINE,
        "retractable lifeline": Kind.SELF_RETRACTING_LIFELINE,
        "self retracting device": Kind.SELF_RETRACTING_LIFELINE,
        "srl": Kind.SELF_RETRACTING_LIFELINE,
        "carabiner": Kind.CONNECTOR,
        "karabiner": Kind.CONNECTOR,
        "anchor strap": Kind.ANCHOR_SLING,
    }
)

#: Millimetres in one unit; the inch by definition (international yard, 1959).
UNITS: Mapping[str, float] = MappingProxyType(
    {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4}
)
YEARS: Mapping[str, float] = MappingProxyType(
    {"year": 1.0, "years": 1.0, "yr": 1.0, "yrs": 1.0, "y": 1.0, "a": 1.0, "month": 1 / 12, "months": 1 / 12}
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file: its place (from 0), its heading, the field it holds (None: left out), and the unit that
    its heading names."""

    place: int
    heading: str
    field: str | None
    unit: str = ""


def words_of(text: str) -> str:
    """A heading's words without signs, case and unit.

    >>> words_of("Serial_No. (label)"), words_of("Webbing width [mm]")
    ('serial number', 'webbing width')
    """
    bare = re.sub(r"[(\[].*?[)\]]", " ", text)
    words = re.findall(r"[^\W_]+", bare.casefold())
    return " ".join("number" if word in ("no", "nr", "num") else word for word in words)


def guess_columns(header: Sequence[str]) -> tuple[Column, ...]:
    """Every column with the field that its heading names; each field once, the plainest heading first. Headings that
    are empty or stand twice are told apart by their place."""
    taken: dict[str, tuple[int, int]] = {}
    for place, heading in enumerate(header):
        found = _field_of(heading)
        if found is not None and (found[0] not in taken or found[1] < taken[found[0]][1]):
            taken[found[0]] = (place, found[1])
    by_place = {place: name for name, (place, _) in taken.items()}
    many = Counter(header)
    return tuple(
        Column(n, h if h and many[h] == 1 else f"{h} (column {n + 1})".strip(), by_place.get(n), unit_of(h))
        for n, h in enumerate(header)
    )


def _field_of(heading: str) -> tuple[str, int] | None:
    """The field a heading names, with how far down its list of names it stands."""
    words = words_of(heading)
    for field in BY_NAME.values():
        names = (field.name.replace("_", " "), words_of(field.words), *field.synonyms)
        bare = words.removesuffix(" mm").removesuffix(" in").removesuffix(" years")
        for rank, name in enumerate(names):
            if words == name or bare == name:
                return field.name, rank
    return None


def unit_of(heading: str) -> str:
    """The unit that a heading names in brackets or at its end, "" where none.

    >>> unit_of("Width (in)"), unit_of("Webbing width mm"), unit_of("In use since")
    ('in', 'mm', '')
    """
    found = re.search(r"[(\[]\s*([a-zA-Z″\"]+)\s*[)\]]\s*$", heading) or re.search(r"[\s_](mm|cm|in|inch)\s*$", heading)
    word = found[1].lower() if found else ""
    return word if word in UNITS or word in YEARS else ""


def matched(header: Sequence[str], wanted: Mapping[str, str]) -> tuple[Column, ...]:
    """The guess, changed by what a person says: heading → field name, or "" to leave the column out.

    Raises BadInput for a heading that is not there, a field that is none, or two columns for one field.
    """
    columns = list(guess_columns(header))
    fixed: set[str] = set()
    for heading, name in wanted.items():
        places = [c.place for c in columns if c.heading == heading]
        if not places:
            raise BadInput(f"No column is called “{heading}”.", f"Use one of: {', '.join(c.heading for c in columns)}.")
        if name and name not in BY_NAME:
            raise BadInput(f"“{name}” is no field of an item.", f"Use one of: {', '.join(BY_NAME)}.")
        if name and name in fixed:
            raise BadInput(f"Two columns are to be the {BY_NAME[name].words.lower()}.", "Choose one of them.")
        fixed.add(name)
        for place, column in enumerate(columns):
            if place == places[0]:
                columns[place] = Column(place, column.heading, name or None, column.unit)
            elif name and column.field == name:
                columns[place] = Column(place, column.heading, None, column.unit)
    return tuple(columns)
