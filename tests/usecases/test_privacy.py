"""A name is replaced by a code: gone from store, search, papers and lists, while the account still verifies."""

from dataclasses import replace

import pytest

from inspect_core.domain.errors import BadInput, Conflict, NotAllowed
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person, Role, commitment
from inspect_core.usecases import account
from inspect_core.usecases.certificate import certificate_pdf
from inspect_core.usecases.kits import ChangeKit, KitMove, change_kit
from inspect_core.usecases.plain import person_entry, person_plain
from inspect_core.usecases.privacy import code_name
from inspect_core.usecases.register import add_person
from inspect_core.usecases.review import history, people
from inspect_core.usecases.search import Query, search
from inspect_core.usecases.verify import verify
from tests.engines import stores
from tests.reports.reading import words
from tests.usecases.site import Site

NAME = "Quillon Zabernathy"


@pytest.fixture
def told(tmp_path):
    """A site where that person made an inspection, wore a kit and was changed once."""
    site = Site(tmp_path / "store")
    site.folder = tmp_path / "store"
    site.administrator = add_person(Person("person-admin", "Chief", Role.ADMINISTRATOR), site.services).id
    person = add_person(Person("person-q", NAME, Role.COMPETENT_PERSON), site.services)
    add_person(replace(person, qualified_until=site.clock.now().date().replace(year=2030)), site.services)
    item = site.lanyard()
    site.inspection = site.record(site.check(item, type=InspectionType.PERIODIC, by="person-q")).inspection
    change_kit(
        ChangeKit("e1", "kit-1", KitMove.MAKE, site.competent, name="Roof 1", item_ids=(item.id,)), site.services
    )
    change_kit(ChangeKit("e2", "kit-1", KitMove.ISSUE, site.competent, holder="person-q"), site.services)
    return site


def test_the_ledger_never_holds_a_name_only_what_name_and_salt_give(told):
    with told.services.unit_of_work() as uow:
        bodies = repr([entry.body for entry in uow.ledger.entries()])
        person = uow.people.get("person-q")
    assert NAME not in bodies and "Worker" not in bodies
    assert person.name_salt and person.name_commitment == commitment(NAME, person.name_salt)
    assert person.name_commitment in bodies and person.name_salt not in bodies
    assert commitment(NAME, "another salt") != person.name_commitment


def test_the_name_is_gone_from_every_file_of_the_store_and_the_account_still_verifies(told):
    before = stores.kept_by(told.folder)
    assert NAME.encode() in before and b"zabernathy" in before.lower()
    coded = code_name("person-q", "P-17", told.administrator, told.services)
    assert (coded.person.name, coded.person.coded, coded.in_clear, coded.witnessed) == ("P-17", True, (), 0)
    assert b"zabernathy" not in stores.kept_by(told.folder).lower()
    assert verify(told.services).faults == ()
    names = {p.name for p in people(told.services)}
    assert "P-17" in names and NAME not in names
    assert search(Query("Zabernathy"), told.services).hits == ()
    assert len(search(Query("P-17"), told.services).hits) == 1
    assert history(told.inspection.item_id, told.services).name_of("person-q") == "P-17"
    paper = words(certificate_pdf(told.inspection.id, told.services))
    assert "P-17" in paper and "Zabernathy" not in paper


def test_a_coded_person_goes_on_under_the_code_and_a_change_keeps_it(told):
    code_name("person-q", "P-17", told.administrator, told.services)
    with told.services.unit_of_work() as uow:
        person = uow.people.get("person-q")
    kept = add_person(replace(person, active=False), told.services)
    assert (kept.coded, kept.name_salt) == (True, "")
    assert person_entry(kept)["code"] == "P-17" and person_entry(kept)["name_commitment"] is None
    assert verify(told.services).faults == ()


@pytest.mark.parametrize(
    ("code", "error", "said"),
    [
        ("", BadInput, "1 to 80 characters"),
        ("Zabernathy 2", BadInput, "tells the name"),
        (NAME.lower(), BadInput, "tells the name"),
        ("worker", Conflict, "carries this code already"),
    ],
)
def test_a_code_that_tells_the_name_or_is_taken_is_refused(told, code, error, said):
    with pytest.raises(error, match=said):
        code_name("person-q", code, told.administrator, told.services)
    assert NAME in {p.name for p in people(told.services)}


def test_only_an_administrator_replaces_names_and_only_once(told):
    for by in (told.worker, told.competent, told.manager):
        with pytest.raises(NotAllowed, match="may not replace a name by a code"):
            code_name("person-q", "P-17", by, told.services)
    code_name("person-q", "P-17", told.administrator, told.services)
    with pytest.raises(BadInput, match="is a code already"):
        code_name("person-q", "P-18", told.administrator, told.services)


def test_an_entry_of_an_older_program_that_holds_the_name_is_told_honestly(told):
    old = Person("person-old", "Old Hand", Role.WORKER)
    with told.services.unit_of_work(write=True) as uow:  # as the first version wrote it
        uow.people.add(old)
        entry = account.enter(uow, told.clock.now(), "person", old.id, person_plain(old))
        uow.commit()
    assert verify(told.services).faults == ()
    coded = code_name(old.id, "P-18", told.administrator, told.services)
    assert coded.in_clear == (entry.number,)
    assert verify(told.services).faults == ()


def test_people_of_an_older_store_get_a_salt_when_they_are_changed(told):
    with told.services.unit_of_work(write=True) as uow:
        uow.people.add(Person("person-old", "Old Hand", Role.WORKER))
        uow.commit()
    with stores.beside(told.folder) as raw:
        assert raw.exec_driver_sql("SELECT name_salt FROM people WHERE id = 'person-old'").scalar_one() == ""
    with told.services.unit_of_work() as uow:
        old = uow.people.get("person-old")
    assert add_person(replace(old, role=Role.MANAGER), told.services).name_salt
