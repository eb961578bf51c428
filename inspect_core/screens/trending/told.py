"""What every answer is made of: its sentence, chart beside table, where its figures come from, and the items."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

import pandas as pd
import streamlit as st

from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.trending import charts
from inspect_core.trends.few import TooFew

_AT_A_TIME = 10
#: Groups too small are named up to so many; the rest are counted.
_FEW_NAMED = 6


def sentence(text: str) -> None:
    """The answer in one sentence."""
    st.markdown(f"**{plain(text)}**")


def chart_and_table(chart: Any, told: str, table: pd.DataFrame, name: str, today: str) -> None:
    """A chart with its words for those who cannot see it, and the same figures as a table and a CSV file."""
    left, right = st.columns([3, 2], gap="large")
    with left:
        st.altair_chart(charts.inked(chart, dark=st.context.theme.type == "dark"), width="stretch", alt=told)
    with right:
        st.table(table)
        csv(table, name, today)


def csv(table: pd.DataFrame, name: str, today: str) -> None:
    """A table to take away. Cells that a spreadsheet would take for a formula are marked as text."""
    safe = table.reset_index().map(_as_text)
    st.download_button(
        "These figures (CSV)",
        safe.to_csv(index=False).encode(),
        file_name=f"{name}-{today}.csv",
        mime="text/csv",
        key=state.widget("trend csv", name),
        on_click="ignore",
        icon=":material/download:",
        width="stretch",
    )


def source(count: str, period: str, definition: str, method: str) -> None:
    """What was counted, over which period, what the words mean, and where the method comes from."""
    st.caption(
        f"**Counted:** {plain(count)}. **Period:** {plain(period)}. **Means:** {plain(definition)} "
        f"**Method:** {plain(method)}"
    )


def few(groups: Iterable[TooFew]) -> None:
    """Groups too small for their estimate: told, not drawn."""
    small = list(groups)
    if not small:
        return
    named = "; ".join(f"{one.label} ({one.items}, {one.events})" for one in small[:_FEW_NAMED])
    more = f"; and {len(small) - _FEW_NAMED} more" if len(small) > _FEW_NAMED else ""
    st.caption(f"**Too few to draw:** {plain(named + more)}. In brackets: how many, events. {plain(small[0].why)}")


def nothing(one: TooFew) -> None:
    """No estimate at all, and why."""
    st.info(plain(one.in_words), icon=":material/info:")


def choose(words: str, labels: Sequence[str], key: str) -> str | None:
    """Which group's items to see: one tap, the first chosen already."""
    if not labels:
        return None
    with st.container(key=f"groups {re.sub('[^a-z]', ' ', key)}"):
        picked = st.pills(words, labels, default=labels[0], required=True, key=state.widget("trends behind", key))
    return str(picked) if picked in labels else labels[0]


def items(frame: Frame, rows: Sequence[tuple[str, str]], name: str) -> None:
    """Links to items as (tag, words), some at a time."""
    if not rows:
        st.markdown("No item.")
        return
    shown = rows[: _AT_A_TIME * state.page_number(f"trends {name}")]
    with st.container(key="rows behind"):
        for tag, words in shown:
            st.page_link(
                frame.pages["item"],
                label=f"**{plain(tag)}** {plain(words)}",
                width="stretch",
                query_params={"tag": tag},
            )
    if len(shown) < len(rows):
        st.button(
            f"Show more of {len(rows)}",
            key=state.widget("trends more", name),
            on_click=state.more_pages,
            args=(f"trends {name}",),
            width="stretch",
        )


def _as_text(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t") else cell
