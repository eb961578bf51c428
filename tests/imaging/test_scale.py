"""Scale from a known length and from fitted points; what tilt, distance and height do to it."""

from __future__ import annotations

import numpy as np
import pytest

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import readings
from inspect_core.imaging.known_length import known_length, tilt_spreads
from inspect_core.imaging.measure import monte_carlo, path_length, propagate
from inspect_core.imaging.plane import PlaneMap, fit, fitted_bend, through
from tests.imaging.cameras import SIZE, seen, view

ACROSS = [[0, 0], [0, 45]]  # webbing width in plane mm


def _scale(tilt: float = 0.0, **options: float):  # type: ignore[no-untyped-def]
    return known_length(seen(view(tilt), ACROSS), 45.0, SIZE, length_sd_mm=0.2, **options)


def _length(scale: object, plane: object, tilt: float = 0.0):  # type: ignore[no-untyped-def]
    line = seen(view(tilt), plane)
    return readings.length(Shape.of("line", line.tolist()), scale)  # type: ignore[arg-type]


def test_a_known_length_measures_what_lies_beside_it() -> None:
    found = _length(_scale(), [[5, 5], [5, 15]])
    assert found.value == pytest.approx(10.0, abs=1e-6)
    assert 0.3 < found.expanded < 0.9


def test_a_reading_across_the_reference_is_wider_than_one_along_it() -> None:
    along, across = _length(_scale(), [[5, 5], [5, 35]]), _length(_scale(), [[5, 5], [35, 5]])
    assert across.expanded > 2.5 * along.expanded


def test_a_reading_far_from_the_reference_is_wider_or_refused() -> None:
    near, far = _length(_scale(), [[10, 5], [10, 25]]), _length(_scale(), [[110, 5], [110, 25]])
    assert far.expanded > 2 * near.expanded
    with pytest.raises(BadInput, match="too far"):
        _length(_scale(), [[-900, 5], [-900, 25]])


@pytest.mark.parametrize("tilt", [0, 10, 20, 30, 35])
@pytest.mark.parametrize("axis", [0, 45, 90, 135])
def test_the_single_factor_scale_covers_the_tilt_it_cannot_see(tilt: float, axis: float) -> None:
    matrix = view(tilt, axis)
    scale = known_length(seen(matrix, ACROSS), 45.0, SIZE, length_sd_mm=0.2)
    for line in ([[5, 5], [5, 35]], [[5, 5], [35, 5]], [[5, 5], [27, 27]]):
        truth = float(np.hypot(*np.diff(np.array(line, float), axis=0)[0]))
        found = readings.length(Shape.of("line", seen(matrix, line).tolist()), scale)
        # The extreme directions of the steepest tilt may lie just outside of 95 %.
        assert abs(found.value - truth) <= found.expanded * (1.0 if tilt < 30 else 1.35)


def test_a_camera_said_to_be_square_gives_a_sharper_scale() -> None:
    loose, tight = _length(_scale(), [[5, 5], [35, 5]]), _length(_scale(widest_tilt_deg=5.0), [[5, 5], [35, 5]])
    assert tight.expanded < 0.5 * loose.expanded


def test_a_surface_nearer_to_the_camera_looks_larger_and_is_corrected() -> None:
    level, raised = _scale(), _scale(height_mm=12.0)
    assert raised.mm_per_px < level.mm_per_px + 1e-12
    assert _length(raised, [[5, 5], [5, 15]]).value < _length(level, [[5, 5], [5, 15]]).value


def test_unknown_tilt_follows_from_a_cone_of_equally_likely_directions() -> None:
    chance = np.random.default_rng(2)
    cosine = chance.uniform(np.cos(np.radians(35)), 1, 400_000)
    turn = chance.uniform(0, 2 * np.pi, cosine.size)
    squeeze, lean = tilt_spreads(35.0)
    assert squeeze == pytest.approx(((1 / cosine - 1) * np.cos(2 * turn)).std(), rel=0.01)
    assert lean == pytest.approx((np.sqrt(1 / cosine**2 - 1) * np.cos(turn)).std(), rel=0.01)


@pytest.mark.parametrize("line", [[[5, 5], [5, 35]], [[5, 5], [35, 5]], [[8, 10], [20, 30]], [[-20, 0], [-6, 30]]])
def test_propagated_and_drawn_uncertainty_agree_within_five_per_cent(line: list[list[float]]) -> None:
    scale = _scale(widest_tilt_deg=20.0)
    points = seen(view(0), line)
    first = propagate(path_length, points, scale)
    drawn = monte_carlo(path_length, points, scale, np.random.default_rng(5))
    assert first.standard == pytest.approx(drawn.standard, rel=0.05)
    assert first.value == pytest.approx(drawn.mean, abs=0.1 * first.standard)
    assert drawn.low < first.value < drawn.high


def test_the_budget_adds_up() -> None:
    found = _length(_scale(), [[5, 5], [25, 15]])
    assert found.standard**2 == pytest.approx(sum(part**2 for part in found.budget.values()))
    assert {"pointing", "pixel size", "known length", "unknown tilt", "lens"} <= set(found.budget)


@pytest.mark.parametrize(
    ("ends", "length", "options", "words"),
    [
        ([[0, 0], [10, 0]], 45, {}, "only 10 pixels long"),
        ([[0, 0], [500, 0]], 0, {}, "above 0"),
        ([[0, 0], [500, 0]], 45, {"length_sd_mm": 30}, "too uncertain"),
        ([[0, 0], [500, 0]], 45, {"point_sd_px": 99}, "between 0 and 50"),
        ([[0, 0], [500, 0]], 45, {"widest_tilt_deg": 75}, "between 0 and 60"),
        ([[0, 0], [500, 0]], 45, {"height_sd_mm": -1}, "no usable number"),
        ([[0, 0], [500, float("nan")]], 45, {}, "two points"),
    ],
)
def test_an_unusable_known_length_is_refused(
    ends: list[list[float]], length: float, options: dict[str, float], words: str
) -> None:
    with pytest.raises(BadInput, match=words):
        known_length(np.array(ends, float), length, SIZE, **options)


GRID = np.array([[x, y] for x in range(0, 160, 20) for y in range(0, 80, 20)], float)


def test_a_fitted_plane_gives_back_its_points_and_the_tilt() -> None:
    photo = seen(view(25, 70), GRID - 60)
    found = fit(photo, GRID, SIZE)
    assert found.residual_px < 1e-3 and np.abs(found.map.to_mm(photo) - GRID).max() < 1e-4
    assert np.abs(found.map.to_px(GRID) - photo).max() < 1e-3
    assert found.map.tilt_deg(seen(view(25, 70), [[0, 0]])[0]) == pytest.approx(25, abs=0.5)


def test_a_bent_lens_is_found_and_taken_out() -> None:
    photo = seen(view(10), GRID - (70, 30))
    centre, reach = np.array(SIZE) / 2, float(np.hypot(*SIZE)) / 2
    # Barrel distortion as the map undoes it, by fixed point.
    bent = photo.copy()
    for _ in range(50):
        out = bent - centre
        bent = centre + (photo - centre) / (1 - 0.12 * (out**2).sum(1, keepdims=True) / reach**2)
    assert fitted_bend(bent, GRID, SIZE) == pytest.approx(-0.12, abs=0.005)
    straight = fit(bent, GRID, SIZE, -0.12)
    assert straight.residual_px < 0.01 < fit(bent, GRID, SIZE).residual_px
    assert np.abs(straight.map.to_px(GRID) - bent).max() < 0.05


def test_points_on_one_line_are_no_plane() -> None:
    line = np.array([[i, 2 * i] for i in range(10)], float)
    with pytest.raises(BadInput, match="one line"):
        fit(line * 7 + 100, line, SIZE)


def test_what_lies_beyond_the_horizon_is_refused() -> None:
    steep = PlaneMap(np.array([[1, 0, 0], [0, 1, 0], [0, 0.001, 1.0]]))
    with pytest.raises(BadInput, match="horizon"):
        steep.to_mm(np.array([[0.0, -1500.0], [0.0, 0.0]]))
    assert np.allclose(through(np.eye(3), GRID), GRID)
