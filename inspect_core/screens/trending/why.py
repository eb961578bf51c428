"""Why is gear withdrawn: shares with their intervals, and what the items behind a bar have in common."""

from __future__ import annotations

from inspect_core.domain.gear import model_label
from inspect_core.domain.marks import Category
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.speaking import st, tongue
from inspect_core.screens.trending import told
from inspect_core.screens.trending.prevents import links_of
from inspect_core.usecases.trends_figures import QUESTIONS, SPLIT_WORDS, figures
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import TRAITS, Why, why


def show(frame: Frame, scope: Scope) -> str:
    """Bars and table by what was found, kind, site, model or period; then the items of one bar."""
    by = told.split("Split by", QUESTIONS["why"].splits(scope), dict(SPLIT_WORDS), "why")
    told.figures(frame, figures(frame.services, "why", scope, by=by))
    answer = why(frame.services, scope.whole(), by=by)
    if answer.bars:
        _behind(frame, answer)
    return by


def _behind(frame: Frame, answer: Why) -> None:
    st.subheader("The items behind a bar")
    label = told.choose("Group", [bar.share.label for bar in answer.bars], f"why {answer.reasons.by}")
    if label is None:
        return
    shared = answer.common(label)
    for trait in shared:
        st.markdown(f"**{plain(trait.in_words)}**")
    if shared:
        chances = ", ".join(f"{_chance(trait.chance)} ({trait.trait})" for trait in shared)
        st.caption(
            f"Picked at random, so many items or more would share it with probability {chances}. {len(TRAITS)} traits "
            "were looked at for every bar, so small ones turn up by chance: a place to start looking, not a cause."
        )
    if label in {category.value for category in Category}:
        links_of(Category(label))
    rows = []
    for one in answer.reasons.behind(label):
        life = answer.lives.get(one.item_id)
        made = f"{one.kind.value} {model_label(one.maker, one.model)}".strip()
        parts = [
            made,
            one.site,
            f"withdrawn {one.on.isoformat()}",
            f"“{tongue().written(life.note)}”" if life and life.note else "",
        ]
        rows.append(told.Behind(one.tag, ", ".join(filter(None, parts)), one.item_id))
    told.items(frame, rows, f"why {label}")


def _chance(chance: float) -> str:
    return "below 0.001" if chance < 0.001 else f"{chance:.3f}"
