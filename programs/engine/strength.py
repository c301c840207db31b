"""Estimated maximum and the load for a set: one curve, both ways.

A set done exactly as it was prescribed gives back the estimate that it was prescribed from, because the same
curve estimates and prescribes. Loads keep the caller's unit; n is reps to failure (reps done + reps in reserve).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Final

from programs.engine.constants import (
    BODYWEIGHT_VALID_DAYS,
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
from programs.engine.terms import Because, SetDone

_AT_ONE: Final = CURVE_A + CURVE_B * math.exp(-CURVE_C)
_LOWEST_SHARE: Final = CURVE_A / _AT_ONE
_BISECTIONS: Final = 80
_UNDEFINED_FROM: Final = 37.0  # Brzycki's and Lander's equations have no value from here
GOOD: Final = (8, 2.0)
FAIR: Final = (12, 3.0)
WITHOUT_WEIGHT: Final = ("band", "numbered_setting", "none")
ESTIMATED_KINDS: Final = ("work", "back_off", "open_ended", "check")


def _share(n: float) -> float:
    return (CURVE_A + CURVE_B * math.exp(-CURVE_C * n)) / _AT_ONE


def share_of_max(reps: float, rir: float, k: float = 1.0) -> float:
    """Share of the maximum (0–1] that ``reps`` with ``rir`` left is done with.

    Wathan 1994, scaled so that one repetition to failure is the maximum. ``k`` is the client's endurance factor
    on the exercise: above 1 means more repetitions at the same share. Raises ValueError below one repetition and
    for a factor that is not above 0.
    """
    n = reps + rir
    if n < 1 or k <= 0:
        raise ValueError("a set has at least one repetition, and a factor is above zero")
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
    if rir is None or not 0 < load < math.inf or not _curve_holds(reps, rir):
        return None
    return load / share_of_max(reps, rir, k)


def _curve_holds(reps: int, rir: float) -> bool:
    return reps >= 1 and 0 <= rir <= CURVE_MAX_RIR and reps + rir <= CURVE_MAX_REPS


def confidence(reps: int, rir: float | None) -> str | None:
    """How far to trust an estimate: "good", "fair", "weak", or None where there is none. Coaching practice."""
    if rir is None or not _curve_holds(reps, rir):
        return None
    n = reps + rir
    for name, (most_n, most_rir) in (("good", GOOD), ("fair", FAIR)):
        if n <= most_n and rir <= most_rir:
            return name
    return "weak"


def noise(reps: int, rir: float, k: float = 1.0) -> float:
    """Coefficient of variation of one client's estimate from one set, as a share: the day and the effort's error.

    Raises ValueError where ``e1rm`` would refuse the set.
    """
    if not _curve_holds(reps, rir):
        raise ValueError("no estimate, no noise")
    low = math.floor(rir)
    high = min(low + 1, len(RIR_NOISE_REPS) - 1)
    sigma = RIR_NOISE_REPS[low] + (RIR_NOISE_REPS[high] - RIR_NOISE_REPS[low]) * (rir - low)
    n = 1 + (reps + rir - 1) / k
    return math.hypot(DAY_NOISE, relative_slope(n) / k * sigma)


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
    spread = Z_90 * noise(reps, rir, k)
    return Estimate(value, trust, value * (1 - spread), value * (1 + spread))


def refusal(
    done: SetDone,
    load_entry: str,
    *,
    bodyweight: float | None = None,
    bodyweight_days: int = 0,
    fraction: float = 0.0,
) -> Because | None:
    """Why a logged set gives no estimate, or None when it does.

    ``bodyweight_days`` is the age of the bodyweight: one of more than 30 days says nothing for exercises that move
    the body. Repetitions with a shortened range or a swing are for a person to leave out.
    """
    moves_body = load_entry in ("added", "assisted") and fraction > 0
    if done.kind not in ESTIMATED_KINDS:
        return Because("not_estimated_kind", {"kind": done.kind})
    if done.stopped_for_pain:
        return Because("not_estimated_pain")
    if load_entry in WITHOUT_WEIGHT:
        return Because("not_estimated_no_weight", {"load_entry": load_entry})
    if done.reps is None or done.reps < 1 or done.seconds is not None or done.metres is not None:
        return Because("not_estimated_no_reps")
    if done.load is None:
        return Because("not_estimated_no_load")
    if moves_body and (bodyweight is None or bodyweight_days > BODYWEIGHT_VALID_DAYS):
        return Because("not_estimated_no_bodyweight", {"days": BODYWEIGHT_VALID_DAYS})
    moved = system_load(done.load, load_entry, bodyweight, fraction)
    if moved is None or moved <= 0:
        return Because("not_estimated_no_load")
    if done.rir is None:
        return Because("not_estimated_effort_unknown")
    if not 0 <= done.rir <= CURVE_MAX_RIR:
        return Because("not_estimated_too_easy", {"most": CURVE_MAX_RIR})
    if done.reps + done.rir > CURVE_MAX_REPS:
        return Because("not_estimated_many_reps", {"most": CURVE_MAX_REPS})
    return None


def set_estimate(
    done: SetDone,
    load_entry: str,
    *,
    bodyweight: float | None = None,
    bodyweight_days: int = 0,
    fraction: float = 0.0,
    k: float = 1.0,
) -> Estimate | None:
    """The estimate that a logged set gives, of the load that was really moved; None where ``refusal`` says why.

    For an exercise that moves the body this is bodyweight's share and the load together; ``entered_load`` turns it
    into the load to add.
    """
    if refusal(done, load_entry, bodyweight=bodyweight, bodyweight_days=bodyweight_days, fraction=fraction):
        return None
    if done.load is None or done.reps is None:
        return None
    moved = system_load(done.load, load_entry, bodyweight, fraction)
    return None if moved is None else estimate(moved, done.reps, done.rir, k)


@dataclass(frozen=True, slots=True)
class Disagreement:
    """What seven published equations say of one set, for display only."""

    median: float
    lowest: float
    highest: float


def formulas(load: float, n: float) -> dict[str, float]:
    """Seven published equations at ``n`` repetitions to failure, by name.

    Epley 1985, Brzycki 1993, Lombardi 1989, Wathan 1994, Mayhew et al. 1992, O'Conner et al. 1989, Lander 1985. At
    one repetition only those that give the load itself are kept; the others are not made for it. Raises
    ValueError below one repetition and from 37, where two of them have no value.
    """
    if not 1 <= n < _UNDEFINED_FROM:
        raise ValueError("the equations hold from 1 to below 37 repetitions")
    at_one = {
        "brzycki": load * 36 / (37 - n),
        "lombardi": load * n**0.10,
    }
    if n == 1:
        return at_one
    return at_one | {
        "epley": load * (1 + n / 30),
        "wathan": 100 * load / (CURVE_A + CURVE_B * math.exp(-CURVE_C * n)),
        "mayhew": 100 * load / (52.2 + 41.9 * math.exp(-0.055 * n)),
        "oconner": load * (1 + 0.025 * n),
        "lander": 100 * load / (101.3 - 2.67123 * n),
    }


def disagreement(load: float, n: float) -> Disagreement | None:
    """How far the seven equations disagree; None for a single, which is the maximum itself, and above 15."""
    if not 1 < n <= CURVE_MAX_REPS:
        return None
    values = list(formulas(load, n).values())
    return Disagreement(median(values), min(values), max(values))


def endurance_factor(one: tuple[float, float], other: tuple[float, float], kept: float = 1.0) -> float:
    """The factor k at which two sets (load, reps to failure) give one maximum; ``kept`` where none in range does.

    Both sets within 14 days, with different repetitions. Solved by bisection between 0.6 and 2.5.
    """
    (load_1, n_1), (load_2, n_2) = one, other
    if min(load_1, load_2) <= 0 or min(n_1, n_2) < 1 or n_1 == n_2:
        return kept

    def gap(k: float) -> float:
        return load_1 / _share(1 + (n_1 - 1) / k) - load_2 / _share(1 + (n_2 - 1) / k)

    low, high = ENDURANCE_MIN, ENDURANCE_MAX
    if gap(low) * gap(high) > 0:
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


@dataclass(frozen=True, slots=True)
class Weighed:
    """The bodyweight that holds on a day: the last one measured, how many days before, and whether it is stale."""

    bodyweight: float
    days: int

    @property
    def stale(self) -> bool:
        return self.days > BODYWEIGHT_VALID_DAYS


def weighed_on(measured: Iterable[tuple[date, float]], day: date) -> Weighed | None:
    """The last bodyweight measured up to ``day``, carried forward; None before the first. In any order."""
    upto = [(when, weight) for when, weight in measured if when <= day]
    if not upto:
        return None
    when, weight = max(upto)
    return Weighed(weight, (day - when).days)


@dataclass(frozen=True, slots=True)
class Moved:
    """What was entered, what was moved with the body's share, and that against the body's weight."""

    entered: float
    moved: float
    against_bodyweight: float
    stale: bool


def moved_with(entered: float, load_entry: str, weighed: Weighed | None, fraction: float) -> Moved | None:
    """Three views of one load of an exercise that moves the body; None for others and without a bodyweight."""
    if load_entry not in ("added", "assisted") or fraction == 0 or weighed is None or weighed.bodyweight <= 0:
        return None
    moved = system_load(entered, load_entry, weighed.bodyweight, fraction)
    return None if moved is None else Moved(entered, moved, moved / weighed.bodyweight, weighed.stale)


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
    sides: int = 2,
    bodyweight: float | None = None,
    fraction: float = 0.0,
) -> float | None:
    """Load × reps of one set, in the unit of the load: per hand both implements, one-sided work each of ``sides``.

    A stack compares only with itself. Help beyond the body's weight moves nothing. None for loads
    without weight (bands, numbered settings) and where bodyweight is needed and unknown.
    """
    if load_entry in WITHOUT_WEIGHT:
        return None
    moved = system_load(load, load_entry, bodyweight, fraction)
    if moved is None:
        return None
    implements = 2 if load_entry == "per_hand" else 1
    return max(0.0, moved) * reps * (sides if unilateral else implements)
