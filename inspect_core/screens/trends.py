"""Trends: a question written as a sentence, and its answer with counts, intervals and the items behind it."""

from __future__ import annotations

from inspect_core.screens.frame import Frame


def show(frame: Frame) -> None:
    """The page. Charts are loaded here, not with the program: nobody else needs them."""
    from inspect_core.screens.trending import page

    page.show(frame)
