"""A site's due work on paper: what is overdue, due soon and on hold, with boxes to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak

from inspect_core.domain.custody import State
from inspect_core.domain.palette import STATE_SIGNS
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.paper import BODY, INK, SMALL, STRONG, SUBTITLE, TITLE, Paper

_HOLD = HexColor(STATE_SIGNS[State.ON_HOLD].colour)
_CAUTIONS = (
    "The maker's instructions, local codes and a competent person come first.",
    "A tick says that somebody did it on paper. Only a recorded inspection sets the next date or ends a hold.",
    "Gear that is overdue or on hold is not used until a competent person has inspected it.",
)


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One item on the sheet. `why`: why it is on hold, or what its age says. `who`: the kit or the person that has it,
    "" where unknown. `typed`: which parts of `what` a person chose."""

    tag: str
    what: str
    due: date | None
    state: str
    why: str = ""
    who: str = ""
    typed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SiteSheet:
    """What one sheet shows."""

    site: str
    on: date
    within_days: int
    overdue: tuple[SheetRow, ...]
    soon: tuple[SheetRow, ...]
    on_hold: tuple[SheetRow, ...]
    past_age: tuple[SheetRow, ...] = ()


class _Box(Flowable):  # type: ignore[misc]
    """An empty square to tick."""

    _SIDE = 4.2 * mm

    def wrap(self, *_: float) -> tuple[float, float]:
        return self._SIDE, self._SIDE

    def draw(self) -> None:
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(0.8)
        self.canv.rect(0.3, 0.3, self._SIDE - 0.6, self._SIDE - 0.6)


def site_sheets(sites: Sequence[SiteSheet], on: date, language: Language = ENGLISH) -> bytes:
    """The sheets as one PDF, each site on pages of its own; the same input gives the same bytes."""
    named = language.written(sites[0].site) if len(sites) == 1 else f"{len(sites)} sites"
    paper = Paper(f"Due work: {named}", on.isoformat(), on, language=language)
    if not sites:
        paper.add(paper.text("Due work", TITLE), paper.text(f"Nothing is due anywhere on {on.isoformat()}.", SUBTITLE))
    for place, data in enumerate(sites):
        if place:
            paper.add(PageBreak())
        _sheet(paper, data)
    return paper.pdf(f"Due work of {named} on {on.isoformat()}")


def _sheet(paper: Paper, data: SiteSheet) -> None:
    paper.add(paper.text(f"Due work: {paper.language.written(data.site)}", TITLE))
    counts = (
        f"{len(data.overdue)} overdue, {len(data.soon)} due within {data.within_days} days, {len(data.on_hold)} on hold"
    )
    paper.add(paper.text(f"{counts}. As of {data.on.isoformat()}.", SUBTITLE))
    paper.gap(4)
    paper.box([paper.text(sentence, BODY) for sentence in _CAUTIONS], _HOLD)
    _part(paper, f"Overdue for inspection in detail ({len(data.overdue)}): do not use", data.overdue, data.on)
    _part(paper, f"Due within {data.within_days} days ({len(data.soon)})", data.soon, data.on)
    if data.past_age:
        _held(paper, f"Past its age ({len(data.past_age)}): do not use", data.past_age)
    _held(paper, f"On hold ({len(data.on_hold)}): do not use", data.on_hold)
    paper.gap(10)
    paper.pairs([("Looked through by", ""), ("Date", ""), ("Handed to", ""), ("Signature", "")])


def _part(paper: Paper, title: str, rows: Sequence[SheetRow], on: date) -> None:
    paper.heading(title)
    if not rows:
        paper.add(paper.text("None.", SMALL))
        return
    cells = [
        [
            _Box(),
            _tag(paper, row),
            _what(paper, row),
            _due(row.due, on),
            paper.language.written(row.who) or "nobody on record",
            "",
        ]
        for row in rows
    ]
    paper.table(("done", "tag", "what it is", "due", "who has it", "remarks"), cells, (0.7, 1.6, 3.6, 1.7, 2.0, 2.4))


def _held(paper: Paper, title: str, rows: Sequence[SheetRow]) -> None:
    paper.heading(title)
    if not rows:
        paper.add(paper.text("None.", SMALL))
        return
    cells = [
        [
            _Box(),
            _tag(paper, row),
            _what(paper, row),
            paper.language.mixed(row.why),
            paper.language.written(row.who) or "nobody on record",
            "",
        ]
        for row in rows
    ]
    paper.table(("apart", "tag", "what it is", "why", "who has it", "remarks"), cells, (0.7, 1.6, 2.9, 2.8, 1.8, 2.2))


def _what(paper: Paper, row: SheetRow) -> str:
    """What the item is; in another language, what a person chose stays as it is."""
    what = row.what
    for part in row.typed:
        before, found, after = what.rpartition(part)
        what = f"{before}{paper.language.written(found)}{after}"
    return what


def _tag(paper: Paper, row: SheetRow) -> Flowable:
    return paper.text(paper.language.written(row.tag), STRONG)


def _due(due: date | None, on: date) -> str:
    if due is None:
        return "not known"
    days = (due - on).days
    if days < 0:
        return f"{due.isoformat()}, {-days} day{'s' if days < -1 else ''} late"
    return due.isoformat() if days else f"{due.isoformat()}, today"
