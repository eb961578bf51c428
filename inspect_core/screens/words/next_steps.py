"""What to do next, by where the item stands."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from inspect_core.domain.custody import State

#: The order of steps is common practice, no source.
NEXT_STEPS: Mapping[State, tuple[str, ...]] = MappingProxyType(
    {
        State.IN_SERVICE: (
            "Fit it and connect it as the maker's instructions say.",
            "If anything happens to it today, put it on hold and have it looked at.",
        ),
        State.ON_HOLD: (
            "Do not clip on. Take it away from usable gear and tie the hold tag to it.",
            "Tell a competent person. Only they can inspect it in detail and release it.",
            "Take another item, and check that one too.",
        ),
        State.WITHDRAWN: (
            "Do not clip on. It never comes back into service.",
            "Tie the withdrawal tag to it and lock it away until it is destroyed.",
            "Have it cut up so that nobody can use it, and record that with a photo and a witness.",
        ),
        State.DESTROYED: ("Nothing is left to be used. Register the replacement as a new item.",),
    }
)
