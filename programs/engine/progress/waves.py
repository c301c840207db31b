"""Percentage waves: the coach's weeks of shares and repetitions on a working max, judged at the end of each round."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from programs.engine.progress import steps
from programs.engine.progress.effort_led import NOISE_REPS
from programs.engine.progress.history import Session
from programs.engine.progress.returning import RETURN_RISE, last_absence, to_regain
from programs.engine.progress.situation import Situation
from programs.engine.progress.terms import TINY, TOP_KINDS, Lever, NextStep, Wave, WaveSet, in_short
from programs.engine.racks import Rack
from programs.engine.strength import load_for, share_of_max
from programs.engine.terms import Because, SetDone, TargetSet

LOWEST_FRACTION: Final = 0.85  # of the estimate, for a working max (coaching practice)


def working_max(e1rm: float, fraction: float) -> float:
    """The coach's fraction of an estimated maximum to reckon shares from; ValueError outside 0.85 to 1."""
    if not LOWEST_FRACTION <= fraction <= 1:
        raise ValueError(f"a working max is {LOWEST_FRACTION:g} to 1 of the estimate, not {fraction:g}")
    return e1rm * fraction


def sets_of_week(
    wave: Wave, maximum: float, shape: Sequence[TargetSet], rack: Rack, lever: Lever
) -> tuple[TargetSet, ...]:
    """The week's sets at loads on offer, in the shape (effort, rest, tempo) of the planned ones."""
    models = [one for one in shape if one.kind in TOP_KINDS] or [TargetSet()]
    out = []
    for number, asked in enumerate(wave.weeks[wave.week]):
        model = models[min(number, len(models) - 1)]
        entered = lever.entered(maximum * asked.share)
        load = None if entered is None or rack.ordinal else rack.nearest(entered)
        kind = "open_ended" if asked.open_ended else "work"
        out.append(
            replace(model, kind=kind, reps_low=asked.reps, reps_high=asked.reps, open_ended=asked.open_ended, load=load)
        )
    return tuple(out)


def wave_step(case: Situation) -> NextStep:
    """The next week of the wave; before a new round the working max rises, stays or falls, within the caps."""
    wave = case.wave
    if wave is None:
        raise ValueError("percentage waves need a wave")
    maximum = wave.working_max
    reasons: list[Because] = []
    if wave.week == 0 and wave.rounds and case.trained:
        maximum, reasons = _judged(case, wave)
    sets = sets_of_week(wave, maximum, case.current, case.rack, case.lever)
    reasons.append(Because("wave_week", {"week": wave.week + 1, "of": len(wave.weeks), "max": round(maximum, 1)}))
    share = _share_after_absence(case)
    if share < 1:
        full = in_short(sets).load
        sets = tuple(
            one if one.load is None else replace(one, load=steps.lighter(one.load, share, case.rack, case.lever))
            for one in sets
        )
        params = {"goal": full, "old": case.sessions[-1].load, "new": in_short(sets).load}
        if None not in params.values():
            reasons.append(Because("returning", params))
        return case.answer("returning", sets, reasons, plain=True, working_max=maximum)
    within, goal = _on_the_way_back(case)
    held = sets if within is None else no_harder_than(sets, within, case.lever)
    if held != sets:
        sets = held
        reasons.append(Because("returning", {"goal": goal, "old": case.trained[-1].load, "new": within}))
        return case.answer("returning", sets, reasons, plain=case.return_to is None, working_max=maximum)
    beyond = _beyond_shown(case, sets)
    if beyond is not None:
        reasons.insert(-1, Because("wave_beyond_shown", {"load": beyond.load, "reps": beyond.reps_low}))
    return case.answer("wave", sets, reasons, plain=beyond is None, working_max=maximum)


def _beyond_shown(case: Situation, sets: Sequence[TargetSet]) -> TargetSet | None:
    """The first set that asks for more than what was done so far shows to be possible at all: a working max that was
    mistyped, or one from long ago. None where nothing tells the maximum."""
    best = case.best()
    for one in sets:
        moved = None if one.load is None else case.lever.moved(one.load)
        if best is not None and moved is not None and moved > load_for(best, one.reps_low or 1, 0, case.k) + TINY:
            return one
    return None


def no_harder_than(sets: Sequence[TargetSet], load: float, lever: Lever) -> tuple[TargetSet, ...]:
    """The sets, those of a harder load with ``load`` instead."""
    return tuple(
        one if one.load is None or lever.at_least_as_hard(load, one.load) else replace(one, load=load) for one in sets
    )


def _on_the_way_back(case: Situation) -> tuple[float | None, float | None]:
    """The hardest load that a session on the way back from pain or illness may have, and where it leads; None where
    nothing is to be regained: one step as wide as one may be over the hardest load of the last session."""
    goal, since, _row = to_regain(case)
    if goal is None or since is not None or not case.trained:
        return None, None
    loads = [load for one in case.trained[-1].sets if (load := case.lever.or_bodyweight(one.load)) is not None]
    last = max(loads, key=case.lever.hardness, default=None)
    if last is None or case.lever.at_least_as_hard(last, goal):
        return None, None
    harder = steps.hardest_within(last, case.caps.widest, case.rack, case.lever)
    return (last if harder is None else harder), goal


def _judged(case: Situation, wave: Wave) -> tuple[float, list[Because]]:
    """The working max by what the last round's heaviest set showed."""
    maximum = wave.working_max
    session = case.trained[-1]
    asked = max(wave.weeks[-1], key=lambda one: (one.share, -one.reps))
    heavy = _heaviest(case, session)
    used = [session.used()]
    planned = case.lever.entered(maximum * asked.share)
    on_offer = None if planned is None else case.rack.nearest(planned)
    # A round that ended before its heaviest set has shown nothing.
    lighter = heavy is None or on_offer is None or not case.lever.at_least_as_hard(heavy.load or 0.0, on_offer)
    factor = 1.0 if heavy is None or lighter else _factor(case, session, heavy, asked)
    if factor > 1 and not case.floor.progression:
        return maximum, [*used, Because("no_progression_for_now")]
    factor = min(max(factor, 1 - case.caps.fall_most), 1 + case.caps.rise)
    if abs(factor - 1) <= TINY:
        return maximum, [*used, Because("wave_hold", {"max": round(maximum, 1)})]
    new = maximum * factor
    code = "wave_raise" if factor > 1 else "wave_lower"
    params = {"old": round(maximum, 1), "new": round(new, 1), "percent": round(100 * (factor - 1), 1)}
    return new, [*used, Because(code, params)]


def _heaviest(case: Situation, session: Session) -> SetDone | None:
    loaded = [one for one in session.sets if one.load is not None and one.reps is not None]
    return max(loaded, key=lambda one: (case.lever.hardness(one.load or 0.0), one.reps or 0), default=None)


def _factor(case: Situation, session: Session, heavy: SetDone, asked: WaveSet) -> float:
    """By how much the set was easier (above 1) or harder; one repetition off counts, less is noise.

    Where the effort was not said, repetitions alone tell: more than asked and left together, or fewer than asked.
    """
    effort = session.efforts[session.sets.index(heavy)]
    reps, planned_rir = heavy.reps or 0, case.target.rir or 0.0
    if effort is not None:
        shown, planned = reps + effort, asked.reps + planned_rir
    elif reps < asked.reps:
        shown, planned = float(reps), float(asked.reps)
    else:
        shown = float(reps)
        planned = min(shown, asked.reps + planned_rir)
    if abs(shown - planned) < NOISE_REPS:
        return 1.0
    return share_of_max(max(1.0, planned), 0, case.k) / share_of_max(max(1.0, shown), 0, case.k)


def _share_after_absence(case: Situation) -> float:
    """What of the planned load is lifted on the way back: the share after the absence, and 5 % more each time."""
    found = last_absence(case)
    if found is None:
        return 1.0
    _before, after, row = found
    since = sum(one.day >= after for one in case.trained)
    return min(1.0, row.load + RETURN_RISE * since)
