"""Why is gear withdrawn: shares with their intervals, and what the items behind a bar have in common."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from inspect_core.domain.marks import Category
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import papers
from inspect_core.screens.trending import charts, told
from inspect_core.screens.trending.prevents import links_of
from inspect_core.trends.reasons import SPLITS
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import TRAITS, Why, why

_SPLIT_WORDS = {"category": "What was found", "kind": "Kind of gear", "site": "Site", "model": "Model"}
#: Below this the page says that the numbers are small: common practice, no source.
_FEW = 10


def show(frame: Frame, scope: Scope) -> None:
    """Bars and table by what was found, kind, site or model; then the items of one bar."""
    by = st.segmented_control(
        "Split by",
        list(SPLITS),
        default="category",
        format_func=lambda name: _SPLIT_WORDS.get(name, name),
        key=state.widget("trends", "by"),
        required=True,
    )
    answer = why(frame.services, scope, by=by or "category")
    many, period = len(answer.reasons.items), scope.period(frame.today)
    told.sentence(answer.in_words)
    st.markdown(f"{wording.count(many, 'item')} withdrawn from {period}, of {len(answer.lives)} on record.")
    if not many:
        return
    if many < _FEW:
        st.warning(
            f"**{wording.count(many, 'item')} is a small number.** The intervals are wide: read them before the bars, "
            "and do not compare bars whose intervals overlap.",
            icon=":material/warning:",
        )
    drawn = pd.DataFrame(
        {
            "label": [bar.share.label for bar in answer.bars],
            "items": [f"{bar.share.count} of {bar.share.total}" for bar in answer.bars],
            "value": [bar.share.share for bar in answer.bars],
            "low": [bar.share.low for bar in answer.bars],
            "high": [bar.share.high for bar in answer.bars],
        }
    )
    chart = charts.ranked(drawn, "Share of withdrawn items", share=True)
    told.chart_and_table(chart, _words(answer), _table(answer), f"withdrawals-by-{answer.reasons.by}", _day(frame))
    several = " One item may have several reasons; “together” counts each item once." if by == "category" else ""
    told.source(
        f"{wording.count(many, 'withdrawal')}, {scope.gear}",
        period,
        f"bar: share of withdrawn items; line: its 95 % interval.{several} How long gear lasts cannot be read from it.",
        "Wilson's score interval (Wilson 1927; Newcombe 1998).",
    )
    papers.trends(frame, answer.reasons, scope.gear)
    _behind(frame, answer)


def _table(answer: Why) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "Group": [bar.share.label for bar in answer.bars],
            "Items": [f"{bar.share.count} of {bar.share.total}" for bar in answer.bars],
            "95 % interval": [f"{bar.share.low:.0%} to {bar.share.high:.0%}" for bar in answer.bars],
            "Together": [f"{bar.together:.0%}" for bar in answer.bars],
        }
    ).set_index("Group")


def _words(answer: Why) -> str:
    parts = (
        f"{bar.share.label} {bar.share.count} of {bar.share.total}, {bar.share.share:.0%}, interval "
        f"{bar.share.low:.0%} to {bar.share.high:.0%}"
        for bar in answer.bars
    )
    return "Shares of withdrawn items. " + "; ".join(parts)


def _behind(frame: Frame, answer: Why) -> None:
    st.subheader("The items behind a bar")
    label = told.choose("Group", [bar.share.label for bar in answer.bars], f"why {answer.reasons.by}")
    if label is None:
        return
    found = answer.reasons.behind(label)
    shared = answer.common(label)
    for trait in shared:
        st.markdown(f"**{plain(trait.in_words)}**")
    if shared:
        st.caption(
            "Picked at random, so many items or more would share it with probability "
            + ", ".join(f"{_chance(trait.chance)} ({trait.trait})" for trait in shared)
            + f". {len(TRAITS)} traits were looked at for every bar, so small ones turn up by chance: a place to start "
            "looking, not a cause."
        )
    if label in {category.value for category in Category}:
        links_of(Category(label))
    rows = []
    for one in found:
        life = answer.lives.get(one.item_id)
        made = " ".join(filter(None, (one.kind.value, one.maker, one.model)))
        parts = [made, one.site, f"withdrawn {one.on.isoformat()}", f"“{life.note}”" if life and life.note else ""]
        rows.append((one.tag, ", ".join(filter(None, parts))))
    told.items(frame, rows, f"why {label}")


def _chance(chance: float) -> str:
    return "below 0.001" if chance < 0.001 else f"{chance:.3f}"


def _day(frame: Frame) -> str:
    return frame.today.isoformat()
