"""A recorded set-up check: what was answered, with what gear, and its sheet to print."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError
from inspect_core.domain.setup import SetupRecord
from inspect_core.languages import language
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.marking import forget_saved_marks
from inspect_core.screens.parts import pictures
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.rigging import answer, gear, picture
from inspect_core.screens.rigging.words import CHECKS, PROFILE_WORDS
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import review
from inspect_core.usecases.intake import photo_by_id
from inspect_core.usecases.services import Services
from inspect_core.usecases.setup import setup_by_id, setup_pdf


@st.cache_data(max_entries=50, show_spinner=False)
def _sheet(_services: Services, place: str, record_id: str, code: str) -> bytes:
    return setup_pdf(record_id, _services, language(code))


def show(frame: Frame, record_id: str) -> None:
    """The record that the address names."""
    record = setup_by_id(record_id, frame.services)
    st.title(CHECKS[record.check].title)
    answer.banner(record.answer)
    st.markdown(plain(_head(frame, record)))
    seen, said = st.columns([2, 3], gap="large")
    with seen:
        answer.key_figure(record.result)
        answer.drawings(record.result)
        _photos(frame, record)
        _ways(frame, record)
    with said:
        answer.shown(record.result)
    if record.photo_ids:
        forget_saved_marks(key=state.widget("forget", record.id), photo_ids=record.photo_ids)


def _head(frame: Frame, record: SetupRecord) -> str:
    names = {person.id: person.name for person in review.people(frame.services)}
    parts = [wording.moment(record.at), names.get(record.by, record.by), PROFILE_WORDS[record.profile]]
    return " · ".join(filter(None, (*parts, record.site, record.place)))


def _photos(frame: Frame, record: SetupRecord) -> None:
    for number, photo_id in enumerate(record.photo_ids):
        if number == 0 and picture.drawn_upon(record.case):
            picture.again(frame.services, photo_id, record.case)
            continue
        try:
            pictures.with_marks(frame.services, photo_by_id(photo_id, frame.services), ())
        except BartackError as error:
            show_error(error)


def _ways(frame: Frame, record: SetupRecord) -> None:
    try:
        st.download_button(
            "Sheet to print (PDF)",
            _sheet(frame.services, frame.services.place, record.id, tongue().code),
            file_name=f"set-up-{record.check.replace(' ', '-')}-{record.at:%Y-%m-%d}-{record.id[:8]}.pdf",
            mime="application/pdf",
            key=state.widget("setup sheet", record.id),
            on_click="ignore",
            icon=":material/description:",
            width="stretch",
        )
    except BartackError as error:
        show_error(error)
    st.markdown(f"**Gear used ({len(record.item_ids)})**")
    for item_id in record.item_ids:
        past = review.history(item_id, frame.services, limit=1)
        gear.line(frame, "used", past.item, past.standing)
    if not record.item_ids:
        st.caption("No item was named.")
    frame.link("setup", "Another set-up check", icon=":material/rule:")
