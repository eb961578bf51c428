"""Step 3: photos, what is wrong with them, and the marks on them."""

from __future__ import annotations

from inspect_core.domain.errors import BartackError, StoreFault
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import plain
from inspect_core.screens.marking import mark_photo, media_url, show_readings
from inspect_core.screens.measuring import doubts, earlier, hints, scale, taken, tasks
from inspect_core.screens.parts import pictures
from inspect_core.screens.parts.errors import show_news, tell_error
from inspect_core.screens.parts.tag_box import PHOTO_TYPES
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import categories_first, components_first
from inspect_core.screens.work import readings
from inspect_core.screens.work.body import Body, unplaced, with_defect
from inspect_core.screens.work.session import Work
from inspect_core.usecases.intake import photo_by_id, take_photo


def show(work: Work) -> None:
    """Take photos and mark what they show."""
    defects = with_defect(work.body)
    if defects:
        named = ", ".join(component.value for component in defects)
        st.markdown(f"Photograph what looks wrong on: **{plain(named)}**. A steel rule in the picture helps.")
    else:
        st.markdown("Photos are needed only where something looks wrong. You can go on without one.")
    _take(work)
    if work.body["photos"]:
        _chosen(work)


def _take(work: Work) -> None:
    # A new key after each upload empties the box, so that the same file is never taken in twice by a rerun.
    key = work.key("upload", str(len(work.body["photos"])), str(work.body["refused"]))

    def take() -> None:
        _take_in(work, [(upload.name, upload.getvalue()) for upload in st.session_state[key] or ()])

    st.file_uploader("Take or add photos", type=PHOTO_TYPES, accept_multiple_files=True, key=key, on_change=take)
    waiting = state.waiting(work.id)
    if waiting:
        st.warning(
            f"**{wording.count(len(waiting), 'photo')} not stored yet.** Kept here until the store answers again; do "
            "not close this page.",
            icon=":material/hourglass_top:",
        )
        st.button(
            "Store the photo now",
            key=work.key("again"),
            on_click=_take_in,
            args=(work, list(waiting.values())),
            type="primary",
            width="stretch",
        )


def _take_in(work: Work, photos: list[tuple[str, bytes]]) -> None:
    """Takes photos into the store; those that it cannot take now wait in the session."""
    taken: list[str] = []
    refused = 0
    for name, data in photos:
        try:
            photo = take_photo(data, work.frame.services, claimed_name=name)
        except StoreFault as error:
            state.wait_with(work.id, name, data)
            refused += 1
            tell_error(error)
        except BartackError as error:
            refused += 1
            tell_error(error)
        else:
            state.no_longer_waits(work.id, photo.id)
            taken.append(photo.id)
    fresh = [p for p in dict.fromkeys(taken) if p not in work.body["photos"]]
    if taken and not fresh:
        state.tell("This photo is here already.", "Pick it below.")

    def change(body: Body) -> None:
        body["photos"] += fresh
        body["refused"] += refused + (1 if taken and not fresh else 0)
        if taken:
            body["photo"] = taken[-1]

    work.keep(change)


def _chosen(work: Work) -> None:
    photos = work.body["photos"]
    chosen: str = work.body["photo"]
    if chosen not in photos:
        chosen = photos[-1]
    if len(photos) > 1:
        key = work.key("photo")
        labels = {f"Photo {n}": photo_id for n, photo_id in enumerate(photos, 1)}
        st.session_state[key] = f"Photo {photos.index(chosen) + 1}"

        def pick() -> None:
            picked = labels.get(st.session_state[key])
            if picked:
                work.keep(lambda body: body.__setitem__("photo", picked))

        st.segmented_control("Which photo?", list(labels), key=key, on_change=pick)
    photo = photo_by_id(chosen, work.frame.services)
    for advice in photo.advice:
        st.warning(plain(advice), icon=":material/photo_camera:")
    doubts.show(work, photo.id)
    _marking(work, photo)
    if not work.body["marks"].get(photo.id):
        st.button(
            "Leave this photo out",
            key=work.key("remove", photo.id),
            on_click=_leave_out,
            args=(work, photo.id),
            icon=":material/delete:",
        )


@st.fragment
def _marking(work: Work, photo: Photo) -> None:
    services, kind = work.frame.services, work.item.kind
    first = with_defect(work.body)
    components = components_first(kind, first)
    found, before = hints.suggested(work, photo), earlier.suggested(work, photo)
    current = mark_photo(
        key=work.key("marking", photo.id),
        photo_id=photo.id,
        width=photo.width,
        height=photo.height,
        preview_url=media_url(
            pictures.preview(services, services.place, photo.id), "image/jpeg", f"preview {photo.id}"
        ),
        full_url=media_url(pictures.full(services, services.place, photo.id), "image/jpeg", f"full {photo.id}"),
        categories=categories_first(kind, first),
        components=components,
        # A part is taken for granted only where one alone was answered with a defect: a hasty cut must not end up on
        # whatever part stands first in the list.
        default_component=first[0] if len(first) == 1 else None,
        initial=work.body["marks"].get(photo.id, []),
        initial_rev=work.body["revs"].get(photo.id, 0),
        suggestions=(*found.suggestions, *tasks.suggested(work, photo), *before.suggestions),
        draft=work.id,
    )
    if current.fault is not None:
        state.tell(current.fault.problem, current.fault.remedy)
    if current.changed and current.rev != work.body["revs"].get(photo.id, 0):
        _keep_marks(work, photo.id, current.plain(), current.rev, current.unplaced)
    _unplaced(work, photo.id)
    if work.body["marks"].get(photo.id) or tasks.in_use(work, photo):
        scale.choice(work, photo)
    taken.show(work, photo)
    tasks.show(work, photo)
    hints.switch(work, photo, found)
    earlier.switch(work, photo, before)
    show_readings(key=work.key("readings", photo.id), photo_id=photo.id, readings=readings.texts(work, photo.id))
    show_news()
    readings.show(work, photo.id)


def _unplaced(work: Work, photo_id: str) -> None:
    """A mark that waits for its part is said loudly, and the inspection cannot be recorded around it."""
    count = unplaced(work.body, photo_id)
    if not count:
        return
    st.warning(
        f"**{wording.count(count, 'mark')} without a part.** Choose above on which part it lies. Until then it is not "
        "kept, and the inspection cannot be recorded.",
        icon=":material/help:",
    )
    st.button(
        "No such mark is there",
        key=work.key("no unplaced", photo_id),
        on_click=work.kept(lambda body: body["unplaced"].pop(photo_id, None)),
        type="tertiary",
        help="For when it was drawn on another device and is lost: draw it again if the damage is there.",
    )


def _keep_marks(work: Work, photo_id: str, marks: list[dict[str, object]], rev: int, waiting: int) -> None:
    def change(body: Body) -> None:
        body["marks"][photo_id] = marks
        body["revs"][photo_id] = rev
        body["unplaced"][photo_id] = waiting
        there = {m["id"] for listed in body["marks"].values() for m in listed}
        body["readings"] = {m: r for m, r in body["readings"].items() if m in there}

    work.keep(change)


def _leave_out(work: Work, photo_id: str) -> None:
    def change(body: Body) -> None:
        body["photos"].remove(photo_id)
        body["marks"].pop(photo_id, None)
        body["revs"].pop(photo_id, None)
        body["unplaced"].pop(photo_id, None)

    work.keep(change)
