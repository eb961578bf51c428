"""How often is damage found: defects per 100 inspections by group, and month by month with limits."""

from __future__ import annotations

from inspect_core.domain.counted import FoundDefect, MarkRow
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.trends.few import TooFew
from inspect_core.trends.rates import Rate
from inspect_core.usecases.trends_figures import QUESTIONS, SPLIT_WORDS, figures
from inspect_core.usecases.trends_rates import MONTHS_OF, defects_behind, rates
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> str:
    """Rates with their intervals, the u-chart with its signals named, and the inspections of a group."""
    by = told.split("Split by", QUESTIONS["rates"].splits(scope), dict(SPLIT_WORDS), "rates")
    told.figures(frame, figures(frame.services, "rates", scope, by=by))
    answer = rates(frame.services, scope.whole(), by=by)
    st.subheader("The inspections behind a group")
    bad = [group for group in answer.groups if _defects(group)]
    bad.sort(key=(lambda group: group.label) if by in MONTHS_OF else _defects, reverse=True)
    label = told.choose("Group", [group.label for group in bad], f"rates {by}")
    if label is None:
        st.markdown("Nothing was found in this period.")
        return by
    found = defects_behind(frame.services, scope.whole(), by, label)
    told.items(frame, [told.Behind(one.tag, _words(one), one.item_id) for one in found], f"rates {label}")
    return by


def _defects(group: Rate | TooFew) -> int:
    return group.defects if isinstance(group, Rate) else group.events


def _words(one: FoundDefect | MarkRow) -> str:
    if isinstance(one, MarkRow):
        return f"{one.category.value} on the {one.component.value}, marked {one.on.isoformat()}"
    return f"{one.kind.value}, {one.site}, found {one.on.isoformat()}"
