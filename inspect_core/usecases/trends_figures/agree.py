"""Figures of whether inspectors agree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pandas as pd

from inspect_core.domain.people import Person
from inspect_core.reports import trend_charts, wording
from inspect_core.reports.figure import Figure, Table
from inspect_core.trends.agreement import Agreement
from inspect_core.trends.few import TooFew
from inspect_core.trends.funnel import Funnel, Place
from inspect_core.usecases.services import Services
from inspect_core.usecases.trends_agree import ABOUT_GEAR, Agree, agree, names
from inspect_core.usecases.trends_figures.common import (
    WILSON,
    Estimate,
    beside,
    capital,
    few_words,
    percent,
    span,
    told,
)
from inspect_core.usecases.trends_scope import Scope

_KAPPA = (
    "Cohen's kappa (two readers), interval after Fleiss, Cohen and Everitt 1969; Fleiss' kappa (several; Fleiss 1971), "
    "interval by jackknife; through statsmodels; shares by Wilson's interval."
)
_MEANS = (
    "same: the blind reader said what the first look said (one category, or nothing wrong). Kappa is agreement beyond "
    "chance: 1 is complete, 0 no more than chance. About half of the photos handed out carry a mark by choice, so "
    "kappa is not that of everyday inspections."
)
_FUNNEL = "funnel plot with exact Poisson limits at 95 % and 99.8 % (Spiegelhalter 2005), through scipy."


def figures(services: Services, scope: Scope, viewer: Person | None) -> tuple[Figure, ...]:
    """Blind readings, rates per inspector, and photos used twice. Names of people as `names` gives them."""
    answer = agree(services, scope.whole())
    period = scope.period(services.today())
    called = names(services, viewer, people_of(answer))
    found = [
        _by_answer(answer, scope, period),
        _readers(answer, scope, period, called),
        _differences(answer, scope, period),
        _funnel(answer.detailed, "detailed inspections", scope, period, called),
        _funnel(answer.checks, "checks before use", scope, period, called),
        _twice(answer, scope, period, called),
    ]
    if scope.change is not None:
        found.insert(1, _beside(services, scope, period))
    return tuple(found)


def people_of(answer: Agree) -> tuple[str, ...]:
    """Everybody whom the figures name, by id."""
    found = {one for row in answer.rows for one in (row.first_by, row.second_by)}
    found |= {use.by for group in answer.twice for use in group}
    for one in (answer.detailed, answer.checks):
        if isinstance(one, Funnel):
            found |= {point.label for point in one.points}
    return tuple(sorted(found))


def _counted(answer: Agree, scope: Scope) -> str:
    away = f"; {answer.not_told} answers “cannot tell” left out" if answer.not_told else ""
    answers = wording.count(len(answer.rows), "blind answer")
    return f"{answers} to {wording.count(answer.photos, 'photo')}, {scope.gear}{away}"


def _by_answer(answer: Agree, scope: Scope, period: str) -> Figure:
    shares = answer.by_answer
    drawn = pd.DataFrame(
        [(s.label, f"{s.count} of {s.total}", s.share, s.low, s.high) for s in shares],
        columns=["label", "same", "value", "low", "high"],
    )
    rows = [(s.label, f"{s.count} of {s.total}", percent(s.share), span(s.low, s.high)) for s in shares]
    return Figure(
        "agreement-by-answer",
        "Blind answers that said the same, by what the first look said",
        answer.in_words,
        Table.of(("First look said", "Same", "Share", "95 % interval"), rows),
        _counted(answer, scope),
        period,
        f"{_MEANS} The period is that of the first look.",
        f"{WILSON} In the sentence: {_KAPPA}",
        chart=trend_charts.ranked(drawn, "Share that said the same", share=True) if shares else None,
        words="Share of blind answers that said the same. " + "; ".join(", ".join(row) for row in rows),
        few=few_words(answer.few_answers),
    )


def _readers(answer: Agree, scope: Scope, period: str, called: Mapping[str, str]) -> Figure:
    everybody = answer.everybody
    rows = [_line("All who answered", everybody)]
    few = []
    for pair in answer.pairs:
        who = f"{called[pair.first]} and {called[pair.second]}"
        if isinstance(pair.found, TooFew):
            few.append(replace(pair.found, label=who))
        else:
            rows.append(_line(who, pair.found))
    left = (
        "" if isinstance(everybody, TooFew) or not everybody.left_out else f" {everybody.left_out} photos with another"
    )
    return Figure(
        "agreement-by-readers",
        "Agreement of everybody, and of every two",
        capital(everybody.in_words if isinstance(everybody, Agreement) else everybody.why),
        Table.of(("Who", "Photos", "Same (95 % interval)", "Kappa (95 % interval)"), rows),
        _counted(answer, scope) + (f";{left} number of readers are left out of the first line" if left else ""),
        period,
        _MEANS,
        _KAPPA,
        few=few_words(few),
    )


def _line(label: str, found: Agreement | TooFew) -> tuple[str, ...]:
    if isinstance(found, TooFew):
        return label, str(found.items), "too few", ""
    kappa = "none: one answer only" if found.kappa is None else f"{found.kappa:.2f}"
    if found.kappa is not None and found.kappa_low is not None:
        kappa += f" ({found.kappa_low:.2f} to {found.kappa_high:.2f}), {found.method}"
    return label, str(found.photos), f"{percent(found.same)} ({span(found.same_low, found.same_high)})", kappa


def _differences(answer: Agree, scope: Scope, period: str) -> Figure:
    rows = answer.told_apart()
    says = "No blind answer differed from the first look."
    if rows:
        first, second, many = rows[0]
        says = f"Most often told apart: “{first}” at the first look, “{second}” blind ({many} times)."
    return Figure(
        "differences",
        "Which answers differ",
        says if answer.rows else answer.in_words,
        Table.of(("First look", "Blind", "How often"), rows),
        _counted(answer, scope),
        period,
        "who is right is not known: neither look is the truth.",
        "plain counts.",
    )


def _funnel(found: Funnel | TooFew, what: str, scope: Scope, period: str, called: Mapping[str, str]) -> Figure:
    name = f"funnel-{what.replace(' ', '-')}"
    title = f"Rates per inspector: {what}"
    counted = f"{what}, {scope.gear}"
    if isinstance(found, TooFew):
        people, many = wording.count(found.items, "inspector"), wording.count(found.events, "defect")
        says = f"{capital(what)} of {people} with {many}: not drawn. {found.why}"
        return told(name, title, found, counted=counted, period=period, means=ABOUT_GEAR, method=_FUNNEL, says=says)
    points = pd.DataFrame(
        [
            (called[p.label], p.inspections, p.per_100, p.place is not Place.WITHIN, f"{p.defects} in {p.inspections}")
            for p in found.points
        ],
        columns=["label", "inspections", "per_100", "outside", "found"],
    )
    limits = ("95 % low", "95 % high", "99.8 % low", "99.8 % high")
    curve = pd.DataFrame(
        [(n, rate, limit) for n, *rates in found.curve for rate, limit in zip(rates, limits, strict=True)],
        columns=["inspections", "per_100", "limit"],
    )
    rows = [
        (called[p.label], f"{p.defects} in {p.inspections}", f"{p.per_100:.1f}", p.place.value) for p in found.points
    ]
    said = found.in_words
    for one, name_of in called.items():
        said = said.replace(one, name_of)
    return Figure(
        name,
        title,
        said,
        Table.of(("Inspector", "Found", "Per 100", "Place"), rows),
        f"{sum(p.inspections for p in found.points)} {counted}",
        period,
        f"{ABOUT_GEAR} Full line: the rate of all; dots: 95 % limits; dashes: 99.8 % limits.",
        _FUNNEL,
        chart=trend_charts.funnel(points, curve, found.centre),
        words=f"{title}. " + "; ".join(", ".join(row) for row in rows),
    )


def _twice(answer: Agree, scope: Scope, period: str, called: Mapping[str, str]) -> Figure:
    several = sum(len({use.item_id for use in group}) > 1 for group in answer.twice)
    says = "No photo stands in two inspections."
    if answer.twice:
        photos = wording.count(len(answer.twice), "photo")
        says = f"In more than one inspection: {photos}; for more than one item: {several}."
    rows: Sequence[tuple[str, ...]] = [
        (group[0].photo_id[:12], use.tag, use.on.isoformat(), called[use.by]) for group in answer.twice for use in group
    ]
    return Figure(
        "photos-used-twice",
        "Photos used twice",
        says,
        Table.of(("Photo", "Item", "Inspected", "By"), rows),
        f"photos of inspections, {scope.gear}",
        period,
        "the same bytes in two inspections; a photo saved anew is not found. It may be a mistake or a short cut: ask.",
        "SHA-256 of the original.",
    )


def _beside(services: Services, scope: Scope, period: str) -> Figure:
    both = [agree(services, side) for side in scope.sides()]
    names_ = (f"before {scope.change}", f"from {scope.change} on")
    found = [{share.label: share for share in one.by_answer} for one in both]
    labels = list(dict.fromkeys(label for one in found for label in one))

    def estimate(side: int, label: str) -> Estimate | None:
        share = found[side].get(label)
        if share is None:
            return None
        return Estimate(f"{share.count} of {share.total}", share.share, share.low, share.high)

    def whole(one: Agree) -> Estimate | None:
        looks = one.looks
        if isinstance(looks, TooFew):
            return None
        return Estimate(f"{looks.agreed} of {looks.photos}", looks.same, looks.same_low, looks.same_high)

    groups = {"All photos": (whole(both[0]), whole(both[1]))}
    groups |= {label: (estimate(0, label), estimate(1, label)) for label in labels}
    return beside(
        "agreement-before-and-after",
        "Share of blind answers that said the same",
        f"First looks {names_[0]}: {wording.count(both[0].photos, 'photo')} read blind; {names_[1]}: "
        f"{wording.count(both[1].photos, 'photo')}.",
        groups,
        names_,
        share=True,
        counted=f"photos by the day of the first look, {scope.gear}",
        period=period,
        means=_MEANS,
        method=WILSON,
    )
