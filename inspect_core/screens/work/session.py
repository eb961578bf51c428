"""The unfinished inspection at hand: found again after a reload, kept at every change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.people import Person
from inspect_core.domain.record import ItemRow
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.parts.errors import tell_error
from inspect_core.screens.speaking import st
from inspect_core.screens.work.body import Body, empty, whole
from inspect_core.usecases import drafts, review


@dataclass(frozen=True)
class Work:
    """One unfinished inspection: whose, of what, and what has been entered. `body` is changed only through `keep`."""

    id: str
    row: ItemRow
    person: Person
    body: Body
    frame: Frame

    @property
    def item(self) -> Item:
        return self.row.item

    def key(self, *parts: str) -> str:
        """The key of a widget of this inspection."""
        return state.widget(self.id, *parts)

    def keep(self, change: Callable[[Body], None]) -> None:
        """Change the body and store it at once, so that a closed browser loses nothing."""
        change(self.body)
        state.set_work(self.id, self.body)
        try:
            drafts.save_draft(self.id, self.item.id, self.body, self.frame.services)
        except BartackError as error:
            tell_error(error)

    def kept(self, change: Callable[[Body], None]) -> Callable[[], None]:
        """`keep` as a callback."""
        return lambda: self.keep(change)


def open_work(
    frame: Frame, row: ItemRow, person: Person, type_: InspectionType, *, corrects: str | None = None
) -> Work:
    """The work that the address names, or a fresh one whose name goes into the address."""
    draft_id = state.query_id("draft")
    if draft_id is None:
        draft_id = frame.services.new_id()
        st.query_params["draft"] = draft_id
    body = state.work(draft_id)
    if body is None:
        stored = drafts.find_draft(draft_id, frame.services)
        if stored is None and _recorded(draft_id, frame):
            frame.go("answer", inspection=draft_id, tag=row.item.tag)
        fits = stored is not None and stored.item_id == row.item.id
        body = whole(stored.body) if stored is not None and fits else empty(type_, corrects=corrects)
        if stored is not None and not fits:
            # The address names the work of another item: never mix the two.
            draft_id = frame.services.new_id()
            st.query_params["draft"] = draft_id
        state.set_work(draft_id, body)
    return Work(draft_id, row, person, body, frame)


def _recorded(draft_id: str, frame: Frame) -> bool:
    """Whether that work has become a record, as after "back" or a reload of an old address."""
    try:
        return review.inspection_by_id(draft_id, frame.services).id == draft_id
    except BartackError:
        return False


def discard(work: Work) -> None:
    """Throw the unfinished work away; as a callback."""
    drafts.discard_draft(work.id, work.frame.services)
    state.drop_work()
    st.query_params.pop("draft", None)
    state.tell("The unfinished work was thrown away.", "Its photos stay in the store.", good=True)
