"""Robust lines through few and noisy points, and how large a difference must be to mean anything."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import median
from typing import Final

from programs.engine.constants import Z_90

Z_80: Final = 1.2816  # two-sided
Z_95: Final = 1.96

TYPICAL_ERROR: Final = 0.04  # of one session's estimate: 2.5 % from day to day and the error of RIR
TYPICAL_ERROR_LOW: Final = 0.015
TYPICAL_ERROR_HIGH: Final = 0.08
OWN_ERROR_FROM: Final = 8  # sessions
MAD_TO_SD: Final = 1.4826

SMOOTHING: Final = 0.35
CLIP_ERRORS: Final = 3.0


@dataclass(frozen=True, slots=True)
class Line:
    """``y = intercept + slope · x``, from ``pairs`` pairwise slopes."""

    slope: float
    intercept: float
    pairs: int

    def at(self, x: float) -> float:
        return self.intercept + self.slope * x


def _slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    points = list(zip(xs, ys, strict=True))
    return sorted((y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2) if x1 != x2)


def theil_sen(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """The median of pairwise slopes, with the median of what remains as intercept; 29.3 % outliers do no harm.

    ValueError without two different x. Theil 1950, Sen 1968.
    """
    slopes = _slopes(xs, ys)
    if not slopes:
        raise ValueError("a line needs two different days")
    slope = median(slopes)
    intercept = median(y - slope * x for x, y in zip(xs, ys, strict=True))
    return Line(slope, intercept, len(slopes))


def _kendall_variance(n: int) -> float:
    return n * (n - 1) * (2 * n + 5) / 18


def sen_interval(xs: Sequence[float], ys: Sequence[float], z: float = Z_90) -> tuple[float, float]:
    """Confidence interval of the slope after Sen 1968 (90 % by default). ValueError as for ``theil_sen``."""
    slopes = _slopes(xs, ys)
    if not slopes:
        raise ValueError("a line needs two different days")
    count = len(slopes)
    reach = z * math.sqrt(_kendall_variance(len(xs)))
    low = min(max(math.floor((count - reach) / 2), 1), count)
    high = min(max(math.ceil((count + reach) / 2) + 1, 1), count)
    return slopes[low - 1], slopes[high - 1]


def mann_kendall(ys: Sequence[float]) -> tuple[int, float]:
    """S (rises minus falls over all pairs) and its normal score Z. Kendall 1975."""
    score = sum((later > earlier) - (later < earlier) for earlier, later in combinations(ys, 2))
    variance = _kendall_variance(len(ys))
    if score == 0 or variance == 0:
        return score, 0.0
    return score, (score - math.copysign(1, score)) / math.sqrt(variance)


def detectable(error: float, sessions: int, others: int, z: float) -> float:
    """Smallest difference between two means of sessions that is more than noise, as a share (Weir 2005)."""
    return z * error * math.sqrt(1 / sessions + 1 / others)


def levels(values: Sequence[float], start: float, error: float = TYPICAL_ERROR) -> list[float]:
    """The smoothed level after each value; a value further off than three errors counts as three."""
    out = []
    level = start
    for value in values:
        reach = CLIP_ERRORS * error * level
        clipped = min(max(value, level - reach), level + reach)
        level += SMOOTHING * (clipped - level)
        out.append(level)
    return out


def own_error(residuals: Sequence[float]) -> float:
    """The client's typical error from what remains about the line (on logarithms); the usual one when too few."""
    if len(residuals) < OWN_ERROR_FROM:
        return TYPICAL_ERROR
    centre = median(residuals)
    spread = MAD_TO_SD * median(abs(value - centre) for value in residuals)
    return min(max(spread, TYPICAL_ERROR_LOW), TYPICAL_ERROR_HIGH)
