"""How often each hint method was right, as measured on held-apart drawn pictures (docs/hints.md).

Real photographs are harder than drawn ones; the sentence says so. `python -m tests.evaluation.hints` measures
these figures anew and prints this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Rate:
    """Counts on the evaluation pictures: hints that were right, all hints, defects found, all defects."""

    right: int
    hints: int
    found: int
    defects: int

    def sentence(self) -> str:
        """How often the method errs, in plain words."""
        if not self.hints or not self.defects:
            return "How often this is right has not been measured."
        return (
            f"On drawn test pictures {self.right} of {self.hints} such hints were right and {self.found} of "
            f"{self.defects} defects were found; real photos are harder."
        )


#: Method to its measured counts.
RATES: Mapping[str, Rate] = MappingProxyType(
    {
        "rust hint, version 1": Rate(169, 295, 30, 30),
        "dark spot on webbing hint, version 1": Rate(18, 18, 18, 30),
        "notch in the webbing's edge hint, version 1": Rate(28, 160, 20, 30),
        "fuzz beside the webbing's edge hint, version 1": Rate(61, 101, 28, 30),
        "stitch gap hint, version 2": Rate(22, 36, 22, 30),
        "torn indicator hint, version 1": Rate(30, 30, 30, 30),
    }
)
