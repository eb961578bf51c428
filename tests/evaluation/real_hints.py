"""Hints on real pictures: textures, and photographs with pixel masks or boxes, where a folder of them is given."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.geometry import Shape
from inspect_core.imaging import hints, metal
from tests.evaluation.counting import Count, Mask, Rgb, blobs, mask_of, naive_gaps, naive_mask, score


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
        naive = bool(naive_mask("rust", rgb).mean() > 0.005)
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
        naive += bool(naive_mask("rust", rgb).mean() > 0.005)
    yield f"| intact cloth (dark spot hint; naive: rust rule) | {len(cloth)} | {flagged} | {naive} | {len(cloth)} |"
    lines = flagged = naive = 0
    for path in cloth:
        rgb = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)
        height, width = rgb.shape[:2]
        for ends in ([[2, 2], [-2, -2]], [[2, -2], [-2, 2]], [[2, 0.5], [-2, 0.5]], [[0.5, 2], [0.5, -2]]):
            line = np.array([[_inside(x, width), _inside(y, height)] for x, y in ends])
            lines += 1
            flagged += bool(hints.stitch_gaps(rgb, line))
            naive += bool(naive_gaps(rgb, line))
    yield f"| line on intact cloth without a seam (stitch gap hint) | {lines} | {flagged} | {naive} | {lines} |"
    yield "\n| real pictures, place by place | way | precision | recall |\n| --- | --- | --- | --- |"
    yield from _spots("stain on cloth (dark spot hint)", _stains(folder))
    yield from _spots("hole, knot or stain in a box (dark spot hint)", _boxes(folder))
    yield "\n| rust, pixel by pixel | way | precision | recall |\n| --- | --- | --- | --- |"
    for image in (*sorted((folder / "rust_bridge_masks").glob("bridge_??.png")), tiles / "metal053C_1024.png"):
        yield from _rust_pixels(image)


def _rgb(path: Path) -> Rgb:
    return cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB)


def _whole(rgb: Rgb) -> Shape:
    return Shape.of("box", [[0, 0], [rgb.shape[1], rgb.shape[0]]])


def _stains(folder: Path) -> Iterator[tuple[Rgb, list[Mask]]]:
    for path in sorted((folder / "fabric_stain_masks").glob("*_mask.png")):
        rgb = _rgb(path.with_name(path.name.replace("_mask.png", ".jpg")))
        yield rgb, [cv2.imread(str(path), cv2.IMREAD_GRAYSCALE) > 127]


def _boxes(folder: Path) -> Iterator[tuple[Rgb, list[Mask]]]:
    """Boxes given as "class x y width height", centre and size as shares of the picture."""
    for path in sorted((folder / "fabric_defect_boxes").glob("*.txt")):
        rgb = _rgb(path.with_suffix(".jpg"))
        size = np.array([rgb.shape[1], rgb.shape[0]] * 2)
        truths = []
        for line in path.read_text().splitlines():
            x, y, wide, high = np.array([float(part) for part in line.split()[1:5]]) * size
            corners = [[x + a * wide / 2, y + b * high / 2] for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
            truths.append(mask_of(rgb.shape, [corners]))
        yield rgb, truths


def _spots(name: str, pictures: Iterator[tuple[Rgb, list[Mask]]]) -> Iterator[str]:
    totals = {way: Count() for way in ("ours", "naive", "everything")}
    for rgb, truths in pictures:
        try:
            found = hints.dark_spots(rgb, _whole(rgb))
        except BadInput:
            found = ()
        outlines = [mask_of(rgb.shape, [[[p.x, p.y] for p in hint.shape.outline()]]) for hint in found]
        totals["ours"].add(score(outlines, truths))
        totals["naive"].add(score(blobs(naive_mask("burn", rgb)), truths))
        totals["everything"].add(score([np.ones(rgb.shape[:2], bool)], truths))
    for way, total in totals.items():
        yield f"| {name} | {way} | {total.row()} |"


def _rust_pixels(image: Path) -> Iterator[str]:
    """Share of what is called rust that is rust, and of the rust that is found, in pixels of one picture."""
    rgb = _rgb(image)
    truth = cv2.imread(str(image.with_name(f"{image.stem}_mask.png")), cv2.IMREAD_GRAYSCALE)
    truth = cv2.resize(truth, (rgb.shape[1], rgb.shape[0]), interpolation=cv2.INTER_NEAREST) > 0
    ways = {"naive": naive_mask("rust", rgb), "everything": np.ones_like(truth)}
    try:
        _, mask, _ = metal.rust_share(rgb, _whole(rgb))
        ways = {"ours": mask > 0, **ways}
    except BadInput as why:
        yield f"| {image.stem} | ours | refused: {why.problem} | |"
    for way, called in ways.items():
        right = int((called & truth).sum())
        yield f"| {image.stem} | {way} | {right / max(1, int(called.sum())):.0%} | {right / int(truth.sum()):.0%} |"


def _inside(place: float, size: int) -> float:
    """A coordinate from a share of the side, or from pixels counted from its start or, below 0, from its end."""
    return place * size if 0 < place < 1 else place % size
