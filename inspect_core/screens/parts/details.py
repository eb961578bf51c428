"""What few need of a recorded inspection, drawn only when it is opened so that a long life stays quick."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from inspect_core.domain.decision import Answer
from inspect_core.domain.gear import Item, components_of
from inspect_core.domain.inspection import Inspection
from inspect_core.reports import wording
from inspect_core.screens import state
from inspect_core.screens.frame import Frame, plain
from inspect_core.screens.parts import findings, papers
from inspect_core.screens.speaking import st
from inspect_core.screens.words.choices import ANSWER_WORDS
from inspect_core.usecases import life
from inspect_core.usecases.why import why

#: What became of a rule → words for the heading. Rules that do not apply are only counted.
_VERDICTS: Mapping[str, str] = MappingProxyType(
    {
        "met": "Met",
        "not ruled out": "Not ruled out",
        "cleared": "Weighed and cleared",
        "not known": "Could not be weighed: something is not known",
    }
)


def box(frame: Frame, item: Item, inspection_id: str) -> None:
    """Answers, facts, every rule weighed, the certificate, and the way to correct it."""
    opened = st.expander(
        "Answers, every rule weighed, certificate", key=state.widget("more", inspection_id), on_change="rerun"
    )
    if not opened.open:
        return
    with opened:
        inspection = life.inspection(inspection_id, frame.services)
        _answers(item, inspection)
        st.markdown(plain(findings.damage_words(inspection.decision)))
        _rules(frame, inspection)
        stamp = inspection.decision.rules
        st.caption(f"Rules of {plain(stamp.version)}, digest {stamp.digest[:12]}. Inspection {plain(inspection.id)}.")
        papers.certificate(frame, item, inspection)
        frame.link(
            "inspect",
            "Correct this inspection",
            icon=":material/edit_note:",
            tag=item.tag,
            corrects=inspection.id,
        )


def _answers(item: Item, inspection: Inspection) -> None:
    answers = ", ".join(
        f"{component.value}: {ANSWER_WORDS[answer].lower()}"
        + (f" ({inspection.answer_notes[component]})" if component in inspection.answer_notes else "")
        for component, answer in inspection.answers.items()
    )
    st.markdown(f"**Parts.** {plain(answers or 'none answered')}.")
    open_ = [c.value for c in components_of(item.kind) if c not in inspection.answers]
    if open_:
        st.markdown(f"**Not answered:** {plain(', '.join(open_))}.")
    if inspection.facts:
        facts = (f"{name}: {_fact(value)}" for name, value in inspection.facts.items())
        st.markdown(f"**What was stated.** {plain('; '.join(facts))}.")
    if Answer.UNSEEN in inspection.answers.values():
        st.caption("A part that was not seen holds the item.")


def _fact(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _rules(frame: Frame, inspection: Inspection) -> None:
    told = why(inspection.id, frame.services)
    if not told.same_rules:
        st.warning("The rules have changed since. What follows is what the rules of today say of that day.")
    for verdict, words in _VERDICTS.items():
        rules = [rule for rule in told.weighed if rule.verdict == verdict]
        if rules:
            st.markdown(f"**{words} ({len(rules)})**")
            st.markdown(
                "\n".join(
                    f"- {plain(rule.title)}. {plain(rule.why)}  \n  *{plain(_source(rule.source, rule.basis.value))}*"
                    for rule in rules
                )
            )
    others = sum(rule.verdict not in _VERDICTS for rule in told.weighed)
    st.caption(f"{wording.count(others, 'other rule')} had nothing to weigh here, or do not apply to such an item.")


def _source(source: str, basis: str) -> str:
    return f"Source: {source}. Basis: {basis}."
