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
#: Fact → a question, where the vocabulary's own sentence would not read as one.
QUESTION_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "service severity": "How hard is it used? Severe: often, in demolition, steel erection, scaffolding or towers.",
        "absorber class": "Which class stands on the energy absorber's label?",
        "chemical": "Which chemical touched it? Cement water counts as alkali.",
        "exposure temperature": "How hot (or cold) did it get?",
        "rope construction": "How is the rope made? Kernmantle: a core under a woven sheath.",
        "wire rope construction": "How is the wire rope made?",
        "wire rope core": "What is the wire rope's core made of?",
        "rope diameter": "Diameter of the rope or lifeline it is used on",
    }
)
ELSE = "Something else"
