"""Page settings, navigation, and what surrounds every screen."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

from inspect_core.domain.errors import BartackError
from inspect_core.screens import sign_in
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import cautions, errors, fold, tongues, who
from inspect_core.screens.speaking import st
from inspect_core.usecases.services import Services

_STYLE = Path(__file__).with_name("style.css")

#: Address, words in the navigation, icon, module of this package that draws it. The first is where the program opens.
SCREENS: tuple[tuple[str, str, str, str], ...] = (
    ("today", "Today", ":material/today:", "today"),
    ("check", "Check before use", ":material/checklist:", "check"),
    ("inspect", "Inspect", ":material/frame_inspect:", "inspection"),
    ("setup", "Set-up check", ":material/rule:", "setup"),
    ("register", "Register", ":material/add_box:", "register"),
    ("import", "Import a register", ":material/upload_file:", "register_import"),
    ("roll", "Photo roll", ":material/photo_library:", "roll"),
    ("kits", "Kits", ":material/backpack:", "kits"),
    ("search", "Search", ":material/search:", "search"),
    ("trends", "Trends", ":material/bar_chart:", "trends"),
    ("rules", "Rules", ":material/gavel:", "rules"),
    ("people", "People", ":material/group:", "people"),
    ("records", "Records", ":material/verified:", "records"),
    ("sign-in", "Sign in", ":material/login:", "sign_in"),
    ("second-reading", "Read photos blind", ":material/visibility:", "second_reading"),
    ("item", "Item", ":material/history:", "history"),
    ("answer", "Answer", ":material/task_alt:", "answer"),
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
        errors.show_and_offer_again(error)
        return
    pages: dict[str, Any] = {}
    frame = Frame(services, pages)
    for name, words, icon, module in SCREENS:
        pages[name] = st.Page(
            _surrounded(frame, name, module),
            title=words,
            icon=icon,
            url_path=name,
            default=name == first,
            visibility="hidden" if name in _REACHED_BY_LINK else "visible",
        )
    st.navigation(list(pages.values()), position="top").run()


def _surrounded(frame: Frame, name: str, module: str) -> Callable[[], None]:
    """A screen with its header above and the cautions below."""

    def draw() -> None:
        trusting = False
        with errors.guarded(), frame.services.timed(name), frame.drawing():
            trusting = not frame.locked()
            tongues.begin(frame)
            who.header(frame, home=name != "today")
            if name not in ("check", "inspect"):
                errors.show_news()  # those two say it beside the step at hand
            _screen(module)(frame)
        cautions.footer(trusting=trusting)
        tongues.switch(frame)

    return draw


def _screen(module: str) -> Callable[[Frame], None]:
    """What draws a screen. Loaded when it is first opened: nobody waits for the libraries of a page not asked for."""
    show: Callable[[Frame], None] = import_module(f"inspect_core.screens.{module}").show
    return show
