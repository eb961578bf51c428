"""What does it cost: prices of withdrawn gear by reason and year, as entered."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from inspect_core.reports import wording
from inspect_core.screens.frame import Frame
from inspect_core.screens.trending import charts, told
from inspect_core.trends.spending import Spent
from inspect_core.usecases.trends_ahead import spend
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> None:
    """Bars by reason, tables by reason and year, and the items of one reason."""
    answer = spend(frame.services, scope)
    told.sentence(answer.in_words)
    sums = answer.spending
    if not sums.total.items:
        return
    day = frame.today.isoformat()
    priced = [row for row in sums.by_reason if row.cost is not None]
    if priced:
        drawn = pd.DataFrame({"label": [row.label for row in priced], "value": [row.cost for row in priced]})
        words = "Cost of withdrawn gear by reason. " + " ".join(row.in_words for row in sums.by_reason)
        chart = charts.bars(drawn, "Cost, in the currency entered")
        told.chart_and_table(chart, words, _table(sums.by_reason, "Reason"), "cost-by-reason", day)
    st.subheader("By year")
    by_year = _table(sums.by_year, "Year")
    st.table(by_year)
    told.csv(by_year, "cost-by-year", day)
    told.source(
        f"{wording.count(sums.total.items, 'withdrawal')}, {sums.total.without_price} without a price, {scope.gear}",
        scope.period(frame.today),
        "price of the withdrawn item as entered; an item with several reasons counts once, under “several reasons”. A "
        "price not entered is not known, not zero. No currency is converted, no inflation.",
        "plain sums.",
    )
    st.subheader("The items behind a reason")
    label = told.choose("Reason", [row.label for row in sums.by_reason], "spent")
    rows = []
    for one in answer.behind(label or ""):
        price = "no price" if one.price is None else f"{one.price:,.2f}"
        rows.append((one.tag, f"{one.kind.value}, {one.site}, withdrawn {one.on.isoformat()}, {price}"))
    told.items(frame, rows, f"spent {label}")


def _table(rows: Sequence[Spent], name: str) -> pd.DataFrame:
    return pd.DataFrame(
        {
            name: [row.label for row in rows],
            "Cost": ["not known" if row.cost is None else f"{row.cost:,.2f}" for row in rows],
            "Withdrawn": [row.items for row in rows],
            "Without price": [row.without_price for row in rows],
        }
    ).set_index(name)
