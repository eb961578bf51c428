"""A hundred thousand spoilt inputs: each is taken in or refused in words, within two seconds, and nothing is written
outside the store. The quick run takes a few of each; `-m slow` takes all.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

import sample_images
from inspect_core.domain.errors import BartackError
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape
from inspect_core.domain.marks import Category, Mark, Reading
from inspect_core.imaging.files import take_in
from inspect_core.rigging.rig_case import rig_case
from inspect_core.rules.loader import load_rules
from inspect_core.screens.marking.payload import validate_payload
from inspect_core.usecases.annotations import annotation, mark_from
from inspect_core.usecases.checkfile import inspection_from
from inspect_core.usecases.decide import decide_case
from inspect_core.usecases.inspect import record
from inspect_core.usecases.measure import measure_file
from tests.hardening import arriving
from tests.hardening.mutate import nested, spoiled_bytes, spoiled_data, spoiled_text
from tests.hardening.watching import attack, nothing_written_outside, watched
from tests.imaging.photos import encoded, quarters
from tests.usecases.site import Site

#: How many of each in the long run: more than a hundred thousand.
MANY = {
    "decide": 25_000,
    "rig": 14_000,
    "payload": 20_000,
    "annotation": 12_000,
    "rules": 3_000,
    "photo": 12_000,
    "measure": 6_000,
    "check": 2_000,
    "csv": 6_000,
    "xlsx": 3_000,
    "bag": 2_000,
    "restored": 250,
    "settings": 6_000,
    "json_file": 6_000,
    "certificate": 250,
    "claims": 4_000,
    "pins": 2_000,
    "searched": 4_000,
}
LINE = {"type": "line", "points": [[20, 30], [60, 80]]}
AREA = {"type": "polygon", "points": [[5, 5], [90, 8], [60, 70]]}
CASE = {
    "kind": "webbing lanyard",
    "profile": "common",
    "on": "2026-05-04",
    "facts": {"made on": "2024-02-01", "fibre": "polyester", "webbing width": 45.0},
    "answers": {"webbing": "defect", "stitching": "sound", "label": "sound"},
    "marks": [
        {
            "id": "m1",
            "component": "webbing",
            "category": "cut",
            "readings": [{"measure": "length", "value": 3.0, "unit": "mm", "uncertainty": 0.4, "method": "by hand"}],
        }
    ],
}
RIG = {
    "check": "restraint",
    "units": "m",
    "roof": [[0, 0], [10, 0], [10, 8], [0, 8]],
    "openings": [[[4, 3], [5, 3], [5, 4], [4, 4]]],
    "anchor": [5, 4.5],
    "rope_length": 4,
}
PAYLOAD = {
    "photo_id": "ab" * 32,
    "rev": 3,
    "marks": [
        {
            "id": "m-1",
            "component": "webbing",
            "category": "cut",
            "note": "near the hook",
            "shape": {"type": "polyline", "points": [[10, 20], [30.5, 40], [50, 60]]},
        },
        {
            "id": "m-2",
            "component": "label",
            "category": "label",
            "note": "",
            "shape": {"type": "box", "points": [[1, 2], [9, 9]]},
        },
    ],
}
MARK = Mark(
    "m1", "cd" * 32, Component.WEBBING, Category.CUT, Shape.of("line", [[1, 2], [30, 40]]),
    (Reading("length", 3.0, "mm", 0.4, "by hand"),), "near the hook", "person-1",
)  # fmt: skip
MEASURE = {
    "photo": "one.jpg",
    "scale": {
        "method": "known_length",
        "points": [[10, 10], [210, 12]],
        "length_mm": 45,
        "length_sd_mm": 0.2,
        "point_sd_px": 2,
    },
    "marks": [
        {"id": "m1", "component": "webbing", "category": "cut", "shape": LINE},
        {"id": "m2", "component": "webbing", "category": "abrasion", "shape": AREA},
    ],
}
CHECK = {
    "type": "before use",
    "answers": {"webbing": "defect"},
    "note": "wet",
    "photos": [
        {
            "path": "one.jpg",
            "marks": [
                {"id": "m1", "component": "webbing", "category": "cut", "note": "", "readings": [], "shape": LINE}
            ],
        }
    ],
}
PHOTO = encoded(quarters(160, 120))


def _decide(many: int, _place: Path) -> dict[str, Any]:
    rules = load_rules()
    return attack("decide", many, lambda rng: spoiled_data(rng, CASE), lambda case: decide_case(case, rules))


def _rig(many: int, _place: Path) -> dict[str, Any]:
    return attack("rig", many, lambda rng: spoiled_data(rng, RIG), rig_case)


def _payload(many: int, _place: Path) -> dict[str, Any]:
    def use(payload: Any) -> None:
        parts = (Component.WEBBING, Component.LABEL)
        validate_payload(
            payload, photo_id="ab" * 32, width=640, height=480, components=parts, categories=tuple(Category)
        )

    return attack("payload", many, lambda rng: spoiled_data(rng, PAYLOAD), use)


def _annotation(many: int, _place: Path) -> dict[str, Any]:
    good = annotation(MARK)
    return attack("annotation", many, lambda rng: spoiled_data(rng, good), mark_from)


def _rules(many: int, place: Path) -> dict[str, Any]:
    packaged = Path(load_rules.__code__.co_filename).parent / "data"
    names = ("set.toml", "sources.toml", "profiles.toml", "label.toml")
    texts = {name: (packaged / name).read_text(encoding="utf-8") for name in names}

    def spoil(rng: random.Random) -> dict[str, bytes]:
        hurt = rng.choice(names)
        return {n: spoiled_text(rng, text) if n == hurt else text.encode() for n, text in texts.items()}

    def use(files: dict[str, bytes]) -> None:
        for name, content in files.items():
            (place / name).write_bytes(content)
        load_rules(place)

    return attack("rules", many, spoil, use)


def _photo(many: int, _place: Path) -> dict[str, Any]:
    pixels = quarters(96, 64)
    good = [encoded(pixels, kind) for kind in ("JPEG", "PNG", "WEBP")]
    pictures = Path(sample_images.__file__).parent / "pictures"
    good.append(min(pictures.glob("*.jpg"), key=lambda path: path.stat().st_size).read_bytes()[:40_000])

    def use(data: bytes) -> None:
        take_in(data, claimed_name="one.jpg")

    return attack("photo", many, lambda rng: spoiled_bytes(rng, rng.choice(good)), use)


def _measure(many: int, _place: Path) -> dict[str, Any]:
    return attack(
        "measure", many, lambda rng: spoiled_data(rng, MEASURE), lambda case: measure_file(case, lambda _path: PHOTO)
    )


def _check(many: int, place: Path) -> dict[str, Any]:
    site = Site(place / "store")
    item = site.lanyard()

    def use(check: Any) -> None:
        record(inspection_from(check, item, site.worker, site.services, lambda _path: PHOTO), site.services)

    return attack("check", many, lambda rng: spoiled_data(rng, CHECK), use)


ATTACKS = {
    "decide": _decide,
    "rig": _rig,
    "payload": _payload,
    "annotation": _annotation,
    "rules": _rules,
    "photo": _photo,
    "measure": _measure,
    "check": _check,
    "csv": arriving.csv,
    "xlsx": arriving.xlsx,
    "bag": arriving.bag,
    "restored": arriving.restored,
    "settings": arriving.settings,
    "json_file": arriving.json_file,
    "certificate": arriving.certificate,
    "claims": arriving.claims,
    "pins": arriving.pins,
    "searched": arriving.searched,
}
#: A few that take long by themselves are fewer in the quick run.
FEW = {"restored": 3, "certificate": 5, "bag": 25, "xlsx": 30, "csv": 60, "check": 60, "pins": 60, "rules": 60}


def _attacked(name: str, many: int, tmp_path: Path) -> None:
    place = tmp_path / "place"
    place.mkdir()
    with nothing_written_outside(place):
        told = ATTACKS[name](many, place)
    assert told["taken"] + told["refused"] == many
    assert told["refused"] > many / 5, "hardly anything was spoilt"
    assert [path.name for path in tmp_path.iterdir()] == ["place"], "something was written outside"


@pytest.mark.parametrize("name", sorted(ATTACKS))
def test_spoilt_input_is_taken_or_refused_in_words(name: str, tmp_path: Path) -> None:
    _attacked(name, FEW.get(name, 150), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(ATTACKS))
def test_very_much_spoilt_input_is_taken_or_refused_in_words(name: str, tmp_path: Path) -> None:
    _attacked(name, MANY[name], tmp_path)


def test_the_long_run_has_a_hundred_thousand_inputs_of_every_kind() -> None:
    assert set(MANY) == set(ATTACKS)
    assert sum(MANY.values()) >= 100_000


@pytest.mark.parametrize("depth", [50, 900, 100_000])
def test_deeply_nested_data_is_refused_in_words(depth: int, tmp_path: Path) -> None:
    rules = load_rules()
    for use in (lambda deep: decide_case(deep, rules), rig_case, lambda deep: measure_file(deep, lambda _path: PHOTO)):
        for value in (nested(depth), {"kind": nested(depth)}, {**CASE, "facts": nested(depth)}):
            with pytest.raises(BartackError), watched():
                use(value)
