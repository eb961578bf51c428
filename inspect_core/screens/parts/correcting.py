"""Correcting the register on an item's page, and what was corrected before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import partial

from inspect_core.domain.access import PERMISSIONS, Action, may
from inspect_core.domain.correction import ItemCorrection
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.parts import item_fields, pin
from inspect_core.screens.parts.errors import show_error, show_faults
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import correct
from inspect_core.usecases.item_words import change_lines
from inspect_core.usecases.plain import item_plain
from inspect_core.usecases.register import MOST_TEXT

#: Corrections that stand open; older ones fold away.
_OPEN = 1


def told(frame: Frame, item: Item, name_of: Callable[[str], str]) -> None:
    """What was corrected, newest first: when, by whom, why, and what stood there before."""
    made = correct.corrections(item.id, frame.services)
    for one in made[:_OPEN]:
        _told(one, name_of)
    older = made[_OPEN:]
    if older:
        with st.expander(f"Corrected earlier ({len(older)})", type="compact"):
            for one in older:
                _told(one, name_of)


def _told(one: ItemCorrection, name_of: Callable[[str], str]) -> None:
    why = own(one.reason) or "no reason was asked for then"
    st.markdown(
        f":material/edit_note: **Register corrected on {one.at:%Y-%m-%d}** by {own(name_of(one.by))} because: {why}"
    )
    if one.before:
        st.markdown("\n".join(f"- {plain(line)}" for line in change_lines(one, tongue().written)))


def form(frame: Frame, item: Item) -> None:
    """Every field as registered, the reason, and the PIN where the site has sign-in. Offered to those who may."""
    person = frame.person()
    if person is None or person.role not in PERMISSIONS[Action.CORRECT_ITEM].roles:
        st.caption("Wrong on the register? A competent person, a manager or an administrator corrects it.")
        return
    # Drawn only once it is opened: most who come to the page correct nothing, and the form has many boxes.
    opened = st.expander(
        "Correct the register",
        icon=":material/edit_note:",
        key=state.widget("correct", "box", item.id),
        on_change="rerun",
    )
    if opened.open:
        with opened:
            _form(frame, item, person)


def _form(frame: Frame, item: Item, person: Person) -> None:
    # Another register, other boxes: they start anew from what is registered now.
    version = hashlib.sha256(json.dumps(item_plain(item), sort_keys=True).encode()).hexdigest()[:12]
    name = f"correct {item.id} {version}"
    st.caption(
        "Only what was entered wrongly. What was decided on the old entry is weighed again: the gear goes on hold "
        "where it would not have passed, and a correction never releases it. The old entry stays on record."
    )
    signed = frame.locked()
    if signed:
        pin.kind(name)
    with st.form(state.widget("correct", item.id), border=False):
        given = item_fields.fields(frame, item.kind, partial(state.widget, "correct", item.id, version), item)
        if may(person, Action.PRICES, frame.today):
            given["price"] = st.text_input(
                "Price",
                max_chars=60,
                value="" if item.price is None else f"{item.price:g}",
                key=state.widget("correct", item.id, version, "price"),
            )
        reason = st.text_input(
            "Why: how you know (needed)",
            max_chars=MOST_TEXT,
            placeholder="such as: read again on its label",
            key=state.widget("correct", item.id, version, "reason"),
        )
        typed = pin.box(name, "again, to sign it") if signed else None
        sent = st.form_submit_button("Correct it", type="primary", width="stretch", icon=":material/save:")
    if sent:
        pin.used(name)
        if not show_faults(item_fields.faults_in(given)):
            _send(frame, item, given, person, reason, typed)


def _send(frame: Frame, item: Item, given: dict[str, object], person: Person, reason: str, typed: str | None) -> None:
    try:
        after = correct.item_with(item, given)
        done = correct.correct_item(correct.CorrectItem(item, after, person.id, reason, typed), frame.services)
    except BartackError as error:
        show_error(error)
        return
    if done.held:
        state.tell(f"The register is corrected, and {done.item.tag} is on hold.", done.held)
    else:
        state.tell("The register is corrected.", "Where the item stands is as it was.", good=True)
    st.query_params["tag"] = done.item.tag
    st.rerun()
