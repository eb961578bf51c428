"""Do inspectors agree: blind second readings, rates per inspector, photos used twice."""

from __future__ import annotations

from inspect_core.domain.access import Action, may
from inspect_core.domain.people import Person, Role
from inspect_core.domain.second_reading import ReadPhoto
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.usecases.trends_agree import ABOUT_GEAR, Agree, agree
from inspect_core.usecases.trends_figures import figures
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> str:
    """The way to read photos blind, the figures, and the photos behind an answer."""
    viewer = frame.person()
    st.markdown(ABOUT_GEAR)
    if viewer is None or may(viewer, Action.SECOND_READING, frame.today):
        frame.link("second-reading", "Read photos blind", icon=":material/visibility:", wide=False)
    told.figures(frame, figures(frame.services, "agree", scope, viewer=viewer))
    answer = agree(frame.services, scope.whole())
    _behind(frame, answer, viewer)
    _twice(frame, answer)
    return ""


def _behind(frame: Frame, answer: Agree, viewer: Person | None) -> None:
    st.subheader("The photos behind an answer")
    if viewer is None:
        st.markdown("Pick your name first: a photo that you may still read blind is not shown with its answers.")
        return
    reads = viewer.role is Role.COMPETENT_PERSON
    if reads:
        st.caption("Only photos that you recorded or read yourself are shown: the others you may still read blind.")
    labels = list(dict.fromkeys(share.label for share in answer.by_answer))
    label = told.choose("First look said", labels, "agree")
    if label is None:
        st.markdown("No answer has enough photos yet.")
        return
    own = _own(answer, viewer)
    rows = [
        told.Behind(row.tag, _words(row), row.item_id, row.photo_id)
        for row in answer.behind(label)
        if not reads or row.photo_id in own
    ]
    told.items(frame, rows, f"agree {label}")


def _own(answer: Agree, viewer: Person) -> set[str]:
    return {row.photo_id for row in answer.rows if viewer.id in (row.first_by, row.second_by)}


def _words(row: ReadPhoto) -> str:
    same = "the same" if row.first == row.second else "told apart"
    return f"{row.kind.value}, {row.on.isoformat()}: first look {row.first}, blind {row.second}, {same}"


def _twice(frame: Frame, answer: Agree) -> None:
    if not answer.twice:
        return
    st.subheader("The items behind photos used twice")
    rows = [
        told.Behind(use.tag, f"inspected {use.on.isoformat()}", use.item_id, use.photo_id)
        for group in answer.twice
        for use in group
    ]
    told.items(frame, rows, "twice")
