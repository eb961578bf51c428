"""The inspection certificate as PDF: what was inspected, what was found, by which rule, and what was decided."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date

from reportlab.lib.units import mm
from reportlab.platypus import Spacer, Table, TableStyle

from inspect_core.domain.decision import Outcome
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.people import Person, Role
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports import wording
from inspect_core.reports.certificate_data import CertificateData
from inspect_core.reports.certificate_front import add_front
from inspect_core.reports.findings import add_findings
from inspect_core.reports.paper import BODY, BODY_WIDTH, INK, SMALL, STRONG, Paper
from inspect_core.reports.photo_pages import add_marks, add_photos
from inspect_core.reports.typeface import SUBSTITUTED_NOTE

__all__ = ["PROOF_NAME", "CertificateData", "certificate"]

#: The proof's name inside the file.
PROOF_NAME = "bartack-proof.json"


def certificate(data: CertificateData, photos: Mapping[str, bytes], language: Language = ENGLISH) -> bytes:
    """The certificate as PDF bytes; the same input gives the same bytes.

    `language`: of what is printed; the record behind it and the proof inside stay as they are. `photos` maps photo id
    to the bytes of its upright preview copy. A photo without bytes is named on the paper as not printed. Raises
    BadPhoto where bytes are no picture, BadInput where they are a picture of other proportions.
    """
    inspection = data.inspection
    paper = Paper(
        title=f"Inspection certificate – {language.written(data.item.tag)}",
        identity=f"Inspection {inspection.id}",
        printed_on=data.printed_on,
        footer=f"rule set {inspection.decision.rules.version}",
        language=language,
    )
    add_front(paper, data)
    _identity(paper, data)
    _inspection(paper, data)
    add_findings(paper, inspection)
    _components(paper, data)
    numbers = {mark.id: number for number, mark in enumerate(inspection.marks, start=1)}
    add_marks(paper, inspection, numbers, [photo.id for photo in data.photos])
    _facts(paper, data)
    add_photos(paper, inspection, data.photos, photos, numbers)
    _record(paper, data)
    _signatures(paper, data)
    return paper.pdf(subject=f"{data.item.kind.value} {language.written(data.item.tag)}, inspection {inspection.id}")


def _identity(paper: Paper, data: CertificateData) -> None:
    item, written = data.item, paper.language.written
    paper.heading("Item")
    pairs = [
        ("Tag", written(item.tag)),
        ("Kind", item.kind.value),
        ("Maker", written(item.maker) or "not recorded"),
        ("Model", written(item.model) or "not recorded"),
        ("Serial", written(item.serial) or "not recorded"),
        ("Made on", wording.day(item.made_on)),
        ("First used on", wording.day(item.first_used_on)),
        ("Standards on label", ", ".join(item.standards) or "not recorded"),
    ]
    measures = (
        ("Webbing width", item.webbing_width_mm),
        ("Rope diameter", item.rope_diameter_mm),
        ("Packed length", item.packed_length_mm),
        ("Throat", item.throat_mm),
    )
    pairs += [(name, f"{wording.quantity(value, 'mm')} (stated)") for name, value in measures if value is not None]
    if item.rope_range_mm:
        low, high = (wording.number(value) for value in item.rope_range_mm)
        pairs.append(("Accepts rope", f"{low} mm to {high} mm (stated)"))
    if item.maker_max_age_years is not None:
        pairs.append(("Maker's longest life", wording.quantity(item.maker_max_age_years, "years")))
    if item.fibre.value != "unknown":
        pairs.append(("Fibre", item.fibre.value))
    paper.pairs(pairs)


def _inspection(paper: Paper, data: CertificateData) -> None:
    inspection, person = data.inspection, data.inspector
    until = person.qualified_until
    if person.role is not Role.COMPETENT_PERSON:
        qualification = f"{person.role.value}, not recorded as a competent person"
    else:
        qualification = f"competent person until {until}" if until else "competent person, no end date on record"
    fit = inspection.outcome is Outcome.IN_SERVICE and data.standing.usable
    due = wording.day(inspection.next_due, "not set") if fit else "none while out of service"
    paper.heading("Inspection")
    paper.pairs(
        [
            ("Inspection", inspection.id),
            ("Type", inspection.type.value),
            ("Date and time", wording.moment(inspection.at)),
            ("Site", paper.language.written(inspection.site) or "not recorded"),
            ("Inspector", paper.language.written(person.name)),
            ("Qualification", qualification),
            ("Earlier inspections", wording.count(data.earlier_inspections, "inspection")),
            ("Rule profile", inspection.profile),
            ("Next periodic due", due),
            ("Item's state now", data.standing.state.value),
        ]
    )
    if inspection.note:
        paper.gap(3)
        paper.add(paper.text(f"Note: {paper.language.written(inspection.note)}"))


def _components(paper: Paper, data: CertificateData) -> None:
    inspection = data.inspection
    paper.heading("Components looked at")
    if not inspection.answers:
        paper.add(paper.text("No component was answered.", BODY))
        return
    marks = {
        component: [str(n) for n, mark in enumerate(inspection.marks, start=1) if mark.component is component]
        for component in inspection.answers
    }
    paper.table(
        ("Component", "Answer", "Marks", "Note"),
        [
            (
                component.value,
                answer.value,
                ", ".join(marks[component]) or "none",
                paper.language.written(inspection.answer_notes.get(component, "")) or "–",
            )
            for component, answer in inspection.answers.items()
        ],
        [22, 14, 14, 50],
    )


def _facts(paper: Paper, data: CertificateData) -> None:
    if not data.inspection.facts:
        return
    paper.heading("Facts stated")
    rows = []
    for name, value in data.inspection.facts.items():
        if isinstance(value, bool):
            text = "yes" if value else "no"
        elif isinstance(value, int | float):
            unit = data.fact_units.get(name)
            text = wording.quantity(value, unit) if unit else f"{wording.number(value)} (unit as the rule set names it)"
        else:
            text = value.isoformat() if isinstance(value, date) else value
        rows.append((name.replace("_", " "), text))
    paper.table(("Fact", "As stated by the inspector"), rows, [40, 60])


def _record(paper: Paper, data: CertificateData) -> None:
    rules = data.inspection.decision.rules
    entry = f"number {data.ledger_number}" if data.ledger_number is not None else "not printed"
    paper.heading("Where this stands in the record")
    paper.pairs(
        [
            ("Rule set", f"version {rules.version}"),
            ("Rule set digest (SHA-256)", rules.digest),
            ("Ledger entry", entry),
            ("Ledger digest (SHA-256)", data.ledger_digest or "not printed"),
        ],
        columns=1,
    )
    _proof(paper, data)


def _proof(paper: Paper, data: CertificateData) -> None:
    """What lets somebody who does not trust this paper check it, with nothing but its file."""
    proof = data.proof
    if proof is None:
        held = "identifier and its ledger entry" if data.ledger_digest else "identifier"
        paper.add(Spacer(1, 3), paper.text(f"The QR code on the first page holds the inspection's {held}.", SMALL))
        return
    paper.heading("How to check this paper")
    paper.pairs(
        [
            ("Key of this site", proof.key),
            ("Signed head", f"{proof.head.size} entries, signed {proof.head.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"),
            ("Root (SHA-256)", proof.head.root.hex()),
            ("Leaf of this inspection", proof.leaf),
        ],
        columns=1,
    )
    paper.gap(3)
    paper.add(
        paper.text(
            "The file of this certificate holds a proof. “bartack verify --certificate FILE.pdf” checks it without a "
            "connection and without this site's records: the signature, that this inspection is part of what was "
            "signed, and that the paper says the same. On paper alone, compare the QR code on the first page with the "
            "lines above."
        ),
        Spacer(1, 3),
        paper.text(
            "It proves that the holder of the key above recorded this inspection, as it stands here, not later than "
            "the signed head. It does not prove that the gear is as recorded, nor that no later inspection says "
            "otherwise: ask the site. Get the key from the site itself, not from this paper.",
            SMALL,
        ),
    )
    paper.attach(PROOF_NAME, proof.document, "application/json", "Proof of this inspection, for bartack verify")


def signature_words(inspection: Inspection, inspector: Person) -> str:
    """Whether the record itself is signed, and how."""
    signature = inspection.signature
    if signature is not None:
        when = wording.moment(signature.at)
        return f"Signed in the record by {inspector.name} by entering the PIN or pass phrase again on {when}."
    if inspection.type is InspectionType.BEFORE_USE:
        return "Not signed in the record: a check before use takes no signature."
    return "Not signed in the record: this site had no sign-in when it was made."


def _signatures(paper: Paper, data: CertificateData) -> None:
    """The place for signatures, kept on one page."""
    name = paper.language.written(data.inspector.name)
    signatures = Table(
        [
            [
                paper.text(f"Inspector: {name}", STRONG),
                paper.text("Received for the site by:", STRONG),
            ],
            ["", ""],
            [paper.text("Signature and date", SMALL), paper.text("Signature and date", SMALL)],
        ],
        colWidths=[BODY_WIDTH / 2] * 2,
        rowHeights=[None, 12 * mm, None],
        style=TableStyle(
            [
                ("BOX", (0, 0), (0, -1), 0.6, INK),
                ("BOX", (1, 0), (1, -1), 0.6, INK),
                ("LINEABOVE", (0, 2), (-1, 2), 0.6, INK),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ]
        ),
    )
    paper.heading("Signatures", room=40 * mm)
    paper.add(paper.text(signature_words(data.inspection, data.inspector), BODY))
    paper.gap(3)
    paper.add(signatures)
    if paper.words.substituted:
        paper.gap(4)
        paper.add(paper.text(SUBSTITUTED_NOTE, SMALL))
