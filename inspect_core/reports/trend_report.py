"""Why gear was withdrawn, as PDF: period, counts, shares with their intervals, a bar chart, and what it cannot say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable

from inspect_core.domain.errors import BadInput
from inspect_core.domain.palette import BLUE, SAFETY_YELLOW
from inspect_core.domain.record import Retirement
from inspect_core.reports import wording
from inspect_core.reports.paper import BODY_WIDTH, FAINT, INK, RULE, SMALL, STRONG, SUBTITLE, TITLE, Paper
from inspect_core.reports.typeface import REGULAR, SUBSTITUTED_NOTE, Wording
from inspect_core.trends.reasons import Share

#: More bars than this do not fit on a page at a legible size; the table has them all.
MOST_BARS = 24
LIMITS = (
    "This counts what was withdrawn here. It says nothing of how often gear fails in use or a defect is missed.",
    "An item withdrawn for several reasons counts under each of them, so the shares may add up to more than 1.",
    "The interval treats items as independent of each other. A batch withdrawn together makes it too narrow.",
    "With few items the intervals are wide. Where two intervals overlap, their order may be chance.",
    "A trend lets no item back into use: the maker's instructions, local codes and a competent person come first.",
)


@dataclass(frozen=True, slots=True)
class TrendReportData:
    """What the report prints. `split`: what the rows stand for ("category", "kind", "site", "model"). `scope`: which
    items were looked at, in words. `since` None: from the first record on. `items`: the withdrawals behind the rows."""

    split: str
    shares: tuple[Share, ...]
    since: date | None
    until: date
    printed_on: date
    scope: str = "every site and kind"
    items: tuple[Retirement, ...] = ()

    def __post_init__(self) -> None:
        if self.since and self.since > self.until:
            raise BadInput("The first day lies after the last.", "Give the earlier day first.")
        if len({share.total for share in self.shares}) > 1:
            raise BadInput("The rows count different totals.", "Take all rows from one count.")

    @property
    def total(self) -> int:
        return self.shares[0].total if self.shares else 0


def trend_report(data: TrendReportData) -> bytes:
    """The report as PDF bytes; the same input gives the same bytes."""
    period = f"{wording.day(data.since, 'the first record')} to {data.until.isoformat()}"
    paper = Paper("Why gear was withdrawn", f"by {data.split}, {period}", data.printed_on)
    paper.add(
        paper.text("Why gear was withdrawn", TITLE),
        paper.text(f"By {data.split}, {period}, {data.scope}", SUBTITLE),
    )
    paper.gap(6)
    paper.add(paper.text(f"{wording.count(data.total, 'item')} withdrawn in this period", STRONG))
    paper.add(
        paper.text(
            "Share: items withdrawn under this heading over all items withdrawn in the period, 0 to 1. "
            "In brackets its 95 % interval after Wilson, without continuity correction.",
            SMALL,
        )
    )
    if data.shares:
        _figures(paper, data)
    else:
        paper.gap(6)
        paper.add(paper.text("Nothing was withdrawn in this period, so there is nothing to compare."))
    paper.heading("What these figures cannot say")
    paper.box([paper.text(f"• {limit}") for limit in LIMITS], HexColor(SAFETY_YELLOW))
    _items(paper, data.items)
    if paper.words.substituted:
        paper.gap(4)
        paper.add(paper.text(SUBSTITUTED_NOTE, SMALL))
    return paper.pdf(subject=f"Withdrawals by {data.split}, {period}")


def _figures(paper: Paper, data: TrendReportData) -> None:
    paper.heading("Share of withdrawn items", room=80 * mm)
    paper.add(_Bars(data.shares[:MOST_BARS], paper.words))
    if len(data.shares) > MOST_BARS:
        paper.add(paper.text(f"The {MOST_BARS} most frequent of {len(data.shares)}; the table has them all.", SMALL))
    paper.heading("The figures")
    paper.table(
        (data.split.capitalize(), "Items", "Share", "95 % interval"),
        [
            (
                share.label,
                f"{share.count} of {share.total}",
                f"{share.share:.3f}",
                f"{share.low:.3f} to {share.high:.3f}",
            )
            for share in data.shares
        ],
        [46, 18, 14, 22],
    )


def _items(paper: Paper, items: Sequence[Retirement]) -> None:
    if not items:
        return
    paper.heading("The items behind the figures")
    rows = []
    for item in sorted(items, key=lambda one: (one.on, one.tag), reverse=True):
        found = {
            " on ".join(part.value for part in (category, where) if part) or rule
            for category, where, rule in item.reasons
        }
        rows.append(
            (
                item.on.isoformat(),
                item.tag,
                item.kind.value,
                item.site or "no site",
                "; ".join(sorted(found)) or "not recorded",
            )
        )
    paper.table(("Withdrawn on", "Tag", "Kind", "Site", "Reasons"), rows, [14, 18, 21, 15, 32])


class _Bars(Flowable):  # type: ignore[misc]
    """Horizontal bars of shares, each with its interval, on the shortest scale that holds them all."""

    _row = 15.0
    _axis = 26.0

    def __init__(self, shares: Sequence[Share], words: Wording) -> None:
        super().__init__()
        self._shares = shares
        self._labels = [_clipped(words.plain(share.label), 8.0, 52 * mm) for share in shares]
        self._most = min(scale for scale in (0.1, 0.25, 0.5, 1.0) if scale >= min(1.0, max(s.high for s in shares)))
        self._left = max(stringWidth(label, REGULAR, 8.0) for label in self._labels) + 6
        self._right = 38 * mm
        self.width = BODY_WIDTH
        self.height = self._row * len(shares) + self._axis

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def _x(self, share: float) -> float:
        return float(self._left + (self.width - self._left - self._right) * share / self._most)

    def draw(self) -> None:
        canvas = self.canv
        canvas.setLineWidth(0.4)
        canvas.setFont(REGULAR, 7.2)
        for tick in range(6):
            value = self._most * tick / 5
            canvas.setStrokeColor(RULE)
            canvas.line(self._x(value), self._axis - 4, self._x(value), self.height)
            canvas.setFillColor(FAINT)
            canvas.drawCentredString(self._x(value), self._axis - 13, f"{value:.2f}")
        canvas.drawCentredString(self._x(self._most / 2), 3, "share of withdrawn items; the line is the 95 % interval")
        for place, (share, label) in enumerate(zip(self._shares, self._labels, strict=True)):
            middle = self.height - (place + 0.5) * self._row
            canvas.setFillColor(HexColor(BLUE))
            canvas.rect(self._x(0), middle - 4.2, max(0.4, self._x(share.share) - self._x(0)), 8.4, stroke=0, fill=1)
            _interval(canvas, self._x(share.low), self._x(share.high), middle)
            canvas.setFillColor(INK)
            canvas.setFont(REGULAR, 8.0)
            canvas.drawRightString(self._left - 5, middle - 2.8, label)
            canvas.setFont(REGULAR, 7.2)
            text = f"{share.count}: {share.share:.2f} ({share.low:.2f} to {share.high:.2f})"
            canvas.drawRightString(self.width, middle - 2.6, text)


def _interval(canvas: Any, low: float, high: float, y: float) -> None:
    """A line with end caps on a white edge, so that it shows on the bar as well as beside it."""
    for colour, width in (("#FFFFFF", 3.0), ("#000000", 1.1)):
        canvas.setStrokeColor(HexColor(colour))
        canvas.setLineWidth(width)
        for line in ((low, y, high, y), (low, y - 2.6, low, y + 2.6), (high, y - 2.6, high, y + 2.6)):
            canvas.line(*line)


def _clipped(text: str, size: float, width: float) -> str:
    """Text cut with "…" to a width in points; the table below the chart has it in full."""
    if stringWidth(text, REGULAR, size) <= width:
        return text
    while text and stringWidth(f"{text}…", REGULAR, size) > width:
        text = text[:-1]
    return f"{text.rstrip()}…"
