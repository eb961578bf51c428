"""No unsafe rope is ever called safe: random roofs against exact rational arithmetic and against ray casting."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.rigging.restraint import Tether, check_restraint
from inspect_core.rigging.result import Answer
from inspect_core.rigging.roof import Roof
from inspect_core.rigging.units import Quantity
from tests.rigging.roofs import Case, exact_squared_distance, random_case, some_point_off_the_roof

SEED = 20260504


def _tether(rng: random.Random, wanted: float) -> Tether:
    """Parts that add up to about the wanted reach, so that most draws fall near the edge of the answer."""
    lanyard, shift, body = (round(rng.uniform(0, 0.12) * wanted, 3) for _ in range(3))
    stretch = round(rng.uniform(0, 0.1), 3)
    rope = round(max(0.0, (wanted - shift - body) / (1 + stretch) - lanyard), 3)
    doubt = round(rng.choice((0.0, 0.0, rng.uniform(0, 0.1))), 3)
    return Tether(Quantity(rope, doubt), Quantity(lanyard), stretch, Quantity(shift), Quantity(body))


def _exact_reach(tether: Tether, rope: float) -> Fraction:
    assert tether.lanyard and tether.harness_shift and tether.body_reach and tether.stretch_share is not None
    stretch = 1 + Fraction(tether.stretch_share)
    straight = (Fraction(rope) + Fraction(tether.lanyard.value)) * stretch
    return straight + Fraction(tether.harness_shift.value) + Fraction(tether.body_reach.value)


def _nudged(case: Case, rng: random.Random, by: float) -> Case:
    """Every drawn point moved anywhere within its uncertainty."""

    def move(point: tuple[float, float]) -> tuple[float, float]:
        angle, far = rng.uniform(0, 2 * math.pi), by * 0.999999
        return (point[0] + far * math.cos(angle), point[1] + far * math.sin(angle))

    rings = [tuple(move(p) for p in ring) for ring in case.rings]
    return Case(rings[0], tuple(rings[1:]), move(case.anchor), case.closed)


def _try(count: int) -> dict[Answer, int]:
    rng = random.Random(SEED)
    tally = dict.fromkeys(Answer, 0)
    while sum(tally.values()) < count:
        case = random_case(rng)
        if case is None:
            continue
        exact = exact_squared_distance(case)
        doubt = rng.choice((0.0, 0.0, 0.02, 0.1))
        wanted = max(0.05, math.sqrt(exact) * rng.uniform(0.7, 1.2)) if exact is not None else rng.uniform(1, 20)
        tether = _tether(rng, wanted)
        try:
            roof = Roof(case.outer, case.openings, case.closed, doubt)
            result = check_restraint(roof, case.anchor, tether, "common")
        except BadInput:
            continue
        tally[result.answer] += 1
        assert tether.rope is not None
        reach = _exact_reach(tether, tether.rope.value)
        if exact is None:
            assert result.answer is Answer.ASK
            continue
        if result.answer is Answer.GO:
            longest = _exact_reach(tether, tether.rope.high)
            assert exact > longest * longest, "a rope within reach of an edge was called safe"
            if not case.closed:
                assert not some_point_off_the_roof(case, float(longest))
            moved = exact_squared_distance(_nudged(case, rng, doubt))
            assert moved is not None and moved > longest * longest
        elif result.answer is Answer.NO:
            assert float(exact) <= float(reach * reach) * (1 + 1e-9) + 1e-12, "a safe rope was forbidden"
        best = result.numbers["longest_safe_rope_m"]
        assert best is not None
        if best > 0:
            safest = _exact_reach(tether, best)
            assert exact > safest * safest, "the longest safe rope is not safe"
    return tally


def test_no_unsafe_rope_is_called_safe_on_500_random_roofs() -> None:
    tally = _try(500)
    assert min(tally.values()) > 20, f"the draw must reach every answer: {tally}"


@pytest.mark.slow
def test_no_unsafe_rope_is_called_safe_on_10_000_random_roofs() -> None:
    tally = _try(10_000)
    assert min(tally.values()) > 500, f"the draw must reach every answer: {tally}"
