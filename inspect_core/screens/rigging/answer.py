"""The answer of a set-up check: sign and word first, then the drawing, the sum, and every line with its source."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from inspect_core.reports import wording
from inspect_core.rigging.result import Answer
from inspect_core.rigging.units import show_force, show_length
from inspect_core.screens.frame import plain
from inspect_core.screens.parts import sign
from inspect_core.screens.rigging.words import ANSWERS, BASIS_WORDS
from inspect_core.screens.speaking import st

_ORDER = (Answer.NO.value, Answer.ASK.value, Answer.GO.value)
Lines = Sequence[Mapping[str, Any]]
#: As many lines in order are shown without being asked for.
FEW = 6


def banner(answer: str) -> None:
    """The answer in one glance."""
    words = ANSWERS[answer]
    sign.banner(words.sign, words.headline, words.instruction)


def mark(answer: str) -> None:
    """The sign alone, for a list whose words say the answer as well."""
    st.html(sign.chip_html(ANSWERS[answer].sign, ""), width="content")


def shown(result: Mapping[str, Any]) -> None:
    """Sum and lines, the worst first; lines in order fold away where they are many."""
    _sum(result)
    lines: Lines = result["lines"]
    for answer in _ORDER[:2]:
        for line in lines:
            if line["answer"] == answer:
                _line(line)
    fine = [line for line in lines if line["answer"] == Answer.GO.value]
    if fine:
        with st.expander(f"In order ({len(fine)})", expanded=len(fine) <= FEW):
            for line in fine:
                st.markdown(f"- **{plain(_topic(line))}.** {plain(line['reason'])}  \n  {plain(source(line))}")
    st.caption(plain(" ".join(result["cautions"])))


def key_figure(result: Mapping[str, Any]) -> None:
    """The one number that people come for, in large letters."""
    found = _key(result)
    if found is not None:
        label, value = found
        # Not st.metric, which cuts a long value short: half a length is no length.
        st.html(
            f'<div style="font-size:1rem">{escape(label)}</div>'
            f'<div style="font-size:1.6rem;font-weight:700;line-height:1.25">{escape(value)}</div>'
        )


def has_key_figure(result: Mapping[str, Any]) -> bool:
    return _key(result) is not None


def _key(result: Mapping[str, Any]) -> tuple[str, str] | None:
    numbers: Mapping[str, float | None] = result["numbers"]

    def of(name: str) -> float | None:
        return numbers.get(name)

    longest, spare, drop, needed = (
        of("longest_safe_rope_m"),
        of("spare_m"),
        of("swing_drop_m"),
        of("needed_kn"),
    )
    if longest is not None:
        return "Longest safe rope", show_length(longest) if longest > 0 else "none: move the anchor"
    if spare is not None:
        return ("Room to spare", show_length(spare)) if spare >= 0 else ("Room missing", show_length(-spare))
    if drop is not None:
        return "Extra drop", show_length(drop)
    return None if needed is None else ("Needed here", show_force(needed))


def drawings(result: Mapping[str, Any]) -> None:
    """Each drawing as a picture with its words, on white whatever the theme."""
    for drawing in result["drawings"]:
        svg = drawing.get("svg")
        if not svg:
            continue
        data = base64.b64encode(str(svg).encode()).decode()
        words = escape(f"{drawing['title']}. {drawing['words']}", quote=True)
        st.html(
            f'<img src="data:image/svg+xml;base64,{data}" alt="{words}" '
            'style="display:block;width:100%;max-width:560px;background:#FFFFFF;border-radius:6px">'
        )


def source(line: Mapping[str, Any]) -> str:
    """Where a line comes from and what that is worth."""
    parts = [f"Source: {' '.join(filter(None, (line['source'], line['section'])))}."]
    parts.append(f"Basis: {BASIS_WORDS[line['basis']]}.")
    if line["row"]:
        parts.append(f"Row {line['row']}.")
    return " ".join([*parts, *([line["caution"]] if line["caution"] else [])])


def _topic(line: Mapping[str, Any]) -> str:
    topic = str(line["topic"])
    return topic[0].upper() + topic[1:]


def _line(line: Mapping[str, Any]) -> None:
    with st.container(border=True):
        st.html(sign.chip_html(ANSWERS[line["answer"]].sign, _topic(line)))
        st.markdown(plain(line["reason"]))
        if line["remedy"]:
            st.markdown(f"**What to do:** {plain(line['remedy'])}")
        st.caption(plain(source(line)))


def _sum(result: Mapping[str, Any]) -> None:
    """The fall added up, line by line, as a table that anybody can add again."""
    if result["check"] != "clearance":
        return
    numbers = result["numbers"]
    terms: list[Mapping[str, Any]] = []
    for line in result["lines"]:
        if line["topic"] == "room below":
            break
        terms.append(line)
    rows = [_row(str(term["topic"]), term["value"]) for term in terms]
    whole = numbers.get("required_m") is not None
    rows.append(_row("needed" if whole else "needed at least", numbers["known_part_m"], strong=True))
    rows.append(_row("there is", numbers.get("available_m"), strong=True))
    st.subheader("The sum")
    st.markdown("\n".join(("| Part of the fall | Length | |", "| --- | ---: | ---: |", *rows)))


def _row(name: str, metres: float | None, *, strong: bool = False) -> str:
    """A row of the sum, metric and feet in columns of their own so that neither breaks on a phone."""
    first, _, second = ("not known", "", "") if metres is None else show_length(metres).rstrip(")").partition(" (")
    cells = [plain(cell).replace(" ", "\u00a0") if cell != name else plain(cell) for cell in (name, first, second)]
    return "| " + " | ".join(f"**{cell}**" if strong and cell else cell for cell in cells) + " |"


def count_words(result: Mapping[str, Any]) -> str:
    """How many lines say what."""
    said = [line["answer"] for line in result["lines"]]
    parts = [
        f"{said.count(answer)} {words}"
        for answer, words in zip(_ORDER, ("do not go", "to ask about", "in order"), strict=True)
        if answer in said
    ]
    return f"{wording.count(len(said), 'line')}: " + ", ".join(parts) + "."
