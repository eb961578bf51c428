"""The top of a certificate: what a reader has to see at one glance and before anything else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Table, TableStyle

from inspect_core.domain.decision import Outcome
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.palette import OUTCOME_SIGNS, SAFETY_RED, SAFETY_YELLOW, STATE_SIGNS, SafetySign
from inspect_core.domain.people import Role
from inspect_core.reports import wording
from inspect_core.reports.certificate_data import CertificateData
from inspect_core.reports.paper import BODY_WIDTH, INK, SMALL, STRONG, SUBTITLE, TITLE, VERDICT, Paper
from inspect_core.reports.signs import QrCode, Sign


def add_front(paper: Paper, data: CertificateData) -> None:
    """Title, the sign that counts today, a decision by hand, warnings, cautions."""
    _title(paper, data)
    _hand(paper, data)
    _warnings(paper, data)
    _cautions(paper)


def _title(paper: Paper, data: CertificateData) -> None:
    inspection = data.inspection
    sign = headline(data)
    kind, day = inspection.type.value.capitalize(), f"{inspection.at:%Y-%m-%d}"
    site = paper.language.written(inspection.site)
    heading = [
        paper.text("Inspection certificate", TITLE),
        paper.text(f"{data.item.kind.value.capitalize()} {paper.language.written(data.item.tag)}", SUBTITLE),
        paper.text(f"{kind} inspection of {day} at {site}" if site else f"{kind} inspection of {day}", SUBTITLE),
    ]
    code = QrCode(_payload(data), 27 * mm)
    paper.add(_side_by_side([heading, code], [BODY_WIDTH - 29 * mm, 29 * mm]))
    paper.gap(4)
    words = [paper.text(sign.word, VERDICT), paper.text(sign.instruction, SUBTITLE)]
    deciding = inspection.decision.deciding
    if sign.word != OUTCOME_SIGNS[inspection.outcome].word:
        words.append(
            paper.text(
                f"This inspection ended in “{inspection.outcome.value}”. That alone does not make the item usable now.",
                STRONG,
            )
        )
    elif inspection.hand:
        words.append(paper.text("Decided by hand; the reason stands below.", STRONG))
    elif deciding:
        words.append(paper.text(_shortened(paper.language.tell(deciding[0].reason)), STRONG))
        if len(deciding) > 1:
            words.append(paper.text(f"{wording.count(len(deciding) - 1, 'more finding')} below."))
    verdict = _side_by_side([Sign(sign, 24 * mm), words], [30 * mm, BODY_WIDTH - 30 * mm], middle=True)
    verdict.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 2.5, HexColor(sign.colour)),
                ("LEFTPADDING", (0, 0), (0, 0), 8),
                ("RIGHTPADDING", (1, 0), (1, 0), 8),
            ]
        )
    )
    paper.add(verdict)
    paper.gap(5)


def _hand(paper: Paper, data: CertificateData) -> None:
    inspection = data.inspection
    if inspection.hand:
        written = paper.language.written
        by = written(data.judge.name if data.judge else inspection.hand.by)
        paper.box(
            [
                paper.text(f"Decision by hand: {inspection.hand.outcome.value}", STRONG),
                paper.text(f"Decided by {by}. The rules alone said “{inspection.decision.outcome.value}”."),
                paper.text(f"Reason: {written(inspection.hand.reason)}"),
            ],
            INK,
        )
        paper.gap(5)


def headline(data: CertificateData) -> SafetySign:
    """The sign on top of the paper. An inspection that ended well shows green only while the item may be used on the
    day of printing, nothing has corrected the inspection, and the next one is not overdue."""
    sign = OUTCOME_SIGNS[data.inspection.outcome]
    if data.inspection.outcome is not Outcome.IN_SERVICE:
        return sign
    if not data.standing.usable:
        return STATE_SIGNS[data.standing.state]
    hold = OUTCOME_SIGNS[Outcome.HOLD]
    if data.corrected_by:
        return replace(
            hold, word="Corrected later", instruction="Do not rely on this inspection; see the one named below."
        )
    if _overdue(data):
        return replace(hold, word="Overdue", instruction="Do not use until it has been inspected.")
    if data.aged:
        return replace(hold, word="Past its age", instruction="Do not use until a competent person has decided.")
    return sign


def _overdue(data: CertificateData) -> date | None:
    """The day on which the next periodic inspection was due, where that day has passed."""
    due = data.standing.next_due or data.inspection.next_due
    return due if due and due < data.printed_on else None


def _shortened(text: str, most: int = 260) -> str:
    return text if len(text) <= most else f"{text[:most].rstrip()}…"


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
        warnings.append((sign.colour, text, f"Reason: {paper.language.mixed(standing.reason)}"))
    if standing.usable and (due := _overdue(data)):
        warnings.append((SAFETY_YELLOW, f"The next periodic inspection was due on {due}.", "Inspect before any use."))
    if standing.usable and data.aged:
        warnings.append((SAFETY_YELLOW, "On the day of printing this item is past its age.", data.aged))
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


def _cautions(paper: Paper) -> None:
    lines = [paper.text(f"• {caution}", SMALL) for caution in wording.CAUTIONS]
    paper.box([paper.text("Before anybody relies on this paper", STRONG), *lines], HexColor(SAFETY_YELLOW))


def _side_by_side(cells: list[object], widths: list[float], *, middle: bool = False) -> Table:
    style = [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE" if middle else "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ]
    return Table([cells], colWidths=widths, style=TableStyle(style))


def _payload(data: CertificateData) -> str:
    """What the QR code holds: a line that names the inspection, then what a proof of it leads to, as far as known."""
    if data.proof:
        head = f"head {data.proof.head.size} {data.proof.head.root.hex()}"
        key = f"key {data.proof.key.replace(' ', '')}"
        entry = f"entry {data.ledger_number} {data.proof.leaf}"
        return f"bartack:inspection:{data.inspection.id}\n{entry}\n{head}\n{key}"
    digest = f"\nledger {data.ledger_number} {data.ledger_digest}" if data.ledger_digest else ""
    return f"bartack:inspection:{data.inspection.id}{digest}"
