"""Kits: what one person wears together, who has it, whether it may be worn, and who wore what when."""

from __future__ import annotations

from inspect_core.domain.access import Action, may
from inspect_core.domain.errors import BadInput, BartackError
from inspect_core.domain.kits import KitMove
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, person_words, plain
from inspect_core.screens.parts import falls, items, who
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import kits, review
from inspect_core.usecases.kits import ChangeKit, KitPast, KitView

_MOVED = {
    KitMove.MAKE: "Made up",
    KitMove.ISSUE: "Issued to",
    KitMove.RETURN: "Taken back from",
    KitMove.SWAP: "Item swapped",
    KitMove.PUT_IN: "Item put in",
    KitMove.TAKE_OUT: "Item taken out",
    KitMove.DISSOLVE: "Dissolved",
}
HISTORY = 10


def show(frame: Frame) -> None:
    """The kit that the address names, or all of them and a form for a new one."""
    kit_id = state.query("kit")
    if kit_id is not None:
        _one(frame, kit_id)
        return
    st.title("Kits")
    st.markdown("Harness, lanyard, rope grab, lifeline: gear that one person wears together and gets as one.")
    here, new = st.columns([3, 2], gap="large")
    with here:
        views = kits.kits_now(frame.services)
        if not views:
            st.info("No kits yet. Make up the first one from items that are registered.")
        for view in sorted(views, key=lambda v: v.wearable):
            _line(frame, view)
    with new:
        _make(frame)


def _line(frame: Frame, view: KitView) -> None:
    with st.container(border=True):
        where = (
            f"with {tongue().written(view.holder.name)} since {view.kit.since:%Y-%m-%d}"
            if view.holder
            else "in the store"
        )
        st.markdown(f"**{own(view.kit.name)}**, {plain(where)}")
        st.caption(own(", ".join(row.item.tag for row in view.rows)))
        if not view.wearable:
            st.error(f"**Not to be worn.** {plain(_why(view))}{_fetch(view)}", icon=":material/block:")
        frame.link("kits", f"Open {tongue().written(view.kit.name)}", icon=":material/backpack:", kit=view.kit.id)


def _why(view: KitView) -> str:
    return view.why.partition(": ")[2] or view.why


def _fetch(view: KitView) -> str:
    if view.holder is None:
        return ""
    return f"  \nWith {own(view.holder.name)} since {view.kit.since:%Y-%m-%d}: fetch it."


def _make(frame: Frame) -> None:
    st.subheader("Make up a kit")
    person = who.required(frame)
    if person is None:
        return
    if not may(person, Action.MAKE_KIT, frame.today):
        st.caption("A competent person, a manager or an administrator makes up kits.")
        return
    with st.form(state.widget("kit", "new")):
        name = st.text_input("Name of the kit, as on its bag", max_chars=60, key=state.widget("kit", "new", "name"))
        tags = st.text_input(
            "Tags of its items, with commas between",
            max_chars=500,
            key=state.widget("kit", "new", "tags"),
            placeholder="H-001, L-004",
        )
        sent = st.form_submit_button("Make it up", type="primary", width="stretch")
    if not sent:
        return
    try:
        ids = tuple(_item(frame, tag) for tag in tags.split(",") if tag.strip())
        event, kit_id = (
            state.once("new kit", frame.services.new_id()),
            state.once("new kit id", frame.services.new_id()),
        )
        made = kits.change_kit(
            ChangeKit(event, kit_id, KitMove.MAKE, person.id, name=name, item_ids=ids), frame.services
        )
    except BartackError as error:
        show_error(error)
        return
    state.used("new kit")
    state.used("new kit id")
    state.tell(f"{tongue().written(made.name)} is made up.", good=True)
    frame.go("kits", kit=made.id)


def _item(frame: Frame, tag: str) -> str:
    return review.item_by_tag(tag.strip(), frame.services).item.id


def _one(frame: Frame, kit_id: str) -> None:
    past = kits.kit_past(kit_id, frame.services)
    view = past.view
    st.title(own(view.kit.name))
    if view.kit.dissolved:
        st.info("This kit was dissolved.")
    elif view.wearable:
        st.success("**May be worn today.** Check every item before use.", icon=":material/check:")
    else:
        st.error(f"**Not to be worn.** {plain(_why(view))}{_fetch(view)}", icon=":material/block:")
    with_whom = f"With {tongue().written(view.holder.name)}" if view.holder else "In the store"
    st.markdown(f"**{plain(with_whom)}** since {view.kit.since:%Y-%m-%d}.")
    here, do = st.columns([3, 2], gap="large")
    with here:
        st.subheader("Its items")
        for row in view.rows:
            items.line(
                frame,
                f"kit {row.item.id}",
                row.item,
                row.standing,
                f"{items.name_of(row.item)}, {row.standing.state.value}",
                None,
            )
        _past(past)
    with do:
        if not view.kit.dissolved:
            _do(frame, view)
    frame.link("kits", "All kits", icon=":material/arrow_back:")


def _do(frame: Frame, view: KitView) -> None:
    person = who.required(frame)
    if person is None:
        return
    if view.kit.holder is None:
        _issue(frame, view, person)
    else:
        _form(frame, view, person, KitMove.RETURN, "Take it back", Action.RETURN_KIT)
        falls.report(frame, person, view.rows[0].item)
    with st.expander("Swap, add or take out an item", icon=":material/swap_horiz:"):
        _swap(frame, view, person)
    if view.kit.holder is None:
        with st.expander("Dissolve this kit", icon=":material/delete:"):
            st.caption("Its items are free for other kits; its history stays.")
            _form(frame, view, person, KitMove.DISSOLVE, "Dissolve it", Action.MAKE_KIT)
    frame.link(
        "setup", "Check whether its parts fit together", icon=":material/rule:", check="kit fit", kit=view.kit.id
    )


def _issue(frame: Frame, view: KitView, person: Person) -> None:
    st.subheader("Issue it")
    if not view.wearable:
        st.caption("It can be issued once everything in it may be used.")
        return
    if not may(person, Action.ISSUE_KIT, frame.today):
        st.caption("A competent person, a manager or an administrator issues kits.")
        return
    people = {f"{p.name}, {p.role.value}": p.id for p in review.people(frame.services)}
    with st.form(state.widget("kit", view.kit.id, "issue"), border=False):
        picked = st.selectbox(
            "To whom",
            list(people),
            index=None,
            placeholder="Pick a name",
            format_func=person_words,
            key=state.widget("kit", view.kit.id, "to"),
        )
        sent = st.form_submit_button("Issue it", type="primary", width="stretch")
    if sent:
        holder = people[picked] if picked else None
        _send(frame, view, KitMove.ISSUE, ChangeKit("", view.kit.id, KitMove.ISSUE, person.id, holder=holder))


def _form(frame: Frame, view: KitView, person: Person, move: KitMove, words: str, action: Action) -> None:
    if not may(person, action, frame.today):
        st.caption("A competent person, a manager or an administrator does this.")
        return
    with st.form(state.widget("kit", view.kit.id, move.value), border=False):
        note = st.text_input(
            "Anything to say", max_chars=kits.MOST_NOTE, key=state.widget("kit", view.kit.id, move.value, "note")
        )
        sent = st.form_submit_button(words, type="primary", width="stretch")
    if sent:
        _send(frame, view, move, ChangeKit("", view.kit.id, move, person.id, note=note))


def _swap(frame: Frame, view: KitView, person: Person) -> None:
    if not may(person, Action.MAKE_KIT, frame.today):
        st.caption("A competent person, a manager or an administrator does this.")
        return
    here = {row.item.tag: row.item.id for row in view.rows}
    with st.form(state.widget("kit", view.kit.id, "swap"), border=False):
        out = st.selectbox(
            "Take out", list(here), index=None, placeholder="nothing", key=state.widget("kit", view.kit.id, "out")
        )
        new = st.text_input("Put in (tag)", max_chars=32, key=state.widget("kit", view.kit.id, "in"))
        sent = st.form_submit_button("Change the kit", width="stretch")
    if not sent:
        return
    move = KitMove.SWAP if out and new else KitMove.PUT_IN if new else KitMove.TAKE_OUT
    try:
        if not out and not new:
            raise BadInput("Nothing is named.", "Pick what goes, or type the tag of what comes.")
        comes = _item(frame, new) if new else None
    except BartackError as error:
        show_error(error)
        return
    _send(
        frame,
        view,
        move,
        ChangeKit("", view.kit.id, move, person.id, taken_out=here[out] if out else None, put_in=comes),
    )


def _send(frame: Frame, view: KitView, move: KitMove, command: ChangeKit) -> None:
    name = f"kit {view.kit.id} {move.value} {view.kit.since.isoformat()} {' '.join(view.kit.item_ids)}"
    try:
        event = state.once(name, frame.services.new_id())
        kits.change_kit(
            ChangeKit(
                event,
                command.kit_id,
                command.move,
                command.by,
                holder=command.holder,
                taken_out=command.taken_out,
                put_in=command.put_in,
                note=command.note,
            ),
            frame.services,
        )
    except BartackError as error:
        show_error(error)
        return
    state.used(name)
    state.tell(f"{tongue().written(view.kit.name)}: {move.value}.", good=True)
    st.rerun()


def _past(past: KitPast) -> None:
    st.subheader("Who wore what, when")
    name = f"kit history {past.view.kit.id}"
    shown = past.events[: HISTORY * state.page_number(name)]
    for event in shown:
        holder = tongue().written(past.names.get(event.holder or "", ""))
        words = f"{_MOVED[event.move]} {holder}".strip()
        swapped = [f"{tongue().written(past.tags[event.taken_out])} taken out" if event.taken_out else ""]
        swapped.append(f"{tongue().written(past.tags[event.put_in])} put in" if event.put_in else "")
        if any(swapped):
            words += f" ({', '.join(filter(None, swapped))})"
        held = ", ".join(past.tags[item] for item in event.item_ids)
        more = f" Note: {tongue().written(event.note)}." if event.note else ""
        st.markdown(
            f"**{event.at:%Y-%m-%d %H:%M}** {plain(words)}, by {own(past.names.get(event.by, event.by))}.  \n"
            f"{own(held)}.{plain(more)}"
        )
    if len(shown) < len(past.events):
        st.button("Show more", key=state.widget(name, "more"), on_click=state.more_pages, args=(name,), width="stretch")
