"""Invented records that the report tests print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import cv2
import numpy as np

from inspect_core.domain.custody import Standing, State
from inspect_core.domain.decision import (
    Answer,
    Basis,
    Decision,
    Finding,
    FindingOutcome,
    Outcome,
    RulesStamp,
)
from inspect_core.domain.gear import Component, Fibre, Item, Kind
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Person, Role
from inspect_core.domain.photos import Photo
from inspect_core.reports.certificate import CertificateData

PRINTED = date(2025, 6, 3)
AT = datetime(2025, 6, 2, 14, 5, tzinfo=timezone(timedelta(hours=-4)))
STAMP = RulesStamp("2025.1", "9f2c" * 16)
DIGEST = "0b7e" * 16

ITEM = Item(
    id="item-17",
    tag="QL-017",
    kind=Kind.WEBBING_LANYARD,
    site="North Quay",
    maker="Maker A",
    model="Model 2",
    serial="S-4471-09",
    made_on=date(2021, 3, 1),
    first_used_on=date(2021, 5, 10),
    fibre=Fibre.POLYESTER,
    standards=("EN 354", "EN 355"),
    webbing_width_mm=45.0,
    packed_length_mm=180.0,
    maker_max_age_years=10.0,
)
INSPECTOR = Person("p-1", "Competent person 1", Role.COMPETENT_PERSON, date(2027, 1, 31))
STANDING = Standing(
    ITEM.id, State.IN_SERVICE, datetime(2021, 5, 10, tzinfo=UTC), "registered", next_due=date(2025, 12, 2)
)

CUT = Finding(
    "webbing-edge-cut",
    FindingOutcome.WITHDRAW,
    "The cut reaches 3.2 mm in from the edge; the list of defects starts at 1 mm.",
    "HSE INDG367, list of defects, detailed inspection",
    Basis.PUBLISHED,
    mark="m1",
    component=Component.WEBBING,
    measure="depth from edge",
    value=3.2,
    uncertainty=0.42,
    limit=1.0,
    unit="mm",
)
RUST = Finding(
    "hook-section-loss",
    FindingOutcome.HOLD,
    "The rule needs the section loss, and none was measured.",
    "WAC 296-155-55800, Table 12",
    Basis.PUBLISHED,
    mark="m2",
    component=Component.SNAP_HOOK,
    measure="section loss",
    limit=0.1,
    unit="share",
    analogue=True,
)
CLEARED = Finding(
    "rope-grab-no-rust",
    FindingOutcome.CLEARED,
    "The gate closes by itself.",
    "common practice, no published source",
    Basis.COMMON_PRACTICE,
    component=Component.SNAP_HOOK,
)
MARKS = (
    Mark(
        "m1",
        "photo-1",
        Component.WEBBING,
        Category.CUT,
        Shape.of("line", [[1500, 1100], [1620, 1180]]),
        (
            Reading("depth from edge", 3.2, "mm", 0.42, "photo, known length"),
            Reading("length", 12.44, "mm", 0.8, "photo, known length"),
        ),
        note="Near the load side.",
    ),
    Mark(
        "m2",
        "photo-1",
        Component.SNAP_HOOK,
        Category.RUST,
        Shape.of("freehand", [[2600, 600], [3000, 560], [3080, 900], [2700, 980]]),
        (Reading("rust area share", 0.181, "share", 0.034, "photo, region drawn by hand"),),
    ),
)


def preview(width: int = 1600, height: int = 1200, seed: int = 1) -> bytes:
    """A JPEG with a woven-looking pattern."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width]
    weave = 128 + 50 * np.sin(x / 6.0) * np.sin(y / 6.0) + rng.normal(0, 8, (height, width))
    band = (abs(y - height / 2 - 60 * np.sin(x / 500.0 + seed)) < height / 5).astype(float)
    base = np.stack([weave * (0.35 + 0.5 * band), weave * (0.4 + 0.3 * band), weave * (0.55 - 0.2 * band)], axis=-1)
    done, data = cv2.imencode(".jpg", np.clip(base, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 85])
    assert done
    return bytes(data)


def photo(photo_id: str, width: int = 4000, height: int = 3000, **more: Any) -> Photo:
    values: dict[str, Any] = {
        "media_type": "image/jpeg",
        "size": 4_000_000,
        "captured_at": datetime(2025, 6, 2, 13, 58),  # noqa: DTZ001 - a camera's own clock has no zone
        "phash": "0" * 16,
        "sharpness": 100.0,
        "exposure": 0.5,
        "glare_share": 0.0,
        "advice": (),
        "received_at": AT,
    }
    return Photo(id=photo_id, width=width, height=height, **(values | more))


def inspection(**changes: Any) -> Inspection:
    base = Inspection(
        id="insp-2025-06-02-0001",
        item_id=ITEM.id,
        type=InspectionType.PERIODIC,
        at=AT,
        by=INSPECTOR.id,
        site="North Quay",
        profile="common",
        answers={
            Component.LABEL: Answer.SOUND,
            Component.WEBBING: Answer.DEFECT,
            Component.STITCHING: Answer.SOUND,
            Component.SNAP_HOOK: Answer.DEFECT,
            Component.ENERGY_ABSORBER: Answer.SOUND,
            Component.D_RING: Answer.ABSENT,
        },
        facts={"arrested a fall": False, "age": 4.0},
        marks=MARKS,
        photo_ids=("photo-1", "photo-2"),
        decision=Decision(Outcome.WITHDRAW, 3.62, (CLEARED, RUST, CUT), STAMP),
        answer_notes={Component.WEBBING: "Cut at the edge, 120 mm from the hook."},
        next_due=date(2025, 12, 2),
    )
    return replace(base, **changes)


def sound_inspection(**changes: Any) -> Inspection:
    """One that found nothing."""
    values: dict[str, Any] = {
        "marks": (),
        "photo_ids": (),
        "answers": {Component.WEBBING: Answer.SOUND},
        "decision": Decision(Outcome.IN_SERVICE, 0.0, (CLEARED,), STAMP),
    }
    return inspection(**(values | changes))


def data(of: Inspection | None = None, photos: Sequence[Photo] | None = None, **changes: Any) -> CertificateData:
    recorded = of or inspection()
    known = tuple(photos) if photos is not None else tuple(photo(name) for name in recorded.photo_ids)
    values: dict[str, Any] = {
        "item": ITEM,
        "standing": STANDING,
        "inspector": INSPECTOR,
        "printed_on": PRINTED,
        "earlier_inspections": 7,
        "ledger_number": 412,
        "ledger_digest": DIGEST,
        "fact_units": {"age": "years"},
    }
    return CertificateData(inspection=recorded, photos=known, **(values | changes))


def withdrawn_since(when: datetime = AT) -> Standing:
    return replace(STANDING, state=State.WITHDRAWN, since=when, reason="A cut 3.2 mm deep at the webbing's edge.")
