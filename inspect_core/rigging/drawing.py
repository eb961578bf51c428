"""Scale drawings as plain shapes, and as SVG text.

Frame: drawing units, origin at the upper left corner, x right, y down. Every drawing is 360 units wide, so that at
phone width one unit is about one pixel and the lettering stays readable; it scales to any width. The plain shapes let
a printed sheet draw the same picture natively. Meaning never hangs on colour alone: lines differ in dash and
weight, and carry words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

from inspect_core.domain.palette import SAFETY_GREEN, SAFETY_RED

WIDTH = 360.0

Ring = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Style:
    """How a shape is drawn: `#rrggbb` or "none", widths in drawing units, dash as lengths on and off."""

    stroke: str = "none"
    width: float = 1.0
    fill: str = "none"
    opacity: float = 1.0
    dash: tuple[float, ...] = ()


INK, FAINT, PAPER = "#1c2830", "#5a6872", "#ffffff"
DANGER, SAFE = SAFETY_RED, SAFETY_GREEN
#: The safety yellow is too pale for lines and letters; this brown-yellow has 5.8 : 1 on white.
DOUBT = "#8a5a00"
SURFACE = Style(fill="#e9edf0")
OPENING = Style(fill="#f7dcda")
HAZARD = Style(stroke=DANGER, width=2.6)
CLOSED = Style(stroke=INK, width=4.2)
ROPE = Style(stroke=INK, width=1.2, dash=(5, 3))
THIN = Style(stroke=FAINT, width=0.8)
SOLID = Style(stroke=INK, width=1.4)
BODY = Style(stroke=INK, width=2.2)
TIMBER = Style(stroke=INK, width=1.0, fill="#d9c7a6")
GROUND = Style(stroke=INK, width=2.2)
COLOUR_OF = {"go": SAFE, "ask a competent person": DOUBT, "do not go": DANGER}


def shade(answer: str, opacity: float = 0.25) -> Style:
    """A fill for a region judged by `answer`."""
    return Style(stroke=COLOUR_OF[answer], width=1.6, fill=COLOUR_OF[answer], opacity=opacity)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished picture. `words` describe it for somebody who cannot see it."""

    name: str
    title: str
    words: str
    height: float
    shapes: tuple[dict[str, object], ...]

    def as_dict(self) -> dict[str, object]:
        """Plain values: shapes for printing and the ready SVG text."""
        return {
            "name": self.name,
            "title": self.title,
            "words": self.words,
            "width": WIDTH,
            "height": self.height,
            "shapes": list(self.shapes),
            "svg": self.svg(),
        }

    def svg(self) -> str:
        """The picture as one SVG element that fills the width it is given; all text is escaped."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(WIDTH)} {_n(self.height)}" width="100%" '
            f'role="img" aria-label="{escape(self.title + ". " + self.words)}" '
            'font-family="system-ui, sans-serif">'
        )
        body = [f"<title>{escape(self.title)}</title>", f"<desc>{escape(self.words)}</desc>"]
        body.append(f'<rect width="{_n(WIDTH)}" height="{_n(self.height)}" fill="{PAPER}"/>')
        body += [_element(shape) for shape in self.shapes]
        return head + "".join(body) + "</svg>"


@dataclass(slots=True)
class Board:
    """Collects the shapes of a drawing in the order in which they are painted."""

    shapes: list[dict[str, object]] = field(default_factory=list)

    def path(self, rings: Iterable[Ring], style: Style, *, closed: bool = False) -> None:
        """Lines through points; several closed rings are filled even-odd, so inner rings are holes."""
        plain = [[[_r(x), _r(y)] for x, y in ring] for ring in rings]
        self.shapes.append({"type": "path", "rings": plain, "closed": closed, **_style(style)})

    def line(self, x1: float, y1: float, x2: float, y2: float, style: Style) -> None:
        """One straight line."""
        self.path([[(x1, y1), (x2, y2)]], style)

    def box(self, x: float, y: float, width: float, height: float, style: Style) -> None:
        """A rectangle from its upper left corner."""
        self.path([[(x, y), (x + width, y), (x + width, y + height), (x, y + height)]], style, closed=True)

    def disc(self, x: float, y: float, radius: float, style: Style) -> None:
        """A circle."""
        self.shapes.append({"type": "disc", "x": _r(x), "y": _r(y), "r": _r(radius), **_style(style)})

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = 11,
        at: str = "start",
        colour: str = INK,
        bold: bool = False,
    ) -> None:
        """One line of lettering, `y` at its baseline, `at` start, middle or end; a pale rim keeps it readable."""
        self.shapes.append(
            {
                "type": "text",
                "x": _r(x),
                "y": _r(y),
                "text": text,
                "size": size,
                "at": at,
                "colour": colour,
                "bold": bold,
            }
        )

    def dimension(self, x1: float, y1: float, x2: float, y2: float, style: Style = THIN, tick: float = 4) -> None:
        """A dimension line with a short tick across each end."""
        self.line(x1, y1, x2, y2, style)
        length = math.dist((x1, y1), (x2, y2)) or 1.0
        nx, ny = -(y2 - y1) / length * tick, (x2 - x1) / length * tick
        for x, y in ((x1, y1), (x2, y2)):
            self.line(x - nx, y - ny, x + nx, y + ny, style)

    def done(self, name: str, title: str, words: str, height: float) -> Drawing:
        """The finished drawing."""
        return Drawing(name, title, words, _r(height), tuple(self.shapes))


def lettering_width(text: str, size: float) -> float:
    """Roughly how wide a line of text will be (0.56 of its size per character, a cautious mean of sans faces)."""
    return 0.56 * size * len(text)


def scale_bar(board: Board, x: float, y: float, units_per_metre: float, longest: float = 90) -> None:
    """A bar of a round number of metres no longer than `longest` units, with its length in both systems."""
    metres = 1e-3
    for power in range(-2, 5):
        for step in (1, 2, 5):
            if step * 10.0**power * units_per_metre <= longest:
                metres = max(metres, step * 10.0**power)
    width = metres * units_per_metre
    board.dimension(x, y, x + width, y, SOLID)
    board.text(x + width + 7, y + 4, f"{metres:g} m ({metres / 0.3048:.3g} ft)", size=10, colour=FAINT)


def _style(style: Style) -> dict[str, object]:
    return {
        "stroke": style.stroke,
        "width": style.width,
        "fill": style.fill,
        "opacity": style.opacity,
        "dash": list(style.dash),
    }


def _r(number: float) -> float:
    return round(number, 2) + 0.0


def _n(number: object) -> str:
    return f"{number:g}" if isinstance(number, int) else f"{float(str(number)):.2f}".rstrip("0").rstrip(".")


def _paint(shape: dict[str, object]) -> str:
    parts = [f'fill="{shape["fill"]}"']
    if shape["fill"] != "none" and shape["opacity"] != 1:
        parts.append(f'fill-opacity="{_n(shape["opacity"])}"')
    if shape["stroke"] != "none":
        parts.append(f'stroke="{shape["stroke"]}" stroke-width="{_n(shape["width"])}"')
        dash = shape["dash"]
        if isinstance(dash, list) and dash:
            parts.append('stroke-dasharray="' + " ".join(_n(d) for d in dash) + '"')
    return " ".join(parts)


def _element(shape: dict[str, object]) -> str:
    if shape["type"] == "disc":
        return f'<circle cx="{_n(shape["x"])}" cy="{_n(shape["y"])}" r="{_n(shape["r"])}" {_paint(shape)}/>'
    if shape["type"] == "text":
        weight = ' font-weight="bold"' if shape["bold"] else ""
        return (
            f'<text x="{_n(shape["x"])}" y="{_n(shape["y"])}" font-size="{_n(shape["size"])}" '
            f'text-anchor="{shape["at"]}" fill="{shape["colour"]}" stroke="{PAPER}" stroke-width="3" '
            f'paint-order="stroke"{weight}>{escape(str(shape["text"]))}</text>'
        )
    rings = shape["rings"]
    commands = []
    if isinstance(rings, list):
        for ring in rings:
            if ring:
                moves = "L".join(f"{_n(x)} {_n(y)}" for x, y in ring)
                commands.append("M" + moves + ("Z" if shape["closed"] else ""))
    return f'<path d="{"".join(commands)}" fill-rule="evenodd" {_paint(shape)}/>'
