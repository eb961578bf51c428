"""Reading a maker's label or an indicator's tag from a photo: proposals with the cut-out that they came from."""

from __future__ import annotations

from dataclasses import dataclass

from inspect_core.domain.errors import BadInput
from inspect_core.domain.label_text import Proposal, Told
from inspect_core.imaging.label_text import read_label
from inspect_core.imaging.ocr import HOW_TO_INSTALL, cut_out, open_reader
from inspect_core.ports_outside import LabelReader
from inspect_core.usecases.services import Services

__all__ = ["HOW_TO_INSTALL", "Shown", "ShownLabel", "label_reader", "read_label_photo"]

#: Words for the fields that a label gives.
FIELD_WORDS = {
    "maker": "Maker",
    "model": "Model",
    "serial": "Serial number",
    "made_on": "Made on",
    "lot": "Lot or batch",
    "standards": "Standard on its label",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """A proposal with the part of the photo that it was read from, as JPEG."""

    proposal: Proposal
    cutting: bytes

    @property
    def words(self) -> str:
        return FIELD_WORDS[self.proposal.field]


@dataclass(frozen=True, slots=True)
class ShownLabel:
    """What one photo of a label gave. `told`: lines that are never taken over, each with its cut-out. `lines`: how many
    lines were read in all."""

    proposals: tuple[Shown, ...]
    told: tuple[tuple[Told, bytes], ...]
    lines: int


def label_reader() -> LabelReader | None:
    """The reader where it is installed."""
    return open_reader()


def read_label_photo(data: bytes, services: Services) -> ShownLabel:
    """Read a photo; stores nothing and decides nothing. Raises BadPhoto, or BadInput where no reader is installed."""
    if services.label_reader is None:
        raise BadInput("No reader of labels is installed.", f"Install it: {HOW_TO_INSTALL}.")
    from inspect_core.imaging.files import upright_rgb  # the picture libraries, loaded only where one is read

    rgb = upright_rgb(data)
    reading = read_label(services.label_reader.read(rgb))
    return ShownLabel(
        tuple(Shown(one, cut_out(rgb, one.lines)) for one in reading.proposals),
        tuple((told, cut_out(rgb, (told.line,))) for told in reading.told),
        len(reading.lines),
    )
