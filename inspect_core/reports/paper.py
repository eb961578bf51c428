"""The shared look of every paper: page with header and footer, headings, tables, repeatable bytes."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date
from typing import Any, TypeAlias

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from inspect_core.domain.palette import SafetySign
from inspect_core.languages import ENGLISH, Language
from inspect_core.reports.attachments import attach
from inspect_core.reports.signs import Sign
from inspect_core.reports.typeface import BOLD, ITALIC, REGULAR, Wording

# Binary streams instead of text ones: a twentieth of the time for papers with photos.
rl_config.useA85 = 0

INK = HexColor("#16191D")
FAINT = HexColor("#4A525C")  # 7.9 : 1 on white
RULE = HexColor("#C3C9D0")
SHADE = HexColor("#F1F3F5")

MARGIN = 15 * mm
BODY_WIDTH = A4[0] - 2 * MARGIN
BODY_HEIGHT = A4[1] - 34 * mm
_TOTAL = "number-of-pages"

Cell: TypeAlias = "str | Flowable | Sequence[Flowable]"


def _style(name: str, size: float, font: str = REGULAR, **more: Any) -> ParagraphStyle:
    # Words longer than their cell (serials, digests, pasted addresses) break rather than run over the edge.
    return ParagraphStyle(
        name,
        fontName=font,
        fontSize=size,
        leading=more.pop("leading", size * 1.35),
        textColor=INK,
        splitLongWords=1,
        **more,
    )


TITLE = _style("title", 18, BOLD, leading=22)
SUBTITLE = _style("subtitle", 10.5)
HEADING = _style("heading", 11.5, BOLD, spaceBefore=9, spaceAfter=4)
BODY = _style("body", 8.5)
STRONG = _style("strong", 8.5, BOLD)
SMALL = ParagraphStyle("small", parent=_style("small", 7.2), textColor=FAINT)
SMALL_ITALIC = ParagraphStyle("small italic", parent=_style("small italic", 7.2, ITALIC), textColor=FAINT)
VERDICT = _style("verdict", 26, BOLD, leading=30)
LABEL = ParagraphStyle("label", parent=_style("label", 7.6), textColor=FAINT)
RIGHT = _style("right", 8.5, alignment=TA_RIGHT)


class _Pages(Canvas):  # type: ignore[misc]
    """A canvas that knows the number of its pages only at the end and then fills it in on every page."""

    def save(self) -> None:
        if self._code:
            self.showPage()
        self.beginForm(_TOTAL, 0, 0, 40, 12)
        self.setFont(REGULAR, 7.2)
        self.setFillColor(FAINT)
        self.drawString(0, 2, str(self.getPageNumber() - 1))
        self.endForm()
        super().save()


class Paper:
    """One document under construction: collects flowables and turns them into PDF bytes.

    `title` goes into the metadata and, with `identity` to its right, on top of every page; `printed_on` and `footer`
    stand at the bottom beside "page n of m". The day of printing is also the document's date.
    """

    def __init__(
        self, title: str, identity: str, printed_on: date, footer: str = "", language: Language = ENGLISH
    ) -> None:
        self.words = Wording()
        self.language = language
        self.title = self.told(title)
        self.identity = self.told(identity)
        self.printed_on = printed_on
        self.footer = self.told(f"Printed {printed_on.isoformat()}{' – ' if footer else ''}{footer}")
        self.story: list[Flowable] = []
        self._attached: tuple[str, bytes, str, str] | None = None

    def told(self, text: str) -> str:
        """A text in the paper's language, of printable characters only."""
        return self.words.plain(self.language.tell(text))

    def text(self, text: str, style: ParagraphStyle = BODY) -> Paragraph:
        """A paragraph of plain text in the paper's language; nothing in it is read as markup."""
        return Paragraph(self.words.markup(self.language.tell(text)), style)

    def add(self, *parts: Flowable) -> None:
        self.story.extend(parts)

    def heading(self, text: str, room: float = 32 * mm) -> None:
        """A heading, on the next page where less than `room` points are left for it and what follows."""
        self.story.append(CondPageBreak(room))
        self.story.append(_Heading(self.words.markup(self.language.tell(text)), HEADING))

    def room(self, height: float) -> None:
        """Goes to the next page where less than `height` points are left on this one."""
        self.story.append(CondPageBreak(height))

    def gap(self, height: float = 4) -> None:
        self.story.append(Spacer(1, height))

    def table(
        self,
        head: Sequence[str],
        rows: Sequence[Sequence[Cell]],
        widths: Sequence[float],
        *,
        extra: Sequence[tuple[Any, ...]] = (),
    ) -> None:
        """A table whose head repeats on every page; plain text in cells is wrapped. `widths` are shares of the page."""
        cells = [[self._cell(cell) for cell in row] for row in rows]
        if head:
            cells.insert(0, [self.text(name, LABEL) for name in head])
        total = sum(widths)
        style = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
            ("LEFTPADDING", (0, 0), (-1, -1), 4),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 3),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
            *([("BACKGROUND", (0, 0), (-1, 0), SHADE), ("LINEABOVE", (0, 0), (-1, 0), 0.4, RULE)] if head else []),
            *extra,
        ]
        self.story.append(
            WholeRows(
                cells,
                colWidths=[BODY_WIDTH * width / total for width in widths],
                repeatRows=1 if head else 0,
                style=TableStyle(style),
            )
        )

    def pairs(self, pairs: Sequence[tuple[str, str]], columns: int = 2) -> None:
        """Labelled values, `columns` pairs to a line."""
        rows: list[list[Cell]] = []
        for start in range(0, len(pairs), columns):
            row: list[Cell] = []
            for label, value in pairs[start : start + columns]:
                row += [self.text(label, LABEL), value]
            rows.append(row + [""] * (2 * columns - len(row)))
        self.table(
            (), rows, [1.05, 2.2 if columns > 1 else 3.6] * columns, extra=[("LINEABOVE", (0, 0), (-1, 0), 0.4, RULE)]
        )

    def signed(self, sign: SafetySign) -> list[Flowable]:
        """A small safety sign with its word under it, for a table cell."""
        return [Sign(sign, 15), Spacer(1, 1.5), self.text(sign.word, STRONG)]

    def box(self, parts: Sequence[Flowable], colour: HexColor, *, fill: HexColor | None = None) -> None:
        """Flowables with a bar of colour to the left."""
        style = [
            ("LINEBEFORE", (0, 0), (0, -1), 4, colour),
            ("LEFTPADDING", (0, 0), (-1, -1), 9),
            ("TOPPADDING", (0, 0), (-1, -1), 4),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
            ("BACKGROUND", (0, 0), (-1, -1), fill or SHADE),
        ]
        self.story.append(WholeRows([[list(parts)]], colWidths=[BODY_WIDTH], style=TableStyle(style)))

    def attach(self, name: str, content: bytes, media_type: str, description: str) -> None:
        """Put a file inside the document, for readers that are programs."""
        self._attached = (name, content, media_type, description)

    def pdf(self, subject: str) -> bytes:
        """The finished document. The same content gives the same bytes."""
        target = io.BytesIO()
        document = BaseDocTemplate(
            target,
            pagesize=A4,
            invariant=1,
            lang=self.language.tag,
            title=self.title,
            author="Bartack",
            subject=self.told(subject),
            creator="Bartack",
            displayDocTitle=True,
        )
        frame = Frame(MARGIN, 16 * mm, BODY_WIDTH, BODY_HEIGHT, 0, 0, 0, 0, id="body")
        document.addPageTemplates(PageTemplate("page", frames=[frame], onPage=self._furniture))
        document.build(self.story, canvasmaker=_Pages)
        return target.getvalue()

    def _cell(self, cell: Cell) -> Any:
        return self.text(cell) if isinstance(cell, str) else cell

    def _furniture(self, canvas: Canvas, document: BaseDocTemplate) -> None:
        canvas.setDateFormatter(lambda *_: f"D:{self.printed_on:%Y%m%d}000000Z")
        if self._attached is not None and document.page == 1:
            attach(canvas, *self._attached)
        canvas.saveState()
        canvas.setFillColor(FAINT)
        canvas.setFont(REGULAR, 7.2)
        canvas.drawString(MARGIN, A4[1] - 11.5 * mm, self.title)
        canvas.drawRightString(A4[0] - MARGIN, A4[1] - 11.5 * mm, self.identity)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.5)
        canvas.line(MARGIN, A4[1] - 13.5 * mm, A4[0] - MARGIN, A4[1] - 13.5 * mm)
        canvas.line(MARGIN, 13.5 * mm, A4[0] - MARGIN, 13.5 * mm)
        canvas.drawString(MARGIN, 9 * mm, self.footer)
        canvas.drawRightString(A4[0] - MARGIN - 12, 9 * mm, self.told(f"page {document.page} of"))
        canvas.translate(A4[0] - MARGIN - 9.5, 9 * mm - 2)
        canvas.doForm(_TOTAL)
        canvas.restoreState()


class Sheet:
    """A document drawn by hand on pages of any size, with the same bytes for the same content.

    Draw on `canvas` with one `showPage()` for each page, then call `pdf()`.
    """

    def __init__(
        self, size: tuple[float, float], title: str, subject: str, printed_on: date, language: Language = ENGLISH
    ) -> None:
        self.words = Wording()
        self.language = language
        self._target = io.BytesIO()
        self.canvas = Canvas(self._target, pagesize=size, invariant=1, lang=language.tag)
        self.canvas.setTitle(self.told(title))
        self.canvas.setSubject(self.told(subject))
        self.canvas.setAuthor("Bartack")
        self.canvas.setCreator("Bartack")
        self.canvas.setDateFormatter(lambda *_: f"D:{printed_on:%Y%m%d}000000Z")

    def told(self, text: str) -> str:
        """A text in the sheet's language, of printable characters only."""
        return self.words.plain(self.language.tell(text))

    def fitted(self, text: str, font: str, largest: float, smallest: float, width: float) -> float:
        """The largest size in points at which the text is no wider than `width` points, not under `smallest`."""
        at_one = stringWidth(text, font, 1.0)
        return max(smallest, min(largest, width / at_one if at_one else largest))

    def block(self, text: str, style: ParagraphStyle, x: float, top: float, width: float, height: float) -> float:
        """Wrapped text from `top` down, cut with "…" where it would pass `height`; gives the height used."""
        words = self.told(text)
        paragraph = Paragraph(self.words.markup(words), style)
        _, used = paragraph.wrap(width, 10_000)
        while used > height and len(words) > 8:
            words = words[: int(len(words) * 0.9)].rstrip(" …")
            paragraph = Paragraph(self.words.markup(f"{words}…"), style)
            _, used = paragraph.wrap(width, 10_000)
        paragraph.drawOn(self.canvas, x, top - used)
        return float(used)

    def pdf(self) -> bytes:
        self.canvas.save()
        return self._target.getvalue()


class WholeRows(Table):  # type: ignore[misc]
    """A table that breaks between rows, and inside a row only where that row is too tall for any page."""

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        self._calc(availWidth, availHeight)
        self.splitInRow = int(any((height or 0) > 0.8 * BODY_HEIGHT for height in self._rowHeights))
        return list(super().split(availWidth, availHeight))


class _Heading(Paragraph):  # type: ignore[misc]
    """A heading that readers can jump to from the outline."""

    def draw(self) -> None:
        key = f"heading-{self.canv.getPageNumber()}-{self.text[:60]}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(self.getPlainText(), key, level=0)
        super().draw()
