"""Plain outline parts from which the drawing of each kind is put together.

Frame: drawing units, x right, y down. A part is one or more shapes: a filled area, a thick line (strap, rope, wire,
ring), or a thin detail line that only explains what the area is.
"""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Shape:
    """An SVG path. `width` 0: an area. Above 0: a line so wide, drawn with an ink rim. `detail`: a thin ink line."""

    path: str
    width: float = 0.0
    detail: bool = False


Shapes = tuple[Shape, ...]


def line(*points: Point, width: float, closed: bool = False) -> Shapes:
    """A strap, rope or wire through points."""
    moves = "L".join(f"{x:g} {y:g}" for x, y in points)
    return (Shape(f"M{moves}{'Z' if closed else ''}", width),)


def strap(*points: Point, closed: bool = False) -> Shapes:
    """Webbing."""
    return line(*points, width=13, closed=closed)


def rope(*points: Point, closed: bool = False) -> Shapes:
    """Fibre rope."""
    return line(*points, width=8, closed=closed)


def wire(*points: Point, closed: bool = False) -> Shapes:
    """Wire rope."""
    return line(*points, width=4, closed=closed)


def box(x: float, y: float, width: float, height: float) -> Shape:
    """A rectangle from its upper left corner."""
    return Shape(f"M{x:g} {y:g}h{width:g}v{height:g}h{-width:g}Z")


def disc(x: float, y: float, radius: float) -> Shape:
    """A filled circle around its middle."""
    return Shape(_circle(x, y, radius))


def ring(x: float, y: float, radius: float, width: float = 6) -> Shapes:
    """A ring such as a D-ring seen from the front."""
    return (Shape(_circle(x, y, radius), width),)


def d_ring(x: float, y: float, size: float = 14) -> Shapes:
    """A D-ring, its straight side above; `x`, `y` the middle of that side."""
    return (Shape(f"M{x - size:g} {y:g}H{x + size:g}a{size:g} {size:g} 0 0 1 {-2 * size:g} 0Z", 6),)


def label(x: float, y: float, width: float = 30, height: float = 20) -> Shapes:
    """A label with its lines of print."""
    print_lines = "".join(f"M{x + 5:g} {y + dy:g}h{width - 10:g}" for dy in (6, 10, 14) if dy < height - 3)
    return (box(x, y, width, height), Shape(print_lines, detail=True))


def hung_label(x: float, y: float, down_to: float) -> Shapes:
    """A label on its cord, which ends at the height `down_to`."""
    return (*label(x, y, 28, 18), Shape(f"M{x + 14:g} {y + 18:g}V{down_to:g}", detail=True))


def stitching(x: float, y: float, length: float = 30, height: float = 13) -> Shapes:
    """A sewn patch with its zigzag, lying along x, `y` its middle."""
    step, top = 5, height / 2 - 3
    zigzag = f"M{x + 2:g} {y + top:g}" + "".join(
        f"L{x + 2 + step * (i + 1):g} {y + (top if i % 2 else -top):g}" for i in range(int((length - 4) // step))
    )
    return (box(x, y - height / 2, length, height), Shape(zigzag, detail=True))


def absorber(x: float, y: float, length: float = 56, height: float = 24) -> Shapes:
    """An energy absorber's pack with its folds, `y` its middle."""
    folds = "".join(f"M{x + dx:g} {y - height / 2 + 4:g}v{height - 8:g}" for dx in range(10, int(length) - 6, 9))
    return (box(x, y - height / 2, length, height), Shape(folds, detail=True))


def indicator(x: float, y: float) -> Shapes:
    """A load indicator, drawn as a diamond."""
    return (Shape(f"M{x:g} {y - 9:g}l9 9l-9 9l-9 -9Z"),)


def buckle(x: float, y: float) -> Shapes:
    """A buckle with its bar, around its middle."""
    return (box(x - 13, y - 11, 26, 22), Shape(f"M{x:g} {y - 11:g}v22", detail=True))


def termination(x: float, y: float, length: float = 26, height: float = 15) -> Shapes:
    """A splice, ferrule or sewn end, `y` its middle."""
    rings = "".join(f"M{x + dx:g} {y - height / 2:g}v{height:g}" for dx in (7, 13, 19) if dx < length)
    return (box(x, y - height / 2, length, height), Shape(rings, detail=True))


def thimble(x: float, y: float, way: int = 1) -> Shapes:
    """A thimble in an eye, its point at (x, y) and its round end 26 units to the right (`way` 1) or left (−1)."""
    w = 26 * way
    return (
        Shape(
            f"M{x:g} {y:g}C{x + w * 0.5:g} {y - 13:g} {x + w:g} {y - 13:g} {x + w:g} {y:g}"
            f"C{x + w:g} {y + 13:g} {x + w * 0.5:g} {y + 13:g} {x:g} {y:g}Z",
            5,
        ),
    )


def snap_hook(x: float, y: float, way: int = 1) -> Shapes:
    """A snap hook, its eye at (x, y) and its hook to the right (`way` 1) or left (−1); the gate is a detail line."""
    w = way
    hook = (
        f"M{x + 6 * w:g} {y:g}H{x + 16 * w:g}C{x + 18 * w:g} {y - 20:g} {x + 60 * w:g} {y - 22:g} {x + 60 * w:g} {y:g}"
        f"C{x + 60 * w:g} {y + 14:g} {x + 48 * w:g} {y + 16:g} {x + 42 * w:g} {y + 12:g}"
    )
    gate = f"M{x + 16 * w:g} {y + 2:g}L{x + 42 * w:g} {y + 12:g}"
    return (Shape(_circle(x, y, 7), 5), Shape(hook, 7), Shape(gate, detail=True))


def _circle(x: float, y: float, r: float) -> str:
    return f"M{x - r:g} {y:g}a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0Z"
