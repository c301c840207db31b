"""A client's own endurance factor on an exercise, from their own sets: how many repetitions a share of the maximum is.

People and exercises differ in repetitions at one share (Richens, Cleather 2014). Sets within a fortnight, of
different repetitions, must give one maximum; the factor at which they do so best is the client's.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from programs.engine.constants import (
    CURVE_MAX_RIR,
    DAY_NOISE,
    ENDURANCE_MAX,
    ENDURANCE_MIN,
    ENDURANCE_SPREAD,
    RIR_NOISE_REPS,
    Z_90,
)
from programs.engine.strength import relative_slope, share_of_max, system_load
from programs.engine.terms import Exposure

WITHIN_DAYS: Final = 14  # strength is taken to stand still so long; coaching practice
MOST_REPS: Final = 20  # to failure; beyond it the curve is flat and two factors may fit alike
MOST_SETS: Final = 40  # the latest ones
GOOD_WITHIN: Final = 0.15  # half of the 90 % band against the factor
FAIR_WITHIN: Final = 0.30
STEPS: Final = 40
SETTLED: Final = 1e-9
SAME: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Effort:
    """One set near failure: the day, what was moved, repetitions and what was left."""

    day: date
    moved: float
    reps: int
    rir: float

    @property
    def n(self) -> float:
        return self.reps + self.rir


@dataclass(frozen=True, slots=True)
class Endurance:
    """The factor that fits best with its 90 % band, its class of confidence, and how many sets it stands on.

    ``believed`` is the factor to reckon with: the fitted one and the usual one, each by how sure it is.
    """

    k: float
    confidence: str
    low: float
    high: float
    sets: int
    believed: float


def efforts_of(
    history: Iterable[Exposure], *, load_entry: str = "total", fraction: float = 0.0, bodyweight: float | None = None
) -> list[Effort]:
    """The first rated work set of each exposure, the latest last; later sets are tired and would look less enduring.

    ``bodyweight`` is used where an exposure carries none. What has no weight gives nothing, nor do sets ticked as
    planned, timed ones and those stopped for pain; the order of ``history`` plays no part.
    """
    found = []
    for exposure in history:
        first = next((one for one in exposure.done if one.kind in ("work", "open_ended", "check")), None)
        if first is None or first.as_planned or first.stopped_for_pain or first.reps is None or first.rir is None:
            continue
        entered = 0.0 if first.load is None and load_entry == "added" and fraction > 0 else first.load
        if entered is None or load_entry in ("band", "numbered_setting", "none"):
            continue
        moved = system_load(entered, load_entry, exposure.bodyweight or bodyweight, fraction)
        if moved is not None and moved > 0:
            found.append(Effort(exposure.day, moved, first.reps, first.rir))
    return sorted(found, key=lambda one: (one.day, one.moved, one.reps, one.rir))[-MOST_SETS:]


def fit_endurance(efforts: Iterable[Effort], usual: float = 1.0) -> Endurance | None:
    """The factor k (0.6-2.5) that makes sets within 14 days agree best; None where they don't tell or none fits.

    With two sets this is the factor at which both give one maximum exactly. ``usual`` is the factor believed
    before: 1, or what machines like a leg press have. The order of ``efforts`` plays no part.
    """
    fortnights = [_Sets(sets, usual) for sets in _fortnights(efforts) if len({one.n for one in sets}) > 1]
    if not fortnights:
        return None
    k = usual
    for _ in range(STEPS):
        slope, information = _sums(fortnights, k)
        if information <= 0:
            return None
        step = -slope / information
        moved = min(ENDURANCE_MAX, max(ENDURANCE_MIN, k + max(-k / 3, min(k / 3, step))))
        settled = abs(moved - k) < SETTLED
        k = moved
        if settled:
            break
    if not ENDURANCE_MIN + SAME < k < ENDURANCE_MAX - SAME:
        return None
    _slope, information = _sums(fortnights, k)
    spread = 1 / math.sqrt(information)
    half = Z_90 * spread
    trust = "good" if half <= GOOD_WITHIN * k else "fair" if half <= FAIR_WITHIN * k else "weak"
    low, high = max(ENDURANCE_MIN, k - half), min(ENDURANCE_MAX, k + half)
    count = sum(len(one.loads) for one in fortnights)
    return Endurance(k, trust, low, high, count, _believed(k, spread, usual))


def _believed(k: float, spread: float, usual: float) -> float:
    """Between the fitted and the usual factor, by how far each may be off."""
    fitted, before = (k / spread) ** 2, ENDURANCE_SPREAD**-2
    return math.exp((fitted * math.log(k) + before * math.log(usual)) / (fitted + before))


def _fortnights(efforts: Iterable[Effort]) -> list[list[Effort]]:
    """The sets that the curve and the ratings hold for, parted where more than 14 days have gone by."""
    valid = [one for one in efforts if one.moved > 0 and one.reps >= 1 and 0 <= one.rir <= CURVE_MAX_RIR]
    groups: list[list[Effort]] = []
    for one in sorted((one for one in valid if one.n <= MOST_REPS), key=lambda one: (one.day, one.moved, one.n)):
        if not groups or (one.day - groups[-1][0].day).days > WITHIN_DAYS:
            groups.append([])
        groups[-1].append(one)
    return groups


class _Sets:
    """The sets of one fortnight: logarithms of loads, repetitions, and weights by how exact each set is."""

    def __init__(self, sets: Sequence[Effort], k: float) -> None:
        self.loads = [math.log(one.moved) for one in sets]
        self.numbers = [one.n for one in sets]
        self.weights = [1 / _error(one, k) ** 2 for one in sets]
        self.weight = sum(self.weights)

    def sums(self, k: float) -> tuple[float, float]:
        """Half the slope of the weighted squares of what the maxima differ by, and its curvature."""
        maxima, slopes = [], []
        for load, n in zip(self.loads, self.numbers, strict=True):
            scaled = 1 + (n - 1) / k
            maxima.append(load - math.log(share_of_max(n, 0, k)))
            slopes.append(-relative_slope(scaled) * (n - 1) / k**2)
        mean = self._mean(maxima)
        middle = self._mean(slopes)
        rows = list(zip(self.weights, maxima, slopes, strict=True))
        return (
            sum(weight * (value - mean) * (slope - middle) for weight, value, slope in rows),
            sum(weight * (slope - middle) ** 2 for weight, _value, slope in rows),
        )

    def _mean(self, values: Sequence[float]) -> float:
        return sum(weight * value for weight, value in zip(self.weights, values, strict=True)) / self.weight


def _sums(fortnights: Sequence[_Sets], k: float) -> tuple[float, float]:
    found = [one.sums(k) for one in fortnights]
    return sum(slope for slope, _ in found), sum(information for _, information in found)


def _error(one: Effort, k: float) -> float:
    """Of the set's maximum, as a share: the day's form and the rating's error."""
    low = math.floor(one.rir)
    high = min(low + 1, len(RIR_NOISE_REPS) - 1)
    reps = RIR_NOISE_REPS[low] + (RIR_NOISE_REPS[high] - RIR_NOISE_REPS[low]) * (one.rir - low)
    return math.hypot(DAY_NOISE, relative_slope(1 + (one.n - 1) / k) / k * reps)
