"""How often hints are right: drawn photos of held-apart seeds, and real textures where a folder of them is given.

`python -m tests.evaluation.hints [PHOTOS_PER_CLASS] [FIRST_SEED]` prints the tables of docs/hints.md and the counts
for inspect_core/imaging/hint_rates.py. BARTACK_TEST_IMAGES may name a folder with the real pictures.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category
from inspect_core.imaging import hints
from sample_images.demo import demo_spec
from sample_images.evaluation import EVALUATION_SEEDS
from sample_images.render import render
from tests.evaluation.counting import Count, Rgb, blobs, line_score, mask_of, naive_gaps, naive_mask, score
from tests.evaluation.real_hints import real_pictures


@dataclass(frozen=True, slots=True)
class Task:
    """One class of hint: what is drawn, what is searched, and which defects it shall find."""

    name: str
    kind: Kind
    component: Component
    category: Category
    view: str | None
    region: str
    find: Callable[[Rgb, Shape], tuple[hints.Hint, ...]]
    method: str


TASKS = (
    Task(
        "rust", Kind.WEBBING_LANYARD, Component.SNAP_HOOK, Category.RUST, None, "metal", hints.rust, hints.RUST_METHOD
    ),
    Task(
        "burn",
        Kind.WEBBING_LANYARD,
        Component.WEBBING,
        Category.BURN,
        "webbing section",
        "cloth",
        hints.dark_spots,
        hints.BURN_METHOD,
    ),
    Task(
        "cut edge",
        Kind.WEBBING_LANYARD,
        Component.WEBBING,
        Category.CUT,
        "webbing section",
        "cloth",
        hints.cut_edges,
        hints.CUT_METHOD,
    ),
    Task(
        "frayed edge",
        Kind.HARNESS,
        Component.WEBBING,
        Category.FRAY,
        "webbing section",
        "cloth",
        hints.frayed_edges,
        hints.FRAY_METHOD,
    ),
    Task(
        "torn indicator",
        Kind.HARNESS,
        Component.INDICATOR,
        Category.DEPLOYED_ABSORBER,
        "impact flag",
        "any",
        hints.torn_indicator,
        hints.FLAG_METHOD,
    ),
)


def _counts(job: tuple[int, int]) -> tuple[int, dict[str, Count]]:
    """Counts of ours, of the naive rule and of marking the whole region, for one task and seed."""
    number, seed = job
    task = TASKS[number]
    rng = np.random.default_rng([seed, 31])
    # Every second photo is sound: hints on it are all wrong.
    damaged = seed % 2 == 0
    spec = demo_spec(task.kind, task.component, task.category if damaged else None, rng)
    if task.view is not None:
        spec = replace(spec, view=task.view)
    camera = replace(
        spec.camera,
        width=1000,
        height=800,
        px_per_mm=spec.camera.px_per_mm * 1000 / max(spec.camera.width, spec.camera.height),
        tilt_deg=float(rng.uniform(0, 30)),
        tilt_axis_deg=float(rng.uniform(0, 360)),
        blur_px=float(rng.uniform(0.4, 1.3)),
        noise=float(rng.uniform(1, 5)),
        exposure=float(rng.uniform(0.75, 1.15)),
        light_gradient=float(rng.uniform(0, 0.4)),
    )
    picture = render(replace(spec, camera=camera, caption=False), seed)
    rgb = _compressed(picture.image)
    size = rgb.shape
    truths = []
    for defect in picture.truth["defects"]:
        if defect["category"] != task.category.value:
            continue
        outlines = defect["outlines"] or [defect["shape"]["points"]]
        mask = mask_of(size, outlines)
        if mask.sum() >= 12:
            truths.append(mask)
    regions = [r for r in picture.truth["regions"] if task.region in ("any", r["material"])]
    if task.view == "impact flag":
        # The inspector boxes the place where the indicator sits, torn or not.
        corners = [[0.28 * size[1], 0.28 * size[0]], [0.72 * size[1], 0.7 * size[0]]]
        box = Shape.of("box", corners)
        regions = [{"shape": {"points": [[p.x, p.y] for p in box.outline()]}}]
    counts = {"ours": Count(defects=len(truths)), "naive": Count(), "everything": Count()}
    counts["naive"] = score(blobs(naive_mask(task.name, rgb)), truths)
    if not regions:
        return number, counts
    part = Shape.of(
        "polygon",
        (
            np.array(regions[0]["shape"]["points"]) + rng.normal(0, 1.5, (len(regions[0]["shape"]["points"]), 2))
        ).tolist(),
    )
    try:
        found = task.find(np.ascontiguousarray(rgb), part)
    except BadInput:
        found = ()
    counts["ours"] = score([mask_of(size, [[[p.x, p.y] for p in h.shape.outline()]]) for h in found], truths)
    counts["everything"] = score([mask_of(size, [regions[0]["shape"]["points"]])], truths)
    return number, counts


def _gap_counts(seed: int) -> dict[str, Count]:
    """Stitch gaps along every drawn row of a seam: ours, a run of cloth by brightness, and the whole row."""
    rng = np.random.default_rng([seed, 31])
    spec = demo_spec(Kind.HARNESS, Component.STITCHING, Category.BROKEN_STITCH if seed % 2 == 0 else None, rng)
    camera = replace(
        spec.camera,
        tilt_deg=float(rng.uniform(0, 30)),
        tilt_axis_deg=float(rng.uniform(0, 360)),
        blur_px=float(rng.uniform(0.4, 1.3)),
        noise=float(rng.uniform(1, 5)),
        exposure=float(rng.uniform(0.75, 1.15)),
        light_gradient=float(rng.uniform(0, 0.4)),
    )
    picture = render(replace(spec, view="sewn loop", caption=False, camera=camera), seed)
    rgb = _compressed(picture.image)
    totals = {key: Count() for key in ("ours", "naive", "everything")}
    for row in picture.truth["stitch_rows"]:
        line = np.array(row["points"])
        height, width = rgb.shape[:2]
        if (line < 4).any() or (line > (width - 4, height - 4)).any():
            continue
        drawn = line + rng.normal(0, 1.5, line.shape)
        whole = row["count"] + len(row["missing"])
        truths = [(row["missing"][0] / whole, (row["missing"][-1] + 1) / whole)] if row["missing"] else []
        ours = [_along(line, hint.shape) for hint in hints.stitch_gaps(rgb, drawn)]
        totals["ours"].add(line_score(ours, truths))
        totals["naive"].add(line_score(naive_gaps(rgb, drawn), truths))
        totals["everything"].add(line_score([(0.0, 1.0)], truths))
    return totals


def _compressed(image: Rgb) -> Rgb:
    done, jpeg = cv2.imencode(".jpg", image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 85])
    assert done
    return np.ascontiguousarray(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)[..., ::-1])


def _along(line: np.ndarray[Any, Any], shape: Shape) -> tuple[float, float]:
    """Start and end of a hint as shares of the line's length."""
    way = line[1] - line[0]
    at = sorted(float((np.array([p.x, p.y]) - line[0]) @ way / (way @ way)) for p in shape.points)
    return at[0], at[-1]


def main(arguments: list[str]) -> int:
    """Run the evaluation."""
    photos = int(arguments[0]) if arguments else 100
    first = int(arguments[1]) if len(arguments) > 1 else EVALUATION_SEEDS.start
    totals = [{key: Count() for key in ("ours", "naive", "everything")} for _ in TASKS]
    gaps = {key: Count() for key in ("ours", "naive", "everything")}
    jobs = [(n, s) for n in range(len(TASKS)) for s in range(first, first + photos)]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        for number, counts in pool.imap_unordered(_counts, jobs, chunksize=4):
            for key, count in counts.items():
                totals[number][key].add(count)
        for counts in pool.imap_unordered(_gap_counts, range(first, first + photos), chunksize=4):
            for key, count in counts.items():
                gaps[key].add(count)
    print("| class | way | precision | recall |\n| --- | --- | --- | --- |")
    for task, total in zip(TASKS, totals, strict=True):
        for key, count in total.items():
            print(f"| {task.name} | {key} | {count.row()} |")
    for key, count in gaps.items():
        print(f"| stitch gap along a drawn line | {key} | {count.row()} |")
    print()
    for task, total in zip(TASKS, totals, strict=True):
        c = total["ours"]
        print(f'        "{task.method}": Rate({c.right}, {c.hints}, {c.found}, {c.defects}),')
    c = gaps["ours"]
    print(f'        "{hints.GAP_METHOD}": Rate({c.right}, {c.hints}, {c.found}, {c.defects}),\n')
    folder = os.environ.get("BARTACK_TEST_IMAGES")
    if folder:
        print("| real pictures | number | ours | naive | everything |\n| --- | --- | --- | --- | --- |")
        print("\n".join(real_pictures(Path(folder))))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
