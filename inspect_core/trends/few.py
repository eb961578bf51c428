"""Small groups are told, not drawn: what comes back in place of an estimate.

The minima are `common practice, no source`. They keep a curve from being drawn through a handful of items; they do
not make a curve above them certain, so every result also carries its counts and its interval.
"""

from __future__ import annotations

from dataclasses import dataclass

from inspect_core.domain.errors import BadInput

LEAST_ITEMS = 10
LEAST_EVENTS = 5


@dataclass(frozen=True, slots=True)
class TooFew:
    """A group too small for its estimate, with what it holds and in one sentence why that is too little."""

    label: str
    items: int
    events: int
    why: str

    @property
    def in_words(self) -> str:
        """The counts, and that nothing is drawn."""
        return f"{self.label}: {self.items} items, {self.events} events. Not drawn. {self.why}"


def too_few(
    label: str, items: int, events: int, least_items: int = LEAST_ITEMS, least_events: int = LEAST_EVENTS
) -> TooFew | None:
    """TooFew where a group misses either minimum, else None. One item and one event are the least of all."""
    least_items, least_events = max(1, least_items), max(1, least_events)
    if items >= least_items and events >= least_events:
        return None
    return TooFew(label, items, events, f"At least {least_items} items and {least_events} events are needed.")


def check_confidence(confidence: float) -> None:
    """Raises BadInput for a confidence level outside 0.5 to 1, such as 95."""
    if not 0.5 < confidence < 1:
        raise BadInput("The confidence lies outside 0.5 to 1.", "Use 0.95 unless there is a reason not to.")
