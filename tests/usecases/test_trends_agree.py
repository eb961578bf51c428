"""Whether inspectors agree, from readings recorded through the same doors as people use."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.domain.second_reading import CANNOT_TELL, SOUND
from inspect_core.trends.agreement import Agreement
from inspect_core.trends.few import TooFew
from inspect_core.trends.funnel import Funnel
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.register import add_person
from inspect_core.usecases.second_reading import RecordReading, photos_to_read, record_second_reading
from inspect_core.usecases.trends_agree import agree, names
from inspect_core.usecases.trends_figures import figures
from inspect_core.usecases.trends_scope import Scope
from tests.usecases.site import Site, picture

ALL = Scope()


def _photographed(site: Site, *, cut: int, sound: int) -> None:
    """Lanyards with one photo each, looked at first by one competent person."""
    for number in range(cut + sound):
        item = site.lanyard(f"LAN-{number:03}", site="North Quay" if number % 2 else "Mill Street")
        photo = take_photo(picture(300 + number), site.services)
        command = site.check(item, f"look-{number}", photo_ids=(photo.id,))
        if number < cut:
            whole = site.cut(item, 30.0, inspection_id=f"look-{number}")
            command = replace(whole, marks=(replace(whole.marks[0], photo_id=photo.id),), photo_ids=(photo.id,))
        site.record(replace(command, type=InspectionType.PERIODIC, by=site.competent))


def _read(site: Site, by: str, answers: dict[str, str]) -> None:
    """Read everything blind: `answers` says what is said of what the first look called cut or sound."""
    for number, photo in enumerate(photos_to_read(by, site.services, most=100).photos):
        with site.services.unit_of_work() as uow:
            first = "cut" if uow.inspections.get(photo.inspection_id).marks else SOUND
        command = RecordReading(f"{by}-{number}", photo.photo_id, photo.inspection_id, by, answers[first])
        record_second_reading(command, site.services)


def _third(site: Site) -> str:
    return add_person(Person("person-third", "Third", Role.COMPETENT_PERSON), site.services).id


def test_without_readings_that_is_said_and_nothing_is_drawn(site: Site) -> None:
    answer = agree(site.services, ALL)
    assert "nobody can say whether inspectors agree" in answer.in_words
    assert isinstance(answer.looks, TooFew) and isinstance(answer.everybody, TooFew) and answer.by_answer == ()
    assert [figure.drawn for figure in figures(site.services, "agree", ALL)] == [False] * 6


def test_first_look_and_blind_second_look_are_compared_by_hand_counted_figures(site: Site) -> None:
    _photographed(site, cut=5, sound=5)
    _read(site, site.second, {"cut": "cut", SOUND: "abrasion"})
    answer = agree(site.services, ALL)
    assert isinstance(answer.looks, Agreement)
    # Of ten photos five agree. Expected by chance: .5 × .5 for cut, nothing for the others: (.5 − .25) / .75.
    assert (answer.looks.photos, answer.looks.agreed, answer.looks.kappa) == (10, 5, pytest.approx(1 / 3))
    assert [(share.label, share.count, share.total) for share in answer.by_answer] == [(SOUND, 0, 5), ("cut", 5, 5)]
    assert answer.told_apart() == ((SOUND, "abrasion", 5),)
    assert [row.second for row in answer.behind(SOUND)] == ["abrasion"] * 5


def test_three_readers_have_a_kappa_together_and_one_for_every_two(site: Site) -> None:
    _photographed(site, cut=6, sound=6)
    _read(site, site.second, {"cut": "cut", SOUND: SOUND})
    _read(site, _third(site), {"cut": "fray", SOUND: SOUND})
    answer = agree(site.services, ALL)
    assert isinstance(answer.everybody, Agreement)
    assert (answer.everybody.readers, answer.everybody.photos, answer.everybody.agreed) == (3, 12, 6)
    same = {frozenset((pair.first, pair.second)): pair.found for pair in answer.pairs}
    assert len(same) == 3
    first = same[frozenset((site.competent, site.second))]
    assert isinstance(first, Agreement) and first.same == 1.0


def test_cannot_tell_is_counted_beside_and_left_out(site: Site) -> None:
    _photographed(site, cut=3, sound=3)
    _read(site, site.second, {"cut": CANNOT_TELL, SOUND: SOUND})
    answer = agree(site.services, ALL)
    assert (answer.not_told, len(answer.rows)) == (3, 3)
    assert "3 answers “cannot tell” left out" in figures(site.services, "agree", ALL)[0].counted


def test_few_photos_are_told_not_drawn(site: Site) -> None:
    _photographed(site, cut=2, sound=2)
    _read(site, site.second, {"cut": "cut", SOUND: SOUND})
    answer = agree(site.services, ALL)
    assert isinstance(answer.looks, TooFew) and answer.looks.items == 4
    assert [few.label for few in answer.few_answers] == ["cut", SOUND] and answer.by_answer == ()


def test_site_and_day_of_the_first_look_narrow_the_readings(site: Site) -> None:
    _photographed(site, cut=4, sound=4)
    _read(site, site.second, {"cut": "cut", SOUND: SOUND})
    assert agree(site.services, Scope(site="North Quay")).photos == 4
    assert agree(site.services, Scope(since=date(2026, 3, 3))).photos == 0
    assert agree(site.services, Scope(model="Maker A A10")).photos == 8
    assert agree(site.services, Scope(model="Maker B B20")).photos == 0


def test_managers_see_names_and_others_do_not(site: Site) -> None:
    _photographed(site, cut=6, sound=6)
    _read(site, site.second, {"cut": "cut", SOUND: SOUND})
    with site.services.unit_of_work() as uow:
        manager, second = uow.people.get(site.manager), uow.people.get(site.second)
    ids = (site.competent, site.second)
    assert names(site.services, manager, ids) == {site.competent: "Competent", site.second: "Second"}
    assert names(site.services, second, ids) == {site.competent: "inspector 1", site.second: "you"}
    assert set(names(site.services, None, ids).values()) == {"inspector 1", "inspector 2"}
    for viewer, seen in ((manager, True), (None, False)):
        said = " ".join(str(figure) for figure in figures(site.services, "agree", ALL, viewer=viewer))
        assert ("Competent and Second" in said) is seen
        assert "not about the person" in said


def test_rates_of_inspectors_stand_in_a_funnel_apart_for_checks_and_detailed_looks(site: Site) -> None:
    _photographed(site, cut=12, sound=6)
    third = _third(site)
    for number in range(12, 18):
        item = f"item-LAN-{number:03}"
        for place, by in enumerate((site.second, third)):
            with site.services.unit_of_work() as uow:
                known = uow.items.get(item)
            command = site.check(known, f"again-{number}-{place}", by=by)
            site.record(replace(command, type=InspectionType.PERIODIC))
    answer = agree(site.services, ALL)
    assert isinstance(answer.detailed, Funnel) and isinstance(answer.checks, TooFew)
    assert {(p.label, p.defects, p.inspections) for p in answer.detailed.points} == {
        (site.competent, 12, 18),
        (site.second, 0, 6),
        (third, 0, 6),
    }
    funnel = next(f for f in figures(site.services, "agree", ALL) if f.name == "funnel-detailed-inspections")
    assert funnel.drawn and site.competent not in funnel.says + str(funnel.table)


def test_a_photo_in_two_inspections_is_found_and_a_correction_is_none(site: Site) -> None:
    photo = site.photo(7)
    first, second = site.lanyard("LAN-001"), site.lanyard("LAN-002")
    site.record(site.check(first, "one", photo_ids=(photo,)))
    site.record(site.check(second, "two", photo_ids=(photo,)))
    other = site.photo(8)
    site.record(site.check(first, "three", photo_ids=(other,)))
    site.record(site.check(first, "four", photo_ids=(other,), corrects="three"))
    ((one, two),) = agree(site.services, ALL).twice
    assert {one.tag, two.tag} == {"LAN-001", "LAN-002"} and one.photo_id == photo
    assert figures(site.services, "agree", ALL)[-1].says.startswith("In more than one inspection: 1 photo")
