"""Why gear was withdrawn: shares with their intervals, the counts beside them, and the items behind every bar."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import altair as alt
import pandas as pd
import streamlit as st

from inspect_core.domain.gear import Kind
from inspect_core.domain.record import Retirement
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import papers
from inspect_core.trends.reasons import SPLITS
from inspect_core.usecases.review import sites
from inspect_core.usecases.trends import Reasons, retirement_reasons

_PERIODS = {"Everything": None, "Last 12 months": 365, "Last 3 years": 3 * 365}
_SPLIT_WORDS = {"category": "What was found", "kind": "Kind of gear", "site": "Site", "model": "Model"}
#: Below this the page says that the numbers are small: common practice, no source.
_FEW = 10
_BAR = "#2A8194"


def show(frame: Frame) -> None:
    """One question, its answer as bars and as a table, and the way to the items."""
    st.title("Why gear was withdrawn")
    reasons, scope = _ask(frame)
    since = reasons.since.isoformat() if reasons.since else "the first record"
    st.markdown(
        f"**{wording.count(len(reasons.items), 'item')} withdrawn** from {since} to {reasons.until.isoformat()}."
    )
    if not reasons.items:
        st.markdown("No gear was withdrawn in this period, so there is nothing to compare.")
        return
    if len(reasons.items) < _FEW:
        st.warning(
            f"**{wording.count(len(reasons.items), 'item')} is a small number.** The intervals are wide: read them "
            "before the bars, and do not compare bars whose intervals overlap.",
            icon=":material/warning:",
        )
    chart, table = st.columns([3, 2], gap="large")
    frame_ = _table(reasons)
    with chart:
        st.altair_chart(_bars(frame_), width="stretch", alt=_told(reasons))
        st.caption(
            "Bar: share of the withdrawn items. Line: 95 % interval of that share (Wilson score interval). One item "
            "may be withdrawn for several reasons, so shares may add up to more than 100 %."
            if reasons.by == "category"
            else "Bar: share of the withdrawn items. Line: 95 % interval of that share (Wilson score interval)."
        )
    with table:
        st.table(frame_[["Group", "Items", "Share", "95 % interval"]].set_index("Group"))
        papers.trends(frame, reasons, scope)
    st.caption(
        "Only withdrawn gear is counted here. How long gear lasts, and how often it is withdrawn, cannot be read "
        "from it."
    )
    _behind(frame, reasons)


def _ask(frame: Frame) -> tuple[Reasons, str]:
    by = st.segmented_control(
        "Split by",
        list(SPLITS),
        default="category",
        format_func=lambda name: _SPLIT_WORDS.get(name, name),
        key=state.widget("trends", "by"),
        required=True,
    )
    one, two, three = st.columns(3)
    period = one.selectbox("Period", list(_PERIODS), key=state.widget("trends", "period"))
    kind = two.selectbox(
        "Kind", [k.value for k in Kind], index=None, placeholder="Every kind", key=state.widget("trends", "kind")
    )
    site = three.selectbox(
        "Site", sites(frame.services), index=None, placeholder="Every site", key=state.widget("trends", "site")
    )
    days = _PERIODS[period]
    scope = f"{site or 'every site'}, {kind or 'every kind'}"
    reasons = retirement_reasons(
        frame.services,
        by=by or "category",
        since=frame.today - timedelta(days=days) if days else None,
        kind=Kind(kind) if kind else None,
        site=site,
    )
    return reasons, scope


def _table(reasons: Reasons) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "Group": [share.label for share in reasons.shares],
            "Items": [f"{share.count} of {share.total}" for share in reasons.shares],
            "Share": [f"{share.share:.0%}" for share in reasons.shares],
            "95 % interval": [f"{share.low:.0%} to {share.high:.0%}" for share in reasons.shares],
            "share": [share.share for share in reasons.shares],
            "low": [share.low for share in reasons.shares],
            "high": [share.high for share in reasons.shares],
        }
    )


def _bars(table: pd.DataFrame) -> alt.LayerChart:
    order = list(table["Group"])
    groups = alt.Y("Group:N", sort=order, title=None, axis=alt.Axis(labelLimit=220, labelFontSize=14))
    shares = alt.X(
        "share:Q",
        title="Share of withdrawn items",
        axis=alt.Axis(format="%", labelFontSize=13),
        scale=alt.Scale(domain=[0, 1]),
    )
    base = alt.Chart(table)
    bars = base.mark_bar(color=_BAR, height=18).encode(
        y=groups, x=shares, tooltip=["Group", "Items", "Share", "95 % interval"]
    )
    lines = base.mark_rule(color="#E69F00", strokeWidth=3).encode(y=groups, x="low:Q", x2="high:Q")
    return (bars + lines).properties(height=max(140, 38 * len(order)))


def _told(reasons: Reasons) -> str:
    parts = (
        f"{s.label} {s.count} of {s.total}, {s.share:.0%}, interval {s.low:.0%} to {s.high:.0%}" for s in reasons.shares
    )
    return "Shares of withdrawn items. " + "; ".join(parts)


def _behind(frame: Frame, reasons: Reasons) -> None:
    st.subheader("The items behind a bar")
    labels = [share.label for share in reasons.shares]
    label = st.selectbox("Group", labels, key=state.widget("trends", "behind", reasons.by))
    found = reasons.behind(label)
    shown = found[: 10 * state.page_number(f"trends {label}")]
    with st.container(key="rows behind"):
        _lines(frame, shown)
    if len(shown) < len(found):
        st.button(
            f"Show more of {len(found)}",
            key=state.widget("trends", "more"),
            on_click=state.more_pages,
            args=(f"trends {label}",),
            width="stretch",
        )


def _lines(frame: Frame, shown: Sequence[Retirement]) -> None:
    for one in shown:
        made = " ".join(filter(None, (one.kind.value, one.maker, one.model)))
        site = f", {one.site}" if one.site else ""
        st.page_link(
            frame.pages["item"],
            label=f"**{plain(one.tag)}** {plain(made + site)}, withdrawn {one.on.isoformat()}",
            width="stretch",
            query_params={"tag": one.tag},
        )
