"""Estimated maximum and the load for a set: one curve, both ways.

A set done exactly as it was prescribed gives back the estimate that it was prescribed from, because the same
curve estimates and prescribes. Loads keep the caller's unit; n is reps to failure (reps done + reps in reserve).
"""

import math
from dataclasses import dataclass
from statistics import median
from typing import Final

from programs.engine.constants import (
    CURVE_A,
    CURVE_B,
    CURVE_C,
    CURVE_MAX_REPS,
    CURVE_MAX_RIR,
    DAY_NOISE,
    ENDURANCE_MAX,
    ENDURANCE_MIN,
    RIR_NOISE_REPS,
    Z_90,
)

_AT_ONE: Final = CURVE_A + CURVE_B * math.exp(-CURVE_C)
_LOWEST_SHARE: Final = CURVE_A / _AT_ONE
_BISECTIONS: Final = 80
GOOD: Final = (8, 2.0)
FAIR: Final = (12, 3.0)


def _share(n: float) -> float:
    return (CURVE_A + CURVE_B * math.exp(-CURVE_C * n)) / _AT_ONE


def share_of_max(reps: float, rir: float, k: float = 1.0) -> float:
    """Share of the maximum (0–1] that ``reps`` with ``rir`` left is done with.

    Wathan 1994, scaled so that one repetition to failure is the maximum. ``k`` is the client's endurance factor
    on the exercise: above 1 means more repetitions at the same share. Raises ValueError below one repetition.
    """
    n = reps + rir
    if n < 1:
        raise ValueError("a set has at least one repetition")
    return _share(1 + (n - 1) / k)


def reps_at_share(share: float, k: float = 1.0) -> float:
    """Repetitions to failure at a share of the maximum: the curve read the other way, not rounded.

    Raises ValueError outside 0.4944 < share ≤ 1, where the curve does not go.
    """
    if not _LOWEST_SHARE < share <= 1:
        raise ValueError("the curve holds for shares above 0.4944 and up to 1")
    n = -math.log((_AT_ONE * share - CURVE_A) / CURVE_B) / CURVE_C
    return 1 + (n - 1) * k


def relative_slope(n: float) -> float:
    """Load change for one repetition more or less at ``n``, as a share of the load."""
    falling = CURVE_B * math.exp(-CURVE_C * n)
    return CURVE_C * falling / (CURVE_A + falling)


def load_for(e1rm: float, reps: float, rir: float, k: float = 1.0) -> float:
    """The load, in ``e1rm``'s unit and not yet rounded, for ``reps`` with ``rir`` left."""
    return e1rm * share_of_max(reps, rir, k)


def e1rm(load: float, reps: int, rir: float | None, k: float = 1.0) -> float | None:
    """Estimated one-repetition maximum in ``load``'s unit.

    None where the curve does not hold (n above 15, more than four in reserve, no load, no repetition) and when the
    effort is unknown: unknown is not zero. Wathan 1994, scaled; RIR after Zourdos et al. 2016.
    """
    if rir is None or load <= 0 or reps < 1 or not 0 <= rir <= CURVE_MAX_RIR or reps + rir > CURVE_MAX_REPS:
        return None
    return load / share_of_max(reps, rir, k)


def confidence(reps: int, rir: float | None) -> str | None:
    """How far to trust an estimate: "good", "fair", "weak", or None where there is none. Coaching practice."""
    if rir is None or reps < 1 or not 0 <= rir <= CURVE_MAX_RIR or reps + rir > CURVE_MAX_REPS:
        return None
    n = reps + rir
    for name, (most_n, most_rir) in (("good", GOOD), ("fair", FAIR)):
        if n <= most_n and rir <= most_rir:
            return name
    return "weak"


def noise(reps: int, rir: float) -> float:
    """Coefficient of variation of one client's estimate from one set, as a share."""
    low = math.floor(rir)
    high = min(low + 1, len(RIR_NOISE_REPS) - 1)
    sigma = RIR_NOISE_REPS[low] + (RIR_NOISE_REPS[high] - RIR_NOISE_REPS[low]) * (rir - low)
    return math.hypot(DAY_NOISE, relative_slope(reps + rir) * sigma)


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimated maximum with its class of confidence and 90 % band."""

    e1rm: float
    confidence: str
    low: float
    high: float


def estimate(load: float, reps: int, rir: float | None, k: float = 1.0) -> Estimate | None:
    """``e1rm`` with its confidence and band; None where ``e1rm`` is None."""
    value = e1rm(load, reps, rir, k)
    trust = confidence(reps, rir)
    if value is None or rir is None or trust is None:
        return None
    spread = Z_90 * noise(reps, rir)
    return Estimate(value, trust, value * (1 - spread), value * (1 + spread))


@dataclass(frozen=True, slots=True)
class Disagreement:
    """What seven published equations say of one set, for display only."""

    median: float
    lowest: float
    highest: float


def formulas(load: float, n: float) -> dict[str, float]:
    """Seven published equations at ``n`` repetitions to failure, by name.

    At one repetition only those that give the load itself are kept; the others are not made for it.
    """
    all_of_them = {
        "brzycki": load * 36 / (37 - n),
        "lombardi": load * n**0.10,
    }
    if n > 1:
        all_of_them |= {
            "epley": load * (1 + n / 30),
            "wathan": 100 * load / (CURVE_A + CURVE_B * math.exp(-CURVE_C * n)),
            "mayhew": 100 * load / (52.2 + 41.9 * math.exp(-0.055 * n)),
            "oconner": load * (1 + 0.025 * n),
            "lander": 100 * load / (101.3 - 2.67123 * n),
        }
    return all_of_them


def disagreement(load: float, n: float) -> Disagreement:
    values = list(formulas(load, n).values())
    return Disagreement(median(values), min(values), max(values))


def endurance_factor(one: tuple[float, float], other: tuple[float, float], kept: float = 1.0) -> float:
    """The factor k at which two sets (load, reps to failure) give one maximum; ``kept`` where none in range does.

    Both sets within 14 days, with different repetitions. Solved by bisection between 0.6 and 2.5.
    """
    (load_1, n_1), (load_2, n_2) = one, other

    def gap(k: float) -> float:
        return load_1 / _share(1 + (n_1 - 1) / k) - load_2 / _share(1 + (n_2 - 1) / k)

    low, high = ENDURANCE_MIN, ENDURANCE_MAX
    if n_1 == n_2 or gap(low) * gap(high) > 0:
        return kept
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        if gap(low) * gap(middle) <= 0:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def system_load(entered: float, load_entry: str, bodyweight: float | None, fraction: float) -> float | None:
    """What is really moved: bodyweight's share plus or minus what was entered.

    None when the exercise moves bodyweight and none is known. For fraction 0 and for loads that are no addition
    to the body it is what was entered.
    """
    if load_entry not in ("added", "assisted") or fraction == 0:
        return entered
    if bodyweight is None:
        return None
    return fraction * bodyweight + (-entered if load_entry == "assisted" else entered)


def entered_load(system: float, load_entry: str, bodyweight: float | None, fraction: float) -> float | None:
    """What to enter so that ``system`` is moved: the inverse of ``system_load``."""
    if load_entry not in ("added", "assisted") or fraction == 0:
        return system
    if bodyweight is None:
        return None
    carried = fraction * bodyweight
    return carried - system if load_entry == "assisted" else system - carried


def volume_load(
    load: float,
    reps: int,
    load_entry: str,
    *,
    unilateral: bool = False,
    bodyweight: float | None = None,
    fraction: float = 0.0,
) -> float | None:
    """Load × reps of one set, in the unit of the load; per hand both implements, each side of a one-sided set.

    None for loads without weight (bands, numbered settings) and where bodyweight is needed and unknown.
    """
    if load_entry in ("band", "numbered_setting", "none"):
        return None
    moved = system_load(load, load_entry, bodyweight, fraction)
    if moved is None:
        return None
    both = 2 if load_entry == "per_hand" or unilateral else 1
    return moved * reps * both
