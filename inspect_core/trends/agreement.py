"""Do inspectors agree: blind second readings of the same photos.

Cohen's kappa for two readers, κ = (p_o − p_e) / (1 − p_e), with the large-sample interval of Fleiss, Cohen and
Everitt (1969, Psychol. Bull. 72:323), and Fleiss' kappa for several (Fleiss 1971, Psychol. Bull. 76:378), both
through statsmodels. Interval of Fleiss' kappa: the jackknife over photos (Fleiss and Davies 1982, Am. J. Epidemiol.
115:841, from memory) with Student's t. Agreement in percent: photos on which all readers said the same, with
Wilson's interval.

Kappa depends on how frequent each answer is: where nearly every photo shows the same thing, it is low although
readers agree. It therefore stands beside the percentage. No word such as "good" is put on it: the usual cut points
are habits (common practice, no source).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from inspect_core.domain.errors import BadInput
from inspect_core.trends.few import TooFew, check_confidence
from inspect_core.trends.reasons import wilson

#: Fewer photos read twice give no interval worth reading: common practice, no source.
LEAST_PHOTOS = 10


@dataclass(frozen=True, slots=True)
class SecondReading:
    """What one reader said about one photo without knowing what others said: an outcome, a category, …"""

    photo_id: str
    reader: str
    answer: str


@dataclass(frozen=True, slots=True)
class Agreement:
    """Agreement of `readers` on `photos`. `kappa` is "Cohen" or "Fleiss" by `method`; None with its interval where
    only one answer was ever given, or its interval alone where the method has none (perfect agreement).

    `same`, `same_low`, `same_high`: share of photos on which all said the same. `left_out`: photos that could not be
    used because fewer readers saw them.
    """

    method: str
    readers: int
    photos: int
    agreed: int
    same: float
    same_low: float
    same_high: float
    kappa: float | None
    kappa_low: float | None
    kappa_high: float | None
    confidence: float
    left_out: int

    @property
    def in_words(self) -> str:
        """Percent agreement first, then kappa, with intervals and counts."""
        level = f"{self.confidence * 100:.0f} % interval"
        told = (
            f"{self.readers} readers said the same on {self.agreed} of {self.photos} photos, {self.same:.0%} "
            f"({level} {self.same_low:.0%} to {self.same_high:.0%})."
        )
        if self.kappa is None:
            return f"{told} Only one answer was ever given, so agreement beyond chance cannot be told."
        if self.kappa_low is None:
            return f"{told} {self.method}'s kappa {self.kappa:.2f}; so few disagreements give it no interval."
        return f"{told} {self.method}'s kappa {self.kappa:.2f} ({level} {self.kappa_low:.2f} to {self.kappa_high:.2f})."


def cohen(
    first: Sequence[str], second: Sequence[str], *, confidence: float = 0.95, least_photos: int = LEAST_PHOTOS
) -> Agreement | TooFew:
    """Two readers over the same photos, answers in the same order. Raises BadInput where the lengths differ."""
    from statsmodels.stats.inter_rater import cohens_kappa  # costs seconds; only trends need it

    check_confidence(confidence)
    if len(first) != len(second):
        raise BadInput("The two readers did not read the same photos.", "Give one answer of each reader per photo.")
    agreed = sum(a == b for a, b in zip(first, second, strict=True))
    if len(first) < max(1, least_photos):
        return _few(2, len(first), agreed, least_photos)
    answers = sorted({*first, *second})
    place = {answer: number for number, answer in enumerate(answers)}
    table = np.zeros((len(answers), len(answers)))
    for a, b in zip(first, second, strict=True):
        table[place[a], place[b]] += 1
    if len(answers) == 1:
        return _agreement("Cohen", 2, len(first), agreed, None, None, confidence, 0)
    with np.errstate(invalid="ignore"):  # it divides by an error of zero where all agree; the interval is left out then
        found = cohens_kappa(table)
    error = math.sqrt(max(0.0, float(found.var_kappa)))
    half = float(student.ppf(0.5 + confidence / 2, math.inf)) * error if error > 0 else None
    return _agreement("Cohen", 2, len(first), agreed, float(found.kappa), half, confidence, 0)


def fleiss(
    readings: Iterable[SecondReading], *, confidence: float = 0.95, least_photos: int = LEAST_PHOTOS
) -> Agreement | TooFew:
    """All readers together, over photos read by one and the same number of people: the largest number that enough
    photos have, else the largest of all. Photos read by more or fewer are left out and counted.

    Readers may differ from photo to photo. Raises BadInput where one reader read one photo twice.
    """
    from statsmodels.stats.inter_rater import fleiss_kappa  # costs seconds; only trends need it

    check_confidence(confidence)
    by_photo = answers_by_photo(readings)
    sizes = Counter(len(answers) for answers in by_photo.values())
    enough = [size for size, photos in sizes.items() if size > 1 and photos >= least_photos]
    readers = max(enough or sizes, default=0)
    used = [Counter(answers.values()) for answers in by_photo.values() if len(answers) == readers]
    agreed = sum(len(counted) == 1 for counted in used)
    if readers < 2 or len(used) < max(1, least_photos):
        return _few(readers, len(used), agreed, least_photos)
    names = sorted({answer for counted in used for answer in counted})
    left_out = len(by_photo) - len(used)
    if len(names) == 1:
        return _agreement("Fleiss", readers, len(used), agreed, None, None, confidence, left_out)
    table = np.array([[counted[name] for name in names] for counted in used], dtype=float)
    kappa = float(fleiss_kappa(table))
    without = [_fleiss_without(table, number, fleiss_kappa) for number in range(len(table))]
    half = None
    if agreed < len(used) and all(math.isfinite(one) for one in without):
        photos = len(used)
        pseudo = photos * kappa - (photos - 1) * np.array(without)
        error = float(pseudo.std(ddof=1)) / math.sqrt(photos)
        half = float(student.ppf(0.5 + confidence / 2, photos - 1)) * error if error > 0 else None
    return _agreement("Fleiss", readers, len(used), agreed, kappa, half, confidence, left_out)


def answers_by_photo(readings: Iterable[SecondReading]) -> dict[str, dict[str, str]]:
    """Photo to reader to answer, in order of both names. Raises BadInput where a reader read a photo twice."""
    found: dict[str, dict[str, str]] = {}
    for reading in sorted(readings, key=lambda r: (r.photo_id, r.reader)):
        answers = found.setdefault(reading.photo_id, {})
        if reading.reader in answers:
            raise BadInput(
                f"One reader read photo {reading.photo_id[:12]} twice.",
                "Keep the first reading; the second is not blind.",
            )
        answers[reading.reader] = reading.answer
    return found


def _fleiss_without(table: NDArray[np.float64], number: int, kappa: Callable[[NDArray[np.float64]], float]) -> float:
    """Fleiss' kappa without one photo; NaN where only one answer is left."""
    rest = np.delete(table, number, axis=0)
    if np.count_nonzero(rest.sum(axis=0)) < 2:
        return math.nan
    return float(kappa(rest))


def _few(readers: int, photos: int, agreed: int, least: int) -> TooFew:
    why = f"At least {least} photos read by the same people are needed."
    return TooFew("second readings", photos, photos - agreed, why)


def _agreement(
    method: str,
    readers: int,
    photos: int,
    agreed: int,
    kappa: float | None,
    half: float | None,
    confidence: float,
    left_out: int,
) -> Agreement:
    same_low, same_high = wilson(agreed, photos, confidence)
    low = high = None
    if kappa is not None and half is not None:
        low, high = max(-1.0, kappa - half), min(1.0, kappa + half)
    same = agreed / photos
    return Agreement(method, readers, photos, agreed, same, same_low, same_high, kappa, low, high, confidence, left_out)
