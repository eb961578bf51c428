"""What prevents it: reasons found, with likely causes and measures, and whether a change helped."""

from __future__ import annotations

from inspect_core.domain.marks import Category
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.trends.prevention import LINKS
from inspect_core.usecases.trends_figures import figures
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import prevention, why


def show(frame: Frame, scope: Scope) -> str:
    """A line per reason and likely cause, rates before and after a day, and the items of one reason."""
    told.figures(frame, figures(frame.services, "prevent", scope))
    if scope.change is None:
        st.subheader("Did a change help?")
        st.markdown(
            "Enter the day of the change under “Which gear and which period”, to see how often damage was found before "
            "and after."
        )
    answer = prevention(frame.services, scope.whole())
    if not answer.lines:
        return ""
    st.subheader("The items behind a reason")
    label = told.choose("Reason", [share.label for share, _ in answer.lines], "prevent")
    if label is None:
        return ""
    links_of(Category(label))
    found = why(frame.services, scope.whole()).reasons.behind(label)
    rows = [
        told.Behind(one.tag, f"{one.kind.value}, {one.site}, withdrawn {one.on.isoformat()}", one.item_id)
        for one in found
    ]
    told.items(frame, rows, f"prevent {label}")
    return ""


def links_of(category: Category) -> None:
    """Likely causes of one reason and what prevents them."""
    lines = "\n".join(
        f"- Look for: {plain(link.cause)}. Against it: {plain(link.measure)}." for link in LINKS[category]
    )
    st.markdown(lines)
    st.caption("Likely causes and measures: common practice, no source.")
