"""How often hints are right: drawn photos of held-apart seeds, and real textures where a folder of them is given.

`python -m tests.evaluation.hints [PHOTOS_PER_CLASS] [FIRST_SEED]` prints the tables of docs/hints.md and the counts
for inspect_core/imaging/hint_rates.py. BARTACK_TEST_IMAGES may name a folder with the real pictures.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import sys
from collections.abc import Callable, Iterator, Sequence
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

Mask = np.ndarray[Any, np.dtype[np.bool_]]
Rgb = np.ndarray[Any, np.dtype[np.uint8]]


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


@dataclass(slots=True)
class Count:
    """Hints that were right, hints, defects found, defects."""

    right: int = 0
    hints: int = 0
    found: int = 0
    defects: int = 0

    def add(self, other: Count) -> None:
        """Add another count to this one."""
        self.right += other.right
        self.hints += other.hints
        self.found += other.found
        self.defects += other.defects

    def row(self) -> str:
        """Precision and recall with their counts."""
        precision = f"{self.right / self.hints:.0%}" if self.hints else "–"
        recall = f"{self.found / self.defects:.0%}" if self.defects else "–"
        return f"{precision} ({self.right} of {self.hints}) | {recall} ({self.found} of {self.defects})"


def _mask(size: tuple[int, ...], outlines: Sequence[Sequence[Sequence[float]]]) -> Mask:
    mask = np.zeros(size[:2], np.uint8)
    for outline in outlines:
        cv2.fillPoly(mask, [np.round((np.array(outline) - 0.5) * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def _score(boxes: Sequence[Mask], truths: Sequence[Mask]) -> Count:
    """A hint is right when a tenth of it, widened by pointing, lies on a defect; a defect is found when one does."""
    wide = np.ones((9, 9), np.uint8)
    reach = [cv2.dilate(t.astype(np.uint8), wide) > 0 for t in truths]
    hit = [[bool((b & t).sum() >= 0.1 * max(1, min(b.sum(), t.sum()))) for t in reach] for b in boxes]
    return Count(
        right=sum(any(line) for line in hit),
        hints=len(boxes),
        found=sum(any(line[i] for line in hit) for i in range(len(truths))),
        defects=len(truths),
    )


def _blobs(mask: Mask, least: int = 60) -> list[Mask]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8))
    order = sorted(range(1, count), key=lambda i: -stats[i, cv2.CC_STAT_AREA])
    return [labels == i for i in order if stats[i, cv2.CC_STAT_AREA] >= least][: hints.MOST_HINTS]


def _naive(task: Task, rgb: Rgb) -> Mask:
    """The plain colour rule a beginner would write for the class, over the whole photo."""
    hsv = cv2.cvtColor(rgb, cv2.COLOR_RGB2HSV)
    if task.name == "rust":
        mask = (hsv[..., 0] <= 20) & (hsv[..., 1] >= 80) & (hsv[..., 2] >= 30)
    elif task.name == "torn indicator":
        mask = ((hsv[..., 0] <= 10) | (hsv[..., 0] >= 170)) & (hsv[..., 1] >= 120)
    else:
        mask = hsv[..., 2] < 50
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)) > 0, bool)


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
    rgb = cv2.cvtColor(
        cv2.imdecode(
            cv2.imencode(".jpg", picture.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 85])[1], cv2.IMREAD_COLOR
        ),
        cv2.COLOR_BGR2RGB,
    )
    size = rgb.shape
    truths = []
    for defect in picture.truth["defects"]:
        if defect["category"] != task.category.value:
            continue
        outlines = defect["outlines"] or [defect["shape"]["points"]]
        mask = _mask(size, outlines)
        if mask.sum() >= 12:
            truths.append(mask)
    regions = [r for r in picture.truth["regions"] if task.region in ("any", r["material"])]
    if task.view == "impact flag":
        # The inspector boxes the place where the indicator sits, torn or not.
        corners = [[0.28 * size[1], 0.28 * size[0]], [0.72 * size[1], 0.7 * size[0]]]
        box = Shape.of("box", corners)
        regions = [{"shape": {"points": [[p.x, p.y] for p in box.outline()]}}]
    counts = {"ours": Count(defects=len(truths)), "naive": Count(), "everything": Count()}
    counts["naive"] = _score(_blobs(_naive(task, rgb)), truths)
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
    counts["ours"] = _score([_mask(size, [[[p.x, p.y] for p in h.shape.outline()]]) for h in found], truths)
    counts["everything"] = _score([_mask(size, [regions[0]["shape"]["points"]])], truths)
    return number, counts


def _gap_counts(seed: int) -> Count:
    """Stitch gaps along every drawn row of a seam."""
    rng = np.random.default_rng([seed, 31])
    spec = demo_spec(Kind.HARNESS, Component.STITCHING, Category.BROKEN_STITCH if seed % 2 == 0 else None, rng)
    spec = replace(
        spec,
        view="sewn loop",
        caption=False,
        camera=replace(
            spec.camera,
            tilt_deg=float(rng.uniform(0, 30)),
            tilt_axis_deg=float(rng.uniform(0, 360)),
            blur_px=float(rng.uniform(0.4, 1.3)),
        ),
    )
    picture = render(spec, seed)
    total = Count()
    for row in picture.truth["stitch_rows"]:
        line = np.array(row["points"])
        height, width = picture.image.shape[:2]
        if (line < 4).any() or (line > (width - 4, height - 4)).any():
            continue
        found = hints.stitch_gaps(picture.image, line + rng.normal(0, 1.5, line.shape))
        whole = row["count"] + len(row["missing"])
        truths = []
        if row["missing"]:
            ends = (row["missing"][0] / whole, (row["missing"][-1] + 1) / whole)
            truths = [line[0] + (line[1] - line[0]) * e for e in ends]
        hit = 0
        for hint in found:
            middle = np.mean([[p.x, p.y] for p in hint.shape.points], axis=0)
            if truths:
                along = float((middle - line[0]) @ (line[1] - line[0]) / ((line[1] - line[0]) @ (line[1] - line[0])))
                hit += ends[0] - 1 / whole <= along <= ends[1] + 1 / whole
        total.add(Count(hit, len(found), int(hit > 0), int(bool(truths))))
    return total


def real_pictures(folder: Path) -> Iterator[str]:
    """Table lines about the real textures: rust on metal, dark spots on cloth, the naive rule beside."""
    tiles = folder / "rust_textures_cc0"
    with (tiles / "SOURCES.csv").open() as table:
        rows = [r for r in csv.DictReader(table) if "mask" not in r["file"]]
    groups: dict[str, list[tuple[bool, bool]]] = {}
    for row in rows:
        rgb = cv2.cvtColor(cv2.imread(str(tiles / row["file"])), cv2.COLOR_BGR2RGB)
        height, width = rgb.shape[:2]
        kind = (
            "warm clean metal"
            if "hard negative" in row["label_or_mask"]
            else "clean metal"
            if "no rust" in row["label_or_mask"]
            else "rusted"
        )
        try:
            ours = bool(hints.rust(rgb, Shape.of("box", [[0, 0], [width, height]])))
        except BadInput:
            ours = True  # refused because nearly all of it has rust's colour: the person is told to look
        naive = bool(_naive(TASKS[0], rgb).mean() > 0.005)
        groups.setdefault(kind, []).append((ours, naive))
    for kind, found in groups.items():
        yield f"| {kind} | {len(found)} | {sum(o for o, _ in found)} | {sum(n for _, n in found)} | {len(found)} |"
    cloth = sorted((folder / "fabric_textures_cc0").glob("*.png"))
    flagged = naive = 0
    for path in cloth:
        rgb = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
        try:
            flagged += bool(hints.dark_spots(rgb, Shape.of("box", [[0, 0], [rgb.shape[1], rgb.shape[0]]])))
        except BadInput:
            continue
        naive += bool(_naive(TASKS[0], rgb).mean() > 0.005)
    yield f"| intact cloth (dark spot hint; naive: rust rule) | {len(cloth)} | {flagged} | {naive} | {len(cloth)} |"
    stains = sorted((folder / "fabric_stain_masks").glob("*_mask.png"))
    total = Count()
    for path in stains:
        image = path.with_name(path.name.replace("_mask.png", ".jpg"))
        rgb = cv2.cvtColor(cv2.imread(str(image)), cv2.COLOR_BGR2RGB)
        truth = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE) > 127
        try:
            found = hints.dark_spots(rgb, Shape.of("box", [[0, 0], [rgb.shape[1], rgb.shape[0]]]))
        except BadInput:
            found = ()
        total.add(_score([_mask(rgb.shape, [[[p.x, p.y] for p in h.shape.outline()]]) for h in found], [truth]))
    yield f"Stains on real cloth, dark spot hint: {total.row()}"


def main(arguments: list[str]) -> int:
    """Run the evaluation."""
    photos = int(arguments[0]) if arguments else 100
    first = int(arguments[1]) if len(arguments) > 1 else EVALUATION_SEEDS.start
    totals = [{key: Count() for key in ("ours", "naive", "everything")} for _ in TASKS]
    gaps = Count()
    jobs = [(n, s) for n in range(len(TASKS)) for s in range(first, first + photos)]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        for number, counts in pool.imap_unordered(_counts, jobs, chunksize=4):
            for key, count in counts.items():
                totals[number][key].add(count)
        for count in pool.imap_unordered(_gap_counts, range(first, first + photos), chunksize=4):
            gaps.add(count)
    print("| class | way | precision | recall |\n| --- | --- | --- | --- |")
    for task, total in zip(TASKS, totals, strict=True):
        for key, count in total.items():
            print(f"| {task.name} | {key} | {count.row()} |")
    print(f"| stitch gap | ours | {gaps.row()} |\n")
    for task, total in zip(TASKS, totals, strict=True):
        c = total["ours"]
        print(f'        "{task.method}": Rate({c.right}, {c.hints}, {c.found}, {c.defects}),')
    print(f'        "{hints.GAP_METHOD}": Rate({gaps.right}, {gaps.hints}, {gaps.found}, {gaps.defects}),\n')
    folder = os.environ.get("BARTACK_TEST_IMAGES")
    if folder:
        print("| real pictures | number | ours | naive | everything |\n| --- | --- | --- | --- | --- |")
        print("\n".join(real_pictures(Path(folder))))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
