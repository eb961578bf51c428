"""Papers of an item: a certificate for every inspection, its tag and label, and the set-up checks it was used in."""

from __future__ import annotations

from inspect_core.domain.life import Look, Wanted
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.parts import papers, setups, sign
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import TYPE_WORDS
from inspect_core.usecases import life
from inspect_core.usecases.life import LifeView

#: Certificates shown at once.
_ROWS = 10


def show(frame: Frame, view: LifeView) -> None:
    """Every paper, made when its button is pressed."""
    item = view.item
    st.markdown("#### Tag and label")
    papers.tag(frame, item, view.standing, place="papers")
    papers.label(frame, item, place="papers")
    st.markdown(f"#### Certificates ({view.figures.inspections})")
    name = f"certificates {item.id}"
    page = life.life(item.id, frame.services, Wanted(), limit=_ROWS * state.page_number(name)).page
    looks = [entry for entry in page.entries if isinstance(entry, Look)]
    if not looks:
        st.markdown("It has not been inspected yet.")
    for look in looks:
        with st.container(horizontal=True, vertical_alignment="center", gap="small", key=f"row certificate {look.id}"):
            sign.outcome_chip(look.outcome)
            by = own(view.name_of(look.by))
            corrected = ", corrected later" if look.corrected else ""
            st.markdown(
                f"**{look.at:%Y-%m-%d}** {plain(TYPE_WORDS[look.type].lower())}, {by}{corrected}", width="content"
            )
            papers.certificate(frame, item, look)
    if page.after is not None:
        st.button(
            f"Show {_ROWS} more",
            key=state.widget("history", "more certificates"),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )
    setups.shown(frame, item, life.setups(item.id, frame.services), view.name_of)
