"""How long does gear last: the share not withdrawn by age, groups beside each other, and for which reason it leaves."""

from __future__ import annotations

from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.usecases.trends_figures import QUESTIONS, SPLIT_WORDS, figures
from inspect_core.usecases.trends_life import Life, life
from inspect_core.usecases.trends_scope import Scope

_YEAR = 365.25


def show(frame: Frame, scope: Scope) -> str:
    """The curve of all, curves by group with the test between them, curves by reason, and the items of a group."""
    by = told.split("Compare by", QUESTIONS["life"].splits(scope), dict(SPLIT_WORDS), f"life {scope.change or ''}")
    told.figures(frame, figures(frame.services, "life", scope, by=by))
    _behind(frame, life(frame.services, scope, by=by))
    return by


def _behind(frame: Frame, answer: Life) -> None:
    st.subheader("The items behind a group")
    label = told.choose("Group", [group.label for group in answer.groups], f"life {answer.by}")
    if label is None:
        return
    ages = {one.item_id: one for one in answer.watched.lifetimes}
    rows = []
    for row in answer.behind(label):
        years = ages[row.item_id].left_age_days / _YEAR
        ended = f"withdrawn at {years:.1f} years" if row.left_on else f"in the record at {years:.1f} years"
        words = ", ".join(filter(None, (row.kind.value, row.site, ended)))
        rows.append(told.Behind(row.tag, words, row.item_id))
    told.items(frame, rows, f"life {label}")
