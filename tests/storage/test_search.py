"""Search finds what people type, in whatever way they type it, and takes none of it for syntax."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspect_core.domain.custody import State
from inspect_core.domain.decision import HandDecision, Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category
from inspect_core.domain.people import Person, Role
from inspect_core.ports import UnitOfWork, UnitOfWorkFactory
from storage.indexed_words import damage_facets
from tests.storage import made

PHOTO = made.photo_of(b"one")


@pytest.fixture
def filled(units: UnitOfWorkFactory) -> UnitOfWorkFactory:
    """RIG-1 (inspected twice, cut the second time), RIG-12 (a harness, never inspected), VIS-3 (on hold)."""
    with units(write=True) as unit:
        unit.people.add(Person("p1", "Jürgen Example", Role.COMPETENT_PERSON))
        unit.people.add(Person("p2", "Zoë Sample", Role.COMPETENT_PERSON))
        unit.photos.add(PHOTO)
        harness = made.item(12, kind=Kind.HARNESS, site="Dépôt Sud", maker="Cordée", note="spare, in the locker")
        other = made.item(3, tag="VIS-3", standards=("EN 354",), serial="X/99-B")
        for item in (made.item(1), harness, other):
            state = State.ON_HOLD if item is other else State.IN_SERVICE
            unit.items.add(item, made.standing(item.id, state))
        unit.inspections.add(made.inspection(1, answer_notes={}))
        unit.inspections.add(made.inspection(2, photos=(PHOTO.id,)))
        hand = HandDecision(Outcome.HOLD, "Wait for the maker's answer.", "p2")
        unit.inspections.add(
            made.inspection(3, "item-3", hand=hand, note="smells of naïve solvent", facts={}, answer_notes={})
        )
        unit.commit()
    return units


def _found(unit: UnitOfWork, text: str, **filters: object) -> list[str]:
    """Tags of items, and ids of inspections, in the order found."""
    page = unit.search.find(text, **filters)  # type: ignore[arg-type]
    return [hit.inspection_id or hit.item.tag for hit in page.hits]


I1, I2, I3 = "inspection-1", "inspection-2", "inspection-3"


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("RIG-1", ["RIG-1", "RIG-12"]),  # the exact tag first, and not each of its inspections
        ("rig-12", ["RIG-12"]),
        ("rig", ["RIG-12", "RIG-1"]),
        ("RIG-1 cut", [I2]),
        ("cut rig-1", [I2]),
        ("rig1 cut", [I2]),
        ("rig12", ["RIG-12"]),
        ("s00001 cut", [I2]),
        ("cut rig", []),  # half a tag goes with no other words
        ("r", []),  # a single letter starts too much
        ("7", ["VIS-3", "RIG-12", "RIG-1"]),  # but may be a word: Model 7
        ("harness", ["RIG-12"]),
        ("lanyard model", ["VIS-3", "RIG-1", I2]),  # I2 speaks of the lanyard itself
        ("S00001", ["RIG-1"]),
        ("x/99-b", ["VIS-3"]),
        ("en 354", ["VIS-3"]),
        ("depot", ["RIG-12"]),
        ("DÉPÔT sud", ["RIG-12"]),
        ("depo\u0302t", ["RIG-12"]),
        ("cordee", ["RIG-12"]),
        ("locker", ["RIG-12"]),
        ("naive", [I3]),
        ("NAÏVE solv", [I3]),
        ("withdraws the lanyard", [I2]),  # a finding's reason
        ("battery", [I2, I1]),  # a word among the facts
        ("jurgen", [I3, I2, I1]),  # signed by
        ("Zoë", [I3]),  # decided by hand
        ("zoe VIS-3", [I3]),
        ("jürgen cut", [I2]),
        ("maker's answer", [I3]),
        ("near the hook", [I2]),  # a mark's note
        ("cut at the edge", [I2]),  # a note to an answer
        ("INDG367", [I2]),  # a finding's source
        ("webbing-cut", [I2]),  # and its rule
        ("harn", ["RIG-12"]),  # half a word
        ("solv", [I3]),
        ("dépô", ["RIG-12"]),
        ("x-99b", ["VIS-3"]),
        ("nothing-like-it", []),
    ],
)
def test_typed_words_find(filled: UnitOfWorkFactory, typed: str, found: list[str]) -> None:
    with filled() as unit:
        assert _found(unit, typed) == found


_ODD = (
    *('"', "'", '""', "a\0b", "🙂", "🦺 🪢", "*", "-", "^", "(", "()", "{", ":", "…", "%", "_", "\\"),
    *("NEAR(a, b)", "x NEAR/2 y", "rig OR", "AND", "NOT x", "own : x", "own:", "own", "zz", "zzkind"),
    *("'; DROP TABLE items; --", "<script>", "\x1b[0m", "x" * 5000, "q " * 500),
    *("\u200b", "\u0301", "\ud83d", "\U0010ffff", "٣", "中文", "ß"),
)


@pytest.mark.parametrize("typed", _ODD)
def test_text_is_never_syntax_and_never_an_error(filled: UnitOfWorkFactory, typed: str) -> None:
    with filled() as unit:
        assert _found(unit, typed) == []
        assert _found(unit, "rig-12") == ["RIG-12"]


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.text(max_size=30))
def test_any_text_gives_a_page(filled: UnitOfWorkFactory, text: str) -> None:
    with filled() as unit:
        assert len(unit.search.find(text).hits) <= 6


def test_signs_around_words_do_not_hinder(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        for typed in ('"RIG-12"', "(rig-12)", "rig-12 🙂", "'harness", "harness*", "locker,", "  locker\n"):
            assert _found(unit, typed) == ["RIG-12"], typed


def test_empty_text_lists_items_then_inspections_newest_first(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        assert _found(unit, "  ") == ["VIS-3", "RIG-12", "RIG-1", I3, I2, I1]


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        ({"kinds": [Kind.HARNESS]}, ["RIG-12"]),
        ({"kinds": [Kind.HARNESS, Kind.WEBBING_LANYARD]}, ["VIS-3", "RIG-12", "RIG-1", I3, I2, I1]),
        ({"sites": ["Dépôt Sud"]}, ["RIG-12"]),
        ({"states": [State.ON_HOLD]}, ["VIS-3", I3]),
        ({"categories": [Category.CUT, Category.BURN]}, [I2]),
        ({"categories": [Category.BURN]}, []),
        ({"outcomes": [Outcome.IN_SERVICE]}, [I1]),
        ({"makers": ["CORDÉE"]}, ["RIG-12"]),
        ({"makers": ["Made-up Maker"], "models": ["model 7"]}, ["VIS-3", "RIG-1", I3, I2, I1]),
        ({"people": ["p2"]}, [I3]),
        ({"people": ["p1"], "types": [InspectionType.PERIODIC]}, [I3, I2, I1]),
        ({"types": [InspectionType.BEFORE_USE]}, []),
        ({"damage_from": 1.3}, [I2]),
        ({"damage_from": 1.31}, []),
        ({"damage_to": 1.29}, [I3, I1]),
        ({"damage_from": 0.0, "damage_to": 9.0}, [I3, I2, I1]),
        ({"outcomes": [Outcome.HOLD], "states": [State.ON_HOLD]}, [I3]),
        ({"since": date(2025, 3, 6)}, [I3, I2]),
        ({"until": date(2025, 3, 6)}, [I2, I1]),
        ({"since": date(2025, 3, 6), "until": date(2025, 3, 6)}, [I2]),
        ({"since": date.min, "until": date.max}, [I3, I2, I1]),
    ],
)
def test_filters_narrow(filled: UnitOfWorkFactory, filters: dict[str, object], found: list[str]) -> None:
    with filled() as unit:
        assert _found(unit, "", **filters) == found
        assert _found(unit, "rig-1", outcomes=[Outcome.HOLD]) == []


@pytest.mark.parametrize("few", [0, 1, 200])
def test_states_narrow_whether_few_items_are_in_them_or_many(
    filled: UnitOfWorkFactory, monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    monkeypatch.setattr("storage.search._FEW", few)
    with filled() as unit:
        assert _found(unit, "", states=[State.ON_HOLD]) == ["VIS-3", I3]
        assert _found(unit, "", states=[State.IN_SERVICE]) == ["RIG-12", "RIG-1", I2, I1]
        assert _found(unit, "store room", states=[State.IN_SERVICE, State.ON_HOLD]) == [I2, I1]
        assert _found(unit, "", states=[State.DESTROYED]) == []


def test_filters_and_words_go_together(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        assert _found(unit, "store room", outcomes=[Outcome.WITHDRAW]) == [I2]
        assert _found(unit, "rig-1", kinds=[Kind.HARNESS]) == ["RIG-12"]
        assert _found(unit, "RIG-1", states=[State.ON_HOLD]) == []


def test_a_hit_tells_item_standing_outcome_photo_and_words(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        (hit,) = unit.search.find("withdraws").hits
        assert (hit.item, hit.standing) == (unit.items.get("item-1"), unit.items.standing("item-1"))
        assert (hit.at, hit.outcome, hit.photo_id) == (made.inspection(2).at, Outcome.WITHDRAW, PHOTO.id)
        assert "withdraws the lanyard" in hit.snippet and "zz" not in hit.snippet


def test_pages_follow_each_other_without_gap_or_repetition(filled: UnitOfWorkFactory) -> None:
    with filled() as unit:
        for text in ("", "rig-1", "jurgen"):
            whole = _found(unit, text, limit=200)
            for size in (1, 2, 3):
                pages: list[str] = []
                after = None
                while True:
                    page = unit.search.find(text, limit=size, after=after)
                    assert len(page.hits) <= size
                    pages += [hit.inspection_id or hit.item.tag for hit in page.hits]
                    after = page.after
                    if after is None:
                        break
                assert pages == whole, (text, size)


@pytest.mark.parametrize("after", ["", "x", "-1", "1.5", "9" * 30, "１", "0 OR 1"])
def test_a_page_that_no_search_gave_is_refused(filled: UnitOfWorkFactory, after: str) -> None:
    with filled() as unit, pytest.raises(BadInput, match="no page"):
        unit.search.find("rig", after=after)


def test_changes_of_an_item_are_found_at_once_and_old_words_no_more(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as unit:
        unit.items.update(replace(unit.items.get("item-1"), tag="NEW-7", kind=Kind.CONNECTOR, note="painted blue"))
        assert _found(unit, "painted") == _found(unit, "new-7") == ["NEW-7"]
        assert _found(unit, "rig-1") == ["RIG-12"]
        assert _found(unit, "new-7 cut") == [I2] and _found(unit, "rig-1 cut") == []
        assert _found(unit, "", kinds=[Kind.CONNECTOR]) == ["NEW-7", I2, I1]


def test_a_person_given_a_code_is_found_by_it_and_no_more_by_name(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as unit:
        unit.people.add(Person("p2", "K17", Role.COMPETENT_PERSON))
        assert _found(unit, "zoe") == []
        assert _found(unit, "k17") == [I3]


def test_inspections_of_one_second_all_enter_in_the_order_recorded(units: UnitOfWorkFactory) -> None:
    at = datetime(2025, 1, 1, 8, tzinfo=UTC)
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        for number in range(150):
            unit.inspections.add(made.inspection(number, at=at))
        assert _found(unit, "store room", limit=200)[:64] == [f"inspection-{n}" for n in range(149, 127, -1)] + [
            f"inspection-{n}" for n in range(127, 85, -1)
        ]


def test_order_goes_by_time_and_not_by_the_order_of_recording_or_by_zone(units: UnitOfWorkFactory) -> None:
    noon = datetime(2025, 1, 1, 12, tzinfo=UTC)
    moments = {
        1: noon,
        2: noon - timedelta(hours=1),
        3: (noon + timedelta(hours=1)).astimezone(timezone(timedelta(hours=-8))),
    }
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        for number, at in moments.items():
            unit.inspections.add(made.inspection(number, at=at))
        assert _found(unit, "store room") == [I3, I1, I2]


def test_only_what_held_or_withdrew_is_found_by_its_reason(units: UnitOfWorkFactory) -> None:
    from inspect_core.domain.decision import Decision, FindingOutcome

    cleared = replace(made.CUT, outcome=FindingOutcome.CLEARED, reason="clearly within", component=Component.ROPE)
    with units(write=True) as unit:
        unit.items.add(made.item(), made.standing("item-1"))
        unit.inspections.add(made.inspection(decision=Decision(Outcome.IN_SERVICE, 0.1, (cleared,), made.RULES)))
        assert _found(unit, "clearly") == []


def test_half_a_word_finds_every_word_that_starts_so_however_many(units: UnitOfWorkFactory) -> None:
    with units(write=True) as unit:
        for number in range(40):
            unit.items.add(
                made.item(number, note=f"galvan{chr(97 + number % 26)}{number}"), made.standing(f"item-{number}")
            )
        assert len(unit.search.find("galva", limit=100).hits) == 40
        assert len(unit.search.find("galvanb", limit=100).hits) == 2
        assert len(unit.search.find("galvan", limit=7).hits) == 7


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.floats(0, 3), min_size=1, max_size=6), st.floats(0, 3), st.floats(0, 3))
def test_damage_used_is_found_between_its_bounds_exactly(used: list[float], one: float, other: float) -> None:
    low, high = min(one, other), max(one, other)
    inside = set(damage_facets(low, high))
    for damage in used:
        if low <= damage <= high:
            assert inside & set(damage_facets(damage, damage))


def test_an_item_whose_maker_is_mended_is_found_by_the_new_one(filled: UnitOfWorkFactory) -> None:
    with filled(write=True) as unit:
        unit.items.update(made.item(1, maker="Another Works"))
        assert _found(unit, "", makers=["another works"]) == ["RIG-1", I2, I1]
        assert _found(unit, "", makers=["Made-up Maker"]) == ["VIS-3", I3]
