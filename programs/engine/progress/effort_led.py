"""Loads led by the effort that was left: one set tells, along the curve, how far the load was from its target."""

from typing import Final

from programs.engine.progress.history import Session, same_load
from programs.engine.progress.policies import (
    after_miss,
    no_harder_load,
    ordinary,
    over_share_of_max,
    repeat_late,
    weigh_step,
    withheld,
    within_week,
)
from programs.engine.progress.situation import Situation
from programs.engine.progress.steps import hardest_within, nearest_easier
from programs.engine.progress.terms import TINY, NextStep
from programs.engine.strength import share_of_max
from programs.engine.terms import Because

NOISE_REPS: Final = 1.0  # a smaller error of effort is noise (Refalo et al. 2024)


def effort_led(case: Situation) -> NextStep:
    """The load at which the first set would have left what was planned, within the caps; else as by repetitions.

    Repetitions inside the range count with what was left: 8 with 4 in reserve are as good as 10 with 2, and change
    nothing where 10 is within the range. A check set tells more than a rating and takes its place.
    """
    last = case.trained[-1]
    shown = _shown(case, last)
    base = case.base
    if case.timed or shown is None or base is None:
        return ordinary(case)
    found, checked = shown
    rir = case.target.rir or 0.0
    least, most = case.target.low + rir, case.target.high + rir
    planned = min(max(found, least), most)
    used = [last.used(), *([Because("from_check_set")] if checked else [])]
    if last.late and found < planned:
        return repeat_late(case, last)
    if case.missed[-1] or (found < planned and planned - found >= NOISE_REPS):
        return _down(case, used, base, found, planned)
    if found - planned < NOISE_REPS:
        return case.answer("same", case.at(base), [*used, Because("effort_as_planned")], plain=True)
    return withheld(case, used) or _up(case, used, base, found, planned)


def _shown(case: Situation, last: Session) -> tuple[float, bool] | None:
    """Repetitions to failure of a check set (True), else of the first set at the working load (False)."""
    for one in reversed(last.sets):
        if one.kind == "check" and one.reps and same_load(case.lever.or_bodyweight(one.load), last.load):
            return one.reps + (one.rir or 0.0), True
    for one, effort in zip(last.sets, last.efforts, strict=True):
        if same_load(case.lever.or_bodyweight(one.load), last.load):
            return None if effort is None or one.reps is None else (one.reps + effort, False)
    return None


def _factor(case: Situation, found: float, planned: float) -> float:
    return share_of_max(max(1.0, planned), 0, case.k) / share_of_max(max(1.0, found), 0, case.k)


def _said(code: str, found: float, planned: float, factor: float) -> Because:
    return Because(code, {"shown": found, "planned": planned, "percent": round(100 * (factor - 1), 1)})


def _up(case: Situation, used: list[Because], base: float, found: float, planned: float) -> NextStep:
    factor = _factor(case, found, planned)
    used = [*used, _said("effort_easier", found, planned, factor)]
    step = case.rack.harder(base)
    if step is None:
        return no_harder_load(case, [*used, Because("load_ceiling", {"load": base})])
    moved, change = case.lever.moved(base), case.lever.change(base, step)
    wanted = None if moved is None else case.lever.entered(moved * factor)
    if change is None or wanted is None:
        code = "next_setting" if case.lever.ordinal else "bodyweight_unknown"
        reasons = [*used, Because(code, {"old": base, "new": step})]
        return case.answer("load_up", case.at(step), reasons, plain=case.lever.ordinal)
    if not case.lever.at_least_as_hard(wanted, step):
        return case.answer(
            "same", case.at(base), [*used, Because("next_load_out_of_reach", {"load": step})], plain=True
        )
    best = hardest_within(base, case.caps.rise, case.rack, case.lever, wanted)
    if best is None:  # the next load is over the usual cap
        return weigh_step(case, used, base, step, change)
    while not within_week(case, best) or over_share_of_max(case, best) is not None:
        lower = case.rack.easier(best)
        if lower is None or case.lever.at_least_as_hard(base, lower):
            reason = over_share_of_max(case, best)
            capped = Because("week_cap", {"percent": round(100 * case.caps.rise_week)})
            return case.answer("same", case.at(base), [*used, reason or capped], plain=True)
        best = lower
    return case.answer("load_up", case.at(best), used, plain=True)


def _down(case: Situation, used: list[Because], base: float, found: float, planned: float) -> NextStep:
    """The fall that the effort asks for, or that a missed session does where that is more."""
    by_miss = after_miss(case, case.missed) if case.missed[-1] else None
    factor = _factor(case, found, planned)
    lower = base
    if planned - found >= NOISE_REPS:
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
