"""Registering an item: all faults of the form named at once, and what to do once it is entered."""

from __future__ import annotations

from functools import partial
from typing import Any

from inspect_core.domain.access import Action, may
from inspect_core.domain.custody import State
from inspect_core.domain.gear import Item, Kind
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.parts import item_fields, items, label_box, papers, who
from inspect_core.screens.parts.errors import show_faults
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import register, review


def show(frame: Frame) -> None:
    """The form, or what to do with the item that was just entered."""
    st.title("Register an item")
    done = state.query("registered")
    if done is not None:
        _registered(frame, done)
        return
    person = who.required(frame)
    if person is None:
        return
    kind = st.selectbox(
        "What is it?",
        [k.value for k in Kind],
        index=None,
        placeholder="Pick the kind",
        key=state.widget("register", "kind"),
    )
    if kind is None:
        st.caption("The kind decides which parts are inspected and which numbers its rules need.")
        if may(person, Action.IMPORT, frame.today):
            frame.link("import", "Many at once? Import a register from a spreadsheet", icon=":material/upload_file:")
        return
    label_box.show(frame, partial(_key, Kind(kind)))
    _form(frame, person, Kind(kind))


def _form(frame: Frame, person: Person, kind: Kind) -> None:
    with st.form(state.widget("register", kind.value)):
        fields = item_fields.fields(frame, kind, partial(_key, kind))
        sent = st.form_submit_button("Register", type="primary", width="stretch", icon=":material/save:")
    if sent:
        _send(frame, person, fields)


def _key(kind: Kind, name: str) -> str:
    return state.widget("register", kind.value, name)


def _send(frame: Frame, person: Person, fields: dict[str, Any]) -> None:
    if show_faults(item_fields.faults_in(fields)):
        return
    name = f"register {fields['tag']}"
    item = register.parse_item(fields, state.once(name, frame.services.new_id()))
    item = register.register(register.RegisterItem(item, person.id), frame.services)
    state.used(name)
    st.query_params["registered"] = item.tag
    st.rerun()


def _registered(frame: Frame, tag: str) -> None:
    row = review.item_by_tag(tag, frame.services)
    item: Item = row.item
    st.success(f"**{own(item.tag)} is registered.** {plain(items.name_of(item))}", icon=":material/check:")
    if row.standing.state is State.ON_HOLD:
        reason = plain(tongue().mixed(row.standing.reason))
        st.error(f"**It is on hold.** {reason} Keep it apart.", icon=":material/block:")
    st.markdown(
        "It has not been looked at yet. Print its label, fix it to the gear, and check it before the first use."
    )
    papers.label(frame, item)
    frame.link("check", "Check it now", icon=":material/checklist:", tag=item.tag)
    frame.link("item", "Open the item", icon=":material/history:", tag=item.tag)
    if st.button("Register another", key=state.widget("register", "another"), width="stretch"):
        st.query_params.clear()
        st.rerun()
