"""Which part of a life is shown: by part, mark, type of inspection and year, in a fold that takes little room."""

from __future__ import annotations

from collections.abc import Callable

from streamlit.delta_generator import DeltaGenerator

from inspect_core.domain.gear import Component
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.life import LifeFigures, Wanted
from inspect_core.domain.marks import Category
from inspect_core.screens import state
from inspect_core.screens.speaking import inside, st
from inspect_core.screens.words.choices import TYPE_WORDS


def asked(item_id: str) -> Wanted:
    """What the fold asks for, as the session holds it before the fold is drawn."""

    def kept(label: str) -> str | None:
        value = st.session_state.get(_key(item_id, label))
        return value if isinstance(value, str) and value else None

    try:
        part, mark, type_, year = (kept(label) for label in ("Part", "Mark", "Inspection", "Year"))
        return Wanted(
            Component(part) if part else None,
            Category(mark) if mark else None,
            InspectionType(type_) if type_ else None,
            int(year) if year else None,
        )
    except ValueError:
        return Wanted()


def fold(item_id: str, figures: LifeFigures, *, types: bool = True) -> None:
    """The fold; it offers only what the life holds."""
    parts = list(dict.fromkeys(component.value for component, _ in figures.shown))
    marks = sorted({category.value for _, category in figures.shown})
    kinds = [one.value for one in figures.types] if types and len(figures.types) > 1 else []
    years = [str(year) for year in figures.photos_by_year] if len(figures.photos_by_year) > 1 else []
    if not (parts or kinds or years):
        return
    set_ = sum(value is not None for value in (asked(item_id).component, asked(item_id).category, asked(item_id).year))
    set_ += types and asked(item_id).type is not None
    with st.expander(f"Show only ({set_} set)" if set_ else "Show only", icon=":material/filter_list:"):
        left, right = st.columns(2)
        _one(left, "Part", parts, item_id)
        _one(right, "Mark", marks, item_id)
        _one(left, "Inspection", kinds, item_id, lambda one: TYPE_WORDS[InspectionType(one)])
        _one(right, "Year", years, item_id)


def _key(item_id: str, label: str) -> str:
    return state.widget("history", label, item_id)


def _one(
    place: DeltaGenerator, label: str, options: list[str], item_id: str, words: Callable[[str], str] = str
) -> None:
    if options:
        inside(place).selectbox(
            label,
            options,
            index=None,
            placeholder="All",
            format_func=words,
            key=_key(item_id, label),
            persist_state="session",
        )
