"""Papers to take away as PDF; each is made, and the library that makes it loaded, when its button is pressed."""

from __future__ import annotations

from collections.abc import Callable

from inspect_core.domain.custody import Standing, State
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.life import Look
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import review
from inspect_core.usecases.certificate import certificate_pdf

_TAG_WORDS = {State.ON_HOLD: "Hold tag (PDF)", State.WITHDRAWN: "Withdrawal tag (PDF)"}


def certificate(frame: Frame, item: Item, inspection: Inspection | Look) -> None:
    """The certificate of one inspection, in the language of the session."""
    spoken = tongue()
    _button(
        "Certificate (PDF)",
        lambda: certificate_pdf(inspection.id, frame.services, spoken),
        f"{_file(item)}-{inspection.at:%Y-%m-%d}-{inspection.id[:8]}.pdf",
        state.widget("certificate", inspection.id),
        ":material/description:",
    )


def tag(frame: Frame, item: Item, standing: Standing, *, place: str = "") -> None:
    """The tag to tie to gear that must not be used; nothing for gear in service or destroyed. `place` tells one button
    from another on the same page."""
    words = _TAG_WORDS.get(standing.state)
    if words is None:
        return

    spoken = tongue()

    def made() -> bytes:
        from inspect_core.reports.withdrawal_tag import TagData, withdrawal_tag

        past = review.history(item.id, frame.services, limit=1)
        event = past.custody[0] if past.custody else None
        by = past.name_of(event.by) if event else ""
        return withdrawal_tag(TagData(item, standing, by, event.inspection_id if event else None), spoken)

    _button(
        words,
        made,
        f"{_file(item)}-tag.pdf",
        state.widget("tag paper", item.id, *filter(None, [place])),
        ":material/label_off:",
    )


def label(frame: Frame, item: Item, *, place: str = "") -> None:
    """The item's own label with its QR code."""

    spoken = tongue()

    def made() -> bytes:
        from inspect_core.reports.item_labels import ROLL, item_labels

        return item_labels([item], printed_on=frame.today, grid=ROLL, language=spoken)

    _button(
        "QR label (PDF)",
        made,
        f"{_file(item)}-label.pdf",
        state.widget("label", item.id, *filter(None, [place])),
        ":material/qr_code:",
    )


def _button(words: str, made: Callable[[], bytes], file: str, key: str, icon: str) -> None:
    st.download_button(
        words, made, file_name=file, mime="application/pdf", key=key, on_click="ignore", icon=icon, width="stretch"
    )


def _file(item: Item) -> str:
    return item.tag.replace("/", "-")
