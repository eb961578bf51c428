"""Drawing is repeatable, refuses what it cannot draw, and never passes a picture off as a photograph."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from inspect_core.domain.gear import Component, Kind
from inspect_core.domain.marks import Category
from sample_images import EVALUATION_SEEDS, TUNING_SEEDS, Camera, Damage, SceneSpec, demo_spec, evaluation_specs, render
from sample_images.__main__ import main
from sample_images.pictures import CHOSEN, FOLDER, QUALITY, draw, save

_SMALL = Camera(width=320, height=240, px_per_mm=2.2)
_SPEC = SceneSpec(
    Kind.WEBBING_LANYARD, Component.SNAP_HOOK, "snap hook", (Damage(Category.RUST),), _SMALL, background="concrete"
)


def test_the_same_scene_and_seed_give_identical_pixels_and_truth() -> None:
    first, second = render(_SPEC, 3), render(_SPEC, 3)
    assert np.array_equal(first.image, second.image)
    assert first.truth == second.truth
    assert first.to_jpeg() == second.to_jpeg()


def test_another_seed_gives_another_picture() -> None:
    assert not np.array_equal(render(_SPEC, 3).image, render(_SPEC, 4).image)


def test_tuning_and_evaluation_seeds_never_meet() -> None:
    assert not set(TUNING_SEEDS) & set(EVALUATION_SEEDS)


def test_evaluation_scenes_are_repeatable_tilted_and_without_caption() -> None:
    specs = list(evaluation_specs(40))
    again = list(evaluation_specs(40))
    assert specs == again
    assert [seed for _, seed in specs] == list(EVALUATION_SEEDS[:40])
    tilts = [spec.camera.tilt_deg for spec, _ in specs]
    assert max(tilts) > 25
    assert max(tilts) <= 35
    assert not any(spec.caption for spec, _ in specs)


def test_the_caption_changes_only_the_lower_left_corner() -> None:
    plain = render(replace(_SPEC, caption=False), 3).image
    captioned = render(_SPEC, 3).image
    rows, columns = np.nonzero((plain != captioned).any(axis=2))
    assert rows.min() > 0.85 * plain.shape[0]
    assert columns.max() < 0.6 * plain.shape[1]
    assert len(rows) > 200


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_reader_that_applies_the_orientation_once_gets_the_upright_picture(orientation: int) -> None:
    picture = render(_SPEC, 3)
    data = picture.to_jpeg(95, {"taken": datetime(2024, 5, 6, 7, 8, 9), "orientation": orientation})  # noqa: DTZ001
    opened = Image.open(io.BytesIO(data))
    assert opened.getexif()[0x0112] == orientation
    assert opened.getexif().get_ifd(0x8769)[0x9003] == "2024:05:06 07:08:09"
    upright = np.asarray(ImageOps.exif_transpose(opened).convert("RGB"), float)
    assert upright.shape == picture.image.shape
    assert np.abs(upright - picture.image).mean() < 8


def test_an_orientation_that_telephones_do_not_write_is_refused() -> None:
    with pytest.raises(ValueError, match="1, 3, 6 or 8"):
        render(_SPEC, 3).to_jpeg(exif={"orientation": 5})


@pytest.mark.parametrize(
    ("change", "words"),
    [({"view": "moon"}, "no view"), ({"background": "moon"}, "no ground"), ({"colour": "moon"}, "no cloth")],
)
def test_unknown_names_are_refused_with_what_is_known(change: dict[str, str], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        render(replace(_SPEC, **change), 0)  # type: ignore[arg-type]


def test_damage_that_is_not_drawn_on_a_component_is_refused() -> None:
    with pytest.raises(ValueError, match="not drawn"):
        demo_spec(Kind.CONNECTOR, Component.BODY, Category.FRAY, np.random.default_rng(0))
    with pytest.raises(ValueError, match="has no"):
        demo_spec(Kind.CONNECTOR, Component.WEBBING, None, np.random.default_rng(0))


def test_a_camera_beyond_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="tilt"):
        Camera(tilt_deg=41)


def test_a_file_name_without_the_word_drawn_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="drawn"):
        save(render(_SPEC, 3), tmp_path, "hook")


@pytest.mark.parametrize("name", ["lanyard_edge_cut_drawn", "hook_rust_drawn", "rope_burn_drawn"])
def test_a_committed_picture_is_what_the_program_draws(name: str) -> None:
    stored = np.asarray(Image.open(FOLDER / f"{name}.jpg").convert("RGB"), float)
    picture = draw(name)
    again = np.asarray(Image.open(io.BytesIO(picture.to_jpeg(QUALITY))).convert("RGB"), float)
    assert np.abs(stored - again).mean() < 1.0  # other builds of the libraries may round differently
    truth = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    for was, now in zip(truth["defects"], picture.truth["defects"], strict=True):
        assert was["category"] == now["category"]
        assert was["truth"] == pytest.approx(now["truth"], rel=0.02)


def test_the_committed_set_is_complete_small_and_says_that_it_is_drawn() -> None:
    files = sorted(FOLDER.glob("*.jpg"))
    assert [f.stem for f in files] == sorted(CHOSEN)
    assert sum(f.stat().st_size for f in files) < 1.5e6
    for file in files:
        truth = json.loads(file.with_suffix(".json").read_text(encoding="utf-8"))
        assert truth["drawn"] is True
        assert "drawn" in file.stem


def test_the_command_writes_pictures_truth_and_a_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path), "--one", "connector", "--seed", "2"]) == 0
    pictures = sorted(tmp_path.glob("connector*.jpg"))
    assert len(pictures) == 6
    assert all(p.with_suffix(".json").exists() and "drawn" in p.stem for p in pictures)
    assert (tmp_path / "sheet_drawn.jpg").exists()
    assert "6 drawn pictures" in capsys.readouterr().out
