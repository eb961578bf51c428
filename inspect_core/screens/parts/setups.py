"""The set-up checks that an item was used in, for its history."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from inspect_core.domain.gear import Item
from inspect_core.domain.setup import SetupRecord
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.rigging import answer
from inspect_core.screens.rigging.words import ANSWERS, CHECKS
from inspect_core.screens.speaking import st, tongue

#: Checks shown at once.
ROWS = 5


def shown(frame: Frame, item: Item, found: Sequence[SetupRecord], name_of: Callable[[str], str]) -> None:
    """The newest set-up checks, each a way to its answer and sheet; nothing where there are none."""
    if not found:
        return
    st.subheader(f"Set-up checks ({len(found)})")
    name = f"setups of {item.id}"
    for record in found[: ROWS * state.page_number(name)]:
        with st.container(
            horizontal=True, wrap=False, vertical_alignment="center", gap="small", key=f"row setup {record.id}"
        ):
            answer.mark(record.answer)
            words = " · ".join(
                filter(
                    None,
                    (f"{record.at:%Y-%m-%d}", tongue().written(name_of(record.by)), tongue().written(record.place)),
                )
            )
            head = f"{CHECKS[record.check].title}: {ANSWERS[record.answer].word.lower()}"
            st.page_link(
                frame.pages["setup"],
                label=f"**{plain(head)}** {plain(words)}",
                width="stretch",
                query_params={"record": record.id},
            )
    left = len(found) - ROWS * state.page_number(name)
    if left > 0:
        st.button(
            f"Show {min(left, ROWS)} more set-up checks",
            key=state.widget("more", name),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )
