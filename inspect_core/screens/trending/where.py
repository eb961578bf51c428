"""Where does damage happen: the kind's outline drawing, components shaded by marks per 100 inspections."""

from __future__ import annotations

from inspect_core.domain.gear import Component, Kind
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.speaking import st
from inspect_core.screens.trending import told
from inspect_core.usecases import trends_where
from inspect_core.usecases.trends_figures import QUESTIONS, figures
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> str:
    """One kind at a time: drawing, table, and the items of one component."""
    kinds = QUESTIONS["where"].splits(scope)
    asked = state.query("by")
    key = state.widget("trends", "where kind", scope.kind or "every")
    state.begin_with(key, asked if asked in kinds else kinds[0])
    chosen = str(st.selectbox("Kind of gear", kinds, key=key))
    told.figures(frame, figures(frame.services, "where", scope, by=chosen))
    answer = trends_where.where(frame.services, scope.whole(), Kind(chosen))
    st.subheader("The items behind a component")
    marked = sorted((damage for damage in answer.damages if damage.marks), key=lambda damage: -damage.marks)
    label = told.choose("Component", [damage.component.value for damage in marked], f"where {chosen}")
    if label is None:
        st.markdown("No marks in this period.")
        return chosen
    found = trends_where.marks_behind(frame.services, scope.whole(), Kind(chosen), Component(label))
    rows = [
        told.Behind(mark.tag, f"{mark.category.value}, marked {mark.on.isoformat()}", mark.item_id) for mark in found
    ]
    told.items(frame, rows, f"where {chosen} {label}")
    return chosen
