"""The Python side of the marking component: what goes to the browser and what is believed of what comes back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import ShapeType
from inspect_core.domain.marks import Category
from inspect_core.domain.palette import STROKES
from inspect_core.screens.marking import assets
from inspect_core.screens.marking.payload import DrawnMark, payload_rev, payload_unplaced, validate_payload
from inspect_core.screens.marking.phrases import told
from inspect_core.screens.speaking import st, tongue

_MARKING = st.components.v2.component("bartack_marking", js=assets.script(), css=assets.style())
_READINGS = st.components.v2.component("bartack_readings", js=assets.readings_script())
_FORGET = st.components.v2.component("bartack_forget", js=assets.forget_script())

#: The one state value the browser sets.
STATE_NAME = "marking"


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a surface asks for that is no mark, such as a known length.

    Parameters
    ----------
    sentence: what to draw, said on the surface itself.
    names: the word on the first shape, the second one and so on; further ones are called too many.
    tools: which drawing tools are offered, the first one chosen to begin with.
    """

    sentence: str
    names: tuple[str, ...]
    tools: tuple[ShapeType, ...]

    def as_plain(self) -> dict[str, Any]:
        """As the browser takes it."""
        tools = [tool.value for tool in self.tools]
        return {"sentence": self.sentence, "names": list(self.names), "tools": tools, "tool": tools[0]}


@dataclass(frozen=True, slots=True)
class MarkingState:
    """What is drawn on the photo now.

    Parameters
    ----------
    marks: the checked marks, in the order in which the screen numbers them.
    rev: count of changes; grows with every completed change, undo included.
    changed: True once the browser has reported anything for this photo; before that `marks` are the initial ones.
    fault: what was wrong with the browser's last report, which was then set aside; `marks` are the initial ones.
    unplaced: marks drawn but on no part yet; the browser keeps them back, and they are in no list here.
    """

    marks: tuple[DrawnMark, ...]
    rev: int
    changed: bool
    fault: BadInput | None = None
    unplaced: int = 0

    def plain(self) -> list[dict[str, Any]]:
        """The marks as plain values, fit for session state, a stored draft, and `initial`."""
        return [mark.as_plain() for mark in self.marks]


def mark_photo(
    *,
    key: str,
    photo_id: str,
    width: int,
    height: int,
    preview_url: str,
    full_url: str,
    categories: Iterable[Category],
    components: Iterable[Component],
    default_component: Component | None,
    initial: Iterable[DrawnMark | Mapping[str, Any]] = (),
    suggestions: Iterable[Mapping[str, Any]] = (),
    readonly: bool = False,
    on_change: Callable[[], None] | None = None,
    initial_rev: int = 0,
    draft: str = "",
    default_category: Category | None = None,
    recorded: bool = False,
    purpose: Purpose | None = None,
) -> MarkingState:
    """Show a photo to be marked and return what is drawn on it.

    Parameters
    ----------
    key: one per photo on the page. A page test sets a result with `at.session_state[key] = {"marking": payload}`.
    photo_id: name of the photo; marks about another are refused.
    width, height: size of the upright full-resolution original, pixels; all geometry is in these pixels.
    preview_url, full_url: derived copies without metadata (see `media_url`); the full one is fetched only on zoom.
    categories, components: what may be chosen, in the order shown.
    default_component: part chosen at first; later marks take the last choice. With None a mark is reported only once
        the person has said on which part it lies.
    initial: marks so far, from the draft the page keeps. Read at the first run and after the component was away
        (another page, a reload); between those the browser's own marks hold, unless `initial_rev` overtakes them.
    suggestions: machine hints `{"id", "category", "component", "shape": {"type", "points"}, "by"}`, shown apart; with
        `"kind": "earlier"` marks of an earlier photo. A person's acceptance makes a mark with the id `hint-<id>`.
    readonly: look, zoom and pick only.
    on_change: called before the run that follows a change.
    initial_rev: `MarkingState.rev` that belongs to `initial`.
    draft: names the draft. The copy kept in the browser comes back by itself within the same draft, and is offered
        in another one.
    default_category: category chosen at first. Without it the first mark counts as `other`, which is never cleared,
        until the person says what it shows.
    recorded: the inspection is recorded; the browser drops its copy.
    purpose: what the surface asks for where it is not for marks.

    Raises BadInput when `initial` or `suggestions` break the same checks as the browser's payload.
    """
    allowed = tuple(components)
    shown = tuple(categories)

    def checked(payload: object) -> tuple[DrawnMark, ...]:
        return validate_payload(
            payload, photo_id=photo_id, width=width, height=height, components=allowed, categories=shown
        )

    start = checked({"photo_id": photo_id, "rev": initial_rev, "marks": [_plain(mark) for mark in initial]})
    sent, sent_rev = _frozen_start(key, photo_id, [mark.as_plain() for mark in start], initial_rev)
    result = _MARKING(
        key=key,
        data={
            "photo_id": photo_id,
            "draft": draft or key,
            "rev": sent_rev,
            "width": width,
            "height": height,
            "preview_url": preview_url,
            "full_url": full_url,
            "categories": [_look(category) for category in shown],
            "components": [component.value for component in allowed],
            "default_component": default_component.value if default_component else None,
            "default_category": default_category.value if default_category else None,
            "marks": sent,
            "suggestions": _checked_hints(suggestions, checked, photo_id),
            "readonly": readonly,
            "recorded": recorded,
            "purpose": _told_purpose(purpose) if purpose else None,
            "phrases": told(tongue(), tuple(one.value for one in (*allowed, *shown))),
        },
        on_marking_change=on_change or _nothing,
    )
    payload = result.get(STATE_NAME)
    # A payload about another photo is left over from before the page changed photos under one key.
    if payload is None or readonly or (isinstance(payload, Mapping) and payload.get("photo_id") != photo_id):
        return MarkingState(start, initial_rev, changed=False)
    try:
        marks, rev, unplaced = checked(payload), payload_rev(payload), payload_unplaced(payload)
    except BadInput as fault:
        return MarkingState(start, initial_rev, changed=False, fault=fault)
    if rev < initial_rev:
        return MarkingState(start, initial_rev, changed=False)
    return MarkingState(marks, rev, changed=True, unplaced=unplaced)


def show_readings(*, key: str, photo_id: str, readings: Mapping[str, str]) -> None:
    """Put a text such as "12.3 mm ± 0.4 mm (k = 2)" beside each mark in the component's list.

    `readings` maps mark ids to texts. An element of its own, because changed data re-send a component's script: this
    one's is a few hundred bytes, so a new reading costs little on a phone. Call it on the same page, before or after.
    """
    _READINGS(key=key, data={"photo_id": photo_id, "readings": dict(readings)}, height=1)


def forget_saved_marks(*, key: str, photo_ids: Iterable[str]) -> None:
    """Drop the browser's copies of marks on these photos; call on the page that follows a recorded inspection."""
    _FORGET(key=key, data={"photo_ids": list(photo_ids)}, height=1)


def _frozen_start(key: str, photo_id: str, marks: list[dict[str, Any]], rev: int) -> tuple[list[dict[str, Any]], int]:
    """The marks to send. The first run's stay until the component was away, another photo came, or `rev` overtook."""
    name = f"{key} sent"
    kept = st.session_state.get(name)
    reported = st.session_state.get(key)
    payload = reported.get(STATE_NAME) if isinstance(reported, Mapping) else None
    known_rev = payload.get("rev", 0) if isinstance(payload, Mapping) else 0
    away = reported is None
    if not away and kept is not None and kept["photo_id"] == photo_id:
        overtaken = rev > max(kept["rev"], known_rev if isinstance(known_rev, int) else 0)
        if not overtaken:
            return kept["marks"], kept["rev"]
    st.session_state[name] = {"photo_id": photo_id, "marks": marks, "rev": rev}
    return marks, rev


def _checked_hints(
    suggestions: Iterable[Mapping[str, Any]], checked: Callable[[object], tuple[DrawnMark, ...]], photo_id: str
) -> list[dict[str, Any]]:
    hints = [dict(hint) for hint in suggestions]
    told: list[dict[str, Any]] = [
        {
            key: tongue().tell(str(hint.pop(key))) if key == "by" else str(hint.pop(key))
            for key in ("by", "kind")
            if key in hint
        }
        for hint in hints
    ]
    marks = checked({"photo_id": photo_id, "rev": 0, "marks": [{"note": "", **hint} for hint in hints]})
    return [{**mark.as_plain(), **words} for mark, words in zip(marks, told, strict=True)]


def _told_purpose(purpose: Purpose) -> dict[str, Any]:
    tell = tongue().tell
    return replace(purpose, sentence=tell(purpose.sentence), names=tuple(map(tell, purpose.names))).as_plain()


def _plain(mark: DrawnMark | Mapping[str, Any]) -> Mapping[str, Any]:
    return mark.as_plain() if isinstance(mark, DrawnMark) else mark


def _look(category: Category) -> dict[str, Any]:
    look = STROKES[category]
    return {"name": category.value, "colour": look.colour, "dashes": list(look.dash)}


def _nothing() -> None:
    """Stands in for a callback: Streamlit keeps a state value only where one is registered."""
