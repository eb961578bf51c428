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
    rgb = _compressed(picture.image)
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
        totals["ours"].add(_line_score(ours, truths))
        totals["naive"].add(_line_score(_naive_gaps(rgb, drawn), truths))
        totals["everything"].add(_line_score([(0.0, 1.0)], truths))
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


def _line_score(found: Sequence[tuple[float, float]], truths: Sequence[tuple[float, float]]) -> Count:
    """As `_score`, along a line: a tenth of the hint, or of the gap, lies on the other."""

    def hit(one: tuple[float, float], other: tuple[float, float]) -> bool:
        common = min(one[1], other[1]) - max(one[0], other[0])
        return common >= 0.1 * min(one[1] - one[0], other[1] - other[0])

    return Count(
        right=sum(any(hit(one, truth) for truth in truths) for one in found),
        hints=len(found),
        found=sum(any(hit(one, truth) for one in found) for truth in truths),
        defects=len(truths),
    )


def _naive_gaps(rgb: Rgb, line: np.ndarray[Any, Any]) -> list[tuple[float, float]]:
    """What a beginner would write: split brightness along the line in two; a run of the rarer side twice as long as its
    usual run is a gap."""
    count = int(np.hypot(*(line[1] - line[0])))
    at = line[0] + (line[1] - line[0]) * np.linspace(0, 1, count)[:, None]
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    seen = cv2.remap(grey, *(at[:, axis].astype(np.float32)[None] - 0.5 for axis in (0, 1)), cv2.INTER_LINEAR)
    level, split = cv2.threshold(seen, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    del level
    cloth = split[0] != int(split.mean() > 0.5)
    steps = np.flatnonzero(np.diff(np.concatenate([[0], cloth.astype(np.int8), [0]])))
    runs = [(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]
    usual = float(np.median([b - a for a, b in runs])) if runs else 0.0
    return [(a / count, b / count) for a, b in runs if b - a > 2 * usual]


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
    lines = flagged = naive = 0
    for path in cloth:
        rgb = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
        height, width = rgb.shape[:2]
        for ends in ([[2, 2], [-2, -2]], [[2, -2], [-2, 2]], [[2, 0.5], [-2, 0.5]], [[0.5, 2], [0.5, -2]]):
            line = np.array([[_inside(x, width), _inside(y, height)] for x, y in ends])
            lines += 1
            flagged += bool(hints.stitch_gaps(rgb, line))
            naive += bool(_naive_gaps(rgb, line))
    yield f"| line on intact cloth without a seam (stitch gap hint) | {lines} | {flagged} | {naive} | {lines} |"
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


def _inside(place: float, size: int) -> float:
    """A coordinate from a share of the side, or from pixels counted from its start or, below 0, from its end."""
    return place * size if 0 < place < 1 else place % size


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
