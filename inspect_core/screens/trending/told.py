"""What every answer is made of: figures with their chart beside the table, ways to take them away, and the items."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import pandas as pd

from inspect_core.reports.figure import Figure, Table, as_png, as_svg
from inspect_core.reports.trend_charts import inked
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import pictures
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases.trends import item_photos

_AT_A_TIME = 10
#: Tables longer than this stand folded below their first lines.
_LINES = 15


@dataclass(frozen=True, slots=True)
class Behind:
    """One line behind a figure: an item, or one photo of it where `photo_id` says which."""

    tag: str
    words: str
    item_id: str = ""
    photo_id: str = ""


def sentence(text: str) -> None:
    """The answer in one sentence."""
    st.markdown(f"**{plain(text)}**")


def figures(frame: Frame, shown: Sequence[Figure]) -> None:
    """Figures below each other; the first stands under the question itself and needs no title."""
    for place, figure in enumerate(shown):
        if place:
            st.subheader(figure.title)
        _figure(frame, figure)


def _figure(frame: Frame, figure: Figure) -> None:
    sentence(figure.says)
    if not figure.drawn:
        _table(figure.table)
        _take_away(figure, frame.today.isoformat())
    else:
        left, right = st.columns([3, 2], gap="large")
        with left:
            _picture(figure)
        with right:
            _table(figure.table)
            _take_away(figure, frame.today.isoformat())
    for note in figure.notes:
        st.markdown(plain(note))
    if figure.few:
        st.caption(f"**Too few to draw:** {plain(figure.few)}")
    st.caption(
        f"**Counted:** {plain(figure.counted)}. **Period:** {plain(figure.period)}. **Means:** {plain(figure.means)} "
        f"**Method:** {plain(figure.method)}"
    )


def _picture(figure: Figure) -> None:
    if figure.drawing:
        st.image(figure.drawing, width=560, alt=figure.words)
        return
    chart = inked(figure.chart, dark=st.context.theme.type == "dark")
    st.altair_chart(chart, width="stretch", alt=figure.words)


def _table(table: Table) -> None:
    if not table.rows:
        return
    whole = pd.DataFrame(list(table.rows), columns=list(table.head)).set_index(table.head[0])
    st.table(whole.head(_LINES))
    if len(whole) > _LINES:
        with st.expander(f"All {len(whole)} lines"):
            st.table(whole)


def _take_away(figure: Figure, today: str) -> None:
    """Chart and figures as files, each made when its button is pressed."""
    if not (figure.drawn or figure.table.rows):
        return
    st.caption("Take away the chart and its figures" if figure.drawn else "Take away these figures")
    with st.container(horizontal=True, gap="small", wrap=False, key=f"take away {figure.name}"):
        if figure.drawn:
            _download("PNG", partial(as_png, figure, language=tongue()), f"{figure.name}-{today}.png", "image/png")
            _download("SVG", partial(as_svg, figure, language=tongue()), f"{figure.name}-{today}.svg", "image/svg+xml")
        if figure.table.rows:
            _download("CSV", figure.table.csv, f"{figure.name}-{today}.csv", "text/csv")


def _download(words: str, made: Callable[[], bytes], file: str, mime: str) -> None:
    st.download_button(
        words,
        made,
        file_name=file,
        mime=mime,
        key=state.widget("trend file", file),
        on_click="ignore",
        width="stretch",
    )


def split(words: str, names: Sequence[str], labels: dict[str, str], key: str) -> str:
    """One of the ways to split an answer, the first unless the address or a person says another."""
    asked = state.query("by") or ""
    first = asked if asked in names else names[0]
    widget = state.begin_with(state.widget("trends by", key), first)
    chosen = st.segmented_control(
        words, list(names), format_func=lambda name: labels.get(str(name), str(name)), key=widget, required=True
    )
    return str(chosen) if chosen in names else names[0]


def choose(words: str, labels: Sequence[str], key: str) -> str | None:
    """Which group's items to see: one tap, the first chosen already."""
    if not labels:
        return None
    with st.container(key=f"groups {re.sub('[^a-z]', ' ', key)}"):
        picked = st.pills(words, labels, default=labels[0], required=True, key=state.widget("trends behind", key))
    return str(picked) if picked in labels else labels[0]


def items(frame: Frame, rows: Sequence[Behind], name: str) -> None:
    """Links to items with a small photo each, some at a time."""
    if not rows:
        st.markdown("No item.")
        return
    shown = rows[: _AT_A_TIME * state.page_number(f"trends {name}")]
    photos = item_photos(frame.services, [row.item_id for row in shown if row.item_id])
    for place, row in enumerate(shown):
        photo = row.photo_id or photos.get(row.item_id, "")
        with st.container(horizontal=True, vertical_alignment="center", wrap=False, key=f"row behind {place}"):
            if photo:
                pictures.thumb(frame.services, photo, f"Photo of {row.tag}")
            st.page_link(
                frame.pages["item"],
                label=f"**{plain(row.tag)}** {plain(row.words)}",
                width="stretch",
                query_params={"tag": row.tag},
            )
    if len(shown) < len(rows):
        st.button(
            f"Show more of {len(rows)}",
            key=state.widget("trends more", name),
            on_click=state.more_pages,
            args=(f"trends {name}",),
            width="stretch",
        )
