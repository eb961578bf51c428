"""A simulated fleet whose hazards by cause are known, watched from different ages on and not until the end.

Causes compete with Weibull hazards of known shape and scale, so the true curves can be integrated. Items enter new
or at a later age (only if not withdrawn before: delayed entry) and are watched for a random time (censoring).
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from inspect_core.domain.gear import Kind
from inspect_core.trends.watched import Lifetime

#: Cause → (shape, scale in days): an early, a constant and a wearing-out hazard. Test-only figures.
HAZARDS = {"cut": (1.0, 3000.0), "chemical": (0.8, 5200.0), "abrasion": (2.2, 2400.0)}


def true_survival(age: float) -> float:
    return float(np.exp(-sum((age / scale) ** shape for shape, scale in HAZARDS.values())))


def true_median() -> float:
    return float(brentq(lambda age: true_survival(age) - 0.5, 1, 20000))


def true_incidence(cause: str, age: float) -> float:
    shape, scale = HAZARDS[cause]

    def density(a: float) -> float:
        return shape / scale * (a / scale) ** (shape - 1) * true_survival(a)

    return float(quad(density, 0, age)[0])


def simulated_fleet(generator: np.random.Generator, items: int) -> list[Lifetime]:
    """So many lifetimes; four in ten come new, the others at up to 900 days; watched for 1 to 7 years."""
    lives: list[Lifetime] = []
    while len(lives) < items:
        ages = {cause: scale * generator.weibull(shape) for cause, (shape, scale) in HAZARDS.items()}
        cause, gone = min(ages.items(), key=lambda pair: pair[1])
        entered = 0.0 if generator.random() < 0.4 else float(generator.uniform(0, 900))
        if gone <= entered:
            continue
        until = entered + float(generator.uniform(365, 7 * 365))
        retired = gone <= until
        lives.append(
            Lifetime(
                f"i{len(lives)}", Kind.HARNESS, "", "", entered, min(gone, until), retired, (cause,) if retired else ()
            )
        )
    return lives
