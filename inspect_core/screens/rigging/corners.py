"""The corners of a roof in a table, with a short way for a plain rectangle."""

from __future__ import annotations

import math
from typing import Any

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.units import SYSTEMS, Dimension, from_base, to_base
from inspect_core.screens.rigging import fields
from inspect_core.screens.rigging.bench import Bench, Body
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st

_RINGS = ("roof", *(f"opening {n}" for n in range(1, 9)))
_RECTANGLE = (Ask("along", "Roof along x", "length"), Ask("across", "Roof along y", "length"))
_ANCHOR = (
    Ask("anchor x", "Anchor: x", "length", sinks=True),
    Ask("anchor y", "Anchor: y", "length", sinks=True),
)


def show(bench: Bench) -> None:
    """Rectangle, table, anchor. x runs to the right and y up, from any corner you like."""
    st.markdown("Pick one corner as the start: **x** runs to the right from it, **y** up the plan.")
    with st.expander("A plain rectangle: two lengths", expanded=not bench.body["rows"]):
        fields.draw(bench, _RECTANGLE)
        st.button("Make its four corners", key=bench.key("rectangle"), on_click=_rectangle, args=(bench,))
    if bench.body["rows"]:
        _table(bench)
        with st.expander("Add an opening: hatch, skylight, hole"):
            st.markdown("Add rows below the table with its ring set to “opening 1”, corner by corner around it.")
        fields.draw(bench, _ANCHOR)


def untouched(bench: Bench) -> bool:
    return not bench.body["rows"]


def _unit(bench: Bench) -> str:
    return SYSTEMS[bench.units][Dimension.LENGTH]


def _rectangle(bench: Bench) -> None:
    """The four corners of a rectangle, in metres as all kept rows."""
    sides = [bench.values.get(ask.name) for ask in _RECTANGLE]
    if not all(side and side["value"] > 0 for side in sides):
        return
    along, across = (fields.in_unit(side, "m", Dimension.LENGTH) for side in sides if side)
    points = ((0.0, 0.0), (along, 0.0), (along, across), (0.0, across))

    def change(body: Body) -> None:
        body["rows"] = [{"ring": "roof", "x": x, "y": y, "closed": False} for x, y in points]
        body["rows made"] = body.get("rows made", 0) + 1

    bench.keep(change)


def _table(bench: Bench) -> None:
    """The table keeps its own edits against the frame it began with, so that frame stays until it was away."""
    import pandas as pd  # takes longest to load of all that this page needs, and only roofs have a table

    unit = _unit(bench)
    key = bench.key("corners", unit, str(bench.body.get("rows made", 0)))
    start = f"{key} start"
    if key not in st.session_state or start not in st.session_state:
        st.session_state[start] = [_shown(row, unit) for row in bench.body["rows"]]
    st.caption(
        "Corners in order, walking once around. Closed: nobody can fall over the edge from this corner to the next, "
        "because there is a wall, or a guardrail with its own check."
    )
    edited = st.data_editor(
        pd.DataFrame(st.session_state[start], columns=["ring", "x", "y", "closed"]),
        key=key,
        num_rows="dynamic",
        hide_index=True,
        row_height=44,
        width="stretch",
        column_config={
            "ring": st.column_config.SelectboxColumn(
                "Ring", width=84, options=list(_RINGS), default="roof", required=True
            ),
            "x": st.column_config.NumberColumn(f"x ({unit})", width=66, format="%.4g"),
            "y": st.column_config.NumberColumn(f"y ({unit})", width=66, format="%.4g"),
            "closed": st.column_config.CheckboxColumn(
                "Closed", width=70, help="Nobody can fall over the edge from this corner to the next.", default=False
            ),
        },
    )
    rows = [_kept(row, unit) for row in edited.to_dict("records")]
    if rows != bench.body["rows"]:
        bench.keep(lambda body: body.__setitem__("rows", rows))


def _shown(row: dict[str, Any], unit: str) -> dict[str, Any]:
    def of(name: str) -> float | None:
        return None if row[name] is None else round(from_base(row[name], unit, Dimension.LENGTH), 6)

    return {**row, "x": of("x"), "y": of("y")}


def _kept(row: dict[Any, Any], unit: str) -> dict[str, Any]:
    def of(name: str) -> float | None:
        value = row[name]
        known = value is not None and not (isinstance(value, float) and math.isnan(value))
        return to_base(float(value), unit, Dimension.LENGTH) if known else None

    ring = row["ring"] if row["ring"] in _RINGS else "roof"
    return {"ring": ring, "x": of("x"), "y": of("y"), "closed": bool(row["closed"] == 1)}


def case(bench: Bench) -> dict[str, Any]:
    """Roof, openings, closed edges and anchor, each length with its unit. Raises BadInput for half a corner."""
    rings: dict[str, list[list[dict[str, Any]]]] = {}
    closed: list[tuple[str, int]] = []
    for number, row in enumerate(bench.body["rows"], start=1):
        if row["x"] is None and row["y"] is None:
            continue
        if row["x"] is None or row["y"] is None:
            raise BadInput(f"Row {number} of the corners has only one of x and y.", "Enter both, or delete the row.")
        points = rings.setdefault(row["ring"], [])
        points.append([_metres(row["x"]), _metres(row["y"])])
        if row["closed"]:
            closed.append((row["ring"], len(points)))
    openings = [name for name in _RINGS[1:] if name in rings]
    out: dict[str, Any] = {"roof": rings.get("roof", []), "openings": [rings[name] for name in openings]}
    names = {"roof": "roof", **{name: f"opening {n}" for n, name in enumerate(openings, start=1)}}
    if closed:
        out["closed_edges"] = [{"ring": names[ring], "edge": edge} for ring, edge in closed]
    anchor = fields.given(bench, _ANCHOR)
    if len(anchor) == 2:
        out["anchor"] = [anchor[ask.name] for ask in _ANCHOR]
    return out


def _metres(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "m"}
