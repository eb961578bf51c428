"""Step 4: what the rules say to it, what a competent person says beside them, and recording it."""

from __future__ import annotations

from dataclasses import replace

from inspect_core.domain.decision import Decision, Outcome
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import components_of
from inspect_core.domain.inspection import InspectionType
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import own, plain
from inspect_core.screens.parts import findings, pin, sign
from inspect_core.screens.parts.errors import show_error
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import Body, alone_of, command
from inspect_core.screens.work.session import Work
from inspect_core.usecases import falls, inspect
from inspect_core.usecases.measured import taken_in

_AS_RULES = "As the rules say"
_JUDGEMENTS = {
    _AS_RULES: None,
    sign.PAST_HEADLINES[Outcome.IN_SERVICE]: Outcome.IN_SERVICE,
    "Hold": Outcome.HOLD,
    "Withdraw": Outcome.WITHDRAW,
}


def show(work: Work) -> None:
    """The answer as it would be now, and the button that records it."""
    try:
        decision = inspect.ask(_command(work), work.frame.services)
    except BartackError as error:
        show_error(error)
        return
    _missing(work)
    _waiting(work)
    _preview(work, decision)
    if work.body["type"] != InspectionType.BEFORE_USE.value:
        _by_hand(work, decision)
    _note(work)
    _sign_and_record(work)
    st.caption(
        f"Recorded under the name of {own(work.person.name)}. A record is never edited; a later one can correct it."
    )


def _command(work: Work) -> inspect.RecordInspection:
    """What is weighed and recorded: the marks, and what was measured without one."""
    wanted = command(work.body, work.id, work.item, work.person)
    return taken_in(wanted, alone_of(work.body), work.item, work.frame.services)


def _missing(work: Work) -> None:
    open_ = [c.value for c in components_of(work.item.kind) if c.value not in work.body["answers"]]
    if open_:
        st.warning(
            f"**{wording.count(len(open_), 'part')} not answered:** {plain(', '.join(open_))}. "
            "What nobody has looked at puts the item on hold.",
            icon=":material/visibility_off:",
        )


def _waiting(work: Work) -> None:
    waiting = len(state.waiting(work.id))
    if waiting:
        st.warning(
            f"**{wording.count(waiting, 'photo')} not stored yet.** Go back to the photos and store it; what is "
            "recorded now goes without it.",
            icon=":material/hourglass_top:",
        )


def _preview(work: Work, decision: Decision) -> None:
    st.markdown("**What it comes to, once recorded:**")
    if decision.outcome is Outcome.IN_SERVICE and not work.row.standing.usable:
        # No inspection releases by itself: green would say more than recording it does.
        sign.standing_banner(work.row.standing, work.frame.today, "")
        st.markdown("**Found fit, and still on hold** until a competent person releases it on the next screen.")
    else:
        sign.outcome_banner(decision.outcome)
    findings.shown(decision)
    st.caption(plain(findings.damage_words(decision)))


def _by_hand(work: Work, decision: Decision) -> None:
    """A competent person may be more severe than the rules, or settle a hold; the use case refuses the rest."""
    hand = work.body["hand"]
    chosen, reason = work.key("hand"), work.key("hand", "reason")
    if chosen not in st.session_state:
        words = {o.value: w for w, o in _JUDGEMENTS.items() if o is not None}
        st.session_state[chosen] = words[hand["outcome"]] if hand else _AS_RULES
    if reason not in st.session_state:
        st.session_state[reason] = hand["reason"] if hand else ""

    def set_hand() -> None:
        outcome = _JUDGEMENTS.get(st.session_state[chosen] or _AS_RULES)
        text = st.session_state.get(reason, "")
        work.keep(
            lambda body: body.__setitem__("hand", {"outcome": outcome.value, "reason": text} if outcome else None)
        )

    st.segmented_control(
        "Your own judgement as competent person",
        list(_JUDGEMENTS),
        key=chosen,
        on_change=set_hand,
        required=True,
        width="stretch",
    )
    if st.session_state[chosen] not in (None, _AS_RULES):
        st.text_area("Why: what you saw, and why it decides", key=reason, on_change=set_hand, max_chars=1000)
        if decision.outcome is Outcome.WITHDRAW:
            st.caption("A rule withdraws this item. No judgement puts it back; a wrong mark is corrected instead.")


def _note(work: Work) -> None:
    key = work.key("note")
    if key not in st.session_state:
        st.session_state[key] = work.body["note"]

    def set_note() -> None:
        text = st.session_state[key]

        def change(body: Body) -> None:
            body["note"] = text

        work.keep(change)

    st.text_area("Note (may stay empty)", key=key, on_change=set_note, max_chars=inspect.MOST_NOTE, height=100)


def _sign_and_record(work: Work) -> None:
    """The button; with the PIN again where an inspection in detail has to be signed."""
    if work.body["type"] == InspectionType.BEFORE_USE.value or not work.frame.locked():
        if st.button("Record it", key=work.key("record"), type="primary", width="stretch", icon=":material/save:"):
            _record(work, None)
        return
    pin.kind(work.id)
    with st.form(work.key("sign"), clear_on_submit=True):
        typed = pin.box(work.id, "again, to sign it")
        sent = st.form_submit_button("Sign and record it", type="primary", width="stretch", icon=":material/save:")
    if sent:
        _record(work, typed)


def _record(work: Work, typed: str | None) -> None:
    try:
        recorded = inspect.record(replace(_command(work), pin=typed), work.frame.services)
    except BartackError as error:
        show_error(error)
        return
    state.drop_work()
    if recorded.held:
        state.tell("It arrested a fall: what was worn with it is on hold as well.", f"{', '.join(recorded.held)}.")
    elif unasked := falls.worn_unasked(recorded.inspection, work.frame.services):
        state.tell(
            "What was found on the absorber or the load indicator may come from a fall. Did this item arrest one?",
            f"Worn with it: {', '.join(unasked)}. If so, report it at once on the page of {work.item.tag}, under "
            "“A fall was arrested”.",
        )
    work.frame.go("answer", inspection=recorded.inspection.id, tag=work.item.tag)
