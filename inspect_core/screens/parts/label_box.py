"""What a photo of the maker's label could mean for the register: shown beside its cut-out, taken over by a press."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from inspect_core.domain.errors import BartackError
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.parts.tag_box import PHOTO_TYPES
from inspect_core.screens.speaking import st
from inspect_core.usecases.labels import HOW_TO_INSTALL, Shown, ShownLabel, read_label_photo
from inspect_core.usecases.services import Services

#: Width at which a cut-out is shown, pixels.
_WIDTH = 260


def show(frame: Frame, key_of: Callable[[str], str]) -> None:
    """A box for the photo and the proposals read from it. `key_of` gives the key of the form's widget for a field."""
    key = key_of("label photo")
    given = st.session_state.get(key) is not None
    with st.expander("Read the maker’s label from a photo", icon=":material/document_scanner:", expanded=given):
        if frame.services.label_reader is None:
            st.markdown(
                "The reader of labels is not installed here: type what the label says. Whoever runs Bartack can add "
                f"it: `{HOW_TO_INSTALL}`"
            )
            return
        st.caption(
            "Photograph the label from near, flat and sharp. Nothing is filled in by itself: compare each reading with "
            "the label, then take it over."
        )
        upload = st.file_uploader("Photo of the label", type=PHOTO_TYPES, key=key)
        if upload is None:
            return
        try:
            found = _read(frame.services, upload.getvalue())
        except BartackError as error:
            show_error(error)
            return
        _proposals(found, key_of)


@st.cache_data(max_entries=8, show_spinner="Reading the label")
def _read(_services: Services, data: bytes) -> ShownLabel:
    return read_label_photo(data, _services)


def _proposals(found: ShownLabel, key_of: Callable[[str], str]) -> None:
    if not found.proposals:
        st.markdown(
            f"{found.lines} lines were read and none could be told to be a serial number, model, date or standard. "
            "Move closer, or type what the label says."
        )
    for number, one in enumerate(found.proposals):
        _proposal(one, number, key_of)
    if found.told:
        st.markdown(
            "**Not taken over.** These lines bound the gear’s life: read them on the gear and enter them by hand."
        )
        for told, cutting in found.told:
            st.image(cutting, width=_WIDTH, alt="Part of the label")
            st.caption(plain(told.line.text))


def _proposal(one: Shown, number: int, key_of: Callable[[str], str]) -> None:
    proposal = one.proposal
    with st.container(border=True):
        st.image(one.cutting, width=_WIDTH, alt=f"The part of the label read as {one.words}")
        value = plain(proposal.value) or "not certain"
        st.markdown(f"{one.words}: **{value}**")
        st.caption(f"The reader’s own confidence: {proposal.confidence:.0%}. It can be sure and wrong.")
        for doubt in proposal.doubts:
            st.markdown(f":material/help: {plain(doubt)}")
        if not proposal.value:
            return
        if _taken(one, key_of):
            st.caption(":material/check: Taken over below.")
            return
        st.button(
            f"It says so: take over {one.words.lower()}",
            key=key_of(f"take {number}"),
            on_click=_take,
            args=(one, key_of),
            width="stretch",
        )


def _taken(one: Shown, key_of: Callable[[str], str]) -> bool:
    field, value = _target(one)
    now = st.session_state.get(key_of(field))
    if isinstance(value, date):
        return bool(now == value)
    return value in [part.strip() for part in str(now or "").replace("\n", ",").split(",")]


def _take(one: Shown, key_of: Callable[[str], str]) -> None:
    field, value = _target(one)
    key = key_of(field)
    now = st.session_state.get(key)
    if field == "standards" and now:
        st.session_state[key] = f"{now}, {value}"
    elif field == "note" and now:
        st.session_state[key] = f"{now}\n{value}"
    else:
        st.session_state[key] = value
    state.tell(f"{one.words} taken over.", "Look at it once more before you register.", good=True)


def _target(one: Shown) -> tuple[str, str | date]:
    """The form's field that a proposal is for, and what goes into it."""
    proposal = one.proposal
    if proposal.field == "made_on":
        return "made_on", date.fromisoformat(proposal.value)
    return ("note", f"Lot {proposal.value}") if proposal.field == "lot" else (proposal.field, proposal.value)
