"""What is coming: items by the month in which they reach an age limit, a due date or the damage limit."""

from __future__ import annotations

from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.usecases.trends_ahead import outlook
from inspect_core.usecases.trends_figures import figures
from inspect_core.usecases.trends_figures.ahead import months_of
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> str:
    """Bars and table by month, what is not known, and the items of one month."""
    told.figures(frame, figures(frame.services, "coming", scope))
    months = months_of(outlook(frame.services, scope))
    st.subheader("The items behind a month")
    label = told.choose("Month", [label for label, month in months.items() if month.items], "coming")
    if label is None:
        st.markdown("No item reaches a limit in these months.")
        return ""
    rows = [
        told.Behind(item.tag, f"{item.kind.value}, {item.site}: {limit} {on.isoformat()}", item.item_id)
        for limit, reaching in months[label].reaching
        for on, item in reaching
    ]
    told.items(frame, rows, f"coming {label}")
    return ""
