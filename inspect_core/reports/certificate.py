"""The inspection certificate as PDF: what was inspected, what was found, by which rule, and what was decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, KeepTogether, Spacer, Table, TableStyle

from inspect_core.domain.custody import Standing
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Item
from inspect_core.domain.inspection import Inspection, InspectionType
from inspect_core.domain.palette import OUTCOME_SIGNS, SAFETY_RED, SAFETY_YELLOW, STATE_SIGNS
from inspect_core.domain.people import Person, Role
from inspect_core.domain.photos import Photo
from inspect_core.reports import wording
from inspect_core.reports.findings import add_findings
from inspect_core.reports.paper import BODY, BODY_WIDTH, INK, SHADE, SMALL, STRONG, SUBTITLE, TITLE, VERDICT, Paper
from inspect_core.reports.photo_pages import add_marks, add_photos
from inspect_core.reports.signs import QrCode, Sign
from inspect_core.reports.typeface import SUBSTITUTED_NOTE


@dataclass(frozen=True, slots=True)
class CertificateData:
    """Everything a certificate prints, read from the record beforehand.

    `standing`: where the item stands on the day of printing. `inspector`: the person with the inspection's `by`.
    `judge`: the person who decided by hand, where somebody did. `photos`: what is known of each of the inspection's
    photos. `corrected`: the inspection that this one corrects. `corrected_by`: ids of later inspections that correct
    this one. `ledger_number`, `ledger_digest`: the ledger entry of this inspection. `fact_units`: unit of each
    numeric fact. Raises BadInput where the parts do not belong together.
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
    fact_units: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        inspection = self.inspection
        belongs = (
            inspection.item_id == self.item.id == self.standing.item_id
            and inspection.by == self.inspector.id
            and (self.judge is None or inspection.hand is not None and self.judge.id == inspection.hand.by)
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


def certificate(data: CertificateData, photos: Mapping[str, bytes]) -> bytes:
    """The certificate as PDF bytes; the same input gives the same bytes.

    `photos` maps photo id to the bytes of its upright preview copy. A photo without bytes is named on the paper as not
    printed. Raises BadPhoto where bytes are no picture, BadInput where they are a picture of other proportions.
    """
    inspection = data.inspection
    paper = Paper(
        title=f"Inspection certificate – {data.item.tag}",
        identity=f"Inspection {inspection.id}",
        footer=f"Printed {data.printed_on.isoformat()} – rule set {inspection.decision.rules.version}",
    )
    _top(paper, data)
    _warnings(paper, data)
    _identity(paper, data)
    _inspection(paper, data)
    add_findings(paper, inspection)
    _components(paper, data)
    numbers = {mark.id: number for number, mark in enumerate(inspection.marks, start=1)}
    add_marks(paper, inspection, numbers, [photo.id for photo in data.photos])
    _facts(paper, data)
    add_photos(paper, inspection, data.photos, photos, numbers)
    _record(paper, data)
    _closing(paper, data)
    return paper.pdf(subject=f"{data.item.kind.value} {data.item.tag}, inspection {inspection.id}")


def _top(paper: Paper, data: CertificateData) -> None:
    inspection = data.inspection
    sign = OUTCOME_SIGNS[inspection.outcome]
    where = f" at {inspection.site}" if inspection.site else ""
    heading = [
        paper.text("Inspection certificate", TITLE),
        paper.text(f"{data.item.kind.value.capitalize()} {data.item.tag}", SUBTITLE),
        paper.text(f"{inspection.type.value.capitalize()} inspection of {inspection.at:%Y-%m-%d}{where}", SUBTITLE),
    ]
    code = QrCode(_payload(data), 27 * mm)
    paper.add(_side_by_side([heading, code], [BODY_WIDTH - 29 * mm, 29 * mm]))
    paper.gap(4)
    words = [paper.text(sign.word, VERDICT), paper.text(sign.instruction, SUBTITLE)]
    deciding = inspection.decision.deciding
    if inspection.hand:
        words.append(paper.text("Decided by hand; the reason stands below.", STRONG))
    elif deciding:
        more = f" (and {wording.count(len(deciding) - 1, 'more finding')})" if len(deciding) > 1 else ""
        words.append(paper.text(f"{deciding[0].reason[:300]}{more}", STRONG))
    verdict = _side_by_side([Sign(sign, 24 * mm), words], [30 * mm, BODY_WIDTH - 30 * mm], middle=True)
    verdict.setStyle(
        TableStyle([("BOX", (0, 0), (-1, -1), 2.5, HexColor(sign.colour)), ("LEFTPADDING", (0, 0), (0, 0), 8)])
    )
    paper.add(verdict)
    paper.gap(5)
    if inspection.hand:
        by = data.judge.name if data.judge else inspection.hand.by
        paper.box(
            [
                paper.text(f"Decision by hand: {inspection.hand.outcome.value}", STRONG),
                paper.text(f"Decided by {by}. The rules alone said “{inspection.decision.outcome.value}”."),
                paper.text(f"Reason: {inspection.hand.reason}"),
            ],
            INK,
        )
        paper.gap(5)


def _warnings(paper: Paper, data: CertificateData) -> None:
    """What a reader of an outdated or limited paper has to know before anything else."""
    inspection, standing = data.inspection, data.standing
    warnings: list[tuple[str, str, str]] = []
    if data.corrected_by:
        later = ", ".join(data.corrected_by)
        warnings.append((SAFETY_RED, "This inspection was corrected later.", f"Use instead: inspection {later}."))
    if not standing.usable:
        sign = STATE_SIGNS[standing.state]
        text = (
            f"State on the day of printing: {standing.state.value} since {standing.since:%Y-%m-%d}. {sign.instruction}"
        )
        warnings.append((sign.colour, text, f"Reason: {standing.reason}"))
    due = standing.next_due or inspection.next_due
    if standing.usable and due and due < data.printed_on:
        warnings.append((SAFETY_YELLOW, f"The next periodic inspection was due on {due}.", "Inspect before any use."))
    if not _qualified(data):
        text = "The inspector is not recorded as a competent person in date on the day of this inspection."
        warnings.append((SAFETY_YELLOW, text, "It does not stand in for a periodic inspection."))
    if inspection.corrects:
        old = data.corrected
        about = f" of {old.at:%Y-%m-%d}, which ended in “{old.outcome.value}”" if old else ""
        text = f"This inspection corrects inspection {inspection.corrects}{about}."
        warnings.append(("#16191D", text, "What the earlier one says no longer counts."))
    for colour, strong, more in warnings:
        paper.box([paper.text(strong, STRONG), paper.text(more)], HexColor(colour))
        paper.gap(4)


def _qualified(data: CertificateData) -> bool:
    person, inspection = data.inspector, data.inspection
    if inspection.type is InspectionType.BEFORE_USE:
        return True
    until = person.qualified_until
    return person.role is Role.COMPETENT_PERSON and (until is None or inspection.at.date() <= until)


def _identity(paper: Paper, data: CertificateData) -> None:
    item = data.item
    paper.heading("Item")
    pairs = [
        ("Tag", item.tag),
        ("Kind", item.kind.value),
        ("Maker", item.maker or "not recorded"),
        ("Model", item.model or "not recorded"),
        ("Serial", item.serial or "not recorded"),
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
        qualification = "no competent person on record"
    else:
        qualification = f"competent person until {until}" if until else "competent person, no end date on record"
    paper.heading("Inspection")
    paper.pairs(
        [
            ("Inspection", inspection.id),
            ("Type", inspection.type.value),
            ("Date and time", wording.moment(inspection.at)),
            ("Site", inspection.site or "not recorded"),
            ("Inspector", f"{person.name} ({person.role.value})"),
            ("Qualification", qualification),
            ("Earlier inspections", wording.count(data.earlier_inspections, "inspection")),
            ("Rules that applied", inspection.profile),
            ("Next periodic due", wording.day(inspection.next_due, "not set")),
            ("Item's state now", data.standing.state.value),
        ]
    )
    if inspection.note:
        paper.gap(3)
        paper.add(paper.text(f"Note: {inspection.note}"))


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
                inspection.answer_notes.get(component, "") or "–",
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
    paper.add(
        Spacer(1, 3),
        paper.text("The QR code on the first page holds the inspection's identifier and the ledger digest.", SMALL),
    )


def _closing(paper: Paper, data: CertificateData) -> None:
    """Cautions and the place for signatures, kept on one page."""
    cautions = [paper.text("Read this first and last", STRONG), *(paper.text(f"• {c}") for c in wording.CAUTIONS)]
    bar = TableStyle(
        [
            ("LINEBEFORE", (0, 0), (0, -1), 4, HexColor(SAFETY_YELLOW)),
            ("BACKGROUND", (0, 0), (-1, -1), SHADE),
            ("LEFTPADDING", (0, 0), (-1, -1), 9),
            ("TOPPADDING", (0, 0), (-1, -1), 5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
        ]
    )
    signatures = Table(
        [
            [paper.text("Inspector", STRONG), paper.text("Received for the site", STRONG)],
            [paper.text(data.inspector.name), paper.text("Name:")],
            ["", ""],
            [paper.text("Signature and date", SMALL), paper.text("Signature and date", SMALL)],
        ],
        colWidths=[BODY_WIDTH / 2] * 2,
        rowHeights=[None, None, 14 * mm, None],
        style=TableStyle(
            [
                ("BOX", (0, 0), (0, -1), 0.6, INK),
                ("BOX", (1, 0), (1, -1), 0.6, INK),
                ("LINEABOVE", (0, 3), (-1, 3), 0.6, INK),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ]
        ),
    )
    parts = [
        Spacer(1, 8),
        Table([[cautions]], colWidths=[BODY_WIDTH], style=bar),
        Spacer(1, 8),
        signatures,
    ]
    if paper.words.substituted:
        parts += [Spacer(1, 4), paper.text(SUBSTITUTED_NOTE, SMALL)]
    paper.add(CondPageBreak(40 * mm), KeepTogether(parts))


def _side_by_side(cells: list[object], widths: list[float], *, middle: bool = False) -> Table:
    style = [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE" if middle else "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ]
    return Table([cells], colWidths=widths, style=TableStyle(style))


def _payload(data: CertificateData) -> str:
    """What the QR code holds: a line that names the inspection and, where there is one, the ledger digest."""
    digest = f"\nledger {data.ledger_number} {data.ledger_digest}" if data.ledger_digest else ""
    return f"bartack:inspection:{data.inspection.id}{digest}"
