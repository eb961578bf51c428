"""What prevents it: reasons found, with likely causes and measures, and whether a change helped."""

from __future__ import annotations

from datetime import timedelta

import pandas as pd
import streamlit as st

from inspect_core.domain.marks import Category
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.trending import told
from inspect_core.trends.few import TooFew
from inspect_core.trends.prevention import LINKS
from inspect_core.usecases.trends_rates import DEFINITION, changed
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import prevention, why

#: The table stops after so many reasons, most frequent first; the others open with their items.
_SHOWN = 6


def show(frame: Frame, scope: Scope) -> None:
    """A line per reason and likely cause, the items of one reason, and rates before and after a day."""
    answer = prevention(frame.services, scope)
    told.sentence(answer.in_words)
    if answer.lines:
        table = pd.DataFrame(
            [
                (f"{share.label}, {share.count} of {share.total}", link.cause, link.measure)
                for share, links in answer.lines[:_SHOWN]
                for link in links
            ],
            columns=["Reason", "Look for", "Against it"],
        ).set_index("Reason")
        st.table(table)
        told.csv(table, "prevention", frame.today.isoformat())
        told.source(
            f"{wording.count(answer.lines[0][0].total, 'withdrawal')}, {scope.gear}",
            scope.period(frame.today),
            "likely causes of a reason, a place to start looking; never a finding about one item.",
            "common practice, no source.",
        )
        st.subheader("The items behind a reason")
        label = told.choose("Reason", [share.label for share, _ in answer.lines], "prevent")
        found = why(frame.services, scope).reasons.behind(label or "")
        rows = [(one.tag, f"{one.kind.value}, {one.site}, withdrawn {one.on.isoformat()}") for one in found]
        if label is not None:
            links_of(Category(label))
        told.items(frame, rows, f"prevent {label}")
    st.subheader("Did a change help?")
    _change(frame, scope)


def links_of(category: Category) -> None:
    """Likely causes of one reason and what prevents them."""
    lines = "\n".join(
        f"- Look for: {plain(link.cause)}. Against it: {plain(link.measure)}." for link in LINKS[category]
    )
    st.markdown(lines)
    st.caption("Likely causes and measures: common practice, no source.")


def _change(frame: Frame, scope: Scope) -> None:
    day = st.date_input(
        "Day of the change",
        value=None,
        max_value=frame.today,
        min_value=(scope.since + timedelta(days=1)) if scope.since else frame.today - timedelta(days=20 * 365),
        format="YYYY-MM-DD",
        key=state.widget("trends", "change"),
    )
    if day is None:
        st.markdown(
            "Choose the day on which something was changed, to see how often damage was found before and after."
        )
        return
    answer = changed(frame.services, scope, day)
    if isinstance(answer, TooFew):
        told.nothing(answer)
        return
    told.sentence(answer.in_words)
    told.source(
        f"{sum((answer.before[1], answer.after[1]))} inspections, {scope.gear}",
        scope.period(frame.today),
        DEFINITION,
        "ratio of two Poisson rates, exact conditional interval (Przyborowski and Wilenski 1940).",
    )
