"""Measure every mark of one photo: the job behind `bartack measure` and behind the reading beside a mark."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict
from functools import cached_property
from typing import Any

import numpy as np

from inspect_core.domain.errors import BadInput
from inspect_core.domain.gear import Component
from inspect_core.domain.geometry import Shape, ShapeType
from inspect_core.domain.marks import Category, Reading
from inspect_core.domain.measures import MEASURES, Source, Unit
from inspect_core.imaging import case_stitches, colour, grades, metal, readings, rope, stitching
from inspect_core.imaging.card import RULE_SD_MM, card_scale
from inspect_core.imaging.case import Case, MarkWish, ScaleWish, needed, read_case
from inspect_core.imaging.case_depth import depth_estimate
from inspect_core.imaging.files import Pixels, take_in, upright_rgb
from inspect_core.imaging.known_length import WIDEST_TILT_DEG, known_length
from inspect_core.imaging.measure import SCREEN_PX, SCREEN_SD_PX, Estimate
from inspect_core.imaging.scale import HEIGHT_SD_MM, Scale

_METAL = (
    Component.SNAP_HOOK,
    Component.D_RING,
    Component.BUCKLE,
    Component.GATE,
    Component.CAM,
    Component.HOUSING,
    Component.BODY,
    Component.TENSIONER,
    Component.THIMBLE,
    Component.TERMINATION,
)
_CLOTH = (Component.WEBBING, Component.STITCHING, Component.ENERGY_ABSORBER)
_NEEDS_MM = (Unit.MM, Unit.MM2)


def measure_case(case: Mapping[str, Any], read_photo: Callable[[str], bytes]) -> dict[str, Any]:
    """Take the scale and every reading of a case.

    Parameters
    ----------
    case: as the contract of `bartack measure` has it, read from JSON.
    read_photo: path as written in the case to the file's bytes.

    Returns plain values fit for JSON: `scale`, `readings`, `not_measured` (mark, measure, why, what to do), `quality`,
    and `seams` (both sides compared, where they differ) when a mark has two lines of stitches. A mark that cannot be
    measured stays out of `readings`: not measured is not zero. Raises BadInput for a case that is faulty as a whole,
    BadPhoto for its photo.
    """
    checked = read_case(case)
    data = read_photo(checked.photo)
    intake = take_in(data, claimed_name=checked.photo)
    measured = measure_marks(checked, (intake.width, intake.height), lambda: upright_rgb(data))
    quality = {**_rounded(asdict(intake.quality)), "advice": list(intake.quality.advice)}
    return {**measured, "quality": quality}


def measure_marks(case: Case, size: tuple[int, int], read_pixels: Callable[[], Pixels]) -> dict[str, Any]:
    """As `measure_case` for a photo that has been taken in already: its (width, height), and its upright RGB pixels.

    `read_pixels` is called once at most, and only where a measure or the scale card needs to look.
    """
    photo = _Photo(size, read_pixels)
    for mark in case.marks:
        if not mark.shape.within(*size, slack=2.0):
            raise BadInput(
                f"Mark “{mark.id}” lies outside the photo of {size[0]} × {size[1]} pixels.",
                "Give points in pixels of the upright full-resolution photo.",
            )
    scale = take_scale(case.scale, photo)
    found: list[dict[str, Any]] = []
    missed: list[dict[str, Any]] = []
    for mark in case.marks:
        for measure in mark.measures or usual_measures(mark, case.item, scale is not None):
            try:
                reading = read_mark(measure, mark, photo, scale, case)
            except BadInput as why:
                missed.append({"mark": mark.id, "measure": measure, "problem": why.problem, "remedy": why.remedy})
            else:
                found.append({"mark": mark.id, **_plain(reading)})
    marks = {mark.id: mark for mark in case.marks}
    compared = [case_stitches.seam_sentence(marks[name], rows) for name, rows in photo.seams()]
    seams = {"seams": compared} if compared else {}
    return {"scale": _scale_values(scale), "readings": found, "not_measured": missed, **seams}


def seam_sides(
    case: Case, mark_id: str, size: tuple[int, int], read_pixels: Callable[[], Pixels]
) -> tuple[stitching.Comparison, tuple[stitching.Gap, ...]]:
    """Both sides of the seam that a mark's `shape` and `second` follow: the comparison in words, and every gap found.

    Raises BadInput where a side shows no rhythm, or the mark has no second line.
    """
    photo = _Photo(size, read_pixels)
    (mark,) = [mark for mark in case.marks if mark.id == mark_id]
    needed(mark.second, "second", "the line along the other side of the seam")
    rows = case_stitches.seam_rows(mark, photo.rgb, take_scale(case.scale, photo))
    return stitching.compare(*rows), tuple(gap for row in rows for gap in row.gaps)


class _Photo:
    """Size of a photo, and its pixels once they are asked for."""

    def __init__(self, size: tuple[int, int], read_pixels: Callable[[], Pixels]) -> None:
        self.size = size
        self._read = read_pixels
        self._seams: dict[str, tuple[stitching.Row, ...] | BadInput] = {}

    @cached_property
    def rgb(self) -> Pixels:
        return self._read()

    def seam(self, mark: MarkWish, scale: Scale | None) -> tuple[stitching.Row, ...]:
        """What was found along a mark's lines, looked for once for all of its measures. Raises BadInput."""
        if mark.id not in self._seams:
            try:
                self._seams[mark.id] = case_stitches.seam_rows(mark, self.rgb, scale)
            except BadInput as why:
                self._seams[mark.id] = why
        found = self._seams[mark.id]
        if isinstance(found, BadInput):
            raise found
        return found

    def seams(self) -> Iterator[tuple[str, tuple[stitching.Row, ...]]]:
        """The marks along which both sides of a seam were found."""
        for name, rows in self._seams.items():
            if not isinstance(rows, BadInput) and len(rows) == 2:
                yield name, rows


def take_scale(wish: ScaleWish, photo: _Photo) -> Scale | None:
    """The scale asked for; None for "none"."""
    height_sd = HEIGHT_SD_MM if wish.height_sd_mm is None else wish.height_sd_mm
    if wish.method == "card":
        return card_scale(
            photo.rgb,
            rule_mm=wish.rule_mm,
            rule_sd_mm=RULE_SD_MM if wish.rule_sd_mm is None else wish.rule_sd_mm,
            height_mm=wish.height_mm,
            height_sd_mm=height_sd,
        )
    if wish.method == "none":
        return None
    if wish.points is None or wish.length_mm is None:
        raise BadInput("A known length needs its two points and its length.", "Draw it and enter its millimetres.")
    return known_length(
        wish.points,
        wish.length_mm,
        photo.size,
        # Webbing keeps its width within about 1 mm; a rule is better, and then the case says so.
        length_sd_mm=min(0.5, wish.length_mm / 20) if wish.length_sd_mm is None else wish.length_sd_mm,
        point_sd_px=pointing_sd(wish, photo.size),
        widest_tilt_deg=WIDEST_TILT_DEG if wish.widest_tilt_deg is None else wish.widest_tilt_deg,
        height_mm=wish.height_mm,
        height_sd_mm=height_sd,
    )


def pointing_sd(wish: ScaleWish, size: tuple[int, int]) -> float:
    """Standard uncertainty of one drawn point in photo pixels: as the case says, else as on a whole photo by hand."""
    return max(SCREEN_SD_PX, max(size) / SCREEN_PX) if wish.point_sd_px is None else wish.point_sd_px


def usual_measures(mark: MarkWish, item: Mapping[str, float], scaled: bool) -> tuple[str, ...]:
    """What is measured on a mark when the case does not say; without a scale only what needs no millimetres."""
    shape, part, what = mark.shape, mark.component, mark.category
    line = shape.type in (ShapeType.LINE, ShapeType.POLYLINE)
    wanted: list[str] = []
    if line and what is Category.DEPLOYED_ABSORBER and part is Component.ENERGY_ABSORBER:
        wanted = ["pack length", "pack length increase"] if "packed_length_mm" in item else ["pull-out"]
    elif line and what is Category.DEFORMATION and part in (Component.SNAP_HOOK, Component.BODY):
        wanted = ["throat", "throat increase"] if "throat_mm" in item else ["throat"]
    elif line and what is Category.BROKEN_STITCH:
        wanted = ["stitch count", "stitch spacing", "missing stitches"]
        wanted += ["stitch side difference"] if mark.second is not None else []
    elif line:
        wanted = ["length"]
        if what in (Category.CUT, Category.FRAY, Category.ABRASION) and part in _CLOTH:
            wanted += ["depth from edge", "depth share"]
    else:
        wanted = ["length", "width", "area"]
        if mark.region is not None:
            wanted.append("area share")
            if what is Category.RUST and part in (*_METAL, Component.WIRE_ROPE):
                wanted += ["rust area share", "rust grade"]
        if mark.reference is not None:
            wanted += ["colour difference", "grey-scale grade"]
    return tuple(m for m in wanted if scaled or MEASURES[m].unit not in _NEEDS_MM)


def read_mark(measure: str, mark: MarkWish, photo: _Photo, scale: Scale | None, case: Case) -> Reading:
    """One reading of one mark. Raises BadInput with the reason where it cannot be taken."""
    known = MEASURES[measure]
    if known.source is Source.HAND:
        raise BadInput(f"A photo cannot give the {measure}.", "Measure it by hand and enter it.")
    if known.unit in _NEEDS_MM and scale is None:
        raise BadInput(
            f"Without a scale there is no {measure} in {known.unit.value}.",
            "Draw a known length or lay the scale card beside the mark.",
        )
    estimate, method = _estimate(measure, mark, photo, scale, case)
    basis = f", {scale.method}" if scale is not None and known.unit in _NEEDS_MM else ""
    return estimate.reading(measure, f"photo{basis}{method}")


def _estimate(measure: str, mark: MarkWish, photo: _Photo, scale: Scale | None, case: Case) -> tuple[Estimate, str]:
    sd = pointing_sd(case.scale, photo.size)
    if measure in ("depth from edge", "depth share"):
        return depth_estimate(measure, mark, photo.size, scale, case, sd)
    if measure == "area share":
        region = needed(mark.region, "region", "the component's visible outline")
        return readings.area_share(mark.shape, region, scale, photo.size, point_sd_px=sd), ""
    if measure in ("rust area share", "rust grade"):
        region = mark.region or mark.shape
        share = metal.rust_share(photo.rgb, region, point_sd_px=sd)[0]
        return (share if measure == "rust area share" else _rust_grade(share)), f", {metal.METHOD}"
    if measure in ("colour difference", "grey-scale grade"):
        return _colour(measure, mark, photo, scale), f", {colour.METHOD}"
    if measure in case_stitches.MEASURES:
        return case_stitches.stitch_estimate(measure, mark, photo.seam(mark, scale), scale)
    if measure == "angle":
        return readings.angle(mark.shape, scale, photo.size, point_sd_px=sd), ""
    if measure == "twist":
        second = needed(mark.second, "second", "the line along the shank")
        lines = readings.points_of(mark.shape), readings.points_of(second)
        return readings.twist(*lines, scale, photo.size, point_sd_px=sd), ""
    if scale is None:
        raise BadInput(f"Without a scale there is no {measure}.", "Draw a known length or lay the scale card.")
    if measure in ("rope diameter", "diameter loss"):
        estimate, method = _rope(mark, photo, scale, case)
        return (estimate if measure == "rope diameter" else _loss(estimate, case)), method
    if measure == "area":
        return readings.area(mark.shape, scale, point_sd_px=sd), ""
    if measure == "width":
        return readings.width(mark.shape, scale, point_sd_px=sd), ""
    return _along(measure, mark.shape, scale, sd, case), ""


#: Measures that are a plain length of the drawn line.
_LENGTHS = ("length", "webbing width", "lay length", "pull-out", "pack length", "throat", "gate gap")


def _along(measure: str, shape: Shape, scale: Scale, sd: float, case: Case) -> Estimate:
    if measure not in (*_LENGTHS, "pack length increase", "throat increase"):
        raise BadInput(f"The {measure} is counted or judged, not measured in a photo.", "Enter it by hand.")
    estimate = readings.length(shape, scale, point_sd_px=sd)
    if measure == "pack length increase":
        packed = _nominal(case, "packed_length_mm", "packed length of the absorber")
        grown = Estimate(estimate.value - packed, estimate.standard, estimate.budget)
        # A packed length read off a label or a new pack: half a per cent.
        return grown.with_cause("nominal value", 0.005 * packed)
    if measure == "throat increase":
        nominal = _nominal(case, "throat_mm", "nominal throat opening")
        return estimate.over(nominal, 0.25, share_of=True)
    return estimate


def _rope(mark: MarkWish, photo: _Photo, scale: Scale, case: Case) -> tuple[Estimate, str]:
    points = readings.points_of(mark.shape)
    about = case.item.get("rope_diameter_mm")
    along = float(readings.length(mark.shape, scale).value)
    if about is not None and len(points) == 2 and along >= 1.5 * about:
        estimate = rope.rope_diameter(photo.rgb, points, scale, about, point_sd_px=pointing_sd(case.scale, photo.size))
        return estimate, f", {rope.METHOD}"
    if len(points) != 2:
        raise BadInput("A rope's diameter needs a straight line.", "Draw it along the rope, or across it.")
    return readings.length(
        mark.shape, scale, point_sd_px=pointing_sd(case.scale, photo.size)
    ), ", line drawn across the rope"


def _loss(diameter: Estimate, case: Case) -> Estimate:
    nominal = _nominal(case, "rope_diameter_mm", "nominal rope diameter")
    over = diameter.over(nominal, 0.01 * nominal, share_of=True)
    return Estimate(-over.value, over.standard, over.budget)


def _rust_grade(share: Estimate) -> Estimate:
    """D610 grade of the share; its uncertainty reaches to the grade of the share plus its uncertainty."""
    grade = grades.rust_grade(min(1.0, max(0.0, share.value)))
    worst = grades.rust_grade(min(1.0, share.value + share.expanded))
    best = grades.rust_grade(max(0.0, share.value - share.expanded))
    reach = max(grade - worst, best - grade) / 2
    return Estimate(float(grade), reach, {"rusted share": reach})


def _colour(measure: str, mark: MarkWish, photo: _Photo, scale: Scale | None) -> Estimate:
    reference = needed(mark.reference, "reference", "a sound patch of the same material")
    corrected = None
    if scale is not None and scale.method == "scale card":
        corrected = colour.correction(colour.patch_means(photo.rgb, scale.map))
    first, second = (colour.pixels_in(photo.rgb, shape) for shape in (reference, mark.shape))
    # Always the same draws, so that one mark has one reading.
    difference = colour.difference(first, second, corrected, np.random.default_rng(0))
    if measure == "colour difference":
        return difference
    value = grades.difference_f(*colour.cielab_difference(first, second, corrected))
    grade = grades.grey_scale_by_instrument(value)
    relative = difference.expanded / max(difference.value, 0.1)
    ends = [grades.grey_scale_value(max(0.0, value * (1 + sign * relative))) for sign in (-1, 1)]
    reach = max(0.25, abs(ends[0] - ends[1]) / 4)
    return Estimate(grade, reach, {"colour difference": reach})


def _nominal(case: Case, key: str, what: str) -> float:
    if key not in case.item:
        raise BadInput(f"This measure needs the {what}.", f'Enter it with the item, as "{key}".')
    return case.item[key]


def _plain(reading: Reading) -> dict[str, Any]:
    return _rounded(
        {
            "measure": reading.measure,
            "value": reading.value,
            "unit": reading.unit,
            "uncertainty": reading.uncertainty,
            "method": reading.method,
        }
    )


def _scale_values(scale: Scale | None) -> dict[str, Any]:
    if scale is None:
        return {"method": "none", "mm_per_px": None, "notes": ["No scale, no millimetres."]}
    return _rounded(
        {
            "method": scale.method,
            "mm_per_px": scale.mm_per_px,
            "tilt_deg": scale.tilt_deg,
            "residual_px": scale.residual_px,
            "notes": list(scale.notes),
        }
    )


def _rounded(values: dict[str, Any]) -> dict[str, Any]:
    """Floats to six significant digits: more would be noise, and bytes stay the same between machines."""
    return {key: float(f"{value:.6g}") if isinstance(value, float) else value for key, value in values.items()}
