"""The answer: may it be used, why, and what to do next."""

from __future__ import annotations

from inspect_core.domain.custody import Move, Standing, State
from inspect_core.domain.decision import FindingOutcome, Outcome
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.marking import forget_saved_marks
from inspect_core.screens.parts import findings, items, moves, papers, pictures, sign
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.screens.words.next_steps import NEXT_STEPS
from inspect_core.usecases import ages, review
from inspect_core.usecases.intake import photo_by_id


def show(frame: Frame) -> None:
    """The recorded inspection that the address names."""
    inspection_id = state.query("inspection")
    if inspection_id is None:
        st.title("No inspection is named here")
        frame.link("today", "Back to Today")
        return
    inspection = review.inspection_by_id(inspection_id, frame.services)
    past = review.history(inspection.item_id, frame.services, limit=1)
    item, standing = past.item, past.standing
    old = ages.aged(item, standing, frame.services)
    st.title(tongue().written(item.tag))
    sign.standing_banner(standing, frame.today, old)
    if old or not standing.usable:
        st.markdown(f"**Why:** {plain(old or tongue().mixed(standing.reason))}")
    st.markdown(
        f"{plain(item.kind.value)} · {TYPE_WORDS[inspection.type].lower()} of {inspection.at:%Y-%m-%d %H:%M} · "
        f"{own(past.name_of(inspection.by))}"
    )
    _difference(inspection, standing)
    found, ways = st.columns([3, 2], gap="large")
    with found:
        _next(frame, standing, aged=bool(old))
        _why(inspection)
    with ways:
        _pictures(frame, inspection)
        if inspection.type is not InspectionType.BEFORE_USE and inspection.outcome is Outcome.IN_SERVICE:
            moves.one(frame, item, standing, Move.RELEASE, evidence=inspection)
        papers.tag(frame, item, standing)
        papers.certificate(frame, item, inspection)
        frame.link("item", "Its history in pictures", icon=":material/history:", tag=item.tag)
        frame.link("check", "Check the next item", icon=":material/checklist:")
    if inspection.photo_ids:
        forget_saved_marks(key=state.widget("forget", inspection.id), photo_ids=inspection.photo_ids)


def _difference(inspection: Inspection, standing: Standing) -> None:
    """Where the item stands otherwise than this inspection alone says."""
    if inspection.outcome is Outcome.IN_SERVICE and standing.state is State.ON_HOLD:
        st.warning(
            "**This inspection found nothing against use, but the item is still on hold.**  \n"
            "A competent person releases it after an inspection in detail.",
            icon=":material/front_hand:",
        )
    if standing.last_inspection_id != inspection.id:
        st.info("A later inspection of this item exists. The sign above says where it stands now.")


def _next(frame: Frame, standing: Standing, *, aged: bool) -> None:
    st.subheader("What to do now")
    steps = list(NEXT_STEPS[State.ON_HOLD if aged else standing.state])
    if standing.state in (State.IN_SERVICE, State.ON_HOLD):
        steps.append(f"Inspection in detail: **{items.due_words(standing.next_due, frame.today)}**.")
    st.markdown("\n".join(f"- {step}" for step in steps))


def _why(inspection: Inspection) -> None:
    st.subheader("What was found")
    if inspection.hand is not None:
        st.markdown(
            f"**Decided by a competent person:** {sign.PAST_HEADLINES[inspection.hand.outcome].lower()}. "
            f"{plain(tongue().written(inspection.hand.reason))}"
        )
        st.markdown("**Beside that, the rules:**")
    findings.shown(inspection.decision)
    if any(f.outcome is not FindingOutcome.CLEARED for f in inspection.decision.findings):
        st.caption(plain(findings.damage_words(inspection.decision)))
    stamp = inspection.decision.rules
    st.caption(f"Rules of {plain(stamp.version)}, digest {stamp.digest[:12]}.")


def _pictures(frame: Frame, inspection: Inspection) -> None:
    """The marked photos; unmarked ones are in the history."""
    shown = [p for p in inspection.photo_ids if any(m.photo_id == p for m in inspection.marks)]
    numbers = {mark.id: number for number, mark in enumerate(inspection.marks, 1)}
    for photo_id in shown:
        photo = photo_by_id(photo_id, frame.services)
        pictures.with_marks(frame.services, photo, inspection.marks, numbers=numbers)
        pictures.close_ups(frame.services, photo, inspection.marks, numbers)
