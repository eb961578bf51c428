"""What does it cost: prices of withdrawn gear by reason and year, as entered."""

from __future__ import annotations

from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.usecases.trends_ahead import spend
from inspect_core.usecases.trends_figures import figures
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> str:
    """Bars and tables by reason and year, and the items of one reason."""
    told.figures(frame, figures(frame.services, "spending", scope))
    answer = spend(frame.services, scope.whole())
    if not answer.items:
        return ""
    st.subheader("The items behind a reason")
    label = told.choose("Reason", [row.label for row in answer.spending.by_reason], "spent")
    rows = []
    for one in answer.behind(label or ""):
        price = "no price" if one.price is None else f"{one.price:,.2f}"
        words = f"{one.kind.value}, {one.site}, withdrawn {one.on.isoformat()}, {price}"
        rows.append(told.Behind(one.tag, words, one.item_id))
    told.items(frame, rows, f"spent {label}")
    return ""
