"""Cases in and out as JSON: the documented examples, the refusals, and that nothing else can happen."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspect_core.domain.errors import BadInput
from inspect_core.rigging import case_forms
from inspect_core.rigging.rig_case import describe, rig_case

PAGE = Path(__file__).parents[2] / "docs" / "setup_checks.md"
EXAMPLES = [json.loads(block) for block in re.findall(r"```json\n(.*?)```", PAGE.read_text("utf-8"), re.DOTALL)]


def example(check: str) -> dict[str, object]:
    return json.loads(json.dumps(next(case for case in EXAMPLES if case["check"] == check)))


def test_the_page_shows_every_check() -> None:
    assert {case["check"] for case in EXAMPLES} == set(case_forms.CHECKS)


@pytest.mark.parametrize("case", EXAMPLES, ids=lambda case: case["check"])
def test_every_example_of_the_page_runs_and_its_answer_is_json(case: dict[str, object]) -> None:
    answer = rig_case(case)
    assert json.loads(json.dumps(answer)) == answer
    assert answer["answer"] == "go", [line for line in answer["lines"] if line["answer"] != "go"]
    assert json.dumps(rig_case(case)) == json.dumps(answer)


@pytest.mark.parametrize("case", EXAMPLES, ids=lambda case: case["check"])
def test_every_line_names_a_source_and_a_basis(case: dict[str, object]) -> None:
    for line in rig_case(case)["lines"]:
        assert line["source"]
        assert line["basis"] in describe()["bases"]
        assert line["reason"]
        assert (line["remedy"] == "") == (line["answer"] == "go")


@pytest.mark.parametrize("check", case_forms.CHECKS)
def test_every_key_of_the_forms_is_named_on_the_page_or_in_the_vocabulary(check: str) -> None:
    assert set(describe()["checks"][check]) == set(case_forms.FORMS[check])


def test_the_vocabulary_is_plain_json_with_all_figures() -> None:
    words = describe()
    assert json.loads(json.dumps(words)) == words
    assert len(words["figures"]) > 50


@pytest.mark.parametrize("check", case_forms.CHECKS)
def test_leaving_any_optional_key_out_never_makes_the_answer_milder(check: str) -> None:
    whole = example(check)
    order = ["go", "ask a competent person", "do not go"]
    before = order.index(rig_case(whole)["answer"])
    # Without these the case is refused, or they only limit further.
    free = {"units", "openings", "closed_edges", "point_uncertainty", "roof", "anchor", "point_sd_px"}
    for key in set(whole) - {"check", "profile"} - free:
        if case_forms.FORMS[check][key].needed:
            continue
        rest = {name: value for name, value in whole.items() if name != key}
        assert order.index(rig_case(rest)["answer"]) > before, key


REFUSALS: list[tuple[str, object, str]] = [
    ("no object", [], "names no check"),
    ("no check", {}, "names no check"),
    ("unknown check", {"check": "luck"}, "names no check"),
    ("check is a list", {"check": []}, "names no check"),
    ("no profile", {"check": "swing"}, "profile: missing"),
    ("unknown profile", {"check": "swing", "profile": "the moon"}, "profile: “the moon” is not one of"),
    ("unknown key", {"check": "swing", "profile": "common", "wind": 3}, "wind: unknown key"),
    ("number without a unit", {"check": "swing", "profile": "common", "height": 3}, "height: A number has no unit"),
    ("unknown units", {"check": "swing", "profile": "common", "units": "cubits"}, "units: “cubits”"),
    (
        "force for a length",
        {"check": "swing", "profile": "common", "height": "3 kN"},
        "height: “kN” is no unit of length",
    ),
    ("offset below zero", {"check": "swing", "profile": "common", "height": "3 m", "offset": "-1 m"}, "below zero"),
    ("anchor without a use", {"check": "anchor", "profile": "common", "persons": 1}, "use: missing"),
    (
        "persons as text",
        {"check": "anchor", "profile": "common", "use": "fall arrest", "persons": "two"},
        "persons: Is no whole number",
    ),
    (
        "nobody on the anchor",
        {"check": "anchor", "profile": "common", "use": "fall arrest", "persons": 0},
        "must be 1 to 100",
    ),
    (
        "negative rating",
        {"check": "anchor", "profile": "common", "use": "fall arrest", "persons": 1, "rating": "-1 kN"},
        "rating is below zero",
    ),
    (
        "flag as text",
        {"check": "anchor", "profile": "common", "inspected": "yes"},
        "inspected: Is neither true nor false",
    ),
    ("no roof", {"check": "restraint", "profile": "common"}, "roof is missing"),
    (
        "roof twice",
        {"check": "restraint", "profile": "common", "units": "SI", "roof": [[0, 0]], "csv": "x"},
        "given 2 ways",
    ),
    ("csv without units", {"check": "restraint", "profile": "common", "csv": "ring,x,y"}, "list of points has no unit"),
    (
        "csv with an anchor outside",
        {"check": "restraint", "profile": "common", "units": "SI", "csv": "ring,x,y", "anchor": [0, 0]},
        "belong inside the csv",
    ),
    (
        "no anchor",
        {"check": "restraint", "profile": "common", "units": "SI", "roof": [[0, 0], [4, 0], [4, 4]]},
        "anchor is missing",
    ),
    ("corner of three", {"check": "restraint", "profile": "common", "units": "SI", "roof": [[0, 0, 0]]}, "no pair"),
    ("roof as text", {"check": "restraint", "profile": "common", "roof": "square"}, "roof: is no list"),
    (
        "unknown ring",
        {
            "check": "restraint",
            "profile": "common",
            "units": "SI",
            "roof": [[0, 0], [4, 0], [4, 4]],
            "anchor": [3, 1],
            "closed_edges": [{"ring": "chimney", "edge": 1}],
        },
        "no ring of the plan",
    ),
    (
        "too many corners",
        {"check": "restraint", "profile": "common", "units": "SI", "roof": [[0, 0]] * 3000},
        "3000 entries",
    ),
    (
        "scale of one point",
        {
            "check": "restraint",
            "profile": "common",
            "sketch": {
                "roof": [[0, 0], [9, 0], [9, 9]],
                "anchor": [8, 4],
                "scale": {"points": [[0, 0]], "length": "1 m", "point_sd_px": 1},
            },
        },
        "scale needs two entries",
    ),
    ("clearance without a datum", {"check": "clearance", "profile": "common"}, "datum: missing"),
    (
        "margin below zero",
        {"check": "clearance", "profile": "common", "datum": "anchor", "margin": "-1 m"},
        "margin is below zero",
    ),
    (
        "half a swing",
        {"check": "clearance", "profile": "common", "datum": "anchor", "swing_height": "3 m"},
        "both a height and an offset",
    ),
    (
        "mass range of one",
        {"check": "clearance", "profile": "common", "datum": "anchor", "mass_range": ["59 kg"]},
        "mass range needs two entries",
    ),
    (
        "mass range upside down",
        {"check": "clearance", "profile": "common", "datum": "anchor", "mass_range": ["140 kg", "59 kg"]},
        "upside down",
    ),
    ("rail below zero", {"check": "guardrail", "profile": "common", "mid_rail": "-1 m"}, "mid rail is below zero"),
    ("one timber side", {"check": "guardrail", "profile": "common", "timber": ["38 mm"]}, "timber section needs two"),
    (
        "height typed and on the photo",
        {
            "check": "guardrail",
            "profile": "common",
            "mid_rail": "0.5 m",
            "photo": {
                "base": [0, 900],
                "mid_rail": [0, 500],
                "scale": {"points": [[0, 0], [0, 900]], "length": "1 m", "point_sd_px": 1},
            },
        },
        "both typed and on the photo",
    ),
    ("arrow of one point", {"check": "direction", "profile": "common", "arrow": [[0, 0]]}, "arrow needs two entries"),
    (
        "arrow without length",
        {
            "check": "direction",
            "profile": "common",
            "arrow": [[0, 0], [0, 0]],
            "rope": [[0, 0], [9, 9]],
            "point_sd_px": 1,
        },
        "no length",
    ),
    (
        "marks without a pointing error",
        {"check": "direction", "profile": "common", "arrow": [[0, 0], [9, 9]], "rope": [[0, 0], [9, 9]]},
        "pointing error of the marks is missing",
    ),
    (
        "pointing error of zero",
        {
            "check": "direction",
            "profile": "common",
            "arrow": [[0, 0], [9, 9]],
            "rope": [[0, 0], [9, 9]],
            "point_sd_px": 0,
        },
        "must be above zero",
    ),
    (
        "no parts",
        {"check": "kit fit", "profile": "common", "on": "2026-05-04", "use": "fall arrest", "parts": []},
        "no parts",
    ),
    (
        "part of the wrong kind",
        {
            "check": "kit fit",
            "profile": "common",
            "on": "2026-05-04",
            "use": "fall arrest",
            "parts": [{"role": "harness", "kind": "rope grab", "tag": "G-1"}],
        },
        "cannot be the harness",
    ),
    (
        "same tag twice",
        {
            "check": "kit fit",
            "profile": "common",
            "on": "2026-05-04",
            "use": "fall arrest",
            "parts": [{"role": "harness", "kind": "harness", "tag": tag} for tag in ("h-1", "H-1")],
        },
        "in the kit twice",
    ),
    (
        "no tag",
        {
            "check": "kit fit",
            "profile": "common",
            "on": "2026-05-04",
            "use": "fall arrest",
            "parts": [{"role": "harness", "kind": "harness", "tag": "!"}],
        },
        "is no tag",
    ),
    (
        "bad date",
        {"check": "kit fit", "profile": "common", "on": "4 May", "use": "fall arrest"},
        "on: “4 May” is no date",
    ),
]


@pytest.mark.parametrize(
    ("case", "words"), [(case, words) for _, case, words in REFUSALS], ids=[r[0] for r in REFUSALS]
)
def test_a_case_that_cannot_be_judged_is_refused_with_a_reason_and_a_remedy(case: object, words: str) -> None:
    with pytest.raises(BadInput) as refusal:
        rig_case(case)
    assert words in refusal.value.problem
    assert refusal.value.remedy.endswith(".")


def test_all_faults_of_a_case_are_told_at_once() -> None:
    with pytest.raises(BadInput) as refusal:
        rig_case({"check": "swing", "profile": "x", "height": 3, "wind": 1})
    for key in ("profile", "height", "wind"):
        assert f"{key}:" in refusal.value.problem


ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["3 ft", "1 m", "90 kg"]),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@given(st.data())
@settings(max_examples=300, deadline=None)
def test_whatever_stands_in_a_case_it_is_answered_or_refused(data: st.DataObject) -> None:
    case = json.loads(json.dumps(data.draw(st.sampled_from(EXAMPLES))))
    form = case_forms.FORMS[case["check"]]
    for key in data.draw(st.lists(st.sampled_from(sorted(form)), min_size=1, max_size=3)):
        case[key] = data.draw(ANYTHING)
    try:
        answer = rig_case(case)
    except BadInput as refusal:
        assert refusal.problem
        assert refusal.remedy
    else:
        assert answer["answer"] in describe()["answers"]
        json.dumps(answer, allow_nan=False)
