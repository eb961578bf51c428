"""Gathering what a certificate prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inspect_core.domain.errors import BartackError
from inspect_core.languages import ENGLISH, Language
from inspect_core.usecases.ages import aged
from inspect_core.usecases.intake import photo_copy
from inspect_core.usecases.services import Services

if TYPE_CHECKING:
    from inspect_core.reports.certificate_data import CertificateData


def certificate_data(inspection_id: str, services: Services) -> CertificateData:
    """Everything recorded that belongs on the certificate of one inspection. Raises NotFound."""
    from inspect_core.reports.certificate_data import CertificateData
    from inspect_core.usecases.proof import proof_of

    with services.unit_of_work() as uow:
        inspection = uow.inspections.get(inspection_id)
        earlier, correcting = uow.life.around(inspection_id)
        entries = uow.ledger.of_subject("inspection", inspection_id)
        entry = entries[0] if entries else None
        proof = proof_of(entry, inspection.item_id, uow) if entry else None
        item, standing = uow.items.get(inspection.item_id), uow.items.standing(inspection.item_id)
        return CertificateData(
            item=item,
            standing=standing,
            inspection=inspection,
            inspector=uow.people.get(inspection.by),
            printed_on=services.today(),
            earlier_inspections=earlier,
            photos=tuple(uow.photos.get(photo_id) for photo_id in inspection.photo_ids),
            judge=uow.people.get(inspection.hand.by) if inspection.hand else None,
            corrected=uow.inspections.get(inspection.corrects) if inspection.corrects else None,
            corrected_by=correcting,
            ledger_number=entry.number if entry else None,
            ledger_digest=entry.digest if entry else None,
            proof=proof,
            aged=aged(item, standing, services),
            fact_units={fact.name: fact.unit for fact in services.rules.facts if fact.unit},
        )


def certificate_pdf(inspection_id: str, services: Services, language: Language = ENGLISH) -> bytes:
    """The certificate of one inspection as PDF. A photo that the store has lost is named on the paper as not printed.

    Raises NotFound.
    """
    from inspect_core.reports.certificate import certificate  # reportlab, loaded only where a paper is made

    data = certificate_data(inspection_id, services)
    previews: dict[str, bytes] = {}
    for photo in data.photos:
        try:
            previews[photo.id] = photo_copy(photo.id, "preview", services)
        except BartackError:
            continue
    return certificate(data, previews, language)
