"""The scale card to print, with how to check its print."""

from __future__ import annotations

from inspect_core.screens import state
from inspect_core.screens.speaking import st
from inspect_core.usecases.measure import card_pdf

CHECK = (
    "Print it at 100 %, without fitting to the page, and lay a steel rule along its printed 140 mm rule. Enter what "
    "the steel rule says with the photo: a card that came out at 138 mm is as good as one of 140, once that is known."
)


def download(place: str) -> None:
    """The card as PDF; `place` tells one button from another on the same page."""
    st.download_button(
        "Scale card (PDF)",
        card_pdf,
        file_name="scale-card.pdf",
        mime="application/pdf",
        key=state.widget("scale card", place),
        on_click="ignore",
        icon=":material/straighten:",
        width="stretch",
    )
    st.caption(CHECK)
