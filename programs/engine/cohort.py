"""Simulated lifters: their true strength, what they do of what was asked, and what they say of it.

For tests, benchmarks and the demo's history. All chance comes from the ``random.Random`` that is passed in, so that
a seed gives the same lifter on every machine.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from random import Random
from typing import Final

from programs.engine.constants import DAY_NOISE
from programs.engine.strength import reps_at_share
from programs.engine.terms import Exposure, SetDone, TargetSet

# Strength gained falls with training age: about 10 % divided by the week of training, per week (Steele et al. 2022).
GAIN_PER_LOG_WEEK: Final = 0.10
# Weeks of training behind a lifter at the start, by experience (coaching practice).
WEEKS_BEHIND: Final = {"novice": 8.0, "intermediate": 78.0, "advanced": 260.0}
FALL_PER_SET: Final = 0.6  # repetitions lost from set to set with two to three minutes of rest; coaching practice
RIR_TOO_LOW: Final = 0.95  # people have about one repetition more than they say (Halperin et al. 2022)
RIR_SPREAD_NEAR: Final = 0.8  # spread of a rating, in repetitions (Refalo et al. 2024)
MOST_RIR_SAID: Final = 5
MANY_REPS: Final = 40
SORE_PER_SET: Final = 0.09  # soreness of the next day, 0 to 10, by working sets; coaching practice
SORE_WHEN_NEW: Final = 2.0  # factor in the first session of all, gone after three weeks
SORE_SPREAD: Final = 0.8
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
    rating_spread: float = RIR_SPREAD_NEAR
    responds: float = 1.0  # against the expected gain
    day_noise: float = DAY_NOISE


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
    """What the lifter does of ``asked`` on one day, given the true ``maximum`` of what is moved.

    ``moved`` turns an entered load into what is moved (bodyweight exercises). Sets without a load, and holds and
    carries, are done as asked. A set stops at the asked reserve as felt, or at the top of its range; what is said
    of the reserve carries the lifter's bias and spread.
    """
    today = maximum * math.exp(rng.gauss(0.0, lifter.day_noise))
    done: list[SetDone] = []
    for number, target in enumerate(asked):
        tapped = rng.random() < lifter.taps_through
        if target.reps_low is None or target.load is None:
            done.append(_as_asked(target, tapped, rng))
            continue
        load = moved(target.load)
        share = (load or 0.0) / today
        able = MANY_REPS if share < LOWEST_SHARE else _able(share)
        able = max(0.0, able - FALL_PER_SET * number)
        felt = rng.gauss(lifter.rating_bias, lifter.rating_spread)
        high = target.reps_high or target.reps_low
        reserve = target.rir or 0.0
        reps = int(max(0, min(high, math.floor(able), round(able - reserve - felt * 0.5))))
        if reps < target.reps_low <= able:
            reps = target.reps_low
        if reps == 0:
            continue
        said = max(0, min(MOST_RIR_SAID, round(able - reps + felt)))
        rir = float(said) if lifter.rates_effort else None
        if tapped:
            done.append(
                SetDone(reps=target.reps_low, load=target.load, rir=target.rir, as_planned=True, kind=target.kind)
            )
        else:
            done.append(SetDone(reps=reps, load=target.load, rir=rir, kind=target.kind))
    return tuple(done)


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
        share = (moved(load) or 0.0) / maximum
        able = MANY_REPS if share < LOWEST_SHARE else _able(share)
        if able < 1:
            break
        count = int(min(reps, able))
        left = max(0, min(MOST_RIR_SAID, round(able - count + rng.gauss(0.0, lifter.rating_spread))))
        done.append(SetDone(reps=count, load=load, rir=float(left) if lifter.rates_effort else None))
        if left <= 3:
            break
    return tuple(done)


def _able(share: float) -> float:
    if share >= 1:
        return 1.0 if share < 1 + DAY_NOISE else 0.0
    return reps_at_share(share)


def _as_asked(target: TargetSet, tapped: bool, rng: Random) -> SetDone:
    done = SetDone(load=target.load, kind=target.kind, as_planned=tapped, rir=target.rir)
    if target.seconds is not None:
        return replace(done, seconds=target.seconds + (0 if tapped else rng.randint(-3, 6)), rir=None)
    if target.metres is not None:
        return replace(done, metres=target.metres, rir=None)
    high = target.reps_high or target.reps_low or 1
    return replace(done, reps=high if tapped else rng.randint(target.reps_low or 1, high))
