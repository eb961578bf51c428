"""Long texts and great numbers are refused by the use cases themselves, whoever calls them."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.kits import KitMove
from inspect_core.domain.people import Person, Role
from inspect_core.screens import state
from inspect_core.usecases import custody, inspect
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.inspect import Judgement
from inspect_core.usecases.kits import ChangeKit, change_kit
from inspect_core.usecases.register import add_person
from inspect_core.usecases.saved_searches import SaveSearch, save_search
from inspect_core.usecases.search import MOST_CHOSEN, Query, search
from inspect_core.usecases.second_reading import RecordReading, record_second_reading
from inspect_core.usecases.setup import RecordSetup, record_setup
from tests.hardening.hostile import SWING
from tests.usecases.site import Site

ROOT = Path(__file__).parent.parent.parent
LONG = "x" * 100_000
MANY = tuple(f"T-{number}" for number in range(1_000))


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Site:
    made = Site(tmp_path_factory.mktemp("long") / "store")
    made.lanyard("LAN-001")
    return made


def _command(site: Site, **changes):
    with site.services.unit_of_work() as uow:
        item = uow.items.get("item-LAN-001")
    return site.check(item, **changes)


def _many_marks(site: Site):
    with site.services.unit_of_work() as uow:
        cut = site.cut(uow.items.get("item-LAN-001"), 3.0)
    (mark,) = cut.marks
    many = (replace(mark, id=f"m{number}") for number in range(inspect.MOST_MARKS + 1))
    return replace(cut, marks=tuple(many))


@pytest.mark.parametrize(
    "act",
    [
        lambda site: site.record(_command(site, note=LONG)),
        lambda site: site.record(_command(site, answer_notes={Component.WEBBING: LONG})),
        lambda site: site.record(_command(site, photo_ids=tuple("ab" * 32 for _ in range(1_000)))),
        lambda site: site.record(_many_marks(site)),
        lambda site: site.record(
            _command(site, type=InspectionType.PERIODIC, by=site.competent, hand=Judgement(Outcome.HOLD, LONG))
        ),
        lambda site: make_move(MakeMove("m", "item-LAN-001", Move.HOLD, site.worker, LONG), site.services),
        lambda site: add_person(Person("p", LONG, Role.WORKER), site.services),
        lambda site: site.lanyard("T" * 100),
        lambda site: site.lanyard("T-1", maker=LONG),
        lambda site: site.lanyard("T-2", note=LONG),
        lambda site: site.lanyard("T-3", standards=LONG),
        lambda site: site.lanyard("T-4", standards=",".join(str(number) for number in range(1_000))),
        lambda site: site.lanyard("T-5", webbing_width_mm="9" * 400),
        lambda site: change_kit(
            ChangeKit("k", "kit", KitMove.MAKE, site.manager, LONG, item_ids=("item-LAN-001",)), site.services
        ),
        lambda site: record_setup(RecordSetup("s", SWING, site.worker, LONG, ("LAN-001",), ()), site.services),
        lambda site: record_setup(RecordSetup("s", SWING, site.worker, "", MANY, ()), site.services),
        lambda site: record_second_reading(RecordReading("r", "ab" * 32, "x", site.second, "cut", LONG), site.services),
        lambda site: save_search(SaveSearch("a" * 32, LONG, Query("x"), site.manager), site.services),
        lambda site: search(Query(LONG), site.services),
        lambda site: search(Query("x", sites=tuple(map(str, range(MOST_CHOSEN + 1)))), site.services),
        lambda site: search(Query("x", sites=("\ud83d",)), site.services),
    ],
)
def test_what_is_too_long_or_too_many_is_refused_in_words_and_nothing_is_written(site: Site, act) -> None:
    with site.services.unit_of_work() as uow:
        before = uow.ledger.head()
    with pytest.raises(BartackError) as refused:
        act(site)
    assert len(str(refused.value.problem)) < 1_000 and refused.value.remedy
    with site.services.unit_of_work() as uow:
        assert uow.ledger.head() == before
    assert custody.MOST_REASON == 1_000


def _calls(*names: str):
    for path in sorted((ROOT / "inspect_core" / "screens").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in names:
                yield path, node


#: The box of a PIN has none: a server that cut a pass phrase would keep another one than was typed. What is too long is
#: refused when it is chosen, and costs no more when it is guessed.
FREE = {"pin.py"}


def test_every_box_has_a_limit_that_the_server_keeps() -> None:
    boxes = list(_calls("text_input", "text_area"))
    assert len(boxes) > 20
    for path, node in boxes:
        keywords = {one.arg for one in node.keywords}
        limited = "max_chars" in keywords or None in keywords  # None: **more, which brings it along
        assert limited or path.name in FREE, f"{path.relative_to(ROOT)}:{node.lineno}"


def test_what_the_address_says_is_cut_and_an_identifier_has_its_form(monkeypatch: pytest.MonkeyPatch) -> None:
    given = {"tag": LONG, "inspection": "'; DROP TABLE items; --", "good": "ab" * 16}
    monkeypatch.setattr(state, "st", SimpleNamespace(query_params=given))
    assert state.query("tag") == "x" * 64
    assert state.query("other") is None
    assert state.query_id("inspection") is None and state.query_id("tag") is None
    assert state.query_id("good") == "ab" * 16
