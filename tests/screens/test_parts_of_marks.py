"""The part a mark lies on: asked for, taken for granted only where one part alone has a defect, never left out."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person
from inspect_core.screens.work.body import command, empty
from inspect_core.usecases import drafts, review
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.services import Services
from tests.screens.app import WORKER, button, screen, site, words
from tests.screens.test_measuring import DRAFT, kept
from tests.usecases.site import picture


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return site(tmp_path, "WL-1")


def begun(services: Services, step: int = 2, unplaced: int = 0, **answers: str) -> Any:
    item = review.item_by_tag("WL-1", services).item
    photo_id = take_photo(picture(), services).id
    body = empty(InspectionType.BEFORE_USE) | {
        "step": step,
        "answers": {name.replace("_", " "): answer for name, answer in answers.items()},
        "photos": [photo_id],
        "photo": photo_id,
        "unplaced": {photo_id: unplaced} if unplaced else {},
    }
    drafts.save_draft(DRAFT, item.id, body, services)
    app = screen(services, "check", WORKER, tag="WL-1", draft=DRAFT)
    assert not app.exception
    return app


def default_part(app: Any) -> str | None:
    (marking,) = [e.proto for e in app.get("bidi_component") if e.proto.component_name == "bartack_marking"]
    part = json.loads(marking.json)["default_component"]
    assert part is None or isinstance(part, str)
    return part


@pytest.mark.parametrize(
    ("answers", "part"),
    [
        ({}, None),
        ({"webbing": "sound"}, None),
        ({"stitching": "defect"}, "stitching"),
        ({"stitching": "defect", "snap_hook": "defect"}, None),
    ],
)
def test_a_part_is_preselected_only_where_one_alone_has_a_defect(
    services: Services, answers: dict[str, str], part: str | None
) -> None:
    assert default_part(begun(services, **answers)) == part


def test_a_mark_without_its_part_is_said_and_stops_the_recording(services: Services) -> None:
    app = begun(services, unplaced=1)
    assert "1 mark without a part." in words(app)
    button(app, "Next: Answer").click().run()
    assert not app.exception
    assert "nobody has said on which part it lies" in words(app)
    assert [b for b in app.button if b.label == "Record it"] == []


def test_a_mark_lost_with_another_device_can_be_given_up(services: Services) -> None:
    app = begun(services, unplaced=2)
    assert "2 marks without a part." in words(app)
    button(app, "No such mark is there").click().run()
    assert kept(services)["unplaced"] == {}
    assert "without a part" not in words(app)


def test_nothing_is_weighed_around_a_mark_without_its_part(services: Services) -> None:
    begun(services, unplaced=1)
    item = review.item_by_tag("WL-1", services).item
    by: Person = WORKER
    with pytest.raises(BadInput, match="on which part"):
        command(kept(services), DRAFT, item, by)
