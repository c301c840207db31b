"""Loads led by the effort that was left: the last sessions tell, along the curve, how far a load was off."""

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Final

from programs.engine.progress.history import Session, same_load, streak
from programs.engine.progress.policies import (
    MET_TWICE,
    MORE_REPS,
    MORE_REPS_ALONE,
    after_miss,
    no_harder_load,
    one_step,
    ordinary,
    over_share_of_max,
    repeat_late,
    weigh_step,
    with_room,
    withheld,
    within_week,
)
from programs.engine.progress.situation import Situation, with_reps
from programs.engine.progress.steps import hardest_within, nearest_easier
from programs.engine.progress.terms import TINY, NextStep
from programs.engine.strength import reps_at_share, share_of_max
from programs.engine.terms import Because, TargetSet

NOISE_REPS: Final = 1.0  # a smaller error of effort is noise (Refalo et al. 2024)
# The middle of so many sessions counts, as one day alone moves a set by a repetition (Mitter et al. 2022).
SESSIONS_SHOWN: Final = 3
SHOWN_WITHIN_DAYS: Final = 21  # strength holds for about so long (McMaster et al. 2013)
ROOM: Final = 1  # repetitions above what was shown, for a better day
UNSAID_ROOM: Final = 2  # above the top of the range, where it was reached and nobody said how much was left
LOWEST_SHARE: Final = 0.5  # of the maximum; below it the curve says nothing


@dataclass(frozen=True, slots=True)
class _Aim:
    """Repetitions to failure that the slot's range asks for: at its bottom, at its top, and in the middle."""

    least: float
    most: float

    @property
    def middle(self) -> float:
        return (self.least + self.most) / 2


def effort_led(case: Situation) -> NextStep:
    """The load at which the first set would have left what was planned, within the caps; else as by repetitions.

    Repetitions inside the range count with what was left: 8 with 4 in reserve are as good as 10 with 2, and change
    nothing where 10 is in the middle of the range. At its top the load rises towards the middle, so that the next
    day's form has room both ways; below the range it falls. The middle of the last three sessions counts, one alone
    being as good as its day. Where the next load is out of reach, the range makes room for what was shown. A check
    set tells more than ratings and takes their place.
    """
    last, base = case.trained[-1], case.base
    if case.timed or base is None:
        return ordinary(case)
    shown = _shown(case, last)
    checked = shown is not None and shown[1]
    found = shown[0] if shown is not None and (checked or last.late) else _of_the_last(case)
    if found is None:
        return _by_first_sets(case)
    aim = _aim(case)
    used = [last.used(), *([Because("from_check_set")] if checked else [])]
    if last.late and found < aim.least:
        return repeat_late(case, last)
    if case.missed[-1] or aim.least - found >= NOISE_REPS - TINY:
        return _down(case, used, base, found, max(aim.least, min(found, aim.middle)))
    # A setting is a step of unknown size, so that it has to be clear that there is room for it.
    rises_from = aim.most + NOISE_REPS if case.lever.ordinal else aim.most - NOISE_REPS
    if found < max(aim.middle + NOISE_REPS, rises_from) - TINY:
        return case.answer("same", _at(case, base, found), [*used, Because("effort_as_planned")], plain=True)
    return withheld(case, used) or _up(case, used, base, found, aim)


def _aim(case: Situation) -> _Aim:
    rir = case.target.rir or 0.0
    return _Aim(case.target.low + rir, max(case.target.low, min(case.target.high, case.base_high)) + rir)


def _shown(case: Situation, session: Session) -> tuple[float, bool] | None:
    """Repetitions to failure of a check set (True), else of the first set at the working load (False)."""
    for one in reversed(session.sets):
        if one.kind == "check" and one.reps and same_load(case.lever.or_bodyweight(one.load), session.load):
            return one.reps + (one.rir or 0.0), True
    for one, effort in zip(session.sets, session.efforts, strict=True):
        if same_load(case.lever.or_bodyweight(one.load), session.load):
            return None if effort is None or one.reps is None else (one.reps + effort, False)
    return None


def _of_the_last(case: Situation) -> float | None:
    """The middle of what the last sessions showed, as repetitions to failure at the last load.

    Sessions of another load count by the maximum that they speak for; without a weight only those of the same load.
    None where none of them says anything of effort.
    """
    last = case.trained[-1]
    found = []
    for one in case.trained[-SESSIONS_SHOWN:]:
        shown = _shown(case, one)
        if shown is None or one.late or not one.trusted or (last.day - one.day).days > SHOWN_WITHIN_DAYS:
            continue
        reps = _carried(case, one, last, shown[0])
        if reps is not None:
            found.append(reps)
    return median(found) if found else None


def _carried(case: Situation, before: Session, last: Session, shown: float) -> float | None:
    """Repetitions to failure at the load of ``last`` that ``shown`` ones at that of ``before`` speak for."""
    if same_load(before.load, last.load):
        return shown
    then, now = _moved(case, before), _moved(case, last)
    if then is None or now is None or then <= 0 or now <= 0:
        return None
    share = share_of_max(max(1.0, shown), 0, case.k) * now / then
    return reps_at_share(share, case.k) if LOWEST_SHARE < share <= 1 else None


def _moved(case: Situation, session: Session) -> float | None:
    lever = case.lever if session.bodyweight is None else replace(case.lever, bodyweight=session.bodyweight)
    return None if session.load is None else lever.moved(session.load)


def _by_first_sets(case: Situation) -> NextStep:
    """Without a word on effort as by repetitions, but the first set alone has to reach the top, twice for more load."""
    step = ordinary(case)
    last = case.trained[-1]
    if step.change not in ("same", "reps_up") or case.missed[-1] or last.late or last.fell_short(case.target):
        return step
    running = streak(case.trained, [_first_at_top(case, one) for one in case.trained])
    if not running:
        return step
    used = [one.used() for one in case.trained[-min(running, MET_TWICE) :]]
    used.append(Because("first_sets_at_top", {"high": case.target.high}))
    found = withheld(case, used) or one_step(case, used, case.target.high + UNSAID_ROOM)
    return found if running >= MET_TWICE or found.change in MORE_REPS_ALONE else step


def _first_at_top(case: Situation, session: Session) -> bool:
    first = next((one for one in session.sets if same_load(case.lever.or_bodyweight(one.load), session.load)), None)
    return first is not None and not first.as_planned and (first.reps or 0) >= case.target.high


def _needed(case: Situation, found: float) -> int:
    """The top of a range that has room for what was shown, and for a better day."""
    return math.ceil(found - (case.target.rir or 0.0) - TINY) + ROOM


def _at(case: Situation, load: float, found: float) -> tuple[TargetSet, ...]:
    """The planned sets at a load; a range that outgrew the slot's keeps only the room that is needed."""
    sets = case.at(load)
    if case.target.high <= case.base_high:
        return sets
    return with_reps(sets, max(case.base_high, min(case.target.high, _needed(case, found))))


def _factor(case: Situation, found: float, planned: float) -> float:
    return share_of_max(max(1.0, planned), 0, case.k) / share_of_max(max(1.0, found), 0, case.k)


def _said(code: str, found: float, planned: float, factor: float) -> Because:
    figures = {"shown": round(found, 1), "planned": round(planned, 1), "percent": round(100 * (factor - 1), 1)}
    return Because(code, figures)


def _up(case: Situation, used: list[Because], base: float, found: float, aim: _Aim) -> NextStep:
    factor = _factor(case, found, aim.middle)
    used = [*used, _said("effort_easier", found, aim.middle, factor)]
    step = case.rack.harder(base)
    if step is None:
        return no_harder_load(case, [*used, Because("load_ceiling", {"load": base})], _needed(case, found))
    moved, change = case.lever.moved(base), case.lever.change(base, step)
    wanted = None if moved is None else case.lever.entered(moved * factor)
    if change is None or wanted is None:
        return _next_setting(case, used, base, step, found, aim)
    share = over_share_of_max(case, step)
    if share is not None:
        return _more_reps(case, [*used, share], base, found, ceiling=True)
    best = hardest_within(base, case.caps.usual, case.rack, case.lever, wanted)
    if best is None and change > case.caps.usual + TINY:
        return weigh_step(case, used, base, step, change, _needed(case, found))
    if best is None:
        # The next load is more than wanted, and taken where it lies nearer to the aim than staying does.
        after = _after(case, found, change)
        if after < aim.least or abs(after - aim.middle) >= abs(found - aim.middle):
            used.append(Because("next_load_out_of_reach", {"load": step}))
            if aim.least == aim.most:  # a fixed number of repetitions stays one while the loads lie this close
                return case.answer("same", case.at(base), used, plain=True)
            return _more_reps(case, used, base, found)
        best = step
    while not within_week(case, best) or over_share_of_max(case, best) is not None:
        lower = case.rack.easier(best)
        if lower is None or case.lever.at_least_as_hard(base, lower):
            capped = Because("week_cap", {"percent": round(100 * case.caps.rise_week)})
            return with_room(case, [*used, capped], base, _needed(case, found))
        best = lower
    return case.answer("load_up", _in_range(case, best), used, plain=True)


def _in_range(case: Situation, load: float) -> tuple[TargetSet, ...]:
    """The planned sets at another load, in the slot's own range."""
    return with_reps(case.at(load), min(case.target.high, case.base_high))


def _after(case: Situation, found: float, change: float) -> float:
    """Repetitions to failure after a step, by what was shown before it; 0 where there are none."""
    share = share_of_max(max(1.0, found), 0, case.k) * (1 + change)
    return reps_at_share(share, case.k) if share <= 1 else 0.0


def _next_setting(case: Situation, used: list[Because], base: float, step: float, found: float, aim: _Aim) -> NextStep:
    """A load without a weight: the next one, unless it is known to have cost more repetitions than there are."""
    cost = _cost(case, base, step)
    if cost is not None and found - cost < aim.least:
        known = Because("next_setting_costs", {"new": step, "reps": round(cost, 1)})
        return _more_reps(case, [*used, known], base, found, ceiling=True)
    code = "next_setting" if case.lever.ordinal else "bodyweight_unknown"
    reasons = [*used, Because(code, {"old": base, "new": step})]
    return case.answer("load_up", _in_range(case, step), reasons, plain=case.lever.ordinal)


def _cost(case: Situation, base: float, step: float) -> float | None:
    """Repetitions that the step cost when it was last taken; None where it never was, or nothing tells."""
    for before, after in reversed(list(pairwise(case.trained))):
        if same_load(before.load, base) and same_load(after.load, step):
            one, other = _shown(case, before), _shown(case, after)
            if one is not None and other is not None:
                return one[0] - other[0]
    return None


def _more_reps(case: Situation, used: list[Because], base: float, found: float, *, ceiling: bool = False) -> NextStep:
    """The same load with room for what was shown; above it a ``ceiling`` has the coach change another lever."""
    needed = _needed(case, found)
    if ceiling and needed > case.base_high + MORE_REPS:
        return no_harder_load(case, used, needed)
    if needed < case.target.high:
        return case.answer("same", _at(case, base, found), used, plain=True)
    return with_room(case, used, base, needed)


def _down(case: Situation, used: list[Because], base: float, found: float, planned: float) -> NextStep:
    """The fall that the effort asks for, or that a missed session does where that is more."""
    by_miss = after_miss(case, case.missed) if case.missed[-1] else None
    factor = _factor(case, found, planned)
    lower = base
    if planned - found >= NOISE_REPS - TINY:
        moved = case.lever.moved(base)
        wanted = None if moved is None else case.lever.entered(moved * max(factor, 1 - case.caps.fall_most))
        if wanted is None:
            down = case.rack.easier(base) if case.lever.ordinal else None
            lower = base if down is None else down
        else:
            lower = nearest_easier(base, wanted, case.caps.fall_most, case.rack, case.lever)
    if by_miss is not None and (by_miss.new.load is None or case.lever.at_least_as_hard(lower, by_miss.new.load)):
        return by_miss
    reasons = [*used, _said("effort_harder", found, planned, factor)]
    if abs(lower - base) <= TINY:
        return case.answer("same", case.at(base), reasons, plain=True)
    return case.answer("load_down", case.at(lower), reasons, plain=True)
