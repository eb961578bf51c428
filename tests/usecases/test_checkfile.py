"""Check files: read whole, or refused by the key at fault with no photo stored."""

import copy

import pytest

from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput, BadPhoto
from inspect_core.domain.gear import Component
from inspect_core.usecases.checkfile import inspection_from
from tests.usecases.site import picture

MARK = {
    "component": "webbing",
    "category": "cut",
    "shape": {"type": "line", "points": [[1, 2], [30, 40]]},
    "readings": [{"measure": "depth from edge", "value": 1.5, "unit": "mm", "uncertainty": 0.3}],
}
CHECK = {
    "by": "Ana",
    "answers": {"webbing": "defect", "label": "sound"},
    "facts": {"arrested fall": False},
    "answer_notes": {"webbing": " a cut "},
    "note": "before the lift",
    "photos": [{"path": "a.jpg", "marks": [MARK]}],
}


def read(path: str) -> bytes:
    return b"no picture" if path == "bad.jpg" else picture()


def test_a_check_file_becomes_a_command(site):
    command = inspection_from(CHECK, site.lanyard(), site.worker, site.services, read)
    assert command.answers == {Component.WEBBING: Answer.DEFECT, Component.LABEL: Answer.SOUND}
    assert command.facts == {"arrested fall": False}
    assert command.answer_notes == {Component.WEBBING: "a cut"}
    assert command.marks[0].photo_id == command.photo_ids[0]
    assert command.marks[0].readings[0].method == "by hand"
    assert site.record(command).standing.state.value == "withdrawn"


def changed(*path, to):
    check = copy.deepcopy(CHECK)
    place = check
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = to
    return check


@pytest.mark.parametrize(
    ("check", "named"),
    [
        ([], "check"),
        (changed("colour", to="red"), "check.colour"),
        (changed("answers", to=[]), "answers"),
        (changed("answers", to={"cam": "sound"}), "answers.cam"),
        (changed("answers", to={"webbing": "fine"}), "answers.webbing"),
        (changed("answer_notes", to={"webbing": 3}), "answer_notes.webbing"),
        (changed("facts", to={"mood": True}), "facts.mood"),
        (changed("facts", to={"arrested fall": "no"}), "facts.arrested fall"),
        (changed("facts", to={"made on": "2026-01-01"}), "facts.made on: the register says 2025-06-01"),
        (changed("facts", to={"next due": "2039-01-01"}), "facts.next due: the records say 202"),
        (changed("type", to="yearly"), "type"),
        (changed("note", to=["x"]), "note"),
        (changed("photos", to={}), "photos"),
        (changed("photos", to=[{}] * 61), "photos"),
        (changed("photos", to=[{"marks": []}]), "photos[1].path"),
        (changed("photos", 0, "marks", to="none"), "photos[1].marks"),
        (changed("photos", 0, "marks", 0, "category", to="smudge"), "photos[1].marks[1].category"),
        (changed("photos", 0, "marks", 0, "component", to="cam"), "photos[1].marks[1].component"),
        (changed("photos", 0, "marks", 0, "shape", to={}), "photos[1].marks[1].shape.type"),
        (changed("photos", 0, "marks", 0, "shape", "type", to="circle"), "circle"),
        (changed("photos", 0, "marks", 0, "shape", "points", to=[[1, 2]]), "exactly 2"),
        (changed("photos", 0, "marks", 0, "readings", 0, "unit", to="cm"), "readings[1].unit"),
        (changed("photos", 0, "marks", 0, "readings", 0, "value", to=None), "readings[1].value"),
        (changed("hand", to={"outcome": "fine"}), "hand.outcome"),
        (changed("hand", to={"reason": "because"}), "hand.outcome"),
        (changed("corrects", to=4), "corrects"),
        (changed("id", to="x" * 70), "id"),
    ],
)
def test_a_wrong_check_file_is_refused_by_its_key_and_stores_no_photo(site, tmp_path, check, named):
    item = site.lanyard()
    with pytest.raises(BadInput) as refused:
        inspection_from(check, item, site.worker, site.services, read)
    assert named in refused.value.problem
    assert refused.value.remedy
    assert not any(path.is_file() for path in (tmp_path / "store" / "photos").rglob("*"))


def test_a_file_that_is_no_photo_is_refused(site):
    with pytest.raises(BadPhoto):
        inspection_from(changed("photos", 0, "path", to="bad.jpg"), site.lanyard(), site.worker, site.services, read)
