"""Moves made by hand: hold, withdraw, release, destroy. Which are offered stands in the domain's table."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from inspect_core.domain.custody import MOVES, Move, Standing, State
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.people import Person
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, person_words
from inspect_core.screens.parts import falls, pin, who
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.parts.tag_box import PHOTO_TYPES
from inspect_core.screens.speaking import st
from inspect_core.usecases import review, site_settings
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.intake import take_photo

_WORDS: Mapping[Move, str] = MappingProxyType(
    {
        Move.HOLD: "Put on hold",
        Move.WITHDRAW: "Withdraw for good",
        Move.RELEASE: "Release from hold",
        Move.DESTROY: "Record its destruction",
    }
)
_EXPLAINED: Mapping[Move, str] = MappingProxyType(
    {
        Move.HOLD: "Anybody may do this, and should, whenever in doubt.",
        Move.WITHDRAW: "It never comes back into service.",
        Move.RELEASE: "It rests on an inspection in detail that was made after the hold began and found it fit.",
        Move.DESTROY: "Needs a photo of the destroyed item with its tag in the picture, and somebody else who saw it.",
    }
)


def offered(frame: Frame, item: Item, standing: Standing, newest_in_detail: Inspection | None) -> None:
    """Every move that the item's state leaves open."""
    person = who.required(frame)
    if person is None:
        return
    if standing.state is not State.DESTROYED:  # a fall is often told only once its item is withdrawn
        falls.report(frame, person, item)
    open_ = [move for move, rule in MOVES.items() if standing.state in rule.starts]
    if not open_:
        st.markdown("Nothing more can be done with this item.")
    for move in open_:
        if person.role not in MOVES[move].roles:
            allowed = " or ".join(role.value for role in MOVES[move].roles)
            st.caption(f"{_WORDS[move]}: a {allowed} does this.")
            continue
        one(frame, item, standing, move, evidence=newest_in_detail)


def one(frame: Frame, item: Item, standing: Standing, move: Move, *, evidence: Inspection | None = None) -> None:
    """A form for one move, drawn only where the state and the person's role leave it open."""
    rule = MOVES[move]
    person = frame.person()
    if person is None or standing.state not in rule.starts or person.role not in rule.roles:
        return
    name = f"{move.value} {item.id}"
    with st.expander(_WORDS[move], key=state.widget("move", "box", name)):
        st.caption(_EXPLAINED[move])
        if move is Move.RELEASE and site_settings.shown(frame.services)[0]:
            st.caption("This site asks for two: neither the inspection nor the release is by whoever raised the hold.")
        signed = rule.signed and frame.locked()
        if signed:
            pin.kind(f"move {name}")
        with st.form(state.widget("move", name), border=False):
            reason = st.text_input("Reason", max_chars=300, key=state.widget("move", name, "reason"))
            witness: Person | None = None
            upload = None
            if rule.needs_photo:
                upload = st.file_uploader("Photo", type=PHOTO_TYPES, key=state.widget("move", name, "photo"))
                witness = _witness(frame, person, name)
            typed = pin.box(f"move {name}", "again, to sign it") if signed else None
            sent = st.form_submit_button(_WORDS[move], type="primary", width="stretch")
        if not sent:
            return
        pin.used(f"move {name}")
        try:
            photo_id = None
            if upload is not None:
                photo_id = take_photo(upload.getvalue(), frame.services, claimed_name=upload.name).id
            moved = make_move(
                _command(frame, name, item, move, person, reason, evidence, photo_id, witness, typed), frame.services
            )
        except BartackError as error:
            show_error(error)
            return
        state.used(name)
        state.tell(f"{item.tag} is now {moved.state.value}.", good=True)
        st.rerun()


def _command(
    frame: Frame,
    name: str,
    item: Item,
    move: Move,
    person: Person,
    reason: str,
    evidence: Inspection | None,
    photo_id: str | None,
    witness: Person | None,
    typed: str | None,
) -> MakeMove:
    return MakeMove(
        id=state.once(name, frame.services.new_id()),
        item_id=item.id,
        move=move,
        by=person.id,
        reason=reason,
        inspection_id=evidence.id if evidence is not None and MOVES[move].needs_inspection else None,
        photo_id=photo_id,
        witness_id=witness.id if witness else None,
        pin=typed,
    )


def _witness(frame: Frame, person: Person, name: str) -> Person | None:
    """Somebody else of this site who saw it."""
    others = {f"{p.name}, {p.role.value}": p for p in review.people(frame.services) if p.id != person.id}
    picked = st.selectbox(
        "Who else saw it",
        list(others),
        index=None,
        placeholder="Pick the witness",
        format_func=person_words,
        key=state.widget("move", name, "witness"),
    )
    return others[picked] if picked else None
