"""Where does damage happen: the kind's outline drawing, components shaded by marks per 100 inspections."""

from __future__ import annotations

import base64
from html import escape

import pandas as pd
import streamlit as st

from inspect_core.domain.gear import Component, Kind
from inspect_core.screens import state
from inspect_core.screens.frame import Frame
from inspect_core.screens.trending import told
from inspect_core.usecases import trends_where
from inspect_core.usecases.trends_scope import Scope


def show(frame: Frame, scope: Scope) -> None:
    """One kind at a time: drawing, table, and the items of one component."""
    kinds = [kind.value for kind in Kind]
    chosen = st.selectbox(
        "Kind of gear",
        [scope.kind.value] if scope.kind else kinds,
        key=state.widget("trends", "where kind", scope.kind or "every"),
    )
    answer = trends_where.where(frame.services, scope, Kind(chosen))
    told.sentence(answer.in_words)
    left, right = st.columns([3, 2], gap="large")
    words = "; ".join(damage.in_words for damage in answer.damages)
    with left:
        data = base64.b64encode(answer.drawing.encode()).decode()
        st.html(
            f'<img src="data:image/svg+xml;base64,{data}" style="width:100%;max-width:560px" '
            f'alt="{escape(f"Where damage happens on a {chosen}: {words}")}">'
        )
        st.download_button(
            "This drawing (SVG)",
            answer.drawing,
            file_name=f"damage-{chosen.replace(' ', '-')}-{frame.today.isoformat()}.svg",
            mime="image/svg+xml",
            key=state.widget("trends drawing"),
            on_click="ignore",
            icon=":material/download:",
            width="stretch",
        )
    with right:
        table = pd.DataFrame(
            {
                "Component": [damage.component.value for damage in answer.damages],
                "Marks": [f"{damage.marks} on {damage.items}" for damage in answer.damages],
                "Seen": [damage.looked_at for damage in answer.damages],
                "Per 100": [
                    "too few"
                    if damage.per_100 is None
                    else f"{damage.per_100:.1f} ({damage.low:.1f} to {damage.high:.1f})"
                    for damage in answer.damages
                ],
            }
        ).set_index("Component")
        st.table(table)
        told.csv(table, f"damage-{chosen.replace(' ', '-')}", frame.today.isoformat())
    away = f"; {answer.elsewhere} marks on parts that a {chosen} lacks are left out" if answer.elsewhere else ""
    told.source(
        f"{answer.marks} marks, {scope.site or 'every site'}{away}",
        scope.period(frame.today),
        "marks per 100 inspections in which that component was seen, with 95 % interval; “14 on 11” is 14 marks on 11 "
        "items. It says which component, not where on it.",
        "exact Poisson interval (Garwood 1936); several marks of one inspection make it too narrow.",
    )
    st.subheader("The items behind a component")
    marked = sorted((damage for damage in answer.damages if damage.marks), key=lambda damage: -damage.marks)
    parts = [damage.component.value for damage in marked]
    label = told.choose("Component", parts, f"where {chosen}")
    if label is None:
        st.markdown("No marks in this period.")
        return
    found = trends_where.marks_behind(frame.services, scope, Kind(chosen), Component(label))
    rows = [(mark.tag, f"{mark.category.value}, marked {mark.on.isoformat()}") for mark in found]
    told.items(frame, rows, f"where {chosen} {label}")
