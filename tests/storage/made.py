"""Records for the tests of the store: one full example, and random ones of every shape the domain allows."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from inspect_core.domain.custody import CustodyEvent, Move, Standing, State
from inspect_core.domain.decision import (
    Answer,
    Basis,
    Decision,
    Finding,
    FindingOutcome,
    HandDecision,
    Outcome,
    RulesStamp,
)
from inspect_core.domain.gear import LASTING, Component, Fibre, Item, Kind
from inspect_core.domain.geometry import Point, Shape, ShapeType
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.photos import Photo

NOW = datetime(2025, 3, 4, 10, 30, 0, 123456, timezone(timedelta(hours=2)))


def picture(text: str) -> bytes:
    """Bytes that stand for a photograph."""
    return f"a photograph of {text}".encode()


def photo_of(original: bytes) -> Photo:
    return Photo(
        id=hashlib.sha256(original).hexdigest(),
        media_type="image/jpeg",
        width=4000,
        height=3000,
        size=len(original),
        captured_at=datetime(2025, 3, 4, 10, 29, 1),  # noqa: DTZ001 - a camera's clock without a zone
        phash="00ff00ff00ff00ff",
        sharpness=120.5,
        exposure=0.44,
        glare_share=0.01,
        advice=("Hold still.",),
        received_at=NOW,
    )


def item(number: int = 1, **changes: Any) -> Item:
    values: dict[str, Any] = {
        "id": f"item-{number}",
        "tag": f"RIG-{number}",
        "kind": Kind.WEBBING_LANYARD,
        "site": "North yard",
        "maker": "Made-up Maker",
        "model": "Model 7",
        "serial": f"S{number:05}",
    }
    return Item(**values | changes)


def standing(item_id: str, state: State = State.IN_SERVICE, **changes: Any) -> Standing:
    values: dict[str, Any] = {"item_id": item_id, "state": state, "since": NOW, "reason": "Registered."}
    return Standing(**values | changes)


RULES = RulesStamp("2025.1", "ab" * 32)
CUT = Finding(
    rule="webbing-cut",
    outcome=FindingOutcome.WITHDRAW,
    reason="A cut of any size in the webbing's edge withdraws the lanyard.",
    source="HSE INDG367",
    basis=Basis.PUBLISHED,
    mark="m1",
    component=Component.WEBBING,
    measure="depth from edge",
    value=1.0,
    uncertainty=0.3,
    limit=0.0,
    unit="mm",
)


def inspection(number: int = 1, item_id: str = "item-1", photos: tuple[str, ...] = (), **changes: Any) -> Inspection:
    """A periodic inspection; with photos it marks a cut on the first and is withdrawn."""
    marks = (
        (
            Mark(
                id="m1",
                photo_id=photos[0],
                component=Component.WEBBING,
                category=Category.CUT,
                shape=Shape(ShapeType.LINE, (Point(10.5, 20.25), Point(30.0, 40.0))),
                readings=(Reading("depth from edge", 1.0, "mm", 0.3, "photo, known length"),),
                note="near the hook",
                made_by="p1",
            ),
        )
        if photos
        else ()
    )
    outcome = Outcome.WITHDRAW if photos else Outcome.IN_SERVICE
    values: dict[str, Any] = {
        "id": f"inspection-{number}",
        "item_id": item_id,
        "type": InspectionType.PERIODIC,
        "at": NOW + timedelta(days=number),
        "by": "p1",
        "site": "North yard",
        "profile": "common",
        "answers": {Component.LABEL: Answer.SOUND, Component.WEBBING: Answer.DEFECT},
        "facts": {"fall arrested": False, "exposure": 60.0, "event day": date(2025, 3, 1), "fluid": "battery acid"},
        "marks": marks,
        "photo_ids": photos,
        "decision": Decision(outcome, 1.3 if photos else 0.0, (CUT,) if photos else (), RULES),
        "next_due": date(2025, 9, 4),
        "note": "seen in the store room",
        "answer_notes": {Component.WEBBING: "cut at the edge"},
    }
    return Inspection(**values | changes)


def withdrawal(number: int, item_id: str, inspection_id: str | None, at: datetime = NOW) -> CustodyEvent:
    return CustodyEvent(
        id=f"move-{number}",
        item_id=item_id,
        at=at,
        by="p1",
        move=Move.WITHDRAW,
        before=State.IN_SERVICE,
        after=State.WITHDRAWN,
        reason="The rules withdraw it.",
        inspection_id=inspection_id,
    )


# -- random records

_words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
_ids = st.uuids().map(str)
_numbers = st.floats(allow_nan=False, allow_infinity=False, width=64)
_days = st.dates(date(1950, 1, 1), date(2200, 12, 31))
_zones = st.integers(-14 * 3600, 14 * 3600).map(lambda seconds: timezone(timedelta(seconds=seconds)))
_times = st.datetimes(datetime(1950, 1, 2), datetime(2200, 12, 30), timezones=st.just(UTC) | _zones)  # noqa: DTZ001
_photo_ids = st.binary(min_size=1, max_size=4).map(lambda raw: hashlib.sha256(raw).hexdigest())
_positive = st.floats(0.001, 9e5)


@st.composite
def items(draw: st.DrawFn) -> Item:
    made = draw(st.none() | _days)
    first = draw(st.none() | _days.filter(lambda day: made is None or day >= made))
    ends = draw(st.none() | st.tuples(_positive, _positive))
    return Item(
        id=draw(_ids),
        tag=draw(st.from_regex(r"[A-Z0-9][A-Z0-9._/-]{0,31}", fullmatch=True)),
        kind=draw(st.sampled_from(Kind)),
        site=draw(_words),
        maker=draw(_words),
        model=draw(_words),
        serial=draw(_words),
        made_on=made,
        first_used_on=first,
        registered_on=draw(st.none() | _days),
        profile=draw(_words),
        fibre=draw(st.sampled_from(Fibre)),
        standards=tuple(draw(st.lists(_words, max_size=3))),
        webbing_width_mm=draw(st.none() | _positive),
        rope_diameter_mm=draw(st.none() | _positive),
        rope_range_mm=(min(ends), max(ends)) if ends else None,
        packed_length_mm=draw(st.none() | _positive),
        throat_mm=draw(st.none() | _positive),
        maker_max_age_years=draw(st.none() | _positive),
        maker_limits=draw(st.dictionaries(_words, _numbers, max_size=3)),
        price=draw(st.none() | st.floats(0, 1e9)),
        note=draw(_words),
        maker_max_use_years=draw(st.none() | _positive),
        lasting_facts=draw(st.dictionaries(st.sampled_from(LASTING), _words | st.booleans(), max_size=3)),
        former_tags=tuple(draw(st.lists(st.from_regex(r"[A-Z0-9]{1,8}", fullmatch=True), max_size=2, unique=True))),
    )


@st.composite
def standings(draw: st.DrawFn, item_id: str) -> Standing:
    return Standing(
        item_id=item_id,
        state=draw(st.sampled_from(State)),
        since=draw(_times),
        reason=draw(_words),
        last_inspection_id=draw(st.none() | _ids),
        last_seen_on=draw(st.none() | _days),
        last_periodic_on=draw(st.none() | _days),
        next_due=draw(st.none() | _days),
        damage_used=draw(st.none() | st.floats(0, 100)),
    )


@st.composite
def _shapes(draw: st.DrawFn) -> Shape:
    kind = draw(st.sampled_from(ShapeType))
    least, most = {ShapeType.LINE: (2, 2), ShapeType.BOX: (2, 2), ShapeType.POLYLINE: (2, 8)}.get(kind, (3, 8))
    points = draw(st.lists(st.builds(Point, _numbers, _numbers), min_size=least, max_size=most))
    return Shape(kind, tuple(points))


_readings = st.builds(Reading, _words, _numbers, _words, st.floats(0, 1e6), _words)


@st.composite
def _findings(draw: st.DrawFn) -> Finding:
    return Finding(
        rule=draw(_words),
        outcome=draw(st.sampled_from(FindingOutcome)),
        reason=draw(_words),
        source=draw(_words),
        basis=draw(st.sampled_from(Basis)),
        mark=draw(st.none() | _words),
        component=draw(st.none() | st.sampled_from(Component)),
        measure=draw(st.none() | _words),
        value=draw(st.none() | _numbers),
        uncertainty=draw(st.none() | _numbers),
        limit=draw(st.none() | _numbers),
        unit=draw(st.none() | _words),
        analogue=draw(st.booleans()),
    )


@st.composite
def inspections(draw: st.DrawFn, item_id: str) -> Inspection:
    """A random inspection of that item; it corrects none."""
    photos = draw(st.lists(_photo_ids, max_size=4))
    marks = tuple(
        Mark(
            id=mark_id,
            photo_id=draw(st.sampled_from(photos)),
            component=draw(st.sampled_from(Component)),
            category=draw(st.sampled_from(Category)),
            shape=draw(_shapes()),
            readings=tuple(draw(st.lists(_readings, max_size=3))),
            note=draw(_words),
            made_by=draw(_words),
        )
        for mark_id in draw(st.lists(_words, max_size=4, unique=True) if photos else st.just([]))
    )
    return Inspection(
        id=draw(_ids),
        item_id=item_id,
        type=draw(st.sampled_from(InspectionType)),
        at=draw(_times),
        by=draw(_words),
        site=draw(_words),
        profile=draw(_words),
        answers=draw(st.dictionaries(st.sampled_from(Component), st.sampled_from(Answer), max_size=5)),
        facts=draw(st.dictionaries(_words, st.booleans() | _numbers | _days | _words, max_size=5)),
        marks=marks,
        photo_ids=tuple(photos),
        decision=Decision(
            outcome=draw(st.sampled_from(Outcome)),
            damage_used=draw(st.floats(0, 100)),
            findings=tuple(draw(st.lists(_findings(), max_size=4))),
            rules=RulesStamp(draw(_words), draw(_words)),
        ),
        hand=draw(st.none() | st.builds(HandDecision, st.sampled_from(Outcome), _words, _words)),
        next_due=draw(st.none() | _days),
        note=draw(_words),
        answer_notes=draw(st.dictionaries(st.sampled_from(Component), _words, max_size=3)),
    )
