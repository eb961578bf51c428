"""The inspection certificate."""

from __future__ import annotations

import io
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from PIL import Image

from inspect_core.domain.custody import State
from inspect_core.domain.decision import Answer, Basis, Decision, FindingOutcome, HandDecision, Outcome
from inspect_core.domain.errors import BadInput, BadPhoto
from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.marks import Reading
from inspect_core.domain.people import Person, Role
from inspect_core.reports.certificate import certificate
from inspect_core.reports.wording import CAUTIONS
from tests.reports import records
from tests.reports.reading import dense, pages, qr_texts, reader, rightmost, words

PHOTOS = {"photo-1": records.preview(), "photo-2": records.preview(seed=2)}


@pytest.fixture(scope="module")
def withdrawn() -> bytes:
    return certificate(records.data(standing=records.withdrawn_since()), PHOTOS)


def sound(**changes: object) -> bytes:
    return certificate(records.data(records.sound_inspection(), **changes), {})


def top(pdf: bytes) -> str:
    """What stands on the first page above the cautions."""
    return pages(pdf)[0].split("Before anybody relies on this paper")[0]


def test_it_names_the_item_the_inspection_and_the_inspector(withdrawn: bytes) -> None:
    text = words(withdrawn)
    for part in ("QL-017", "webbing lanyard", "Maker A", "Model 2", "S-4471-09", "2021-03-01", "2021-05-10", "EN 355"):
        assert part in text
    for part in ("periodic", "2025-06-02 14:05 UTC-04:00", "North Quay", "Competent person 1", "7 inspections"):
        assert part in text
    assert "competent person until 2027-01-31" in text


def test_every_page_carries_the_inspection_and_its_number_of_how_many(withdrawn: bytes) -> None:
    every = pages(withdrawn)
    assert len(every) >= 2
    for number, text in enumerate(every, start=1):
        assert "Inspection insp-2025-06-02-0001" in text
        assert f"page {number} of {len(every)}" in text
        assert "Printed 2025-06-03 – rule set 2025.1" in text


def test_the_outcome_stands_on_top_as_a_word_with_what_to_do(withdrawn: bytes) -> None:
    assert "Withdraw Do not use. It never comes back into service." in top(withdrawn)
    assert "The cut reaches 3.2 mm in from the edge" in top(withdrawn)


def test_every_finding_has_its_reason_rule_source_and_basis(withdrawn: bytes) -> None:
    text = words(withdrawn)
    for finding in (records.CUT, records.RUST, records.CLEARED):
        assert finding.reason in text
        assert finding.source in text
        assert f"Rule: {finding.rule}" in text
    assert text.count("Basis: published") == 2
    assert text.count("Basis: common practice") == 1


@pytest.mark.parametrize("basis", list(Basis), ids=lambda b: b.value)
@pytest.mark.parametrize("outcome", list(FindingOutcome), ids=lambda o: o.value)
def test_the_basis_is_printed_for_every_kind_of_finding(basis: Basis, outcome: FindingOutcome) -> None:
    finding = replace(records.CUT, basis=basis, outcome=outcome, mark=None, analogue=True)
    decision = Decision(Outcome.HOLD, 1.0, (finding,), records.STAMP)
    text = words(certificate(records.data(records.sound_inspection(decision=decision)), {}))
    assert f"Basis: {basis.value}" in text
    assert "Written for lifting gear" in text
    assert "3.20 ± 0.42 mm (k = 2)" in text


def test_only_rules_from_lifting_gear_are_called_so(withdrawn: bytes) -> None:
    assert words(withdrawn).count("Written for lifting gear, used here as an analogue") == 1


def test_every_reading_carries_value_uncertainty_unit_and_method(withdrawn: bytes) -> None:
    text = words(withdrawn)
    assert "depth from edge: 3.20 ± 0.42 mm (k = 2), photo, known length" in text
    assert "length: 12.44 ± 0.80 mm (k = 2), photo, known length" in text
    assert "rust area share: 0.181 ± 0.034 share (k = 2), photo, region drawn by hand" in text
    assert "± is the expanded uncertainty with coverage factor k = 2" in text
    assert "A share runs from 0 to 1" in text


def test_a_mark_without_reading_is_called_not_measured() -> None:
    bare = tuple(replace(mark, readings=()) for mark in records.MARKS)
    text = words(certificate(records.data(records.inspection(marks=bare)), PHOTOS))
    assert text.count("not measured") >= 2
    assert "Not measured is not zero" in text


def test_a_rule_that_missed_its_reading_says_so_beside_its_limit(withdrawn: bytes) -> None:
    assert "section loss: not measured Limit: 0.1 share" in words(withdrawn)


def test_damage_used_is_printed_and_explained(withdrawn: bytes) -> None:
    text = words(withdrawn)
    assert "Damage used: 3.62 (ratio to the limit)" in text
    assert "largest (reading + uncertainty) / limit" in text
    assert "not what strength it has left" in text


def test_components_answers_notes_and_facts_are_printed(withdrawn: bytes) -> None:
    text = words(withdrawn)
    assert "webbing defect 1 Cut at the edge, 120 mm from the hook." in text
    assert "D-ring absent none" in text
    assert "arrested a fall no" in text
    assert "age 4 years" in text


def test_marks_have_the_same_number_in_table_findings_and_captions(withdrawn: bytes) -> None:
    text = words(withdrawn)
    assert "1 cut webbing 1 depth from edge" in text
    assert "webbing, mark 1" in text
    assert "snap hook, mark 2" in text
    assert "Marks: 1 cut, 2 rust" in text


def test_the_marked_photo_its_close_ups_and_the_other_photo_are_in_it(withdrawn: bytes) -> None:
    sizes = [Image.open(io.BytesIO(image.data)).size for page in reader(withdrawn).pages for image in page.images]
    assert len(sizes) == 4
    assert (1600, 1200) in sizes
    assert (1000, 750) in sizes
    assert "Photo 2 of 2" in words(withdrawn)


def test_the_marked_photo_is_not_the_bare_preview(withdrawn: bytes) -> None:
    images = [image.data for page in reader(withdrawn).pages for image in page.images]
    assert PHOTOS["photo-1"] not in images


def test_rule_set_and_ledger_entry_are_printed_whole(withdrawn: bytes) -> None:
    text = dense(withdrawn)
    assert records.STAMP.digest in text
    assert records.DIGEST in text
    assert "version2025.1" in text
    assert "number412" in text


def test_a_scanner_reads_the_inspection_and_the_ledger_digest_from_the_code(withdrawn: bytes) -> None:
    assert qr_texts(withdrawn) == [f"bartack:inspection:insp-2025-06-02-0001\nledger 412 {records.DIGEST}"]


def test_without_a_ledger_entry_nothing_is_made_up() -> None:
    pdf = sound(ledger_number=None, ledger_digest=None)
    assert qr_texts(pdf) == ["bartack:inspection:insp-2025-06-02-0001"]
    assert words(pdf).count("not printed") == 2


def test_every_caution_stands_on_the_first_page(withdrawn: bytes) -> None:
    for caution in CAUTIONS:
        assert caution in pages(withdrawn)[0]
    first = " ".join(CAUTIONS)
    for must in ("maker's instructions", "competent person", "no hidden damage", "No reading proves strength"):
        assert must in first


def test_there_is_a_place_for_signatures(withdrawn: bytes) -> None:
    assert words(withdrawn).count("Signature and date") == 2


def test_a_sound_item_shows_in_service_and_when_it_is_due_next() -> None:
    assert "In service May be used after its check before use." in top(sound())
    assert "2025-12-02" in words(sound())
    assert "No rule was met and none was left in doubt." in words(sound())


@pytest.mark.parametrize("state", [s for s in State if s is not State.IN_SERVICE], ids=lambda s: s.value)
def test_a_good_inspection_of_gear_that_is_out_shows_the_state_and_not_green(state: State) -> None:
    standing = replace(records.STANDING, state=state, reason="A later event.")
    pdf = sound(standing=standing)
    assert "May be used" not in words(pdf)
    assert f"State on the day of printing: {state.value}" in top(pdf)
    assert "A later event." in top(pdf)
    assert "none while out of service" in words(pdf)


def test_a_corrected_inspection_says_so_on_top_and_names_the_later_one() -> None:
    pdf = sound(corrected_by=("insp-2025-06-03-0002",))
    assert "May be used" not in words(pdf)
    assert "Corrected later" in top(pdf)
    assert "Use instead: inspection insp-2025-06-03-0002." in top(pdf)


def test_an_overdue_item_says_so_on_top_from_the_day_after() -> None:
    due = records.STANDING.next_due
    assert due is not None
    assert "May be used" in top(sound(printed_on=due))
    late = sound(printed_on=date(2025, 12, 3))
    assert "May be used" not in words(late)
    assert "Overdue" in top(late)
    assert "was due on 2025-12-02" in top(late)


def test_a_correction_names_the_inspection_it_corrects() -> None:
    old = records.inspection(id="insp-old", at=datetime(2025, 5, 30, 8, 0, tzinfo=UTC))
    pdf = certificate(records.data(records.sound_inspection(corrects="insp-old"), corrected=old), {})
    assert "corrects inspection insp-old of 2025-05-30, which ended in “withdraw”" in top(pdf)


def test_a_decision_by_hand_prints_its_reason_who_and_what_the_rules_said() -> None:
    hand = HandDecision(Outcome.WITHDRAW, "The webbing is stiff over its whole length.", "p-1")
    pdf = certificate(records.data(records.sound_inspection(hand=hand), judge=records.INSPECTOR), {})
    assert "Withdraw" in top(pdf)
    assert "Decided by Competent person 1. The rules alone said “in service”." in top(pdf)
    assert "The webbing is stiff over its whole length." in top(pdf)


@pytest.mark.parametrize(
    "person",
    [
        Person("p-1", "Worker 4", Role.WORKER),
        Person("p-1", "Competent person 1", Role.COMPETENT_PERSON, date(2025, 6, 1)),
    ],
    ids=["a worker", "a qualification that ran out the day before"],
)
def test_a_periodic_inspection_by_somebody_not_qualified_is_flagged(person: Person) -> None:
    assert "not recorded as a competent person in date" in top(sound(inspector=person))
    check = records.sound_inspection(type=InspectionType.BEFORE_USE)
    assert "in date on the day" not in words(certificate(records.data(check, inspector=person), {}))


def test_a_photo_that_is_not_at_hand_is_named_and_not_left_out() -> None:
    text = words(certificate(records.data(), {"photo-1": PHOTOS["photo-1"]}))
    assert "Photo 2 of 2" in text
    assert "This photo was not at hand" in text


@pytest.mark.parametrize("how_many", [0, 1, 40])
def test_any_number_of_photos_prints(how_many: int) -> None:
    ids = tuple(f"{n:064x}" for n in range(how_many))
    marks = tuple(replace(records.MARKS[0], id=f"m{n}", photo_id=name) for n, name in enumerate(ids[::4]))
    small = records.preview(400, 300)
    of = records.sound_inspection(photo_ids=ids, marks=marks)
    pdf = certificate(records.data(of), dict.fromkeys(ids, small))
    text = words(pdf)
    assert all(f"Photo {n} of {how_many}" in text for n in range(1, how_many + 1))
    assert ("No photo was taken." in text) == (how_many == 0)


def test_upright_and_wide_photos_print_side_by_side() -> None:
    of = records.inspection(
        photo_ids=("photo-1", "a", "b"), marks=(replace(records.MARKS[0], photo_id="a"), records.MARKS[1])
    )
    known = (records.photo("photo-1"), records.photo("a", 3000, 4000), records.photo("b", 8000, 1000))
    bytes_of = {"photo-1": PHOTOS["photo-1"], "a": records.preview(300, 400), "b": records.preview(800, 100)}
    assert len(reader(certificate(records.data(of, known), bytes_of)).pages) >= 3


def test_long_notes_flow_over_pages_and_long_words_stay_inside_the_page() -> None:
    of = records.sound_inspection(
        note="A long remark that goes on. " * 400,
        answers={Component.WEBBING: Answer.SOUND, Component.LABEL: Answer.SOUND},
        answer_notes={Component.WEBBING: "word " * 1500 + "END-OF-NOTE", Component.LABEL: "w" * 400},
    )
    item = replace(records.ITEM, maker="M" * 200, serial="S" * 200, tag="T" * 32)
    pdf = certificate(records.data(of, item=item), {})
    assert "END-OF-NOTE" in words(pdf)
    assert "w" * 400 in dense(pdf)
    assert "S" * 200 in dense(pdf)
    assert rightmost(pdf) < 210 / 25.4 * 72 - 40


def test_many_findings_repeat_the_table_head_on_every_page() -> None:
    many = tuple(replace(records.CUT, rule=f"rule-{n}", mark=None) for n in range(60))
    decision = Decision(Outcome.WITHDRAW, 3.62, many, records.STAMP)
    pdf = certificate(records.data(records.sound_inspection(decision=decision)), {})
    assert all(f"Rule: rule-{n}" in words(pdf) for n in range(60))
    assert sum("Outcome What was found Source and basis" in text for text in pages(pdf)) >= 5


def test_letters_with_accents_print_and_letters_the_typeface_lacks_become_numbers() -> None:
    of = records.sound_inspection(note="Überprüft à l’été – cœur, škoda ± ≥ m². Иван ☂\u200b\x07 done")
    text = words(certificate(records.data(of), {}))
    assert "Überprüft à l’été – cœur, škoda ± ≥ m²." in text
    assert "[U+0418 U+0432 U+0430 U+043D] [U+2602] done" in text
    assert "The record holds them as they were typed" in text


def test_a_paper_without_such_letters_does_not_speak_of_them(withdrawn: bytes) -> None:
    assert "U+" not in words(withdrawn)
    assert "typeface" not in words(withdrawn)


def test_markup_in_what_people_typed_is_printed_as_typed() -> None:
    of = records.sound_inspection(note='<b>bold</b> & <img src="x"/> <para>')
    assert '<b>bold</b> & <img src="x"/> <para>' in words(certificate(records.data(of), {}))


def test_the_file_says_its_title_subject_language_and_date_and_nothing_of_the_machine(withdrawn: bytes) -> None:
    document = reader(withdrawn)
    assert document.metadata is not None
    assert document.metadata.title == "Inspection certificate – QL-017"
    assert document.metadata.subject == "webbing lanyard QL-017, inspection insp-2025-06-02-0001"
    assert document.metadata.creation_date is not None
    assert document.metadata.creation_date.date() == records.PRINTED
    assert document.trailer["/Root"]["/Lang"] == "en-GB"
    for path in (str(Path.cwd()), sys.prefix, str(Path.home())):
        assert path == "/" or path.encode() not in withdrawn


def test_sections_can_be_reached_from_the_outline(withdrawn: bytes) -> None:
    document = reader(withdrawn)
    titles = {str(entry.title): document.get_destination_page_number(entry) for entry in document.outline}  # type: ignore[union-attr]
    assert titles["Item"] == 0
    assert {"Findings", "Components looked at", "Marks and readings", "Photos", "Signatures"} <= set(titles)
    assert "Photos" in pages(withdrawn)[titles["Photos"] or 0]


def test_every_typeface_is_embedded(withdrawn: bytes) -> None:
    for page in reader(withdrawn).pages:
        for font in page["/Resources"]["/Font"].values():
            described = font.get_object()
            if described["/Subtype"] == "/TrueType":
                assert "/FontFile2" in described["/FontDescriptor"]


def test_the_same_input_gives_the_same_bytes_also_from_many_threads(withdrawn: bytes) -> None:
    data = records.data(standing=records.withdrawn_since())
    with ThreadPoolExecutor(4) as pool:
        copies = list(pool.map(lambda _: certificate(data, PHOTOS), range(4)))
    assert {sha256(copy).hexdigest() for copy in copies} == {sha256(withdrawn).hexdigest()}


def test_another_process_with_another_hash_seed_gives_the_same_bytes() -> None:
    program = (
        "from hashlib import sha256; from tests.reports import records as r;"
        "from inspect_core.reports.certificate import certificate;"
        "print(sha256(certificate(r.data(r.sound_inspection()), {})).hexdigest())"
    )
    root = Path(__file__).parents[2]
    run = subprocess.run(
        [sys.executable, "-c", program],
        cwd=root,
        env={"PYTHONHASHSEED": "7", "TZ": "Pacific/Auckland", "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == sha256(sound()).hexdigest()


def test_parts_that_do_not_belong_together_are_refused() -> None:
    other = Person("p-9", "Somebody else", Role.COMPETENT_PERSON)
    for change in (
        {"inspector": other},
        {"judge": other},
        {"item": replace(records.ITEM, id="item-99")},
        {"standing": replace(records.STANDING, item_id="item-99")},
        {"corrected": records.inspection(id="insp-old")},
    ):
        with pytest.raises(BadInput):
            records.data(**change)
    with pytest.raises(BadInput):
        records.data(photos=())


def test_a_photo_that_is_no_picture_or_of_other_proportions_is_refused() -> None:
    with pytest.raises(BadPhoto):
        certificate(records.data(), {"photo-1": b"no picture"})
    with pytest.raises(BadInput):
        certificate(records.data(), {"photo-1": records.preview(1200, 1600)})


def test_a_number_without_a_known_unit_says_that_it_has_none() -> None:
    pdf = certificate(records.data(records.sound_inspection(facts={"age": 4.0}), fact_units={}), {})
    assert "4 (unit as the rule set names it)" in words(pdf)


def test_a_reading_without_method_says_so() -> None:
    mark = replace(records.MARKS[0], readings=(Reading("length", 4.0, "mm", 0.0),))
    text = words(certificate(records.data(records.inspection(marks=(mark,))), PHOTOS))
    assert "length: 4 ± 0 mm (k = 2), method not recorded" in text
