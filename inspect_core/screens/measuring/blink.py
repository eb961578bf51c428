"""Two pictures laid over each other and shown in turn: what has changed moves, what has not stands still."""

from __future__ import annotations

from importlib.resources import files

from inspect_core.screens.marking import media_url
from inspect_core.screens.speaking import st, tongue

_BLINK = st.components.v2.component("bartack_blink", js=files(__package__).joinpath("blink.js").read_text("utf-8"))


def show(*, key: str, then: bytes, today: bytes, then_words: str, today_words: str) -> None:
    """Both pictures as JPEG of one size, with the words that stand on each. It begins by itself only where the device
    asks for no less motion, changes less often than once a second, and has a button to stop."""
    tell = tongue().tell
    _BLINK(
        key=key,
        data={
            "then_url": media_url(then, "image/jpeg", f"{key} then"),
            "today_url": media_url(today, "image/jpeg", f"{key} today"),
            "then_words": tell(then_words),
            "today_words": tell(today_words),
            "said": {"stop": tell("Stop"), "blink": tell("Blink"), "other": tell("Show the other")},
        },
    )
