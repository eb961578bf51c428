"""The part of a certificate that says which rules were weighed, what each said, and what each rests on."""

from __future__ import annotations

from inspect_core.domain.decision import Finding, FindingOutcome
from inspect_core.domain.inspection import Inspection
from inspect_core.domain.palette import FINDING_SIGNS
from inspect_core.reports import wording
from inspect_core.reports.paper import BODY, SMALL, STRONG, Cell, Paper

ANALOGUE = "written for lifting gear, used here as an analogue"
DAMAGE_USED = (
    "Damage used is the largest (reading + uncertainty) / limit over all measured findings. 1 is at the limit; a rule "
    "that allows none gives at least 1; 0 means that nothing was measured or met. It tells how close the item is to a "
    "rule, not what strength it has left."
)


def add_findings(paper: Paper, inspection: Inspection) -> None:
    """Damage used, then the findings: those that decided, worst first, then the rules that cleared."""
    decision = inspection.decision
    deciding = decision.deciding
    cleared = tuple(f for f in decision.findings if f.outcome is FindingOutcome.CLEARED)
    paper.heading("Findings")
    score = wording.damage_used(decision.damage_used)
    paper.add(paper.text(f"Damage used: {score} (ratio to the limit)", STRONG), paper.text(DAMAGE_USED, SMALL))
    paper.gap(4)
    if not deciding:
        paper.add(paper.text("No rule was met and none was left in doubt.", BODY))
        paper.gap(4)
    numbers = {mark.id: number for number, mark in enumerate(inspection.marks, start=1)}
    if deciding:
        _table(paper, deciding, numbers, "What was found")
    if cleared:
        paper.gap(6)
        _cleared(paper, cleared, numbers)
    if any(f.value is not None for f in decision.findings):
        paper.gap(2)
        paper.add(paper.text(f"{wording.UNCERTAINTY_NOTE} {wording.SHARE_NOTE}", SMALL))


def _table(paper: Paper, findings: tuple[Finding, ...], numbers: dict[str, int], head: str) -> None:
    rows: list[list[Cell]] = []
    for finding in findings:
        what: list[Cell] = [paper.text(finding.reason, STRONG)]
        what += [paper.text(line) for line in _about(finding, numbers)]
        basis = [
            paper.text(finding.source or "no source recorded"),
            paper.text(f"Basis: {finding.basis.value}", STRONG),
        ]
        if finding.analogue:
            basis.append(paper.text(ANALOGUE.capitalize()))
        basis.append(paper.text(f"Rule: {finding.rule}", SMALL))
        rows.append([paper.signed(FINDING_SIGNS[finding.outcome]), what, basis])
    paper.table(("Outcome", head, "Source and basis"), rows, [14, 50, 36])


def _cleared(paper: Paper, findings: tuple[Finding, ...], numbers: dict[str, int]) -> None:
    """The rules that found nothing against use, in two lines each: there are many of them."""
    rows: list[list[Cell]] = []
    for finding in findings:
        analogue = f". {ANALOGUE.capitalize()}" if finding.analogue else ""
        basis = (
            f"{finding.source or 'no source recorded'}. Basis: {finding.basis.value}{analogue}. Rule: {finding.rule}"
        )
        what: list[Cell] = [paper.text(finding.reason)]
        if about := "; ".join(_about(finding, numbers)):
            what.append(paper.text(about, SMALL))
        rows.append([paper.text(FINDING_SIGNS[finding.outcome].word), what, paper.text(basis, SMALL)])
    paper.table(("Outcome", "Rules that were weighed and cleared", "Source and basis"), rows, [11, 47, 42])


def _about(finding: Finding, numbers: dict[str, int]) -> list[str]:
    """Where it was found, and the reading against its limit."""
    lines = []
    where = [finding.component.value] if finding.component else []
    if finding.mark is not None:
        number = numbers.get(finding.mark)
        where.append(f"mark {number}" if number else f"mark {finding.mark}")
    if where:
        lines.append(", ".join(where))
    if finding.value is not None:
        name = f"{finding.measure}: " if finding.measure else ""
        lines.append(f"{name}{wording.measured(finding.value, finding.uncertainty, finding.unit)}")
    elif finding.measure and finding.limit is not None:
        lines.append(f"{finding.measure}: not measured")
    if finding.limit is not None:
        lines.append(f"Limit: {wording.quantity(finding.limit, finding.unit)}")
    return lines
