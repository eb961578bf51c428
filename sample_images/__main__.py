"""`python -m sample_images OUT_DIR`: a sheet of samples with their truth, or the committed set."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from PIL import Image

from inspect_core.domain.gear import Kind, components_of
from sample_images.demo import categories_of, demo_spec
from sample_images.pictures import CHOSEN, QUALITY, draw, save
from sample_images.render import render

_ACROSS, _WIDTH, _HEIGHT = 4, 480, 360


def _arguments(given: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m sample_images",
        description="Draw sample pictures of gear, each with its truth in millimetres. None of them is a photograph.",
    )
    parser.add_argument("out_dir", type=Path, metavar="OUT_DIR", help="folder for JPEG, JSON and the sheet")
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="first seed (default 0)")
    parser.add_argument(
        "--one", nargs="+", metavar="KIND", choices=[k.value for k in Kind], help="only these kinds of gear"
    )
    parser.add_argument("--every", action="store_true", help="every kind of damage, not one per component")
    parser.add_argument("--committed", action="store_true", help="draw the committed set anew instead")
    return parser.parse_args(given)


def main(given: list[str] | None = None) -> int:
    """Run; returns the exit code."""
    options = _arguments(given)
    if options.committed:
        for name in CHOSEN:
            save(draw(name), options.out_dir, name, QUALITY)
        return 0
    thumbs: list[Image.Image] = []
    seed = options.seed
    for kind in [Kind(k) for k in options.one] if options.one else list(Kind):
        for component in components_of(kind):
            harm = categories_of(component)
            for category in (None, *(harm if options.every else (harm[seed % len(harm)],))):
                picture = render(demo_spec(kind, component, category, np.random.default_rng(seed)), seed)
                words = f"{kind.value} {component.value} {category.value if category else 'sound'} {seed} drawn"
                save(picture, options.out_dir, words.replace(" ", "_"))
                small = Image.fromarray(picture.image)
                small.thumbnail((_WIDTH, _HEIGHT))
                thumbs.append(small)
                seed += 1
    sheet = Image.new("RGB", (_ACROSS * _WIDTH, -(-len(thumbs) // _ACROSS) * _HEIGHT), (255, 255, 255))
    for i, small in enumerate(thumbs):
        sheet.paste(small, (i % _ACROSS * _WIDTH, i // _ACROSS * _HEIGHT))
    sheet.save(options.out_dir / "sheet_drawn.jpg", quality=85)
    print(f"{len(thumbs)} drawn pictures in {options.out_dir}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
