"""The first screen: what to do now."""

from __future__ import annotations

from collections.abc import Mapping

from inspect_core.domain.custody import State
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.palette import STATE_SIGNS
from inspect_core.domain.record import ItemRow
from inspect_core.screens import state, welcome
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts import items, sign, tag_box, who
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import second_reading
from inspect_core.usecases.drafts import unfinished
from inspect_core.usecases.due import NO_SITE, Glance, due_work, glance, sheets_of
from inspect_core.usecases.due_calendar import due_calendar

_CHECK = "Check before use"
_OPEN = "Open its history"
_ALL = "All sites"
#: So many sites are shown opened up.
_FEW = 6


def show(frame: Frame) -> None:
    """Big ways into the work, then what is overdue, due soon and on hold. A store without gear shows the welcome."""
    site = _picked_site()
    now = glance(frame.services, site=site)
    if now.no_gear:
        welcome.show(frame)
        return
    st.title("Today")
    do, see = st.columns([2, 3], gap="large")
    with do:
        _ways(frame)
        if frame.person() is None:
            who.ask(frame)
    with see:
        _unfinished(frame)
        _counts(now.counts)
        _sites(now)
        total = now.total(site)
        _doubted(frame, site)
        _section(frame, "Overdue for inspection in detail", "overdue", now.overdue, total.overdue)
        if now.past_age:
            old = tuple(one.row for one in now.past_age)
            _section(frame, "Past its age: do not use", "age", old, len(old))
        _section(frame, "On hold: do not use", "hold", now.on_hold, total.on_hold)
        _section(frame, f"Due within {now.within_days} days", "soon", now.soon, total.soon)
        _take_away(frame, site, now)


def _ways(frame: Frame) -> None:
    picked = tag_box.pick(frame, "today", (_CHECK, _OPEN))
    if picked:
        frame.go("check" if picked[1] == _CHECK else "item", tag=picked[0])
    one, two = st.columns(2, wrap=False)
    with one:
        frame.link("inspect", "Inspect", icon=":material/frame_inspect:")
    with two:
        frame.link("register", "Register", icon=":material/add_box:")
    frame.link("roll", "Photos from the roof", icon=":material/photo_library:")
    frame.link("setup", "Check the set-up", icon=":material/rule:")


def _unfinished(frame: Frame) -> None:
    work = unfinished(frame.services)
    if not work:
        return
    st.subheader(f"Unfinished work ({len(work)})")
    for draft, item in work[: items.ROWS]:
        type_ = draft.body.get("type")
        page = "check" if type_ == InspectionType.BEFORE_USE.value else "inspect"
        words = TYPE_WORDS[InspectionType(type_)] if type_ in set(InspectionType) else "Inspection"
        frame.link(
            page,
            f"Go on: {words.lower()} of {item.tag}, begun {draft.saved_at:%Y-%m-%d %H:%M}",
            icon=":material/edit:",
            tag=item.tag,
            draft=draft.id,
        )


def _counts(counts: Mapping[State, int]) -> None:
    with st.container(horizontal=True, gap="medium", key="counts"):
        for one in State:
            st.html(sign.chip_html(STATE_SIGNS[one], f"{counts.get(one, 0)} {one.value}"), width="content")


def _picked_site() -> str | None:
    """The site whose work is shown; None for all."""
    picked = st.session_state.get(state.widget("today", "site"))
    if picked in (None, _ALL):
        return None
    return "" if picked == NO_SITE else str(picked)


def _sites(work: Glance) -> None:
    """Each site's counts, and a choice of one."""
    key = state.widget("today", "site")
    if len(work.sites) < 2 and st.session_state.get(key) in (None, _ALL):
        return
    with st.expander(f"By site ({len(work.sites)})", icon=":material/location_on:", expanded=len(work.sites) <= _FEW):
        st.dataframe(
            [{"Site": s.name, "Overdue": s.overdue, "Soon": s.soon, "On hold": s.on_hold} for s in work.sites],
            hide_index=True,
            width="stretch",
            # As narrow as their heads, so that a phone shows all of them.
            column_config={
                "Overdue": st.column_config.Column(width=68),
                "Soon": st.column_config.Column(width=52),
                "On hold": st.column_config.Column(width=64),
            },
        )
    names = [_ALL, *(s.name for s in work.sites)]
    if st.session_state.get(key) not in (None, *names):
        names.append(st.session_state[key])  # a site that has just become done with
    st.selectbox("Show", names, key=key, format_func=lambda name: name if name == _ALL else tongue().cell("Site", name))


def _take_away(frame: Frame, site: str | None, work: Glance) -> None:
    """The work as a sheet to tick off and as a calendar; made when the button is pressed."""
    spoken = tongue()  # the file is made later, outside this drawing
    if work.sites:
        st.download_button(
            "This list to print and tick off (PDF)",
            lambda: sheets_of(due_work(frame.services, site=site), frame.services, spoken),
            file_name=f"due-work-{work.on.isoformat()}.pdf",
            mime="application/pdf",
            key=state.widget("today", "sheet"),
            on_click="ignore",
            icon=":material/print:",
            width="stretch",
        )
    st.download_button(
        "Due dates as a calendar (ICS)",
        lambda: due_calendar(frame.services, site=site),
        file_name="gear-inspections-due.ics",
        mime="text/calendar",
        key=state.widget("today", "calendar"),
        on_click="ignore",
        icon=":material/calendar_month:",
        width="stretch",
    )


def _doubted(frame: Frame, site: str | None) -> None:
    """What blind readings put in doubt, for those who inspect; who may still read the photo blind is not told what was
    seen on it."""
    person = frame.person()
    found = second_reading.doubts(person, frame.services) if person is not None else ()
    found = tuple(one for one in found if site is None or one.row.item.site == site)
    if not found:
        return
    st.subheader(f"In doubt by a second reading ({len(found)})")
    st.caption("Somebody who read a photo blind saw damage that the first look did not mark. Inspect the gear itself.")
    for one in found[: items.ROWS]:
        item, standing = one.row.item, one.row.standing
        words = f"{items.name_of(item)}, {standing.state.value}, photo of {one.on.isoformat()}"
        items.line(frame, f"doubt {item.id}", item, standing, words, None)
        if one.seen is not None:
            st.caption("Seen blind: " + ", ".join(dict.fromkeys(row.second for row in one.seen)))
    if len(found) > items.ROWS:
        st.caption(f"The first {items.ROWS} of {len(found)}, by tag.")


def _section(frame: Frame, title: str, name: str, rows: tuple[ItemRow, ...], many: int) -> None:
    st.subheader(f"{title} ({many})")
    if not rows:
        st.caption("None.")
        return
    items.rows(frame, name, rows, show_due=name != "hold")
    if many > len(rows):
        st.caption(f"The first {len(rows)} of {many}; the list to print holds all.")
