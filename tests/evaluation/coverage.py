"""Does the stated k = 2 interval hold the truth? Thousands of drawn photos, every measure.

`python -m tests.evaluation.coverage [PHOTOS] [FIRST_SEED] [PROCESSES]` draws the photos, measures, prints a table and
writes docs/coverage.png and docs/coverage.csv. 2,000 photos take the better part of an hour on two cores.
"""

from __future__ import annotations

import csv
import math
import multiprocessing
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
from tqdm import tqdm

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import colour, metal, readings, rope, stitching
from inspect_core.imaging.card import find_card, scale_of_card
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.measure import Estimate, enclosed_area, line_angle, path_length, propagate, turn_angle
from inspect_core.imaging.plane import Array
from inspect_core.imaging.scale import Scale
from sample_images.evaluation import EVALUATION_SEEDS
from tests.evaluation.scenes import Scene, scene

#: Standard deviation of every pointed-at coordinate, in px, declared to the measuring side as it is.
POINTING = 1.5
Row = tuple[str, str, float, float, float, int]
DOCS = Path(__file__).parents[2] / "docs"


def _points(rng: np.random.Generator, photo: Array) -> Array:
    return photo + rng.normal(0, POINTING, photo.shape)


def _polygon(points: Array) -> Shape:
    return Shape.of("polygon", points.tolist())


def _direction(angle: float) -> Array:
    return np.array([math.cos(angle), math.sin(angle)])


def _sizes(
    sc: Scene, scale: Scale, near: Array, reach: float, rng: np.random.Generator
) -> Iterator[tuple[str, float, Callable[[], Estimate]]]:
    """(measure, truth, measuring) for shapes drawn at random places within `reach` mm of `near` (plane mm)."""
    sd = POINTING
    at = near + _direction(rng.uniform(0, 2 * math.pi)) * reach * math.sqrt(rng.uniform())
    along = _direction(rng.uniform(0, 2 * math.pi))
    across = np.array([-along[1], along[0]])
    size = (sc.rgb.shape[1], sc.rgb.shape[0])

    span = float(np.exp(rng.uniform(math.log(3), math.log(60))))
    line = _points(rng, sc.photo(np.array([at - along * span / 2, at + along * span / 2])))
    yield "length", span, lambda: readings.length(Shape.of("line", line.tolist()), scale, point_sd_px=sd)

    wide, long = float(rng.uniform(3, 14)), float(rng.uniform(18, 40))
    corners = np.array(
        [at + along * a * long / 2 + across * b * wide / 2 for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    )
    box = _polygon(_points(rng, sc.photo(corners)))
    yield "width", wide, lambda: readings.width(box, scale, point_sd_px=sd)

    turns = np.linspace(0, 2 * math.pi, 14, endpoint=False)
    radius = float(rng.uniform(4, 14)) * (1 + 0.25 * rng.normal(0, 1, 14).clip(-1.5, 1.5))
    blob = at + np.stack([np.cos(turns), np.sin(turns)], axis=1) * radius[:, None]
    drawn = _polygon(_points(rng, sc.photo(blob)))
    yield "area", float(enclosed_area(blob)), lambda: readings.area(drawn, scale, point_sd_px=sd)

    frame = np.array([at + along * a * 34 + across * b * 24 for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
    whole = _polygon(_points(rng, sc.photo(frame)))
    true_share = float(enclosed_area(blob) / enclosed_area(frame))
    yield "area share", true_share, lambda: readings.area_share(drawn, whole, scale, size, point_sd_px=sd)

    bend = float(rng.uniform(20, 170))
    start = rng.uniform(0, 2 * math.pi)
    legs = np.array([at + _direction(start) * 22, at, at + _direction(start + math.radians(bend)) * 22])
    corner = Shape.of("polyline", _points(rng, sc.photo(legs)).tolist())
    yield "angle", float(turn_angle(legs)), lambda: readings.angle(corner, scale, size, point_sd_px=sd)

    lean = float(rng.uniform(0, 25))
    other = _direction(start + math.radians(lean))
    pair = np.array([at - _direction(start) * 12, at + _direction(start) * 12, at + other * 4, at + other * 26])
    seen = _points(rng, sc.photo(pair))
    yield "twist", float(line_angle(pair)), lambda: readings.twist(seen[:2], seen[2:], scale, size, point_sd_px=sd)

    deep = float(np.exp(rng.uniform(math.log(0.6), math.log(20))))
    edge = np.array([at - along * 18, at + along * 18])
    far = edge + across * 45
    cut = np.array([at, at + across * deep])
    near_edge, far_edge, mark = (_points(rng, sc.photo(p)) for p in (edge, far, cut))
    shape = Shape.of("line", mark.tolist())
    yield "depth from edge", deep, lambda: readings.depth(shape, near_edge, scale, point_sd_px=sd)
    yield (
        "depth share",
        deep / 45,
        lambda: readings.depth_by_share(shape, near_edge, far_edge, scale, size, point_sd_px=sd),
    )


def _known(sc: Scene, name: str) -> tuple[float, Array] | None:
    for known in sc.truth["known_lengths"]:
        if known["name"] == name:
            return float(known["length_mm"]), np.array(known["points"], float)
    return None


def _seen(sc: Scene, points: Array) -> bool:
    height, width = sc.rgb.shape[:2]
    return bool((points > 4).all() and (points < np.array([width, height]) - 4).all())


def _part(sc: Scene, scale: Scale, rng: np.random.Generator) -> Iterator[tuple[str, float, Callable[[], Estimate]]]:
    """(measure, truth, measuring) of the drawn gear itself, from pixels."""
    for name, measure in (
        ("webbing width", "webbing width"),
        ("hook throat", "throat"),
        ("absorber pack length", "pack length"),
    ):
        known = _known(sc, name)
        if known and _seen(sc, known[1]):
            line = Shape.of("line", _points(rng, known[1]).tolist())
            yield measure, known[0], lambda line=line: readings.length(line, scale, point_sd_px=POINTING)
    known = _known(sc, "rope diameter")
    if known:
        axis = _rope_axis(sc, known)
        if axis is not None:
            line = _points(rng, axis)
            about = known[0]
            yield "rope diameter", about, lambda: rope.rope_diameter(sc.rgb, line, scale, about, point_sd_px=POINTING)
    yield from _seams(sc, scale, rng)
    for defect in sc.truth["defects"]:
        region = next((r for r in sc.truth["regions"] if r["material"] == "metal"), None)
        if defect["category"] != "rust" or sc.truth["view"] != "retractor" or region is None:
            continue
        outline = np.array(region["shape"]["points"])
        if _seen(sc, outline):
            share = _covered(sc, defect["outlines"], outline)
            part = _polygon(_points(rng, outline))
            yield "rust area share", share, lambda p=part: metal.rust_share(sc.rgb, p, point_sd_px=POINTING)[0]


def _covered(sc: Scene, outlines: list[list[list[float]]], region: Array) -> float:
    """Share of the region's pixels under the rust that was painted."""
    masks = []
    for group in (outlines, [region]):
        mask = np.zeros(sc.rgb.shape[:2], np.uint8)
        for outline in group:
            cv2.fillPoly(mask, [np.round((np.array(outline) - 0.5) * 16).astype(np.int32)], 1, shift=4)
        masks.append(mask > 0)
    return float((masks[0] & masks[1]).sum() / masks[1].sum())


def _rope_axis(sc: Scene, known: tuple[float, Array]) -> Array | None:
    region = next((r for r in sc.truth["regions"] if r["material"] in ("rope", "wire rope")), None)
    if region is None:
        return None
    outline = sc.plane(np.array(region["shape"]["points"], float))
    half = len(outline) // 2
    middle = (outline[:half] + outline[half:][::-1]) / 2
    run = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(middle, axis=0).T))])
    here = run[np.argmin(np.hypot(*(middle - sc.plane(known[1]).mean(axis=0)).T))]
    ends = [[np.interp(here + s * 2.2 * known[0], run, middle[:, k]) for k in (0, 1)] for s in (-1, 1)]
    photo = sc.photo(np.array(ends))
    return photo if _seen(sc, photo) else None


def _seams(
    sc: Scene, scale: Scale | None, rng: np.random.Generator
) -> Iterator[tuple[str, float, Callable[[], Estimate]]]:
    for row in sc.truth["stitch_rows"]:
        ends = np.array(row["points"], float)
        if _seen(sc, ends):
            yield from _stitches(sc, scale, row, _points(rng, ends))


def _stitches(
    sc: Scene, scale: Scale | None, row: dict[str, object], line: Array
) -> Iterator[tuple[str, float, Callable[[], Estimate]]]:
    found: dict[str, stitching.Row] = {}

    def row_of() -> stitching.Row:
        if "row" not in found:
            found["row"] = stitching.find_row(sc.rgb, line, scale)
        return found["row"]

    def count() -> Estimate:
        return stitching.count(row_of())

    def gone() -> Estimate:
        return stitching.missing(row_of())

    if scale is not None:
        yield "stitch spacing", float(row["spacing_mm"]), lambda: stitching.spacing(row_of(), scale)  # type: ignore[arg-type]
    yield "stitch count", float(row["count"]), count  # type: ignore[arg-type]
    yield "missing stitches", float(len(row["missing"])), gone  # type: ignore[arg-type]


def _colour(sc: Scene, scale: Scale, rng: np.random.Generator) -> Iterator[tuple[str, float, Callable[[], Estimate]]]:
    boxes = [sc.photo(np.array(box)) for box in sc.patch_boxes]
    if not all(_seen(sc, box) for box in boxes):
        return
    nominal = [colour.lab(colour.linear(np.array(patch) / 255)) for patch in sc.patches]
    truth = float(colour.ciede2000(*nominal))

    def measured() -> Estimate:
        corrected = colour.correction(colour.patch_means(sc.rgb, scale.map))
        pair = [colour.pixels_in(sc.rgb, _polygon(box)) for box in boxes]
        return colour.difference(pair[0], pair[1], corrected, rng)

    yield "colour difference", truth, measured


def photo_rows(seed: int) -> list[Row]:
    """(measure, scale, truth, value, expanded uncertainty, seed) of one photo; a refusal has a value of NaN."""
    sc = scene(seed)
    rng = np.random.default_rng([seed, 29])
    size = (sc.rgb.shape[1], sc.rgb.shape[0])
    rows: list[Row] = []

    def take(tasks: Iterator[tuple[str, float, Callable[[], Estimate]]], name: str) -> None:
        for measure, truth, measuring in tasks:
            try:
                found = measuring()
                rows.append((measure, name, truth, found.value, found.expanded, seed))
            except BadInput:
                rows.append((measure, name, truth, math.nan, math.nan, seed))

    try:
        card = scale_of_card(find_card(sc.rgb), size, rule_mm=sc.rule_read_mm)
    except BadInput:
        rows.append(("card found", "scale card", 1.0, math.nan, math.nan, seed))
    else:
        rows.append(("card found", "scale card", 1.0, 1.0, 0.0, seed))
        middle = sc.plane(np.array([[size[0] / 2, size[1] / 2]]))[0]
        take(_sizes(sc, card, middle, 40.0, rng), "scale card")
        take(_part(sc, card, rng), "scale card")
        take(_colour(sc, card, rng), "scale card")
    take(_seams(sc, None, rng), "no scale")
    for name in ("webbing width", "rope diameter", "hook throat", "absorber pack width"):
        known = _known(sc, name)
        if known is None or not _seen(sc, known[1]):
            continue
        entered = known[0] + float(rng.normal(0, 0.2))
        try:
            scale = known_length(_points(rng, known[1]), entered, size, length_sd_mm=0.2, point_sd_px=POINTING)
        except BadInput:
            continue
        take(_sizes(sc, scale, sc.plane(known[1]).mean(axis=0), 1.5 * known[0], rng), "known length")
        take(_seams(sc, scale, rng), "known length")
        # Beside the reference and parallel to it: how a known length is meant to be used.
        ends = sc.plane(known[1])
        share = float(rng.uniform(0.15, 0.8))
        beside = np.array([ends[0] + (ends[1] - ends[0]) * 0.1, ends[0] + (ends[1] - ends[0]) * (0.1 + share)])
        line = Shape.of("line", _points(rng, sc.photo(beside)).tolist())
        truth = float(path_length(beside))
        take(
            iter(
                [
                    (
                        "length along the reference",
                        truth,
                        lambda s=scale, ln=line: readings.length(ln, s, point_sd_px=POINTING),
                    )
                ]
            ),
            "known length",
        )
        break
    return rows


def typical_uncertainty(draws: int = 200) -> float:
    """Median expanded uncertainty in mm of a 10 mm length at 10 px/mm, card beside it, on a 12-megapixel photo."""
    from inspect_core.imaging.card import FoundCard
    from inspect_core.imaging.card_layout import MARKERS, marker_corners

    rng = np.random.default_rng(41)
    found = []
    for _ in range(draws):
        tilt, axis = math.radians(rng.uniform(0, 35)), rng.uniform(0, 2 * math.pi)
        matrix = _view(tilt, axis, 10.0, (4000, 3000))
        numbers = tuple(MARKERS)
        plane = np.array([marker_corners(n) for n in numbers])
        from inspect_core.imaging.plane import through

        photo = through(matrix, plane - (75.0, -5.0)) + rng.normal(0, 0.12, plane.shape)
        scale = scale_of_card(FoundCard(numbers, photo, plane), (4000, 3000), rule_mm=140.0)
        middle, along = rng.uniform(-30, 0, 2), _direction(rng.uniform(0, 2 * math.pi))
        line = through(matrix, np.array([middle - 5 * along, middle + 5 * along]))
        found.append(propagate(path_length, line, scale, point_sd_px=POINTING).expanded)
    return float(np.median(found))


def _view(tilt: float, axis: float, px_per_mm: float, size: tuple[int, int]) -> Array:
    """Homography of a pinhole camera over a plane tilted by `tilt` about the direction `axis`."""
    focal = 0.75 * max(size)
    c, s = math.cos(axis), math.sin(axis)
    k = np.array([[0, 0, s], [0, 0, -c], [-s, c, 0]])
    rotation = np.eye(3) + math.sin(tilt) * k + (1 - math.cos(tilt)) * (k @ k)
    lens = np.array([[focal, 0, size[0] / 2], [0, focal, size[1] / 2], [0, 0, 1.0]])
    return np.asarray(lens @ np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, focal / px_per_mm]]), float)


def summary(rows: list[Row]) -> list[tuple[str, str, int, int, float, float, float, float]]:
    """(measure, scale, readings, refused, coverage, its lower Wilson bound, median U, median |error|)."""
    groups: dict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in rows:
        if row[0] != "card found":
            groups[row[:2]].append(row)
    table = []
    for (measure, scale), found in sorted(groups.items()):
        good = [r for r in found if math.isfinite(r[3])]
        if not good:
            continue
        error = np.array([abs(r[3] - r[2]) for r in good])
        wide = np.array([r[4] for r in good])
        hits = int((error <= wide + 1e-9).sum())
        table.append(
            (
                measure,
                scale,
                len(good),
                len(found) - len(good),
                hits / len(good),
                _wilson_low(hits, len(good)),
                float(np.median(wide)),
                float(np.median(error)),
            )
        )
    return table


def _wilson_low(hits: int, count: int) -> float:
    z, p = 1.96, hits / count
    return (p + z * z / (2 * count) - z * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))) / (
        1 + z * z / count
    )


def main(arguments: list[str]) -> int:
    """Run the study."""
    photos = int(arguments[0]) if arguments else 2000
    first = int(arguments[1]) if len(arguments) > 1 else EVALUATION_SEEDS.start
    rows: list[Row] = []
    workers = int(arguments[2]) if len(arguments) > 2 else 2
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        for part in tqdm(pool.imap_unordered(photo_rows, range(first, first + photos), chunksize=4), total=photos):
            rows += part
    rows.sort(key=lambda r: (r[5], r[1], r[0]))
    cards = [r for r in rows if r[0] == "card found"]
    print(f"photos {photos}; card found in {sum(math.isfinite(r[3]) for r in cards)}")
    print(f"10 mm at 10 px/mm, card, 12 megapixels: median U = {typical_uncertainty():.2f} mm")
    print(f"{'measure':<28}{'scale':<14}{'n':>6}{'refused':>9}{'coverage':>10}{'median U':>10}{'median |e|':>12}")
    table = summary(rows)
    for measure, scale, count, refused, coverage, _, wide, error in table:
        print(f"{measure:<28}{scale:<14}{count:>6}{refused:>9}{coverage:>10.1%}{wide:>10.3g}{error:>12.3g}")
    from tests.evaluation.plots import coverage_plot

    DOCS.mkdir(exist_ok=True)
    coverage_plot(table, photos, DOCS / "coverage.png")
    with (DOCS / "coverage.csv").open("w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(
            ["measure", "scale", "readings", "refused", "coverage", "wilson_low", "median_U", "median_error"]
        )
        writer.writerows([(*r[:4], *(f"{v:.4g}" for v in r[4:])) for r in table])
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
