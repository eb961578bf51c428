"""Page settings, navigation, and what surrounds every screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st

from inspect_core.domain.errors import BartackError
from inspect_core.screens import (
    answer,
    check,
    history,
    inspection,
    kits,
    people,
    records,
    register,
    register_import,
    roll,
    rules,
    search,
    second_reading,
    setup,
    sign_in,
    today,
    trends,
)
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import cautions, errors, fold, who
from inspect_core.usecases.services import Services

_STYLE = Path(__file__).with_name("style.css")

#: Address, words in the navigation, icon, what draws it. The first is where the program opens.
_SCREENS: tuple[tuple[str, str, str, Callable[[Frame], None]], ...] = (
    ("today", "Today", ":material/today:", today.show),
    ("check", "Check before use", ":material/checklist:", check.show),
    ("inspect", "Inspect", ":material/frame_inspect:", inspection.show),
    ("setup", "Set-up check", ":material/rule:", setup.show),
    ("register", "Register", ":material/add_box:", register.show),
    ("import", "Import a register", ":material/upload_file:", register_import.show),
    ("roll", "Photo roll", ":material/photo_library:", roll.show),
    ("kits", "Kits", ":material/backpack:", kits.show),
    ("search", "Search", ":material/search:", search.show),
    ("trends", "Trends", ":material/bar_chart:", trends.show),
    ("rules", "Rules", ":material/gavel:", rules.show),
    ("people", "People", ":material/group:", people.show),
    ("records", "Records", ":material/verified:", records.show),
    ("sign-in", "Sign in", ":material/login:", sign_in.show),
    ("second-reading", "Read photos blind", ":material/visibility:", second_reading.show),
    ("item", "Item", ":material/history:", history.show),
    ("answer", "Answer", ":material/task_alt:", answer.show),
)
_REACHED_BY_LINK = ("second-reading", "sign-in", "item", "answer", "roll", "import")


def run(open_services: Callable[[], Services], *, first: str = "today") -> None:
    """Draw the program. `first` names the screen that opens without an address."""
    st.set_page_config(page_title="Bartack", page_icon=":material/link:", layout="wide")
    st.html(_STYLE)
    fold.on_phones()
    try:
        services = open_services()
        sign_in.take_claims(services)
        services = who.with_actor(services)
    except BartackError as error:
        st.title("Bartack cannot open its records")
        errors.show_error(error)
        return
    pages: dict[str, Any] = {}
    frame = Frame(services, pages)
    for name, words, icon, show in _SCREENS:
        pages[name] = st.Page(
            _surrounded(frame, name, show),
            title=words,
            icon=icon,
            url_path=name,
            default=name == first,
            visibility="hidden" if name in _REACHED_BY_LINK else "visible",
        )
    st.navigation(list(pages.values()), position="top").run()


def _surrounded(frame: Frame, name: str, show: Callable[[Frame], None]) -> Callable[[], None]:
    """A screen with its header above and the cautions below."""

    def draw() -> None:
        trusting = False
        with errors.guarded(), frame.services.timed(name):
            trusting = not frame.locked()
            who.header(frame, home=show is not today.show)
            if show not in (check.show, inspection.show):
                errors.show_news()  # those two say it beside the step at hand
            show(frame)
        cautions.footer(trusting=trusting)

    return draw
