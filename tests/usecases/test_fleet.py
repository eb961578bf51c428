"""What many stores tell together is what each of them tells by itself: weighed again and counted from Parquet, row by
row the same."""

from __future__ import annotations

import json
import pickle
import random
import shutil
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

import pyarrow.dataset as arrow
import pyarrow.parquet as pq
import pytest

from inspect_core import bootstrap
from inspect_core.domain.custody import Move
from inspect_core.domain.decision import Answer
from inspect_core.domain.errors import BadInput, BadRules
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.geometry import Shape
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.domain.people import Role
from inspect_core.domain.second_reading import CANNOT_TELL
from inspect_core.rules.loader import load_rules
from inspect_core.rules.model import RuleSet
from inspect_core.usecases import trends_plain
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.demo import fill_demo
from inspect_core.usecases.export import Export, export
from inspect_core.usecases.fleet import write
from inspect_core.usecases.fleet.engine import Engine
from inspect_core.usecases.fleet.form import ABOUT, INSPECTIONS
from inspect_core.usecases.fleet.stores import Piece, open_stores, pieces
from inspect_core.usecases.fleet.trends import fleet_services
from inspect_core.usecases.fleet.what_if import what_if as fleet_what_if
from inspect_core.usecases.second_reading import RecordReading, record_second_reading
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.what_if import report_plain, what_if
from tests.usecases.site import Site

QUESTIONS = ("why", "life", "rates", "where", "prevent", "agree", "spending", "coming")


def random_site(folder: Path, seed: int, items: int = 12, days: int = 110) -> Site:
    """A site whose people record at random: checks and detailed looks, sound and damaged, corrections, withdrawals by
    hand, photos used twice, blind readings, items of two sites and models."""
    rng = random.Random(seed)
    site = Site(folder)
    gear = [
        site.lanyard(
            f"LAN-{seed}{number:02}",
            site=rng.choice(["North Quay", "Mill / 2", ""]),
            model=rng.choice(["A10", "B20"]),
            maker_max_age_years=rng.choice([None, 2.0, 10.0]),
            price=rng.choice([None, 90.0, 120.5]),
            note=rng.choice(["", "strap replaced"]),
        )
        for number in range(items)
    ]
    photos = [site.photo(number) for number in range(1, 5)]
    recorded: list[tuple[str, str]] = []
    for step in range(days):
        site.clock.move(days=rng.choice([1, 3, 9]))
        item = rng.choice(gear)
        with site.services.unit_of_work() as uow:
            state = uow.items.standing(item.id).state.value
        if state not in ("in service", "on hold"):
            continue
        number = f"look-{seed}-{step}"
        if state == "on hold" and rng.random() < 0.4:
            move = Move.WITHDRAW if rng.random() < 0.15 else Move.RELEASE
            try:
                make_move(
                    MakeMove(f"move-{seed}-{step}", item.id, move, site.competent, "looked at in the office"),
                    site.services,
                )
            except Exception as refused:  # what may not be released stays on hold
                assert hasattr(refused, "remedy")
            continue
        periodic = rng.random() < 0.4
        depth = rng.choice([None, 0.2, 0.3, 0.3, 3.0])
        answers = dict(site.sound(item))
        marks: tuple[Mark, ...] = ()
        used: tuple[str, ...] = ()
        if rng.random() < 0.45:
            used = (rng.choice(photos),)
            category = rng.choice([*4 * [Category.CUT], Category.FRAY, Category.ABRASION])
            part = Component.WEBBING if category is Category.CUT else Component.STITCHING
            readings = (Reading("depth from edge", depth, "mm", 0.1, "by hand, steel rule"),) if depth else ()
            marks = (Mark("m", used[0], part, category, Shape.of("line", [[1, 2], [30, 40]]), readings, made_by="x"),)
            answers[part] = Answer.DEFECT
        if rng.random() < 0.2:
            answers[Component.LABEL] = Answer.UNSEEN
        corrects = next((id_ for id_, of in reversed(recorded) if of == item.id), None) if rng.random() < 0.15 else None
        look = site.check(
            item,
            number,
            type=InspectionType.PERIODIC if periodic else InspectionType.BEFORE_USE,
            by=rng.choice([site.competent, site.second]) if periodic else site.worker,
            answers=answers,
            marks=marks,
            photo_ids=used,
            corrects=corrects,
        )
        try:
            site.record(look)
        except Exception as refused:  # some corrections may not be made by whoever looked
            assert hasattr(refused, "remedy")
            continue
        recorded.append((number, item.id))
        if used and rng.random() < 0.3:
            answer = rng.choice([CANNOT_TELL, "sound", "cut", "fray"])
            reader = site.second if look.by != site.second else site.competent
            try:
                record_second_reading(
                    RecordReading(f"blind-{seed}-{step}", used[0], number, reader, answer), site.services
                )
            except Exception as refused:  # read before, or recorded by the reader
                assert hasattr(refused, "remedy")
    return site


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> list[Site]:
    folder = tmp_path_factory.mktemp("fleet")
    return [random_site(folder / f"yard {seed}", seed) for seed in (1, 2)]


@pytest.fixture(scope="module")
def exports(sites: list[Site], tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("exports")
    for number, site in enumerate(sites):
        export(folder / f"store {number}", Export("parquet"), site.manager, site.services)
    return sorted(folder.iterdir())


@pytest.fixture(scope="module")
def stricter(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    """The packaged rules with a monthly interval and the limits of measured cuts at a third."""
    folder = tmp_path_factory.mktemp("rules") / "rules"
    shutil.copytree(Path(str(files("inspect_core.rules") / "data")), folder)
    profiles = folder / "profiles.toml"
    text = profiles.read_text(encoding="utf-8")
    assert "months = 12" in text
    profiles.write_text(text.replace("months = 12", "months = 1"), encoding="utf-8")
    return load_rules(folder)


def test_the_random_sites_hold_every_kind_of_case(sites: list[Site]) -> None:
    for site in sites:
        with site.services.unit_of_work() as uow:
            assert uow.reviews.retirements() and uow.second_readings.all() and uow.reviews.shared_photos()
            assert uow.reviews.damages()
            every = [one.record for one in uow.records.page("inspection")]
        assert any(one.corrects for one in every) and len({one.site for one in every}) > 1
        assert len({one.at.year for one in every}) >= 1 and len(every) > 25


def test_one_store_weighed_again_gives_the_same_answer_as_the_store_itself(
    sites: list[Site], exports: list[Path], stricter: RuleSet
) -> None:
    for site, folder in zip(sites, exports, strict=True):
        own = report_plain(what_if(site.services, stricter))
        found = fleet_what_if(open_stores([folder]), site.services.rules, stricter, Engine()).plain()
        assert own["changes"] and found == own
        same = fleet_what_if(open_stores([folder]), site.services.rules, site.services.rules, Engine()).plain()
        assert same == report_plain(what_if(site.services, site.services.rules))


def _scopes() -> list[Scope]:
    return [
        Scope(),
        Scope(kind=Kind.WEBBING_LANYARD, site="North Quay"),
        Scope(model="Maker A A10", since=date(2026, 3, 17)),
        Scope(since=date(2026, 4, 1), until=date(2026, 6, 13)),
        Scope(change=date(2026, 5, 5)),
        Scope(kind=Kind.CONNECTOR),
    ]


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_question_is_answered_as_the_store_answers_it(
    sites: list[Site], exports: list[Path], question: str
) -> None:
    splits = {"why": ("category", "site", "month"), "rates": ("kind", "category", "model", "site", "month")}
    for site, folder in zip(sites, exports, strict=True):
        fleet = fleet_services(open_stores([folder]), Engine(), site.clock, site.services.rules)
        for scope in _scopes():
            for by in splits.get(question, ("kind",)):
                own = _answer(question, site.services, scope, by)
                assert _answer(question, fleet, scope, by) == own, (scope, by)


def _answer(question: str, services: Any, scope: Scope, by: str) -> Any:
    try:
        return json.loads(json.dumps(trends_plain.question_plain(question, services, scope, by)))
    except BadInput as refused:
        return refused.problem


def test_two_stores_together_are_the_sum_of_both(sites: list[Site], exports: list[Path], stricter: RuleSet) -> None:
    stores = open_stores([exports[0].parent])
    assert [store.name for store in stores] == ["store 0", "store 1"]
    rules = sites[0].services.rules
    both = fleet_what_if(stores, rules, stricter, Engine(2)).plain()
    each = [report_plain(what_if(site.services, stricter)) for site in sites]
    assert both["cases"] == sum(one["cases"] for one in each)
    assert [one["inspection"] for one in both["changes"]] == [
        f"store {number}: {change['inspection']}" for number, one in enumerate(each) for change in one["changes"]
    ]
    assert [(one["store"], one["tag"]) for one in both["items_in_service"]] == [
        (f"store {number}", item["tag"]) for number, one in enumerate(each) for item in one["items_in_service"]
    ]
    fleet = fleet_services(stores, Engine(2), sites[0].clock, rules)
    alone = [_answer("rates", site.services, Scope(), "kind") for site in sites]
    together = _answer("rates", fleet, Scope(), "kind")
    for number in ("defects", "inspections"):
        assert together["all"][number] == sum(one["all"][number] for one in alone)
    withdrawn = [_answer("why", site.services, Scope(), "category")["withdrawn"] for site in sites]
    assert _answer("why", fleet, Scope(), "category")["withdrawn"] == sum(withdrawn)


def test_no_name_and_no_free_text_of_an_inspection_is_in_the_files(tmp_path: Path) -> None:
    site = Site(tmp_path / "store")
    item = site.lanyard(note="strap replaced")
    site.record(site.check(item, note="Worker said so", answer_notes={Component.WEBBING: "seen by Worker"}))
    make_move(MakeMove("hold-1", item.id, Move.HOLD, site.worker, "Worker dropped it"), site.services)
    export(tmp_path / "out", Export("parquet"), site.manager, site.services)
    texts = [json.dumps(pq.read_table(path).to_pylist(), default=str) for path in (tmp_path / "out").rglob("*.parquet")]
    for word in ("Worker", "Manager", "Competent", "dropped"):
        assert not any(word in text for text in texts), word
    assert any("strap replaced" in text for text in texts)


def test_other_programs_read_the_files_as_one_table(exports: list[Path], sites: list[Site]) -> None:
    table = arrow.dataset(exports[0] / INSPECTIONS, partitioning=None).to_table()
    with sites[0].services.unit_of_work() as uow:
        assert table.num_rows == uow.records.count("inspection")
    partitions = {path.parent.parent.name for path in (exports[0] / INSPECTIONS).rglob("*.parquet")}
    assert {"site=North%20Quay", "site=Mill%20%2F%202", "site=__none__"} >= partitions and len(partitions) > 1


def test_few_rows_in_memory_and_few_open_files_give_the_same_answers(
    sites: list[Site], exports: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stricter: RuleSet
) -> None:
    monkeypatch.setattr(write, "_MOST_WAITING", 3)
    monkeypatch.setattr(write, "_MOST_OPEN", 1)
    site = sites[0]
    export(tmp_path / "out", Export("parquet"), site.manager, site.services)
    stores = open_stores([tmp_path / "out"])
    assert len(list(pieces(stores))) > len(list(pieces(open_stores([exports[0]]))))
    own = report_plain(what_if(site.services, stricter))
    assert fleet_what_if(stores, site.services.rules, stricter, Engine()).plain() == own
    fleet = fleet_services(stores, Engine(), site.clock, site.services.rules)
    for question in QUESTIONS:
        assert _answer(question, fleet, Scope(), "kind") == _answer(question, site.services, Scope(), "kind")


def test_an_empty_store_is_exported_and_answers(tmp_path: Path, stricter: RuleSet) -> None:
    site = Site(tmp_path / "store")
    export(tmp_path / "out", Export("parquet"), site.manager, site.services)
    stores = open_stores([tmp_path / "out"])
    assert fleet_what_if(stores, site.services.rules, stricter, Engine()).plain()["cases"] == 0
    fleet = fleet_services(stores, Engine(), site.clock, site.services.rules)
    for question in QUESTIONS:
        assert _answer(question, fleet, Scope(), "kind") == _answer(question, site.services, Scope(), "kind")


def test_one_store_given_twice_is_refused(exports: list[Path], tmp_path: Path) -> None:
    shutil.copytree(exports[0], tmp_path / "again")
    with pytest.raises(BadInput, match="exports of one store"):
        open_stores([exports[0], tmp_path / "again"])
    with pytest.raises(BadInput, match="given twice"):
        open_stores([exports[0], exports[0]])


def test_what_is_no_export_is_refused_in_words(exports: list[Path], tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="holds no export"):
        open_stores([tmp_path])
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / ABOUT).write_text("[]")
    with pytest.raises(BadInput, match="another program or version"):
        open_stores([tmp_path / "a"])
    shutil.copytree(exports[0], tmp_path / "b")
    next((tmp_path / "b" / INSPECTIONS).rglob("*.parquet")).write_bytes(b"PAR1 nothing PAR1")
    with pytest.raises(BadInput, match="cannot be read as part of an export"):
        list(pieces(open_stores([tmp_path / "b"])))


def _refused(piece: Piece) -> int:
    raise BadInput(f"“{piece.path.name}” is refused.", "Give another.")


@pytest.mark.parametrize("workers", [1, 2])
def test_what_a_process_refuses_is_told_in_its_words(exports: list[Path], workers: int) -> None:
    every = list(pieces(open_stores([exports[0]])))
    assert len(every) > 1
    with pytest.raises(BadInput) as refused:
        Engine(workers).spread(every, _refused, max, 0)
    assert refused.value.problem == "“part-00000.parquet” is refused." and refused.value.remedy == "Give another."


def test_every_refusal_comes_whole_out_of_another_process() -> None:
    for error in (BadInput("This is wrong.", "Mend it."), BadRules(("a: b: c",))):
        again = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
        assert type(again) is type(error)
        assert (again.problem, again.remedy, str(again)) == (error.problem, error.remedy, str(error))


def test_what_an_export_as_parquet_cannot_hold_is_refused() -> None:
    with pytest.raises(BadInput, match="whole past"):
        Export("parquet", since=date(2026, 3, 1))
    with pytest.raises(BadInput, match="at least one process"):
        Engine(0)


@pytest.mark.slow
def test_the_demo_site_tells_the_same_from_its_files(tmp_path: Path, stricter: RuleSet) -> None:
    services = bootstrap.open_services(str(tmp_path / "store"))
    fill_demo(services)
    with services.unit_of_work() as uow:
        manager = next(person.id for person in uow.people.all() if person.role is Role.MANAGER)
    export(tmp_path / "out", Export("parquet"), manager, services)
    stores = open_stores([tmp_path / "out"])
    for rules in (services.rules, stricter):
        assert fleet_what_if(stores, services.rules, rules, Engine(2)).plain() == report_plain(what_if(services, rules))
    fleet = fleet_services(stores, Engine(), services.clock, services.rules)
    for question in QUESTIONS:
        for scope in (Scope(), Scope(kind=Kind.HARNESS), Scope(since=services.today() - timedelta(days=400))):
            assert _answer(question, fleet, scope, "kind") == _answer(question, services, scope, "kind"), scope
    services.close()


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 16))
def test_random_sites_tell_the_same_from_their_files(tmp_path: Path, stricter: RuleSet, seed: int) -> None:
    site = random_site(tmp_path / "store", seed, items=8, days=80)
    export(tmp_path / "out", Export("parquet"), site.manager, site.services)
    stores = open_stores([tmp_path / "out"])
    own = report_plain(what_if(site.services, stricter))
    assert fleet_what_if(stores, site.services.rules, stricter, Engine()).plain() == own
    fleet = fleet_services(stores, Engine(), site.clock, site.services.rules)
    for question in QUESTIONS:
        for scope in _scopes():
            assert _answer(question, fleet, scope, "kind") == _answer(question, site.services, scope, "kind"), scope


def test_sites_with_long_names_are_exported_each_in_a_folder_of_its_own(tmp_path: Path) -> None:
    site = Site(tmp_path / "store")
    names = ["Chantier à l'été très élevé " * 6 + end for end in ("est", "ouest")] + ["Quai"]
    for number, name in enumerate(names):
        item = site.lanyard(f"A-{number}", site=name)
        site.record(site.check(item, f"check-{number}"))
    export(tmp_path / "out", Export("parquet"), site.manager, site.services)
    parts = list((tmp_path / "out" / INSPECTIONS).rglob("*.parquet"))
    folders = {path.parent.parent.name for path in parts}
    assert len(folders) == 3 and "site=Quai" in folders and all(len(name) < 255 for name in folders)
    assert sorted(row["site"] for path in parts for row in pq.ParquetFile(path).read().to_pylist()) == sorted(names)
