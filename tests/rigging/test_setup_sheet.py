"""The printed sheet: one page, the same bytes, every line with its source, and refusals."""

from __future__ import annotations

import io
from datetime import date
from typing import Any

import pytest
from pypdf import PdfReader

from inspect_core.domain.errors import BadInput
from inspect_core.reports.setup_sheet import SheetHead, setup_sheet
from inspect_core.rigging.rig_case import rig_case
from tests.rigging.test_rig_case import EXAMPLES, example

HEAD = SheetHead("North yard", "flat roof, hall 2", "W. Example", date(2026, 5, 4), ("H-1", "L-1"), ("ab" * 32,))


def text_of(pdf: bytes) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().split())


@pytest.mark.parametrize("case", EXAMPLES, ids=lambda case: case["check"])
def test_every_check_prints_on_one_page_with_all_its_lines_and_sources(case: dict[str, Any]) -> None:
    result = rig_case(case)
    page = text_of(setup_sheet(HEAD, [result]))
    assert result["answer"].capitalize() in page
    for line in result["lines"]:
        assert " ".join(line["topic"].split()) in page
        assert line["source"] in page
    for caution in result["cautions"]:
        assert caution in page


def test_the_worst_answer_of_several_checks_stands_on_top_and_its_line_comes_first() -> None:
    bad = rig_case({**example("swing"), "clear": 3})
    page = text_of(setup_sheet(HEAD, [rig_case(example("anchor")), bad]))
    assert "Do not go" in page
    assert page.index("things to hit") < page.index("anchor strength")


def test_the_same_results_give_the_same_bytes() -> None:
    results = [rig_case(example("restraint")), rig_case(example("kit fit"))]
    assert setup_sheet(HEAD, results) == setup_sheet(HEAD, results)


def test_a_line_from_memory_says_so_on_paper() -> None:
    page = text_of(setup_sheet(HEAD, [rig_case(example("guardrail"))]))
    assert "from memory" in page


def test_lines_in_order_are_shortened_before_the_letters_get_too_small() -> None:
    results = [rig_case(case) for case in EXAMPLES if case["check"] != "restraint"]
    page = text_of(setup_sheet(HEAD, results))
    assert "In order" in page
    assert "anchor strength" in page


def test_text_from_outside_is_printed_and_not_read_as_markup() -> None:
    head = SheetHead("<b>North & Söhne</b>", "roof", "é", date(2026, 5, 4))
    assert "<b>North & Söhne</b>" in text_of(setup_sheet(head, [rig_case(example("anchor"))]))


def test_nothing_to_print_too_much_to_print_and_unreadable_results_are_refused() -> None:
    with pytest.raises(BadInput, match="no set-up check"):
        setup_sheet(HEAD, [])
    with pytest.raises(BadInput, match="do not fit"):
        setup_sheet(HEAD, [rig_case(example("kit fit"))] * 40)
    with pytest.raises(BadInput, match="cannot be read"):
        setup_sheet(HEAD, [{"answer": "go"}])
    with pytest.raises(BadInput, match="cannot be read"):
        setup_sheet(HEAD, [{**rig_case(example("anchor")), "answer": "maybe"}])
