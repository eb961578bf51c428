"""Readings, the scale card, and laying two photos over each other."""

from __future__ import annotations

import cv2
import numpy as np

from inspect_core.domain.geometry import Shape
from inspect_core.imaging import readings, stitching
from inspect_core.imaging.align import align
from inspect_core.imaging.card import card_scale
from inspect_core.imaging.card_layout import card_png_pixels
from inspect_core.imaging.case import read_case
from inspect_core.imaging.files import upright_rgb
from inspect_core.imaging.known_length import known_length
from inspect_core.imaging.measure_case import measure_marks
from inspect_core.imaging.rope import rope_diameter
from tests.bench.registry import Job, bench
from tests.imaging.drawn import rope, seam
from tests.imaging.photos import encoded, woven

SIZE = (4000, 3000)


def _known():  # type: ignore[no-untyped-def]
    return known_length(np.array([[1000.0, 1000], [1000, 1450]]), 45.0, SIZE)


@bench("reading: length of a line, with its scale")
def line() -> Job:
    """As the screen asks for it: scale and one reading."""
    shape = Shape.of("line", [[1100, 1000], [1100, 1100]])
    ends = np.array([[1000.0, 1000], [1000, 1450]]), np.array([[1100.0, 1000], [1100, 1100]])

    def floor() -> object:
        return np.linalg.norm(ends[1][1] - ends[1][0]) * 45.0 / np.linalg.norm(ends[0][1] - ends[0][0])

    note = "floor: the length alone, without its uncertainty"
    return Job(lambda: readings.length(shape, _known()), floor, target_ms=20, note=note)


@bench("reading: area of a freehand outline of 500 points")
def outline() -> Job:
    """The largest mark a finger draws."""
    turns = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    shape = Shape.of("freehand", np.stack([1200 + 150 * np.cos(turns), 1200 + 90 * np.sin(turns)], axis=1).tolist())
    return Job(lambda: readings.area(shape, _known()), target_ms=20)


@bench("reading: a whole mark of a case, photo taken in before")
def case() -> Job:
    """Every usual measure of one cut."""
    checked = read_case(
        {
            "photo": "a.jpg",
            "scale": {
                "method": "known_length",
                "points": [[1000, 1000], [1000, 1450]],
                "length_mm": 45,
                "of": "webbing width",
            },
            "marks": [
                {
                    "id": "a",
                    "component": "webbing",
                    "category": "cut",
                    "shape": {"type": "line", "points": [[1050, 1000], [1060, 1050]]},
                }
            ],
        }
    )
    return Job(lambda: measure_marks(checked, SIZE, lambda: np.empty((0, 0, 3), np.uint8)), target_ms=20)


@bench("reading: rope diameter by its edges")
def rope_edges() -> Job:
    """Pixels decoded before."""
    photo, axis = rope()
    scale = known_length(np.array([[100.0, 350], [600, 350]]), 50.0, (1000, 700))

    def floor() -> object:
        return cv2.Sobel(cv2.GaussianBlur(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), (0, 0), 1.5), cv2.CV_32F, 0, 1)

    note = "floor: the photo's gradient"
    return Job(lambda: rope_diameter(photo, axis, scale, 12.0), floor, target_ms=20, note=note)


@bench("reading: stitch rhythm of a row of 20, no scale")
def stitches() -> Job:
    """Pixels decoded before; without a scale the thread's width is not known and three are tried."""
    photo, row = seam(gone=(8, 9))
    return Job(lambda: stitching.find_row(photo, row), rounds=25, target_ms=20)


@bench("reading: stitch rhythm of a row of 20, known length")
def stitches_scaled() -> Job:
    """Pixels decoded before, scale taken before."""
    photo, row = seam(gone=(8, 9))
    scale = known_length(np.array([[60.0, 20], [510, 20]]), 45.0, (photo.shape[1], photo.shape[0]))

    def floor() -> object:
        grey = cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY)
        return np.fft.rfft(cv2.createCLAHE(2.0).apply(cv2.GaussianBlur(grey, (0, 0), 1.5)).astype(float), axis=1)

    note = "floor: contrast and spectrum of the photo"
    return Job(lambda: stitching.find_row(photo, row, scale), floor, rounds=25, target_ms=20, note=note)


@bench("scale card in a 12-megapixel photo, decoded before")
def card() -> Job:
    """Search at 1600 px, corners refined at full size."""
    photo = np.full((3000, 4000, 3), 140, np.uint8)
    sheet = card_png_pixels(12.0)
    photo[1000 : 1000 + sheet.shape[0], 900 : 900 + sheet.shape[1]] = sheet
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50))

    def floor() -> object:
        return finder.detectMarkers(cv2.resize(photo, (1600, 1200), interpolation=cv2.INTER_AREA))

    note = "floor: markers found at 1600 px, not refined"
    return Job(lambda: card_scale(photo, rule_mm=140.0), floor, rounds=5, note=note)


@bench("two 12-megapixel photos laid over each other")
def overlay() -> Job:
    """Decode, find features, match, fit and check, at 1600 px; the floor decodes and finds the same features."""
    first = cv2.GaussianBlur(woven(4000, 3000), (0, 0), 2.0)
    matrix = np.array([[0.97, -0.06, 120.0], [0.05, 0.98, -60], [1e-6, 2e-6, 1]])
    data = [encoded(p, quality=88) for p in (first, cv2.warpPerspective(first, matrix, SIZE))]

    def decoded() -> list[np.ndarray]:
        return [cv2.resize(upright_rgb(d, 2), (1600, 1200), interpolation=cv2.INTER_AREA) for d in data]

    def ours() -> object:
        earlier, today = decoded()
        return align(earlier, today, earlier_size=SIZE, today_size=SIZE)

    def floor() -> object:
        finder = cv2.ORB.create(nfeatures=4000, fastThreshold=10)
        return [finder.detectAndCompute(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY), None) for p in decoded()]

    return Job(ours, floor, rounds=5, target_ratio=2.0)
