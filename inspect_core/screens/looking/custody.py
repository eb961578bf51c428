"""Where the item stood over time: a ribbon with words and patterns, and every move with who made it and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType

from inspect_core.domain.custody import State
from inspect_core.domain.gear import Item
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, own, plain
from inspect_core.screens.looking.entries import MOVE_WORDS
from inspect_core.screens.speaking import st, tongue
from inspect_core.usecases import kits, life
from inspect_core.usecases.life import Span

#: Moves listed at once.
_ROWS = 20
#: From light to dark, so that the ribbon reads without colour too; the word stands in the ribbon's own line as well.
_SHADES: Mapping[State, str] = MappingProxyType(
    {
        State.IN_SERVICE: "#8FC7A4",
        State.ON_HOLD: "#E69F00",
        State.WITHDRAWN: "#A3312C",
        State.DESTROYED: "#3F4C51",
    }
)


def show(frame: Frame, item: Item) -> None:
    """The ribbon, then the moves, newest first, then whom it was worn by."""
    spans = life.custody(item.id, frame.services)
    if not spans:
        st.markdown("No move is on record.")
        return
    _ribbon(frame, item, spans)
    stood = (
        f"{one.value} {wording.count(days, 'day')}"
        for one in State
        if (days := life.days_in(spans, one, frame.today)) or one is spans[-1].state
    )
    st.markdown(f"It stood {plain(', '.join(stood))}.")
    name = f"moves {item.id}"
    shown = list(reversed(spans))[: _ROWS * state.page_number(name)]
    for span in shown:
        until = f"{span.until:%Y-%m-%d}" if span.until else "today"
        st.markdown(
            f"**{span.since:%Y-%m-%d} to {until}: {plain(span.state.value)}.** "
            f"{MOVE_WORDS[span.move]} by {own(span.by)}: {plain(tongue().mixed(span.reason))}"
        )
    if len(shown) < len(spans):
        st.button(
            f"Show {min(_ROWS, len(spans) - len(shown))} more",
            key=state.widget("history", "more moves"),
            on_click=state.more_pages,
            args=(name,),
            width="stretch",
        )
    _worn(frame, item)


def _ribbon(frame: Frame, item: Item, spans: Sequence[Span]) -> None:
    # Loaded here: only this view draws it.
    import altair as alt
    import pandas as pd

    from inspect_core.reports.trend_charts import inked

    now = frame.services.clock.now()
    rows = [
        {
            "from": _naive(span.since),
            "to": _naive(span.until or now),
            "state": span.state.value,
            "days": f"{span.since:%Y-%m-%d} to {f'{span.until:%Y-%m-%d}' if span.until else 'today'}",
            "by": span.by,
            "why": span.reason[:120],
        }
        for span in spans
    ]
    names = [one.value for one in State if any(span.state is one for span in spans)]
    axis = alt.Axis(format="%Y-%m", labelFontSize=13, tickCount=4, labelAngle=0, title=None)
    chart = (
        alt.Chart(pd.DataFrame(rows))
        # Outlined in their own shade, so that a hold of some days stays to be seen in a life of years.
        .mark_bar(strokeWidth=3, height=26)
        .encode(
            x=alt.X("from:T", axis=axis),
            x2="to:T",
            # One line for each state: where a bar stands says the same as its shade.
            y=alt.Y("state:N", sort=names, scale=alt.Scale(domain=names), title=None, axis=alt.Axis(labelFontSize=14)),
            color=alt.Color(
                "state:N",
                scale=alt.Scale(domain=names, range=[_SHADES[State(name)] for name in names]),
                legend=None,
            ),
            stroke=alt.Stroke(
                "state:N",
                scale=alt.Scale(domain=names, range=[_SHADES[State(name)] for name in names]),
                legend=None,
            ),
            tooltip=["state:N", "days:N", "by:N", "why:N"],
        )
        .properties(height=46 * len(names) + 40)
    )
    st.altair_chart(
        inked(chart, dark=st.context.theme.type == "dark"),
        width="stretch",
        alt=f"Where {item.tag} stood over time, in {len(spans)} stretches; the list below says the same in words.",
    )


def _naive(at: datetime) -> datetime:
    # Drawn as it was on site: the browser would move a time with a zone to its own.
    return at.replace(tzinfo=None)


def _worn(frame: Frame, item: Item) -> None:
    worn = kits.worn_by(item.id, frame.services)
    if not worn:
        return
    st.markdown("#### Kits and who wore it")
    for one in worn[:_ROWS]:
        who = f", with {own(one.person)}" if one.person else ""
        st.markdown(f"**{one.event.at:%Y-%m-%d}** {plain(one.event.move.value)}: {own(one.kit_name)}{who}")
