"""What the rules found, with where each rule comes from."""

from __future__ import annotations

from collections.abc import Sequence

from inspect_core.domain.decision import Basis, Decision, Finding, FindingOutcome
from inspect_core.reports import wording
from inspect_core.screens.frame import plain
from inspect_core.screens.parts import sign
from inspect_core.screens.speaking import st

BASIS_WORDS = {
    Basis.PUBLISHED: "published",
    Basis.MAKER: "the maker's own limit",
    Basis.COMMON_PRACTICE: "common practice",
    Basis.FROM_MEMORY: "from memory: check it against the printed source",
}


def shown(decision: Decision, *, cleared: bool = True) -> None:
    """The findings that decided, the worst first, then those that were weighed and cleared."""
    deciding = decision.deciding
    if not deciding:
        st.markdown("No rule found anything against use.")
    for finding in deciding:
        one(finding)
    passed = [f for f in decision.findings if f.outcome is FindingOutcome.CLEARED]
    if cleared and passed:
        with st.expander(f"Weighed and cleared ({len(passed)})"):
            listed(passed)


def one(finding: Finding) -> None:
    """One finding: what it says, what was measured, source and basis."""
    with st.container(border=True):
        sign.finding_chip(finding.outcome)
        st.markdown(plain(finding.reason))
        measured = measured_words(finding)
        if measured:
            st.markdown(plain(measured))
        st.caption(plain(source_words(finding)))


def listed(findings: Sequence[Finding]) -> None:
    """Findings in short, one line each."""
    for finding in findings:
        words = " ".join(filter(None, (finding.reason, measured_words(finding))))
        st.markdown(f"- {plain(words)}  \n  {plain(source_words(finding))}")


def measured_words(finding: Finding) -> str:
    """Reading with its uncertainty, and the limit it was held against."""
    if finding.value is None or finding.measure is None:
        return ""
    reading = f"{finding.measure}: {wording.measured(finding.value, finding.uncertainty, finding.unit)}"
    if finding.limit is None:
        return f"{reading}."
    return f"{reading}; limit {wording.quantity(finding.limit, finding.unit)}."


def source_words(finding: Finding) -> str:
    """Where the rule comes from and what that is worth."""
    analogue = " Written for lifting gear, used here as an analogue." if finding.analogue else ""
    return f"Source: {finding.source}. Basis: {BASIS_WORDS[finding.basis]}. Rule {finding.rule}.{analogue}"


def damage_words(decision: Decision) -> str:
    """The score and what it means."""
    used = wording.damage_used(decision.damage_used)
    if decision.damage_used == 0:
        return "Damage used: 0. Nothing was measured, or nothing measured counts against a limit."
    return (
        f"Damage used: {used}. That is the largest reading, with its uncertainty added, over its limit; "
        "1 means that the limit is reached. It says nothing about strength."
    )
