"""Refusals and faults as people read them: what is wrong, what to do. Never a stack trace."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.screens import state
from inspect_core.screens.frame import plain
from inspect_core.screens.speaking import st

_log = logging.getLogger(__name__)


def show_error(error: BartackError) -> None:
    """Both sentences of a refusal."""
    st.error(f"**{plain(error.problem)}**  \n{plain(error.remedy)}", icon=":material/error:")


def show_faults(faults: Sequence[BartackError]) -> bool:
    """Every refusal of a form's fields at once; whether there is any."""
    if faults:
        told = "\n".join(f"- {plain(fault.problem)} {plain(fault.remedy)}" for fault in faults)
        st.error(f"**{len(faults)} field{'s' if len(faults) > 1 else ''} to mend:**\n{told}", icon=":material/error:")
    return bool(faults)


def show_news() -> None:
    """What callbacks left to say since the page was last drawn."""
    for problem, remedy, good in state.take_news():
        text = f"**{plain(problem)}**" + (f"  \n{plain(remedy)}" if remedy else "")
        if good:
            st.success(text, icon=":material/check:")
        else:
            st.error(text, icon=":material/error:")


def tell_error(error: BartackError) -> None:
    """A refusal inside a callback: shown when the page is drawn again."""
    state.tell(error.problem, error.remedy)


def show_and_offer_again(error: BartackError, part: str = "page") -> None:
    """A refusal that kept a page or a part of it from being drawn. Where the store failed, what was typed is held, and
    a button draws the page again: loading it anew would begin another session."""
    show_error(error)
    if isinstance(error, StoreFault):
        state.hold_typed()
        st.button("Try again", key=state.widget("try again", part), icon=":material/refresh:", type="primary")


@contextmanager
def guarded(part: str = "page") -> Iterator[None]:
    """Refusals inside become words on the page; anything unforeseen is logged and told in a plain sentence. What stood
    in the boxes of the page comes back when it can be drawn again. `part` tells guards of one page from each other."""
    state.give_back_typed()
    try:
        yield
    except BartackError as error:
        show_and_offer_again(error, part)
    except Exception:
        state.hold_typed()
        _log.exception("a screen failed")
        st.error(
            "**This did not work, and it is not your fault.**  \nWhat was recorded is safe. Reload the page; if it "
            "happens again, tell whoever runs Bartack here: the server's log says more.",
            icon=":material/error:",
        )
