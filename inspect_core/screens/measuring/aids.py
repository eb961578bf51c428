"""What helps to measure one photo, as plain data in the unfinished inspection. No widgets here.

`body["aids"][photo id]` holds the way the scale is taken, the known length's line, the outline of the part, and under
`tasks` what was drawn to measure: "task|part" → {"drawn", "rev", "mark": the mark it belongs to or "", "readings":
those that belong to none}. `body["left"]` holds the readings that a person did not take over, as "mark id|measure".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.marks import Reading
from inspect_core.screens.work.body import Body, reading_of
from inspect_core.usecases.measured import task_of
from inspect_core.usecases.plain import reading_plain

Plain = dict[str, Any]

NONE, KNOWN, CARD = "none", "known_length", "card"
#: What a known length lies across, with the item's registered size that gives its millimetres.
REGISTERED = {"webbing width": "webbing_width_mm", "rope diameter": "rope_diameter_mm"}
#: Standard uncertainty of a steel rule's own graduation, mm (common practice, no source).
RULE_SD_MM = 0.2
#: Standard uncertainty of one end drawn with the photo magnified until pixels show (common practice, no source).
#: Otherwise the measuring side takes the points for drawn on the whole photo.
CLOSE_SD_PX = 2.0


def aid_of(body: Body, photo_id: str) -> Plain:
    """The aids of one photo with every key there. What is stored may be of any form and is checked on the way out."""
    kept = body["aids"].get(photo_id)
    start: Plain = {
        "method": NONE,
        "line": [],
        "line_rev": 0,
        "of": "",
        "length_mm": None,
        "rule_mm": None,
        "close": False,
        "outline": [],
        "outline_revs": {},
        "hints": False,
        "earlier": "",
        "tasks": {},
    }
    if not isinstance(kept, Mapping):
        return start
    return start | {key: kept[key] for key in start if key in kept}


def set_aid(photo_id: str, **values: Any) -> Any:
    """The change of a body that sets these aids of a photo."""

    def change(body: Body) -> None:
        body["aids"][photo_id] = aid_of(body, photo_id) | values

    return change


def task_entry(aid: Mapping[str, Any], name: str) -> Plain:
    """One task as kept, with every key there."""
    start: Plain = {"drawn": [], "rev": 0, "mark": "", "readings": []}
    kept = aid["tasks"].get(name)
    return start | {key: kept[key] for key in start if key in kept} if isinstance(kept, Mapping) else start


def known_task(name: str) -> bool:
    """Whether a kept task is one that is known here."""
    try:
        task_of(name)
    except BartackError:
        return False
    return True


def kept_tasks(aid: Mapping[str, Any]) -> dict[str, Plain]:
    """Every task of a photo whose name can be read, in the order in which they were begun."""
    return {name: task_entry(aid, name) for name in aid["tasks"] if known_task(name)}


def set_task(photo_id: str, name: str, **values: Any) -> Any:
    """The change of a body that sets these values of a task; without any the task is taken away."""

    def change(body: Body) -> None:
        aid = aid_of(body, photo_id)
        tasks = dict(aid["tasks"])
        if values:
            tasks[name] = task_entry(aid, name) | values
        else:
            tasks.pop(name, None)
        body["aids"][photo_id] = aid | {"tasks": tasks}

    return change


def registered(item: Item) -> dict[str, float]:
    """The item's sizes that may serve as a known length, by what the line then lies across."""
    return {of: size for of, name in REGISTERED.items() if (size := getattr(item, name)) is not None}


def scale_of(aid: Mapping[str, Any]) -> Plain:
    """The scale as a measuring case has it; "none" where what it needs is not there yet."""
    spread = {"point_sd_px": CLOSE_SD_PX} if aid["close"] else {}
    if aid["method"] == CARD:
        return {"method": CARD, **spread} | ({"rule_mm": float(aid["rule_mm"])} if aid["rule_mm"] else {})
    if aid["method"] == KNOWN and aid["line"] and aid["length_mm"]:
        scale = {
            "method": KNOWN,
            "points": aid["line"][0]["shape"]["points"],
            "length_mm": float(aid["length_mm"]),
            "of": aid["of"] or "other",
            **spread,
        }
        return scale | ({"length_sd_mm": RULE_SD_MM} if aid["of"] == "rule" else {})
    return {"method": NONE, **spread}


def outline_of(aid: Mapping[str, Any], part: str) -> Plain | None:
    """The outline that a person drew of a part on the photo, as a shape; a line along stitches is none."""
    for mark in aid["outline"]:
        if mark["component"] == part and mark["shape"]["type"] not in ("line", "polyline"):
            return dict(mark["shape"])
    return None


def asked_marks(marks: Sequence[Mapping[str, Any]], aid: Mapping[str, Any]) -> list[Plain]:
    """The marks as a measuring case has them; an outline drawn of the same part goes with them."""
    outlines = {
        mark["component"]: mark["shape"] for mark in aid["outline"] if mark["shape"]["type"] not in ("line", "polyline")
    }
    asked = []
    for mark in marks:
        one: Plain = {key: mark[key] for key in ("id", "component", "category", "shape")}
        if mark["component"] in outlines:
            one["region"] = outlines[mark["component"]]
        asked.append(one)
    return asked


def from_photo(reading: Mapping[str, Any]) -> bool:
    """Whether a reading of an unfinished inspection was taken from the photo and not by hand."""
    return str(reading.get("method", "")).startswith("photo")


def left_key(mark_id: str, measure: str) -> str:
    return f"{mark_id}|{measure}"


def merged(
    kept: Mapping[str, list[Plain]],
    measured: Mapping[str, Sequence[Reading]],
    mark_ids: Sequence[str],
    left: Sequence[str],
) -> dict[str, list[Plain]]:
    """The readings of these marks: those by hand stay and win, those from the photo are as measured now, less those
    that a person left out. Marks without any are left out."""
    result: dict[str, list[Plain]] = {}
    for mark_id in mark_ids:
        by_hand = [r for r in kept.get(mark_id, []) if not from_photo(r)]
        taken = {r["measure"] for r in by_hand}
        fresh = [
            reading_plain(reading)
            for reading in measured.get(mark_id, ())
            if reading.measure not in taken and left_key(mark_id, reading.measure) not in left
        ]
        if by_hand or fresh:
            result[mark_id] = [*by_hand, *fresh]
    return result


def by_hand(kept: Sequence[Mapping[str, Any]], measure: str) -> Reading | None:
    """The reading by hand of that measure, if there is one."""
    for plain in kept:
        if plain["measure"] == measure and not from_photo(plain):
            try:
                return reading_of(plain)
            except (BartackError, ValueError):
                return None
    return None
