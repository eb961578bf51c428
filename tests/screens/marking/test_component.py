"""The Python side of the component on a small page, with the browser's part put in by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from inspect_core.domain.errors import BadInput
from inspect_core.screens.marking import media_url

START = {
    "id": "m-start",
    "component": "webbing",
    "category": "cut",
    "note": "",
    "shape": {"type": "line", "points": [[10.0, 20.0], [300.0, 40.0]]},
}
DRAWN = {**START, "id": "m-drawn", "category": "burn"}


def page() -> None:
    import streamlit as st

    from inspect_core.domain.gear import Component
    from inspect_core.domain.marks import Category
    from inspect_core.screens.marking import mark_photo, show_readings

    setup = st.session_state["setup"]
    if st.session_state.get("page") == "other":
        st.text("elsewhere")
        return
    state = mark_photo(
        key="marking",
        photo_id=setup.get("photo_id", "photo-1"),
        width=4000,
        height=3000,
        preview_url="/media/preview.jpg",
        full_url="/media/full.jpg",
        categories=tuple(Category),
        components=(Component.WEBBING, Component.STITCHING),
        default_component=Component.WEBBING,
        initial=setup.get("initial", ()),
        initial_rev=setup.get("rev", 0),
        readonly=setup.get("readonly", False),
        suggestions=setup.get("suggestions", ()),
        draft="draft-1",
        on_change=lambda: st.session_state.__setitem__("called", True),
    )
    show_readings(key="readings", photo_id="photo-1", readings={mark.id: "1 mm" for mark in state.marks})
    st.session_state["seen"] = {
        "ids": [mark.id for mark in state.marks],
        "rev": state.rev,
        "changed": state.changed,
        "fault": str(state.fault) if state.fault else None,
        "plain": state.plain(),
    }


def run(setup: dict[str, Any], reported: object = None) -> AppTest:
    at = AppTest.from_function(page)
    at.session_state["setup"] = setup
    if reported is not None:
        at.session_state["marking"] = {"marking": reported}
    at.run()
    assert not at.exception
    return at


def sent(at: AppTest) -> dict[str, Any]:
    """The data of the marking component as they went to the browser."""
    protos = [element.proto for element in at.get("bidi_component")]
    (marking,) = [proto for proto in protos if proto.component_name == "bartack_marking"]
    data: dict[str, Any] = json.loads(marking.json)
    return data


def payload(*marks: dict[str, Any], rev: int = 1, photo_id: str = "photo-1") -> dict[str, Any]:
    return {"photo_id": photo_id, "rev": rev, "marks": list(marks)}


def test_before_the_browser_says_anything_the_marks_are_the_initial_ones() -> None:
    at = run({"initial": [START], "rev": 4})
    assert at.session_state["seen"] == {
        "ids": ["m-start"],
        "rev": 4,
        "changed": False,
        "fault": None,
        "plain": [START],
    }
    assert sent(at)["marks"] == [START]
    assert sent(at)["rev"] == 4


def test_what_the_browser_reports_is_checked_and_returned() -> None:
    at = run({"initial": [START]}, payload(START, DRAWN))
    assert at.session_state["seen"]["ids"] == ["m-start", "m-drawn"]
    assert at.session_state["seen"]["changed"] is True


def test_a_bad_report_is_set_aside_with_its_reason_and_the_initial_marks_hold() -> None:
    at = run({"initial": [START]}, payload({**DRAWN, "category": "scratch"}))
    assert at.session_state["seen"]["ids"] == ["m-start"]
    assert "cannot be chosen" in at.session_state["seen"]["fault"]


def test_a_report_about_another_photo_is_left_over_and_no_fault() -> None:
    at = run({"initial": []}, payload(DRAWN, photo_id="photo-0"))
    assert at.session_state["seen"] == {"ids": [], "rev": 0, "changed": False, "fault": None, "plain": []}


def test_a_report_older_than_the_draft_does_not_take_the_draft_back() -> None:
    at = run({"initial": [START, DRAWN], "rev": 9}, payload(START, rev=3))
    assert at.session_state["seen"]["ids"] == ["m-start", "m-drawn"]


def test_a_readonly_photo_ignores_what_the_browser_says() -> None:
    at = run({"initial": [START], "readonly": True}, payload(DRAWN))
    assert at.session_state["seen"]["ids"] == ["m-start"]


def test_the_data_stay_the_same_while_the_page_feeds_its_draft_back() -> None:
    at = run({"initial": [START]})
    first = sent(at)
    at.session_state["marking"] = {"marking": payload(START, DRAWN)}
    at.session_state["setup"] = {"initial": [START, DRAWN], "rev": 1}
    at.run()
    assert sent(at) == first
    assert at.session_state["seen"]["ids"] == ["m-start", "m-drawn"]


def test_after_another_page_the_component_starts_from_the_draft() -> None:
    at = run({"initial": [START]})
    at.session_state["marking"] = {"marking": payload(START, DRAWN)}
    at.session_state["setup"] = {"initial": [START, DRAWN], "rev": 1}
    at.run()
    at.session_state["page"] = "other"
    at.run()
    at.session_state["page"] = "marking"
    at.run()
    assert [mark["id"] for mark in sent(at)["marks"]] == ["m-start", "m-drawn"]
    assert at.session_state["seen"]["ids"] == ["m-start", "m-drawn"]


def test_a_draft_changed_elsewhere_overtakes_the_browser() -> None:
    at = run({"initial": [START]})
    at.session_state["setup"] = {"initial": [DRAWN], "rev": 5}
    at.run()
    assert [mark["id"] for mark in sent(at)["marks"]] == ["m-drawn"]
    assert sent(at)["rev"] == 5


def test_another_photo_under_the_same_key_gets_its_own_marks() -> None:
    at = run({"initial": [START]})
    at.session_state["setup"] = {"initial": [DRAWN], "photo_id": "photo-2"}
    at.run()
    assert [mark["id"] for mark in sent(at)["marks"]] == ["m-drawn"]


def test_suggestions_go_out_with_who_made_them_and_are_no_marks() -> None:
    hint = {key: value for key, value in START.items() if key != "note"} | {"id": "h1", "by": "edge hint 1.0"}
    at = run({"suggestions": [hint]})
    assert at.session_state["seen"]["ids"] == []
    assert sent(at)["suggestions"] == [{**START, "id": "h1", "by": "edge hint 1.0"}]


@pytest.mark.parametrize("bad", [{**START, "category": "scratch"}, {"id": "m"}])
def test_a_draft_that_breaks_the_checks_is_refused(bad: dict[str, Any]) -> None:
    at = AppTest.from_function(page)
    at.session_state["setup"] = {"initial": [bad]}
    at.run()
    assert len(at.exception) == 1
    assert "seen" not in at.session_state


def test_readings_travel_apart_so_that_the_large_script_is_not_sent_again() -> None:
    at = run({"initial": [START]})
    protos = {element.proto.component_name: element.proto for element in at.get("bidi_component")}
    assert json.loads(protos["bartack_readings"].json)["readings"] == {"m-start": "1 mm"}
    assert "readings" not in json.loads(protos["bartack_marking"].json)
    assert len(protos["bartack_readings"].js_content) < 1000 < len(protos["bartack_marking"].js_content)


def test_outside_a_running_app_a_photo_has_no_address() -> None:
    assert media_url(b"jpeg", "image/jpeg", "preview") == ""


@pytest.mark.parametrize(("content", "mime"), [(b"", "image/jpeg"), (b"<svg/>", "image/svg+xml"), (b"x", "text/html")])
def test_only_images_get_an_address(content: bytes, mime: str) -> None:
    with pytest.raises(BadInput):
        media_url(content, mime, "preview")
