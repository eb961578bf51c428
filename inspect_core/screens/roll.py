"""A camera roll from the roof: photos dropped in at once, sorted by their labels, looked over, turned into drafts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from inspect_core.domain.errors import BartackError
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.jobs import Job, JobKind
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import aside, pictures, who
from inspect_core.screens.parts.errors import show_error, tell_error
from inspect_core.screens.parts.tag_box import PHOTO_TYPES
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import jobs
from inspect_core.usecases import roll as rolls
from inspect_core.usecases.drafts import find_draft
from inspect_core.usecases.job_asking import read_roll
from inspect_core.usecases.roll_plan import Placed, RollPlan

#: Width of a photo in a group, pixels: four to a row on a phone held upright would be too small to judge.
_WIDTH = 150
_TYPES = {TYPE_WORDS[t]: t for t in (InspectionType.PERIODIC, InspectionType.BEFORE_USE, InspectionType.AFTER_EVENT)}


def show(frame: Frame) -> None:
    """Drop the photos in, see them sorted, put right what is not certain, begin the inspections."""
    st.title("Photo roll")
    person = who.required(frame)
    if person is None:
        return
    roll_id = state.query_id("roll")
    if roll_id is None:
        st.markdown(
            "For work without a connection. On the roof, photograph **each item’s QR label first, then its parts**. "
            "Later, drop all photos in here at once: they are sorted to their items in the order they were taken."
        )
        _unfinished(frame)
    job = jobs.newest(JobKind.ROLL, frame.services, subject=roll_id) if roll_id else None
    if job is not None and job.active:
        aside.follow(frame, job, "The photos are being read.")
        return
    if job is not None:
        _told(frame, person, job)
    _drop(frame, person, roll_id)
    if roll_id is not None:
        _review(frame, person, roll_id)


def _unfinished(frame: Frame) -> None:
    here = frame.services.clock.now().tzinfo
    for one, many in rolls.unfinished_rolls(frame.services):
        st.button(
            f"Go on: roll of {one.begun_at.astimezone(here):%Y-%m-%d %H:%M}, {many} photo{'s' if many != 1 else ''}",
            key=state.widget("roll", "go on", one.id),
            on_click=partial(st.query_params.__setitem__, "roll", one.id),
            width="stretch",
            icon=":material/photo_library:",
        )


def _drop(frame: Frame, person: Person, roll_id: str | None) -> None:
    """The box for the photos. It is emptied after each reading, so that the server holds no photo twice."""
    key = state.widget("roll", roll_id or "new", str(state.page_number("roll uploads")))
    words = "Drop the photos in" if roll_id is None else "Drop more photos in"
    uploads = st.file_uploader(words, type=PHOTO_TYPES, accept_multiple_files=True, key=key)
    if not uploads:
        return
    wanted = roll_id or state.once("roll", frame.services.new_id())
    try:
        roll = rolls.begin_roll(person.id, frame.services, roll_id=wanted)
    except BartackError as error:
        show_error(error)
        return
    try:
        photos = [(upload.name, upload.getvalue()) for upload in uploads]
        read_roll(roll.id, photos, person.id, frame.services, job_id=state.once("roll job", frame.services.new_id()))
    except BartackError as error:  # the box stays full: nobody has to pick the photos once more
        show_error(error)
        return
    st.query_params["roll"] = roll.id  # a reload or a closed browser finds the way back
    state.used("roll")
    state.used("roll job")
    state.more_pages("roll uploads")
    st.rerun()


def _told(frame: Frame, person: Person, job: Job) -> None:
    """What came of the last photos that were dropped in; where that failed, a way to go on with them."""
    if job.asked_by == person.id and jobs.can_again(job, frame.services):
        aside.ended_badly(job)
        st.button(
            "Try again",
            key=state.widget("roll", "again", job.id),
            on_click=partial(aside.ask, partial(jobs.again, job.id, person.id, frame.services)),
            icon=":material/refresh:",
            type="primary",
        )
        return
    if aside.ended_badly(job) or job.result is None:
        return
    fresh, twice = job.result["fresh"], job.result["twice"]
    words = f"**{fresh} photo{'s' if fresh != 1 else ''} read.**"
    st.success(words + (f"  \n{twice} were in this roll already." if twice else ""), icon=":material/check:")
    for name, problem, remedy in job.result["refused"]:
        show_error(BartackError(f"{name}: {problem}", remedy))


def _review(frame: Frame, person: Person, roll_id: str) -> None:
    plan = rolls.sort_roll(roll_id, frame.services)
    if not plan.photos:
        st.caption("No photo has been read yet.")
        return
    st.markdown(
        f"**{len(plan.photos)} photos** of {len(plan.groups)} item{'s' if len(plan.groups) != 1 else ''}, sorted "
        f"{plain(plan.order)}. " + (f"**{plan.doubtful} are doubtful:** look at them." if plan.doubtful else "")
    )
    _phones(roll_id, plan, frame)
    _start(frame, person, roll_id, plan)
    if plan.open:
        st.subheader(f"Not placed ({len(plan.open)})")
        st.caption("Nobody can tell from the photos which item these show. Choose them and say whose they are.")
        _group(frame, roll_id, "open", plan.open, plan)
    for tag, group in plan.groups.items():
        st.subheader(f"{plain(tag)} ({len(group)})")
        _group(frame, roll_id, tag, group, plan)
    if plan.out:
        with st.expander(f"Left out ({len(plan.out)})", icon=":material/block:"):
            _group(frame, roll_id, "out", plan.out, plan)
    if st.button("Put this roll away", key=state.widget("roll", roll_id, "close"), type="tertiary"):
        try:
            rolls.close_roll(roll_id, frame.services)
        except BartackError as error:
            tell_error(error)
        else:
            st.query_params.clear()
        st.rerun()
    st.caption("The originals stay in the store unchanged, whatever is left out or put away here.")


def _phones(roll_id: str, plan: RollPlan, frame: Frame) -> None:
    """Photos of several phones: those that the clock alone would give to another item wait for a word."""
    if plan.phones < 2:
        return
    st.warning(
        f"**This roll holds photos of {plan.phones} phones.**  \nA photo between two phones' labels could go to the "
        "wrong item, so it is not placed until somebody says whose it is.",
        icon=":material/devices:",
    )
    waiting = sum(one.own_phone is not None for one in plan.open)
    if not waiting:
        return

    def by_phone() -> None:
        try:
            many = rolls.sort_by_phone(roll_id, frame.services)
        except BartackError as error:
            tell_error(error)
            return
        state.tell(f"{many} photos are placed by their own phone's labels.", "Look through them.", good=True)

    st.button(
        f"Each phone took its own labels first: place {waiting} photos by phone",
        key=state.widget("roll", roll_id, "by phone"),
        on_click=by_phone,
        width="stretch",
        icon=":material/devices:",
    )


def _group(frame: Frame, roll_id: str, name: str, group: Sequence[Placed], plan: RollPlan) -> None:
    """Photos side by side; what is chosen among them can be moved or left out below."""
    chosen: list[Placed] = []
    with st.container(horizontal=True, gap="small", key=f"roll {roll_id} {name}"):
        for one in group:
            with st.container(width=_WIDTH + 8, gap=None):
                if _photo(frame, roll_id, one):
                    chosen.append(one)
    doubtful = [one for one in group if one.doubts]
    if doubtful:
        st.markdown(
            "\n".join(
                f"- :material/help: Photo {one.number}: {' '.join(plain(d.sentence) for d in one.doubts)}"
                for one in doubtful
            )
        )
    if chosen:
        _change(roll_id, name, chosen, plan, frame)


def _photo(frame: Frame, roll_id: str, one: Placed) -> bool:
    words = f"Photo {one.number}" + (", label" if one.is_label else "")
    alt = f"{words} of {one.tag}" if one.tag else f"{words}, {one.place.value}"
    pictures.thumb(frame.services, one.photo.photo_id, alt, width=_WIDTH)
    if one.photo.draft_id:
        st.caption(f"{words}: in an inspection")
        return False
    sign = ":material/help: " if one.doubts else ""
    return st.checkbox(f"{sign}{words}", key=state.widget("roll", roll_id, one.photo.photo_id))


def _change(roll_id: str, name: str, chosen: Sequence[Placed], plan: RollPlan, frame: Frame) -> None:
    ids = [one.photo.photo_id for one in chosen]
    key = state.widget("roll", roll_id, "to", name)

    def settle() -> None:
        for photo_id in ids:
            st.session_state[state.widget("roll", roll_id, photo_id)] = False

    def move() -> None:
        tag = st.session_state.get(key)
        if not tag:
            state.tell("Say which item first.", "Pick its tag, or type it.")
            return
        try:
            rolls.move_photos(roll_id, ids, tag, frame.services)
            settle()
        except BartackError as error:
            tell_error(error)

    def out(leave: bool) -> None:
        try:
            rolls.leave_out(roll_id, ids, frame.services, out=leave)
            settle()
        except BartackError as error:
            tell_error(error)

    many = f"{len(ids)} photo{'s' if len(ids) > 1 else ''}"
    with st.container(border=True):
        st.selectbox(
            f"{many} chosen. Of which item?",
            [tag for tag in plan.groups if tag != name],
            index=None,
            key=key,
            format_func=tongue().written,
            placeholder="Pick the tag, or type another",
            accept_new_options=True,
        )
        left, right = st.columns(2)
        with left:
            st.button(
                "Move them there",
                key=state.widget("roll", roll_id, "move", name),
                on_click=move,
                width="stretch",
                icon=":material/drive_file_move:",
            )
        with right:
            away = name != "out"
            st.button(
                "Leave them out" if away else "Bring them back",
                key=state.widget("roll", roll_id, "leave", name),
                on_click=partial(out, away),
                width="stretch",
                icon=":material/block:" if away else ":material/undo:",
            )


def _start(frame: Frame, person: Person, roll_id: str, plan: RollPlan) -> None:
    """Begin the inspections of all groups, or go on with those begun."""
    _begun(frame, plan)
    fresh = [tag for tag, group in plan.groups.items() if any(one.photo.draft_id is None for one in group)]
    if not fresh:
        return
    with st.container(border=True, key="roll start"):
        detailed = person.competent_on(frame.today)
        types = [w for w, t in _TYPES.items() if detailed or t is InspectionType.BEFORE_USE]
        kind = st.selectbox("Which inspection?", types, key=state.widget("roll", roll_id, "type"))
        many = f"{len(fresh)} inspection{'s' if len(fresh) > 1 else ''}"
        st.button(
            f"Begin {many} with these photos",
            key=state.widget("roll", roll_id, "start"),
            on_click=_begin,
            args=(frame, person, roll_id, fresh, _TYPES[kind]),
            type="primary",
            width="stretch",
            icon=":material/play_arrow:",
        )
        st.caption("Nothing is decided here: each inspection still has to be answered and recorded.")


def _begin(frame: Frame, person: Person, roll_id: str, tags: list[str], type_: InspectionType) -> None:
    try:
        started, refused = rolls.start_drafts(roll_id, tags, type_, person.id, frame.services)
    except BartackError as error:
        tell_error(error)
        return
    if started:
        many = len(started)
        state.tell(
            f"{many} inspection{'s' if many != 1 else ''} begun.",
            "They wait under unfinished work, photos in place.",
            good=True,
        )
    for one in refused:
        state.tell(f"{one.tag}: no inspection begun.", one.reason)


def _begun(frame: Frame, plan: RollPlan) -> None:
    """Ways on into the inspections that this roll began and that are still unfinished."""
    drafts: dict[str, tuple[str, int]] = {}
    for tag, group in plan.groups.items():
        for one in group:
            if one.photo.draft_id:
                drafts[one.photo.draft_id] = (tag, drafts.get(one.photo.draft_id, (tag, 0))[1] + 1)
    for draft_id, (tag, many) in drafts.items():
        draft = find_draft(draft_id, frame.services)
        if draft is None:
            continue  # recorded, or thrown away
        page = "check" if draft.body.get("type") == InspectionType.BEFORE_USE.value else "inspect"
        frame.link(
            page,
            f"Go on: {tag}, {many} photo{'s' if many != 1 else ''}",
            icon=":material/edit:",
            tag=tag,
            draft=draft_id,
        )
