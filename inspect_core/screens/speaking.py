"""Streamlit as the screens use it: the same names, and every text told in the language of the session on its way out.

`from inspect_core.screens.speaking import st` instead of `import streamlit as st`. Options, keys and values stay as
the code wrote them; only what is shown is told. A container's own methods are Streamlit's: write `with left:` and call
`st` inside.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from typing import TYPE_CHECKING, Any, cast

import streamlit as _streamlit
from streamlit.runtime.scriptrunner import get_script_run_ctx

from inspect_core.languages import ENGLISH, OFFERED, Language, language

__all__ = ["choose", "inside", "is_new", "st", "tongue"]

_CHOSEN = "language"
_FOR = "language of"

#: What a function's first argument is: a text, a table, markup or a chart.
_TEXT_FIRST = {
    *("title", "header", "subheader", "caption", "markdown", "write", "info", "warning", "error", "success", "button"),
    *("selectbox", "text_input", "text_area", "checkbox", "toggle", "radio", "expander", "popover", "download_button"),
    *("form_submit_button", "file_uploader", "date_input", "number_input", "slider", "segmented_control", "pills"),
    *("metric", "multiselect", "select_slider", "spinner", "toast", "status", "camera_input", "time_input", "badge"),
    *("text", "column", "tabs"),
}
_OPTIONS = {"selectbox", "segmented_control", "pills", "radio", "multiselect", "select_slider"}
_TABLES = {"dataframe", "table", "data_editor"}
_CHARTS = {"altair_chart"}
_TEXT_ARGUMENTS = {"help", "alt", "placeholder", "captions", "caption", "label", "title", "text", "delta", "page_title"}
#: How a day is typed, where that is not the ISO way.
_DAYS = {"fr": "DD/MM/YYYY", "es": "DD/MM/YYYY"}

#: What `tongue` said last in this run of the script, in its thread: a page asks hundreds of times.
_heard = threading.local()


def tongue() -> Language:
    """The language of this session: as chosen, else as the address says, else as the browser asks for."""
    context = get_script_run_ctx()
    if context is not None and getattr(_heard, "context", None) is context:
        return cast("Language", _heard.language)
    found = _of_session()
    _heard.context, _heard.language = context, found
    return found


def _of_session() -> Language:
    chosen = _streamlit.session_state.get(_CHOSEN)
    if isinstance(chosen, str):
        return language(chosen)
    asked = _streamlit.query_params.get("language") or _of_browser()
    found = language(asked)
    _streamlit.session_state[_CHOSEN] = found.code
    return found


def choose(code: str) -> None:
    """From now on this session speaks that language."""
    _streamlit.session_state[_CHOSEN] = language(code).code
    _heard.context = None


def is_new(person_id: str) -> bool:
    """Whether this person begins to work in this session; says so once."""
    before = _streamlit.session_state.get(_FOR)
    _streamlit.session_state[_FOR] = person_id
    return bool(before != person_id)


def _of_browser() -> str | None:
    """What the browser prefers; only complete languages are taken without being asked for."""
    try:
        wanted = language(_streamlit.context.locale)
    except Exception:  # outside a browser there is none, in ways that differ by version
        return None
    return wanted.code if wanted in OFFERED and wanted.complete else ENGLISH.code


class _Speaking:
    """Streamlit's module, with the functions that show text replaced by ones that tell it."""

    def __getattr__(self, name: str) -> Any:
        plain = getattr(_streamlit, name)
        if name == "column_config":
            return _ColumnConfig(plain)
        if name not in _SHOWN:
            return plain
        spoken = tongue()
        return plain if spoken.is_source else _telling(name, plain, spoken)

    def __setattr__(self, name: str, value: Any) -> None:
        setattr(_streamlit, name, value)


def inside(container: DeltaGenerator) -> DeltaGenerator:
    """A container whose own methods tell their texts as `st` does: `inside(left).selectbox(...)`."""
    spoken = tongue()
    return container if spoken.is_source else cast("DeltaGenerator", _Inside(container, spoken))


class _Inside:
    def __init__(self, container: DeltaGenerator, spoken: Language) -> None:
        self._container, self._spoken = container, spoken

    def __getattr__(self, name: str) -> Any:
        plain = getattr(self._container, name)
        return _telling(name, plain, self._spoken) if name in _SHOWN else plain


class _ColumnConfig:
    """The kinds of columns, their headings told."""

    def __init__(self, plain: Any) -> None:
        self._plain = plain

    def __getattr__(self, name: str) -> Any:
        plain = getattr(self._plain, name)
        spoken = tongue()
        return _telling("column", plain, spoken) if callable(plain) and not spoken.is_source else plain


_SHOWN = _TEXT_FIRST | _TABLES | _CHARTS | {"html", "image", "Page", "page_link", "progress", "set_page_config"}


def _telling(name: str, plain: Callable[..., Any], spoken: Language) -> Callable[..., Any]:
    @wraps(plain)
    def told(*given: Any, **named: Any) -> Any:
        arguments = list(given)
        heading = str(given[0]) if given else ""
        if arguments and name in _TEXT_FIRST:
            arguments[0] = _told(arguments[0], spoken)
        elif arguments and name in _TABLES:
            arguments[0], named = _told_table(arguments[0], named, spoken, heads=name != "data_editor")
        elif arguments and name in _CHARTS:
            arguments[0] = _told_chart(arguments[0], spoken)
        elif arguments and name == "html" and isinstance(arguments[0], str):
            arguments[0] = spoken.tell_html(arguments[0])
        if name == "metric":
            arguments[1:] = [_told(one, spoken) for one in arguments[1:]]
        for key in _TEXT_ARGUMENTS & named.keys():
            named[key] = _told(named[key], spoken)
        if name in _OPTIONS:
            shape = named.get("format_func", str)
            named["format_func"] = lambda option: spoken.cell(heading, str(shape(option)))
        if name == "date_input" and spoken.code in _DAYS:
            named.setdefault("format", _DAYS[spoken.code])
        return plain(*arguments, **named)

    return told


def _told(value: Any, spoken: Language) -> Any:
    if isinstance(value, str):
        return spoken.tell(value)
    if isinstance(value, list | tuple):
        return type(value)(_told(one, spoken) for one in value)
    return value


def _told_chart(chart: Any, spoken: Language) -> Any:
    # Loaded here: most pages show no chart.
    import altair as alt

    from inspect_core.languages.charts import told_spec

    return alt.Chart.from_dict(told_spec(chart.to_dict(), spoken))


def _told_table(data: Any, named: dict[str, Any], spoken: Language, *, heads: bool) -> tuple[Any, dict[str, Any]]:
    """A table's heads and words told; an editable one keeps its heads, which its answers come back under."""
    columns = _columns(named, spoken, heads)
    if hasattr(data, "columns") and hasattr(data, "rename"):  # a data frame
        words = _told_cells(data, spoken).rename(index=lambda head: _cell(str(data.index.name), head, spoken))
        words.index.name = _told(words.index.name, spoken)
        return (words.rename(columns=lambda head: _told(head, spoken)) if heads else words), columns
    if isinstance(data, Mapping):
        return {_told(key, spoken): _told(value, spoken) for key, value in data.items()}, columns
    if isinstance(data, Iterable) and not isinstance(data, str):
        rows = [
            {(_told(key, spoken) if heads else key): _cell(str(key), value, spoken) for key, value in row.items()}
            if isinstance(row, Mapping)
            else row
            for row in data
        ]
        return rows, columns
    return data, named


def _told_cells(frame: Any, spoken: Language) -> Any:
    """The words of a data frame told column by column; its index is a column too."""
    told = frame.copy()
    for place, head in enumerate(frame.columns):
        told.isetitem(place, [_cell(str(head), value, spoken) for value in frame.iloc[:, place]])
    return told


def _cell(head: str, value: Any, spoken: Language) -> Any:
    return spoken.cell(head, value) if isinstance(value, str) else _told(value, spoken)


def _columns(named: dict[str, Any], spoken: Language, heads: bool) -> dict[str, Any]:
    config = named.get("column_config")
    if heads and isinstance(config, Mapping):
        return named | {"column_config": {_told(key, spoken): value for key, value in config.items()}}
    return named


if TYPE_CHECKING:
    import streamlit as st
    from streamlit.delta_generator import DeltaGenerator
else:
    st = _Speaking()
