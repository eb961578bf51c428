"""Drawn photographs of fall-protection gear, with their truth in millimetres. No picture here is a photograph."""

from sample_images.demo import categories_of, demo_spec, views_of
from sample_images.evaluation import EVALUATION_SEEDS, TUNING_SEEDS, evaluation_specs
from sample_images.render import Picture, render
from sample_images.spec import Camera, Damage, FlatItem, SceneSpec, place_flat

__all__ = [
    "EVALUATION_SEEDS",
    "TUNING_SEEDS",
    "Camera",
    "Damage",
    "FlatItem",
    "Picture",
    "SceneSpec",
    "categories_of",
    "demo_spec",
    "evaluation_specs",
    "place_flat",
    "render",
    "views_of",
]
