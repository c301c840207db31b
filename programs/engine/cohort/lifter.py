"""One simulated lifter: their true strength, what they do of what was asked, and what they say of it.

For tests, benchmarks and the demo's history. All chance comes from the ``random.Random`` that is passed in, so that
a seed gives the same lifter on every machine.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from random import Random
from typing import Final

from programs.engine.constants import DAY_NOISE, RIR_SPREAD, RIR_TOO_LOW, SORE_SPREAD
from programs.engine.strength import reps_at_share
from programs.engine.terms import Exposure, SetDone, TargetSet

# Strength gained falls with training age: about 10 % divided by the week of training, per week (Steele et al. 2022).
GAIN_PER_LOG_WEEK: Final = 0.10
# Weeks of training behind a lifter at the start, by experience (coaching practice).
WEEKS_BEHIND: Final = {"novice": 8.0, "intermediate": 78.0, "advanced": 260.0}
FALL_PER_SET: Final = 0.6  # repetitions lost from set to set with two to three minutes of rest; coaching practice
MOST_RIR_SAID: Final = 5
MANY_REPS: Final = 40
SORE_PER_SET: Final = 0.09  # soreness of the next day, 0 to 10, by working sets; coaching practice
SORE_WHEN_NEW: Final = 2.0  # factor in the first session of all, gone after three weeks
LOWEST_SHARE: Final = 0.50  # below it the curve ends; a light set is simply done as asked


@dataclass(frozen=True, slots=True)
class Lifter:
    """A made-up person. ``attendance`` is the share of sessions kept; ``taps_through`` the share of sets confirmed
    as planned without being typed; ``rates_effort`` whether reps in reserve are given at all."""

    experience: str
    attendance: float = 0.92
    taps_through: float = 0.05
    rates_effort: bool = True
    rating_bias: float = -RIR_TOO_LOW
    rating_spread: float = RIR_SPREAD
    responds: float = 1.0  # against the expected gain
    day_noise: float = DAY_NOISE
    endurance: float = 1.0  # repetitions at a share of the maximum, against the curve


@dataclass(frozen=True, slots=True)
class Attempt:
    """One set as it really was: what was logged (None: nothing could be done), repetitions done and possible."""

    said: SetDone | None
    reps: int
    able: float

    @property
    def left(self) -> int:
        """Whole repetitions that were really left."""
        return math.floor(self.able) - self.reps


def strength_after(maximum: float, experience: str, weeks: float, responds: float = 1.0) -> float:
    """True maximum after ``weeks`` of training from ``maximum``, by the rate expected for the experience."""
    behind = WEEKS_BEHIND[experience]
    return maximum * (1 + responds * GAIN_PER_LOG_WEEK * math.log((behind + max(0.0, weeks)) / behind))


def attends(lifter: Lifter, rng: Random) -> bool:
    return rng.random() < lifter.attendance


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """What a day asks for: target sets by exercise key, in order."""

    day: date
    lines: Mapping[str, Sequence[TargetSet]]


@dataclass(frozen=True, slots=True)
class SimulatedSession:
    """What became of a planned session: missed, or sets per exercise and soreness on the next day (0 to 10)."""

    day: date
    exposures: Mapping[str, Exposure]
    soreness: int = 0

    @property
    def missed(self) -> bool:
        return not self.exposures


def simulate(
    lifter: Lifter, plan: Sequence[PlannedSession], maxima: Mapping[str, float], rng: Random
) -> list[SimulatedSession]:
    """A whole plan lived through, in the order of its days, with the loads that it names.

    ``maxima`` are the true maxima of the first day, by exercise key; exercises without one are done as asked.
    Where the next load depends on the log, call ``perform`` session by session instead. An empty plan gives
    nothing.
    """
    sessions = sorted(plan, key=lambda planned: planned.day)
    out = []
    for planned in sessions:
        weeks = (planned.day - sessions[0].day).days / 7
        if not attends(lifter, rng):
            out.append(SimulatedSession(planned.day, {}))
            continue
        exposures = {}
        for key, asked in planned.lines.items():
            start = maxima.get(key)
            if start is None:
                done = tuple(_as_asked(target, rng.random() < lifter.taps_through, rng) for target in asked)
            else:
                done = perform(lifter, strength_after(start, lifter.experience, weeks, lifter.responds), asked, rng)
            exposures[key] = Exposure(planned.day, done, tuple(asked))
        count = sum(len(exposure.done) for exposure in exposures.values())
        out.append(SimulatedSession(planned.day, exposures, soreness(count, weeks, rng)))
    return out


def soreness(working_sets: int, weeks: float, rng: Random) -> int:
    """Muscle soreness of the day after, 0 to 10: more with more sets, and most while the work is new."""
    new = 1 + (SORE_WHEN_NEW - 1) * max(0.0, 1 - weeks / 3)
    return round(min(10.0, max(0.0, rng.gauss(SORE_PER_SET * working_sets * new, SORE_SPREAD))))


def perform(
    lifter: Lifter,
    maximum: float,
    asked: Sequence[TargetSet],
    rng: Random,
    *,
    moved: Callable[[float], float | None] = float,
) -> tuple[SetDone, ...]:
    """What the lifter logs of ``asked`` on one day; see ``attempt``. What could not be done once is not logged."""
    return tuple(one.said for one in attempt(lifter, maximum, asked, rng, moved=moved) if one.said is not None)


def attempt(
    lifter: Lifter,
    maximum: float,
    asked: Sequence[TargetSet],
    rng: Random,
    *,
    moved: Callable[[float], float | None] = float,
) -> tuple[Attempt, ...]:
    """What the lifter does of ``asked`` on one day, given the true ``maximum`` of what is moved, and what they say.

    ``moved`` turns an entered load into what is moved (bodyweight exercises). Sets without a load, and holds and
    carries, are done as asked. A set stops when the asked reserve is felt, or at the top of its range; what is felt
    and said of the reserve carries the lifter's bias and spread. What is tapped through is logged as planned,
    whatever was done.
    """
    today = maximum * math.exp(rng.gauss(0.0, lifter.day_noise))
    done: list[Attempt] = []
    for number, target in enumerate(asked):
        tapped = rng.random() < lifter.taps_through
        if target.reps_low is None or target.load is None:
            done.append(_without_load(target, tapped, rng))
            continue
        able = max(0.0, _able((moved(target.load) or 0.0) / today, lifter.endurance) - FALL_PER_SET * number)
        felt = rng.gauss(lifter.rating_bias, lifter.rating_spread)
        high = MANY_REPS if target.open_ended else target.reps_high or target.reps_low
        # Felt reserve is the true one and the error, so that who feels less than there is stops early.
        reps = int(max(0, min(high, math.floor(able), round(able - (target.rir or 0.0) + felt))))
        if reps < target.reps_low:
            reps = min(target.reps_low, math.floor(able))
        if reps == 0:
            done.append(Attempt(None, 0, able))
            continue
        left = max(0, min(MOST_RIR_SAID, round(able - reps + felt)))
        rir = float(left) if lifter.rates_effort else None
        said = SetDone(reps=reps, load=target.load, rir=rir, kind=target.kind)
        if tapped:
            said = SetDone(reps=target.reps_low, load=target.load, rir=target.rir, as_planned=True, kind=target.kind)
        done.append(Attempt(said, reps, able))
    return tuple(done)


def _without_load(target: TargetSet, tapped: bool, rng: Random) -> Attempt:
    said = _as_asked(target, tapped, rng)
    reps = said.reps or 0
    return Attempt(said, reps, reps + (target.rir or 0.0))


def find_load(
    lifter: Lifter,
    maximum: float,
    loads: Sequence[float],
    reps: int,
    rng: Random,
    *,
    moved: Callable[[float], float | None] = float,
) -> tuple[SetDone, ...]:
    """The load-finding tries in turn, until three or fewer are felt to be left; the last is the load found."""
    done: list[SetDone] = []
    for load in loads:
        able = _able((moved(load) or 0.0) / maximum, lifter.endurance)
        if able < 1:
            break
        count = int(min(reps, able))
        left = max(0, min(MOST_RIR_SAID, round(able - count + rng.gauss(0.0, lifter.rating_spread))))
        done.append(SetDone(reps=count, load=load, rir=float(left) if lifter.rates_effort else None))
        if left <= 3:
            break
    return tuple(done)


def _able(share: float, endurance: float) -> float:
    """Repetitions to failure at a share of the day's maximum; where the curve ends, plainly many."""
    if share >= 1:
        return 1.0 if share < 1 + DAY_NOISE else 0.0
    if share < LOWEST_SHARE:
        return float(MANY_REPS)
    return min(float(MANY_REPS), reps_at_share(share, endurance))


def _as_asked(target: TargetSet, tapped: bool, rng: Random) -> SetDone:
    done = SetDone(load=target.load, kind=target.kind, as_planned=tapped, rir=target.rir)
    if target.seconds is not None:
        return replace(done, seconds=target.seconds + (0 if tapped else rng.randint(-3, 6)), rir=None)
    if target.metres is not None:
        return replace(done, metres=target.metres, rir=None)
    high = target.reps_high or target.reps_low or 1
    return replace(done, reps=high if tapped else rng.randint(target.reps_low or 1, high))
