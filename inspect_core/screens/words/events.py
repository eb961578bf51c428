"""What may have happened to gear, in words that fit on a button."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

#: Fact → words. A fact that is not here is asked in the rule vocabulary's own words.
EVENT_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "arrested fall": "It stopped a fall",
        "impact load": "It took an impact",
        "chemical exposure": "A chemical touched it",
        "heat exposure": "Fire, sparks or heat",
        "stored in sunlight": "Stored in sunlight",
        "stored beside chemicals": "Stored beside chemicals",
        "altered or repaired": "Changed or repaired",
    }
)
ELSE = "Something else"
