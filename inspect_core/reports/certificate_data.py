"""What a certificate prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from inspect_core.domain.custody import Standing
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.people import Person
from inspect_core.domain.photos import Photo
from inspect_core.domain.record import TreeHead


@dataclass(frozen=True, slots=True)
class CertificateProof:
    """The signed head that the certificate's entries stand under. `leaf`: the inspection's leaf in hex. `key`: the
    fingerprint of the signing key. `document`: the proof as JSON, which goes into the file."""

    head: TreeHead
    leaf: str
    key: str
    document: bytes


@dataclass(frozen=True, slots=True)
class CertificateData:
    """Everything a certificate prints, read from the record beforehand.

    `standing`: where the item stands on the day of printing. `inspector`: the person with the inspection's `by`.
    `judge`: the person who decided by hand, where somebody did. `photos`: what is known of each of the inspection's
    photos. `corrected`: the inspection that this one corrects. `corrected_by`: ids of later inspections that correct
    this one. `ledger_number`, `ledger_digest`: the ledger entry of this inspection. `fact_units`: unit of each
    numeric fact. `aged`: what the item's age says against using it on that day. `proof`: what lets a stranger check the
    paper, None where nothing was signed yet.
    Raises BadInput where the parts do not belong together.
    """

    item: Item
    standing: Standing
    inspection: Inspection
    inspector: Person
    printed_on: date
    earlier_inspections: int = 0
    photos: tuple[Photo, ...] = ()
    judge: Person | None = None
    corrected: Inspection | None = None
    corrected_by: tuple[str, ...] = ()
    ledger_number: int | None = None
    ledger_digest: str | None = None
    proof: CertificateProof | None = None
    aged: str = ""
    fact_units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        inspection = self.inspection
        belongs = (
            inspection.item_id == self.item.id == self.standing.item_id
            and inspection.by == self.inspector.id
            and (self.judge is None or (inspection.hand is not None and self.judge.id == inspection.hand.by))
            and (self.corrected is None or self.corrected.id == inspection.corrects)
        )
        if not belongs:
            raise BadInput(
                "The parts of this certificate do not belong together.",
                "Read the item, its standing, the inspection and its people anew from the record.",
            )
        unknown = {mark.photo_id for mark in inspection.marks} - {photo.id for photo in self.photos}
        if unknown:
            raise BadInput(
                "A marked photo of this inspection is not described.", "Pass every photo the inspection names."
            )
