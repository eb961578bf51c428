"""Charts in another language: titles, labels and words in the data, never what the chart is drawn by."""

from __future__ import annotations

from typing import Any

from inspect_core.languages.language import Language

_SAID = ("title", "text", "description")


def told_spec(spec: dict[str, Any], spoken: Language) -> dict[str, Any]:
    """A Vega-Lite chart with its words told. Groups keep their order: data and what sorts them change together."""
    if spoken.is_source:
        return spec
    told: dict[str, Any] = _walk(spec, spoken, ())
    return told


def _walk(value: Any, spoken: Language, path: tuple[str, ...]) -> Any:
    if isinstance(value, dict):
        return {key: _walk(one, spoken, (*path, str(key))) for key, one in value.items()}
    if isinstance(value, list):
        return [_walk(one, spoken, path) for one in value]
    if isinstance(value, str) and _is_said(path) and not value[:1].isdigit():  # days stay days
        return spoken.tell(value)
    return value


def _is_said(path: tuple[str, ...]) -> bool:
    if not path:
        return False
    # Words in the data, and the lists of the same words that sort or colour them.
    return path[-1] in _SAID or path[0] == "datasets" or "values" in path or path[-1] in ("domain", "sort")
