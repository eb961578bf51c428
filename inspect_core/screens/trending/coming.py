"""What is coming: items by the month in which they reach an age limit, a due date or the damage limit."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from inspect_core.reports import wording
from inspect_core.screens.frame import Frame
from inspect_core.screens.trending import charts, told
from inspect_core.trends.coming import Limit
from inspect_core.usecases.trends_ahead import outlook
from inspect_core.usecases.trends_scope import Scope

_PAST = "past already"


def show(frame: Frame, scope: Scope) -> None:
    """Bars and table by month, what is not known, and the items of one month."""
    answer = outlook(frame.services, scope)
    told.sentence(answer.in_words)
    if not answer.items:
        return
    months = {_PAST: answer.coming.past, **{month.month: month for month in answer.coming.months}}
    drawn = pd.DataFrame(
        [
            (label, limit.value, month.count(limit), order)
            for label, month in months.items()
            for order, limit in enumerate(Limit)
        ],
        columns=["label", "part", "value", "order"],
    )
    table = pd.DataFrame(
        {
            "Month": list(months),
            **{limit.value.capitalize(): [m.count(limit) for m in months.values()] for limit in Limit},
        }
    ).set_index("Month")
    words = "Items by the month in which they reach a limit. " + "; ".join(
        f"{label}: {month.items}" for label, month in months.items() if month.items
    )
    chart = charts.stacked(drawn, "Items reaching a limit", [limit.value for limit in Limit])
    told.chart_and_table(chart, words, table, "coming", frame.today.isoformat())
    unknown = "; ".join(f"{limit}: {many}" for limit, many in answer.coming.unknown)
    later = "; ".join(f"{limit}: {many}" for limit, many in answer.coming.later)
    told.source(
        f"{wording.count(answer.items, 'item')} in service or on hold, {scope.gear}. Not known, which is "
        f"not safe: {unknown}. After these months: {later}",
        f"{answer.coming.months[0].month} to {answer.coming.months[-1].month}",
        "age limit: the maker's, counted from the day of making; due: the next detailed inspection; damage limit: the "
        "earlier end of a trend through three or more measured looks, which promises nothing about the next fall.",
        "dates as entered; the damage limit by Theil's slope with Sen's interval (1968), through scipy.",
    )
    st.subheader("The items behind a month")
    label = told.choose("Month", [label for label, month in months.items() if month.items], "coming")
    if label is None:
        st.markdown("No item reaches a limit in these months.")
        return
    rows = [
        (item.tag, f"{item.kind.value}, {item.site}: {limit} {on.isoformat()}")
        for limit, reaching in months[label].reaching
        for on, item in reaching
    ]
    told.items(frame, rows, f"coming {label}")
