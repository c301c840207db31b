"""Reads an exercise's history: what each session showed, in order of the days, however the logs arrived."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import median
from typing import Final

from programs.engine.progress.terms import TINY, TOP_KINDS, WORK_KINDS, Lever, work_sets
from programs.engine.strength import confidence, e1rm
from programs.engine.terms import Because, Exposure, SetDone, TargetSet

HALF_A_REP: Final = 0.5  # an effort this far off is noise
EFFORT_MISSED_BY: Final = 2.0
MISSED_SETS: Final = 2


@dataclass(frozen=True, slots=True)
class Target:
    """What a session is held against: the range's ends, the effort, and the number of work sets."""

    low: int
    high: int
    rir: float | None
    sets: int


@dataclass(frozen=True, slots=True)
class Session:
    """One trained session of the exercise in figures. ``load`` is the load most work sets were done with."""

    day: date
    load: float | None
    sets: tuple[SetDone, ...]
    deload: bool
    trusted: bool
    asked_sets: int

    @property
    def reps(self) -> tuple[int, ...]:
        return tuple(one.reps or 0 for one in self.sets)

    @property
    def efforts(self) -> tuple[float | None, ...]:
        """RIR per set; unknown where it was not said, not believed, or only ticked off as planned."""
        return tuple(one.rir if self.trusted and not one.as_planned else None for one in self.sets)

    @property
    def effort_known(self) -> bool:
        return bool(self.sets) and None not in self.efforts

    def used(self) -> Because:
        """These sets as a reason: day, load, repetitions, efforts."""
        params: dict[str, str | int | float | bool | None] = {"day": self.day.isoformat()}
        if self.load is not None:
            params["load"] = self.load
        measured = next((name for name in ("reps", "seconds", "metres") if self._has(name)), "reps")
        params[measured] = "/".join(str(getattr(one, measured) or 0) for one in self.sets)
        if any(effort is not None for effort in self.efforts):
            params["rir"] = "/".join("?" if effort is None else f"{effort:g}" for effort in self.efforts)
        return Because("sets_used", params)

    def _has(self, name: str) -> bool:
        return any(getattr(one, name) is not None for one in self.sets)

    def met(self, target: Target, lever: Lever) -> bool:
        """Every work set at the top of the range, at no less load and with the effort in reserve."""
        if len(self.sets) < (self.asked_sets or target.sets) or not self.sets:
            return False
        return all(
            (one.reps or 0) >= target.high
            and self._heavy_enough(one, lever)
            and not one.stopped_for_pain
            and (target.rir is None or effort is None or effort >= target.rir - HALF_A_REP)
            for one, effort in zip(self.sets, self.efforts, strict=True)
        )

    def missed(self, target: Target, lever: Lever) -> bool:
        """Two sets (or all, if fewer were asked) below the range or much harder than planned."""
        short = 0
        for one, effort in zip(self.sets, self.efforts, strict=True):
            hard = target.rir is not None and effort is not None and effort <= target.rir - EFFORT_MISSED_BY
            short += (one.reps or 0) < target.low or hard or not self._heavy_enough(one, lever)
        return short >= max(1, min(MISSED_SETS, len(self.sets)))

    def fell_short(self, target: Target) -> bool:
        """The last set ended below the range, and no more than that."""
        return bool(self.sets) and (self.sets[-1].reps or 0) < target.low

    def _heavy_enough(self, one: SetDone, lever: Lever) -> bool:
        if self.load is None or one.load is None:
            return True
        return lever.at_least_as_hard(one.load, self.load)


def read(history: Sequence[Exposure], on: date, rir_trusted: bool, lever: Lever) -> list[Session]:
    """Sessions up to ``on`` with at least one work set, oldest first; arrival order plays no part."""
    ordered = sorted((one for one in history if one.day <= on), key=lambda one: (one.day, repr(one)))
    sessions = []
    for exposure in ordered:
        work = tuple(one for one in exposure.done if one.kind in WORK_KINDS)
        top = tuple(one for one in work if one.kind in TOP_KINDS) or work
        if not top:
            continue
        asked = sum(one.kind in TOP_KINDS for one in work_sets(exposure.asked))
        load = lever.or_bodyweight(_usual_load(top))
        sessions.append(Session(exposure.day, load, top, exposure.deload, rir_trusted, asked))
    return sessions


def _usual_load(sets: Sequence[SetDone]) -> float | None:
    loads = [one.load for one in sets if one.load is not None]
    if not loads:
        return None
    counts = Counter(loads)
    most = max(counts.values())
    return next(load for load in loads if counts[load] == most)


def target_of(current: Sequence[TargetSet]) -> Target:
    """The range that the prescription's top sets ask for."""
    work = [one for one in work_sets(current) if one.kind in TOP_KINDS] or work_sets(current)
    if not work:
        return Target(1, 1, None, 0)
    first = work[0]
    low = first.reps_low or first.seconds or first.metres or 1
    high = low if first.open_ended or first.reps_high is None else first.reps_high
    return Target(low, max(low, high), first.rir, len(work))


def best_estimate(sessions: Sequence[Session], lever: Lever, k: float) -> float | None:
    """The best-founded estimate of the latest session that gives one, in terms of what is moved."""
    rank = {"good": 0, "fair": 1, "weak": 2}
    for session in reversed(sessions):
        found: list[tuple[int, float]] = []
        for one, effort in zip(session.sets, session.efforts, strict=True):
            load = lever.or_bodyweight(one.load)
            if load is None or one.reps is None or one.stopped_for_pain or one.kind == "back_off":
                continue
            moved = lever.moved(load)
            value = e1rm(moved, one.reps, effort, k) if moved is not None else None
            trust = confidence(one.reps, effort)
            if value is not None and trust is not None:
                found.append((rank[trust], -value))
        if found:
            return -min(found)[1]
    return None


def usual_gap(sessions: Sequence[Session]) -> float | None:
    """Median days between sessions of the exercise; None for fewer than three."""
    gaps = [(after.day - before.day).days for before, after in pairwise(sessions)]
    return median(gaps) if len(gaps) >= 2 else None


def same_load(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= TINY


def streak(sessions: Sequence[Session], test: Sequence[bool]) -> int:
    """How many sessions running, up to the last and at its load, passed the test."""
    count = 0
    for session, passed in zip(reversed(sessions), reversed(test), strict=True):
        if not passed or not same_load(session.load, sessions[-1].load):
            break
        count += 1
    return count
