"""Reading recorded photos blind: one photo at a time, one answer, nothing of the first look."""

from __future__ import annotations

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import BartackError, Conflict, NotAllowed
from inspect_core.domain.gear import Kind
from inspect_core.domain.marks import Category
from inspect_core.domain.people import Person
from inspect_core.domain.second_reading import CANNOT_TELL, MOST_NOTE, SOUND, UnreadPhoto
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import pictures, who
from inspect_core.screens.parts.errors import show_error, tell_error
from inspect_core.screens.speaking import st
from inspect_core.usecases.second_reading import ReadingList, RecordReading, photos_to_read, record_second_reading

_WORDS = {SOUND: "Nothing wrong", CANNOT_TELL: "Cannot tell from this photo"}
_ANSWERS = (SOUND, *(category.value for category in Category), CANNOT_TELL)


def show(frame: Frame) -> None:
    """A few photos, one after another; then a pause, or the end where there is none left."""
    st.title("Read photos blind")
    person = who.required(frame)
    if person is None:
        return
    if not may(person, Action.SECOND_READING, frame.today):
        st.info("Photos are read blind by a competent person. Pick who does it.", icon=":material/info:")
        return
    held = state.handed_out(person.id)
    if held:
        _photo(frame, person, UnreadPhoto(held[0][0], held[0][1], Kind(held[0][2])), len(held))
        return
    waiting = photos_to_read(person.id, frame.services)
    if not waiting.photos:
        _none(frame, waiting)
    elif held is None:
        _hand_out(person, waiting)
        _photo(frame, person, waiting.photos[0], len(waiting.photos))
    else:
        _pause(frame, person, waiting)


def _hand_out(person: Person, waiting: ReadingList) -> None:
    photos = [[photo.photo_id, photo.inspection_id, photo.kind.value] for photo in waiting.photos]
    state.hand_out(person.id, photos)


def _pause(frame: Frame, person: Person, waiting: ReadingList) -> None:
    st.success(f"Thank you. You have read {waiting.read} in all.", icon=":material/check:")
    st.button(
        f"Read {len(waiting.photos)} more",
        type="primary",
        width="stretch",
        key=state.widget("second reading", "more"),
        on_click=_hand_out,
        args=(person, waiting),
    )
    frame.link("trends", "See whether inspectors agree", icon=":material/bar_chart:", ask="agree")


def _none(frame: Frame, waiting: ReadingList) -> None:
    st.success(
        f"There is no photo left for you to read. You have read {waiting.read}. Photos that you recorded yourself are "
        "read by others.",
        icon=":material/check:",
    )
    frame.link("trends", "See whether inspectors agree", icon=":material/bar_chart:", ask="agree")


def _photo(frame: Frame, person: Person, photo: UnreadPhoto, left_to_read: int) -> None:
    left, right = st.columns([3, 2], gap="large")
    with left:
        try:
            data = pictures.preview(frame.services, frame.services.place, photo.photo_id)
        except BartackError as error:
            show_error(error)
        else:
            st.image(data, width="stretch", alt=f"Photo of a {photo.kind.value} to be judged; no marks are shown")
    with right:
        st.markdown(f"**What does this photo of a {plain(photo.kind.value)} show?**")
        _form(frame, person, photo)
        st.caption(
            f"{wording.count(left_to_read, 'photo')} to read in this round. Judge only what you see. You are not shown "
            "what was found before, and your answer changes no item: it shows how far inspectors agree. An answer "
            "cannot be taken back."
        )
        frame.link("trends", "Stop here", icon=":material/bar_chart:", ask="agree")


def _form(frame: Frame, person: Person, photo: UnreadPhoto) -> None:
    answer_key = state.widget("second reading", photo.photo_id)
    note_key = state.widget("second reading note", photo.photo_id)
    st.pills("The worst that you see", _ANSWERS, format_func=_said, key=answer_key, wrap=True)
    st.text_input("Note (may stay empty)", max_chars=MOST_NOTE, key=note_key)
    st.button(
        "Record and show the next",
        type="primary",
        width="stretch",
        key=state.widget("second reading", "record"),
        on_click=_record,
        args=(frame, person, photo, answer_key, note_key),
    )


def _said(answer: str) -> str:
    return _WORDS.get(answer, answer.capitalize())


def _record(frame: Frame, person: Person, photo: UnreadPhoto, answer_key: str, note_key: str) -> None:
    answer = st.session_state.get(answer_key)
    if not answer:
        state.tell("No answer is picked.", "Pick the worst that you see, or that nothing is wrong.")
        return
    name = f"second reading {photo.photo_id}"
    command = RecordReading(
        state.once(name, frame.services.new_id()),
        photo.photo_id,
        photo.inspection_id,
        person.id,
        str(answer),
        str(st.session_state.get(note_key) or ""),
    )
    try:
        record_second_reading(command, frame.services)
    except (Conflict, NotAllowed) as error:  # read meanwhile in another window: the next one follows
        tell_error(error)
    except BartackError as error:
        tell_error(error)
        return
    state.used(name)
    state.hand_out(person.id, (state.handed_out(person.id) or [])[1:])
