"""The whole trends page as one paper: a summary made from the figures, then every question with its figures."""

from __future__ import annotations

from collections.abc import Mapping

from inspect_core.domain.people import Person
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.figure import Figure
from inspect_core.reports.trend_report import Section, TrendReportData, trend_report
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_ahead import outlook, spend
from inspect_core.usecases.trends_figures import QUESTIONS, figures
from inspect_core.usecases.trends_figures.common import items
from inspect_core.usecases.trends_scope import Scope
from inspect_core.usecases.trends_why import why


def page_report(services: Services, scope: Scope, viewer: Person | None = None, language: Language = ENGLISH) -> bytes:
    """Every question of the page for one scope as PDF. People are named as `viewer` may see them."""
    today = services.today()
    with services.unit_of_work() as uow:
        head = uow.ledger.head()
    sections = sections_of(services, scope, viewer)
    return trend_report(
        TrendReportData(
            gear=scope.gear,
            period=scope.period(today),
            change=scope.change,
            printed_on=today,
            head=None if head is None else (head.number, head.digest),
            summary=summary(services, scope, {short: section.figures for short, section in sections.items()}),
            sections=tuple(sections.values()),
            items=why(services, scope.whole()).reasons.items,
        ),
        language,
    )


def sections_of(services: Services, scope: Scope, viewer: Person | None) -> dict[str, Section]:
    """Every question with its figures; where damage happens, the drawing of every kind on which something was marked,
    and both sides of a change only for a kind that was asked for."""
    found = {}
    for short, question in QUESTIONS.items():
        splits = question.splits(scope) if short == "where" else (question.splits(scope)[0],)
        shown = [figure for by in splits for figure in figures(services, short, scope, by=by, viewer=viewer)]
        if short == "where":
            shown = [
                figure
                for figure in shown
                if not figure.counted.startswith("0 marks") and (figure.drawing or scope.kind is not None)
            ] or shown[:1]
        found[short] = Section(question.words, tuple(shown))
    return found


def summary(services: Services, scope: Scope, shown: Mapping[str, tuple[Figure, ...]]) -> str:
    """One paragraph: what left and why, how long gear lasts, how often damage is found and whether that changed,
    whether inspectors agree, what it cost and what is coming. Every sentence is one that stands over a figure."""
    whole = scope.whole()
    many = len(why(services, whole).reasons.items)
    told = [
        f"{items(many)} {'was' if many == 1 else 'were'} withdrawn." if many else "",
        shown["why"][0].says,
        shown["life"][0].says,
        shown["rates"][0].says,
        shown["rates"][1].says,
        shown["agree"][0].says,
        spend(services, whole).in_words if many else "",
        outlook(services, whole).in_words,
    ]
    if scope.change is not None:
        told.append(shown["rates"][2].says)
    return " ".join(dict.fromkeys(filter(None, told)))
