"""Reads an exercise's history: what each session showed, in order of the days, however the logs arrived."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import pairwise
from statistics import median, median_low
from typing import Final

from programs.engine.constants import CURVE_MAX_REPS, CURVE_MAX_RIR
from programs.engine.progress.terms import TINY, TOP_KINDS, WORK_KINDS, Lever, work_sets
from programs.engine.strength import e1rm
from programs.engine.terms import Because, Exposure, SetDone, TargetSet

HALF_A_REP: Final = 0.5  # an effort this far off is noise
EFFORT_MISSED_BY: Final = 2.0
MISSED_SETS: Final = 2
NEAR_FAILURE_KINDS: Final = ("open_ended", "check")
USUAL_PLACE_OF: Final = 3  # sessions that tell where in the session an exercise usually stands


@dataclass(frozen=True, slots=True)
class Line:
    """An exercise's own line for one slot at one place, and what else was done of it and compares.

    ``new_machine``: there is a past, but on another machine, whose figures say nothing here. ``renewed``: an older
    past was cut off by a new baseline.
    """

    own: tuple[Exposure, ...]
    beside: tuple[Exposure, ...] = ()
    new_machine: bool = False
    renewed: bool = False


def line_of(
    history: Sequence[Exposure], *, slot: str = "", place: str = "", since: date | None = None, machine: bool = False
) -> Line:
    """Sorts out what belongs to the line: what stood in for a day never does, nor what was before a new baseline.

    A second day of a type has a line of its own. What was done elsewhere is left aside once there is anything from
    here; ``machine`` says that figures hold on one machine only, so that nothing from elsewhere counts at all.
    """
    known = [one for one in history if not one.one_day]
    rows = [one for one in known if since is None or one.day >= since]
    here = [one for one in rows if one.place in (place, "")] if place else rows
    comparable = here if machine and place else rows
    mine = [one for one in comparable if not slot or one.slot == slot]
    at_home = [one for one in mine if not place or one.place in (place, "")]
    own = at_home or mine
    taken = {id(one) for one in own}
    beside = [one for one in comparable if id(one) not in taken]
    return Line(tuple(own), tuple(beside), bool(rows) and not comparable, len(rows) < len(known))


@dataclass(frozen=True, slots=True)
class Target:
    """What a session is held against: the range's ends, the effort, and the number of work sets."""

    low: int
    high: int
    rir: float | None
    sets: int


@dataclass(frozen=True)
class Session:
    """One trained session of the exercise in figures. ``load`` is the load most work sets were done with."""

    day: date
    load: float | None
    sets: tuple[SetDone, ...]
    deload: bool
    trusted: bool
    asked_sets: int
    bodyweight: float | None = None
    position: int | None = None
    usual_position: int | None = None
    tested: bool = False  # a test of strength: it tells of the maximum, and is no working load

    @property
    def late(self) -> bool:
        """Later in its session than usual, where fewer repetitions are to be expected (Simão et al. 2005, 2012)."""
        return self.position is not None and self.usual_position is not None and self.position > self.usual_position

    @property
    def reps(self) -> tuple[int, ...]:
        return tuple(one.reps or 0 for one in self.sets)

    @cached_property
    def efforts(self) -> tuple[float | None, ...]:
        """RIR per set; unknown where it was not said, not believed, or only ticked off as planned."""
        return tuple(one.rir if self.trusted and not one.as_planned else None for one in self.sets)

    @property
    def effort_known(self) -> bool:
        """Whether it was said for every set; one done until few or none were left says it by being that."""
        return bool(self.sets) and not any(
            effort is None and one.kind not in NEAR_FAILURE_KINDS
            for one, effort in zip(self.sets, self.efforts, strict=True)
        )

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
            and not self._harder_by(one, effort, target, HALF_A_REP + TINY)
            for one, effort in zip(self.sets, self.efforts, strict=True)
        )

    def missed(self, target: Target, lever: Lever) -> bool:
        """Two sets (or all, if fewer were asked) below the range or much harder than planned."""
        short = 0
        for one, effort in zip(self.sets, self.efforts, strict=True):
            hard = self._harder_by(one, effort, target, EFFORT_MISSED_BY)
            short += (one.reps or 0) < target.low or hard or not self._heavy_enough(one, lever)
        return short >= max(1, min(MISSED_SETS, len(self.sets)))

    def fell_short(self, target: Target) -> bool:
        """The last set ended below the range, and no more than that."""
        return bool(self.sets) and (self.sets[-1].reps or 0) < target.low

    def _harder_by(self, one: SetDone, effort: float | None, target: Target, reps: float) -> bool:
        """Whether so many fewer were left than planned; an open or a check set is meant to go nearer to failure."""
        if one.kind in NEAR_FAILURE_KINDS or effort is None or target.rir is None:
            return False
        return effort <= target.rir - reps

    def _heavy_enough(self, one: SetDone, lever: Lever) -> bool:
        if self.load is None or one.load is None:
            return True
        return lever.at_least_as_hard(one.load, self.load)


def read(history: Sequence[Exposure], on: date, rir_trusted: bool, lever: Lever) -> list[Session]:
    """Sessions up to ``on`` with at least one work set, oldest first; arrival order plays no part."""
    known = [one for one in history if one.day <= on]
    shared = {day for day, count in Counter(one.day for one in known).items() if count > 1}
    ordered = sorted(known, key=lambda one: (one.day, repr(one) if one.day in shared else ""))
    sessions: list[Session] = []
    positions: list[int] = []
    for exposure in ordered:
        work = tuple(one for one in exposure.done if one.kind in WORK_KINDS)
        top = tuple(one for one in work if one.kind in TOP_KINDS) or work
        if not top:
            continue
        wanted = [one.kind for one in work_sets(exposure.asked) if one.kind in TOP_KINDS]
        if len(wanted) == len(top):  # a set typed as plain work may have been asked for as an open one
            pairs = zip(top, wanted, strict=True)
            top = tuple(replace(one, kind=kind) if one.kind == "work" != kind else one for one, kind in pairs)
        load = lever.or_bodyweight(usual_load(top))
        before = positions[-USUAL_PLACE_OF:]
        sessions.append(
            Session(
                exposure.day,
                load,
                top,
                exposure.deload,
                rir_trusted,
                len(wanted),
                exposure.bodyweight,
                exposure.position,
                median_low(before) if before else None,
                _is_test(top, load, sessions),
            )
        )
        if exposure.position is not None:
            positions.append(exposure.position)
    return sessions


def _is_test(top: Sequence[SetDone], load: float | None, before: Sequence[Session]) -> bool:
    """Check sets alone, at another load than was worked with: a check of ratings ends a session of its own load."""
    worked = next((one.load for one in reversed(before) if not one.deload and not one.tested), None)
    return worked is not None and not same_load(load, worked) and all(one.kind == "check" for one in top)


def planned_load(sets: Sequence[TargetSet]) -> float | None:
    """The working load that a prescription asks for, told as that of a session."""
    work = work_sets(sets)
    return usual_load([one for one in work if one.kind in TOP_KINDS] or work)


def usual_load(sets: Sequence[SetDone] | Sequence[TargetSet]) -> float | None:
    """The load that most of the sets have, the first of them where several do; None without any."""
    loads = [one.load for one in sets if one.load is not None]
    if not loads:
        return None
    if loads.count(loads[0]) == len(loads):
        return loads[0]
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
    """The highest estimate of the latest session that gives one, of what was moved with that day's bodyweight.

    A set beyond the curve counts as what it surely shows, so that a better set never makes for a lower answer. Where
    a session's best set is one, the session before counts too: sets that were easy do not lower what was shown.
    """
    best: float | None = None
    for session in reversed(sessions):
        then = lever if session.bodyweight is None else replace(lever, bodyweight=session.bodyweight)
        found = []
        for one, effort in zip(session.sets, session.efforts, strict=True):
            load = lever.or_bodyweight(one.load)
            if load is None or not one.reps or effort is None or one.stopped_for_pain or one.kind == "back_off":
                continue
            moved = then.moved(load)
            reps = min(one.reps, CURVE_MAX_REPS)
            rir = min(effort, CURVE_MAX_RIR, CURVE_MAX_REPS - reps)
            value = e1rm(moved, reps, rir, k) if moved is not None else None
            if value is not None:
                found.append((value, reps + rir < one.reps + effort - TINY))
        if found:
            value, beyond = max(found)
            best = value if best is None else max(best, value)
            if not beyond:
                break
    return best


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
