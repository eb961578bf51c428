"""Where on the gear damage happens: marks per component, and the kind's outline drawing shaded by them.

A mark's place on its photo is not its place on the gear: photos are taken from every side and distance. What is
known is the component that a person named for the mark. The map therefore shades whole components, and says nothing
about where on a component the damage sits.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from inspect_core.domain.counted import MarkCount
from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind, components_of
from inspect_core.domain.marks import Category
from inspect_core.trends.few import check_confidence
from inspect_core.trends.outline_parts import Shape
from inspect_core.trends.outlines import OUTLINES, WIDTH, Region
from inspect_core.trends.rates import LEAST_INSPECTIONS, garwood

#: From nothing to the most: five steps whose lightness falls evenly, so that they stay apart in greyscale.
STEPS = ("#ffffff", "#cfe3f1", "#93bfdd", "#4a8fc0", "#1b5788")
_INK, _FAINT = "#1c2830", "#5a6872"


@dataclass(frozen=True, slots=True)
class DamageMark:
    """One mark of a kind's items as counted here."""

    inspection_id: str
    item_id: str
    component: Component
    category: Category


@dataclass(frozen=True, slots=True)
class ComponentDamage:
    """Marks on one component. `looked_at`: inspections in which it was there and seen.

    `per_100`, `low`, `high`: marks per 100 such inspections with the exact Poisson interval; None where fewer than
    LEAST_INSPECTIONS looked at it. `items`: different items behind the marks; one bad item can carry many.
    `categories`: what the marks show, most frequent first.
    """

    component: Component
    marks: int
    items: int
    inspections: int
    looked_at: int
    per_100: float | None
    low: float | None
    high: float | None
    categories: tuple[tuple[Category, int], ...]

    @property
    def in_words(self) -> str:
        """Counts, and the rate where there is one."""
        count = f"{self.marks} {'mark' if self.marks == 1 else 'marks'}"
        if self.per_100 is None:
            return f"{self.component}: {count}, too few looks ({self.looked_at}) for a rate"
        return f"{self.component}: {count}, {self.per_100:.1f} per 100 ({self.low:.1f} to {self.high:.1f})"


def damage_by_component(
    kind: Kind,
    marks: Iterable[DamageMark],
    looked_at: Mapping[Component, int],
    *,
    confidence: float = 0.95,
) -> tuple[ComponentDamage, ...]:
    """Every component of a kind in inspection order, those without marks included.

    `looked_at`: inspections of that kind per component in which it was answered sound or defect; left out is 0.
    Raises BadInput for a mark on a component that the kind lacks, or marks in more inspections than looked at it.
    """
    by_component: dict[Component, list[DamageMark]] = {}
    for mark in marks:
        by_component.setdefault(mark.component, []).append(mark)
    counts = []
    for component, own in by_component.items():
        shown = Counter(mark.category for mark in own)
        categories = tuple(sorted(shown.items(), key=lambda pair: (-pair[1], pair[0].value)))
        different = len({mark.item_id for mark in own}), len({mark.inspection_id for mark in own})
        counts.append(MarkCount(component, len(own), *different, categories))
    return damage_from_counts(kind, counts, looked_at, confidence=confidence)


def damage_from_counts(
    kind: Kind, counts: Iterable[MarkCount], looked_at: Mapping[Component, int], *, confidence: float = 0.95
) -> tuple[ComponentDamage, ...]:
    """The same from marks that were counted by component already."""
    check_confidence(confidence)
    by_component = {component: MarkCount(component, 0, 0, 0, ()) for component in components_of(kind)}
    for count in counts:
        if count.component not in by_component:
            raise BadInput(f"A {kind} has no {count.component}.", "Correct the mark's component.")
        by_component[count.component] = count
    found = []
    for component, own in by_component.items():
        looked = looked_at.get(component, 0)
        if own.inspections > looked:
            raise BadInput(
                f"The {component} carries marks in {own.inspections} inspections but was looked at in {looked}.",
                "Count every inspection in which the component was seen.",
            )
        rate, low, high = None, None, None
        if looked >= LEAST_INSPECTIONS:
            ends = garwood(own.marks, confidence)
            rate, low, high = 100 * own.marks / looked, 100 * ends[0] / looked, 100 * ends[1] / looked
        counted = (own.marks, own.items, own.inspections, looked)
        found.append(ComponentDamage(component, *counted, rate, low, high, own.categories))
    return tuple(found)


def step_of(damage: ComponentDamage, most: float) -> int | None:
    """Which of STEPS shades a component when `most` is the highest rate of its kind; None: no rate."""
    if damage.per_100 is None:
        return None
    if damage.per_100 <= 0 or most <= 0:
        return 0
    return min(4, 1 + int(4 * damage.per_100 / most - 1e-9))


def damage_drawing(kind: Kind, damages: Sequence[ComponentDamage]) -> str:
    """The kind's outline as one SVG element, components shaded by their rate and numbered, with the list below.

    It fills the width it is given; every region is a group with `data-component` and a title. Raises BadInput where
    the damages are not those of the kind.
    """
    outline = OUTLINES[kind]
    by_component = {damage.component: damage for damage in damages}
    if set(by_component) != set(components_of(kind)):
        raise BadInput(f"These are not the components of a {kind}.", "Give the result of damage_by_component.")
    most = max((damage.per_100 or 0.0 for damage in damages), default=0.0)
    numbers = {component: number for number, component in enumerate(components_of(kind), 1)}
    rows = [by_component[component] for component in components_of(kind)]
    height = outline.height + 24 + 18 * len(rows)
    words = "; ".join(damage.in_words for damage in rows)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:g}" width="100%" role="img" '
        f'aria-label="{escape(f"Where damage happens on a {kind}: {words}")}" font-family="system-ui, sans-serif">',
        '<defs><pattern id="too-few" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<rect width="6" height="6" fill="#ffffff"/><path d="M0 6L6 0" stroke="{_FAINT}" stroke-width="1"/>'
        "</pattern></defs>",
        f'<rect width="{WIDTH:g}" height="{height:g}" fill="#ffffff"/>',
    ]
    for region in outline.regions:
        parts.append(_region(region, by_component[region.component], most))
    for region in outline.regions:
        parts.append(_number(*region.number_at, numbers[region.component]))
    top = outline.height + 10
    parts.append(_text(8, top, f"Marks per 100 inspections that looked, darkest {most:.1f}", 11, _FAINT))
    for row, damage in enumerate(rows):
        y = top + 18 * (row + 1)
        parts.append(
            f'<rect x="8" y="{y - 10:g}" width="12" height="12" fill="{_fill(damage, most)}" stroke="{_INK}"/>'
        )
        parts.append(_text(26, y, f"{numbers[damage.component]}  {damage.in_words}", 11.5, _INK))
    return "".join([*parts, "</svg>"])


def _fill(damage: ComponentDamage, most: float) -> str:
    step = step_of(damage, most)
    return "url(#too-few)" if step is None else STEPS[step]


def _region(region: Region, damage: ComponentDamage, most: float) -> str:
    fill = _fill(damage, most)
    drawn = "".join(_shape(shape, fill) for shape in sorted(region.shapes, key=lambda shape: shape.detail))
    return f'<g data-component="{escape(region.component)}"><title>{escape(damage.in_words)}</title>{drawn}</g>'


def _shape(shape: Shape, fill: str) -> str:
    if shape.detail:
        rim = 'fill="none" stroke="#ffffff" stroke-width="2.6" stroke-opacity="0.7"'
        return f'<path d="{shape.path}" {rim}/><path d="{shape.path}" fill="none" stroke="{_INK}" stroke-width="1"/>'
    if shape.width == 0:
        return f'<path d="{shape.path}" fill="{fill}" stroke="{_INK}" stroke-width="1.4"/>'
    joined = 'fill="none" stroke-linejoin="round"'
    return (
        f'<path d="{shape.path}" {joined} stroke="{_INK}" stroke-width="{shape.width + 2.8:g}"/>'
        f'<path d="{shape.path}" {joined} stroke="{fill}" stroke-width="{shape.width:g}"/>'
    )


def _number(x: float, y: float, number: int) -> str:
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="8.5" fill="#ffffff" stroke="{_INK}"/>'
        f'<text x="{x:g}" y="{y + 4:g}" font-size="11" font-weight="bold" text-anchor="middle" fill="{_INK}">'
        f"{number}</text>"
    )


def _text(x: float, y: float, text: str, size: float, colour: str) -> str:
    return f'<text x="{x:g}" y="{y:g}" font-size="{size:g}" fill="{colour}">{escape(text)}</text>'
