"""The joints of a kit: each hook, what it is clipped to, how its gate behaves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inspect_core.screens.rigging import fields
from inspect_core.screens.rigging.bench import Bench, Body
from inspect_core.screens.rigging.fields import Ask
from inspect_core.screens.speaking import st

_JOINED = {
    "A ring, an eye or an anchor": "ring",
    "Another hook": "another hook",
    "Straight on webbing": "webbing",
    "Bare rope, no thimble": "rope without thimble",
    "A beam or structure": "structure",
}
_GATES = {
    "Closes and locks by itself": "self-closing and self-locking",
    "Only closes by itself": "self-closing only",
    "Screw gate": "screw gate",
    "No gate": "no gate",
}
_ASKS = (
    Ask("joined_to", "It is clipped to", "word", words=_JOINED),
    Ask("gate", "Its gate", "word", words=_GATES),
    Ask("alone_in_ring", "Alone in that ring", "flag"),
    Ask("throat", "Opening of the gate", "small"),
    Ask("bar", "Thickness of what it holds", "small"),
)
MOST = 12


def show(bench: Bench, names: Sequence[str]) -> None:
    """A box per joint; without any the answer is to ask."""
    for number in range(bench.body["joints"]):
        _joint(bench, number, names)
    if bench.body["joints"] < MOST:
        st.button(
            "Add a hook",
            key=bench.key("add joint"),
            on_click=bench.kept(lambda body: body.__setitem__("joints", body["joints"] + 1)),
            icon=":material/add:",
            width="stretch",
        )


def _joint(bench: Bench, number: int, names: Sequence[str]) -> None:
    of = f"joint {number} "
    with st.container(border=True):
        _name(bench, of + "hook", "The hook of", [name.removesuffix(", back ring") for name in names])
        _name(bench, of + "to", "holds", names)
        fields.draw(bench, _ASKS, of=of)
        if number == bench.body["joints"] - 1:
            st.button(
                "Take this hook out",
                key=bench.key("drop", of),
                on_click=bench.kept(lambda body: _drop(body, of)),
                type="tertiary",
            )


def _name(bench: Bench, name: str, label: str, names: Sequence[str]) -> None:
    """One of the kit's parts, or words of one's own for what has no tag, such as a fixed anchor."""
    key = bench.key("field", name)
    known = bench.values.get(name)
    fields.seed(key, known)
    options = list(names) + ([known] if known and known not in names else [])
    st.selectbox(
        label,
        options,
        index=None,
        key=key,
        placeholder="Pick or type",
        accept_new_options=True,
        on_change=lambda: bench.put(name, (st.session_state[key] or "")[:80].strip()),
    )


def _drop(body: Body, of: str) -> None:
    body["joints"] -= 1
    body["values"] = {name: value for name, value in body["values"].items() if not name.startswith(of)}


def case(bench: Bench) -> list[dict[str, Any]]:
    """Every joint; a hook without words is still a hook, and asks."""
    return [
        {
            "hook": bench.values.get(f"joint {n} hook", f"hook {n + 1}"),
            "to": bench.values.get(f"joint {n} to", "something not named"),
            **fields.given(bench, _ASKS, of=f"joint {n} "),
        }
        for n in range(bench.body["joints"])
    ]
