"""Fixed steps, double progression, and time: what an ordinary session leads to."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Final

from programs.engine.progress.history import Session, same_load, streak, usual_gap
from programs.engine.progress.situation import Situation, with_reps
from programs.engine.progress.steps import easier_by, reps_after_step
from programs.engine.progress.terms import TINY, NextStep, Offer
from programs.engine.terms import Because, Params, TargetSet

MORE_REPS: Final = 3  # repetitions above the range before another way is taken (coaching practice)
MOST_REPS: Final = 30  # load ceiling: near failure these still build muscle (Schoenfeld et al. 2021)
MET_TWICE: Final = 2
MORE_REPS_ALONE: Final = ("reps_up", "step_too_big", "load_ceiling")  # what adds no load has to be shown only once
MISSED_TWICE: Final = 2
FALL: Final = 0.05  # after two misses
FAILURES: Final = 3
FAILURES_WITHIN: Final = 5
NO_RISE_FROM_DAYS: Final = 8  # a pause this long, and longer than usual, repeats the load
LATER_THAN_USUAL_DAYS: Final = 2
STEP_S: Final = 5  # seconds or metres


def ordinary(case: Situation) -> NextStep:
    """The next step of a policy when no pain, absence or deload decides it."""
    if case.timed:
        return _timed(case)
    last = case.trained[-1]
    missed = case.missed
    if missed[-1]:
        return after_miss(case, missed)
    running = streak(case.trained, case.met)
    if not running and last.late and last.missed(case.target, case.lever):
        return repeat_late(case, last)
    if not running:
        return _below_top(case, last)
    needed, why = _needed(case, last)
    used = [one.used() for one in case.trained[-min(running, needed) :]]
    step = _rise(case, used)
    if running < needed and step.change not in MORE_REPS_ALONE:
        reasons = [*used, Because("met_once", {"needed": needed}), *why]
        return case.answer("same", case.at(case.base), reasons, plain=True)
    return step


def _needed(case: Situation, last: Session) -> tuple[int, list[Because]]:
    """Sessions running that must meet the target before the load rises, and why more than one."""
    why = []
    if not last.effort_known:
        why.append(Because("effort_unknown"))
    if case.policy == "double_progression":
        if case.pressing:
            why.append(Because("pressing_twice"))
        if case.experience == "advanced":
            why.append(Because("advanced_twice"))
    return (MET_TWICE if why else 1), why


def _below_top(case: Situation, last: Session) -> NextStep:
    """Not yet at the top: the load stays, and one repetition more per set is the aim."""
    reasons = [last.used()]
    if last.fell_short(case.target):
        reasons.append(Because("last_set_short", {"low": case.target.low}))
        return case.answer("same", case.at(case.base), reasons, plain=True)
    if min(last.reps) >= case.target.high:
        code = "too_few_sets" if len(last.sets) < (last.asked_sets or case.target.sets) else "effort_short"
        params = {"rir": case.target.rir} if code == "effort_short" and case.target.rir is not None else {}
        return case.answer("same", case.at(case.base), [*reasons, Because(code, params)], plain=True)
    if not case.floor.progression:
        return case.answer("same", case.at(case.base), [*reasons, Because("no_progression_for_now")], plain=True)
    aim = "/".join(str(min(done + 1, case.target.high)) for done in last.reps)
    reasons.append(Because("below_top", {"high": case.target.high, "aim": aim}))
    return case.answer("reps_up", case.at(case.base), reasons, plain=True)


def repeat_late(case: Situation, last: Session) -> NextStep:
    """Fewer repetitions, but later in the session than usual: no step back, the same again."""
    params: Params = {"position": last.position, "usual": last.usual_position}
    reasons = [last.used(), Because("later_in_session", params)]
    return case.answer("same", case.at(case.base), reasons, plain=True)


def after_miss(case: Situation, missed: Sequence[bool]) -> NextStep:
    """Repeat once, then down by 5 %; the third of five asks the coach to look for the cause besides."""
    used = [one.used() for one, bad in zip(case.trained, missed, strict=True) if bad][-FAILURES:]
    down = _fallen(case, missed, used)
    if sum(missed[-FAILURES_WITHIN:]) >= FAILURES:
        reasons = [*used, Because("missed_often", {"times": FAILURES, "of": FAILURES_WITHIN})]
        easier = [offer for offer in down.offers if offer.code == "take_step_down"]
        offers = [*easier, Offer("deload"), Offer("rep_range"), Offer("swap")]
        return case.answer("stall_check", down.sets, reasons, plain=False, offers=offers)
    return down


def _fallen(case: Situation, missed: Sequence[bool], used: Sequence[Because]) -> NextStep:
    sets = case.at(case.base)
    if streak(case.trained, missed) < MISSED_TWICE or case.base is None:
        return case.answer("same", sets, [*used[-1:], Because("missed_repeat_once")], plain=True)
    used = used[-MISSED_TWICE:]
    lower = easier_by(case.base, FALL, case.caps.fall_most, case.rack, case.lever)
    if lower is None:
        down = case.rack.easier(case.base)
        offers = [Offer("rep_range"), Offer("swap")]
        if down is not None:
            offers.insert(0, Offer("take_step_down", case.at(down)))
        reasons = [*used, Because("no_step_down_fits", {"percent": round(100 * case.caps.fall_most)})]
        return case.answer("same", sets, reasons, plain=False, offers=offers)
    change = case.lever.change(case.base, lower)
    params = {} if change is None else {"percent": round(100 * change, 1)}
    return case.answer("load_down", case.at(lower), [*used, Because("missed_twice", params)], plain=True)


def _rise(case: Situation, used: list[Because]) -> NextStep:
    used = [*used, Because("all_sets_at_top", {"high": case.target.high})]
    return withheld(case, used) or one_step(case, used)


def withheld(case: Situation, used: Sequence[Because]) -> NextStep | None:
    """Why nothing is raised although it was earned, or None: no progression for now, or a pause."""
    if not case.floor.progression:
        return case.answer("same", case.at(case.base), [*used, Because("no_progression_for_now")], plain=True)
    if case.base is not None and _paused(case):
        days = {"days": case.days_off or 0}
        return case.answer("same", case.at(case.base), [*used, Because("pause_longer_than_usual", days)], plain=True)
    return None


def one_step(case: Situation, used: list[Because], shown: int = 0) -> NextStep:
    """The next load on offer, or what comes in its place; ``shown`` as for ``weigh_step``."""
    base = case.base
    if base is None:
        return no_harder_load(case, [*used, Because("no_load_to_raise")])
    step = case.rack.harder(base)
    if step is None:
        return no_harder_load(case, [*used, Because("load_ceiling", {"load": base})], shown)
    change = case.lever.change(base, step)
    if change is None:
        code = "next_setting" if case.lever.ordinal else "bodyweight_unknown"
        reasons = [*used, Because(code, {"old": base, "new": step})]
        return case.answer("load_up", case.at(step), reasons, plain=case.lever.ordinal)
    return weigh_step(case, used, base, step, change, shown)


def weigh_step(
    case: Situation, used: list[Because], base: float, step: float, change: float, shown: int = 0
) -> NextStep:
    """Takes the next load when it fits the caps and the range, else builds repetitions first.

    ``shown`` are the repetitions that could be done with the load in force, where that is known: room is made for
    them at once, else for one more.
    """
    expected = _expected_reps(case, change)
    share = Because(
        "load_step", {"old": base, "new": step, "percent": round(100 * change, 1), "expected_reps": expected}
    )
    stale = [Because("bodyweight_stale", {"days": case.bodyweight_days})] if case.stale else []
    used = [*used, *stale, share]
    if not within_week(case, step):
        reason = Because("week_cap", {"percent": round(100 * case.caps.rise_week)})
        return with_room(case, [*used, reason], base, shown)
    over_share = over_share_of_max(case, step)
    if over_share is not None:
        return case.answer("same", case.at(base), [*used, over_share], plain=True)
    # A step within the everyday cap is what fixed steps are; a range has to have room for it.
    fixed = case.policy == "fixed_steps" or case.target.low == case.base_high
    fits = expected >= case.target.low or (fixed and change <= case.caps.usual + TINY)
    too_big = change > case.caps.widest + TINY
    stepped = with_reps(case.at(step), case.base_high)
    if fits and not too_big:
        if change > case.caps.usual + TINY:
            used.append(Because("over_usual_cap", {"percent": round(100 * case.caps.rise)}))
        return case.answer("load_up", stepped, used, plain=True)
    stay = case.at(base)
    if case.target.high < case.base_high + MORE_REPS:
        more = max(case.target.high + 1, min(shown, case.base_high + MORE_REPS))
        stay = with_reps(stay, more)
        used.append(Because("step_too_big_add_reps", {"reps": more}))
        # Whoever has grown out of the range already does so by the coach's choice: it goes on.
        if not too_big or case.target.high > case.base_high:
            return case.answer("reps_up", stay, used, plain=True)
    used.append(Because("step_too_big", {"percent": round(100 * change, 1)}))
    offers = [
        Offer("more_reps", with_reps(case.at(base), min(MOST_REPS, max(shown, case.target.high + 1)))),
        Offer("extra_set", _extra_set(case.at(base))),
        Offer("one_heavier_set", _one_heavier(case.at(base), step)),
        Offer("slower_lowering"),
        Offer("variation"),
    ]
    if fits:
        offers.insert(0, Offer("take_step", stepped, (("expected_reps", float(expected)),)))
    return case.answer("step_too_big", stay, used, plain=False, offers=offers)


def with_room(case: Situation, used: Sequence[Because], base: float, shown: int) -> NextStep:
    """The same load, with room for what was shown up to three repetitions above the range."""
    high = min(shown, case.base_high + MORE_REPS)
    if high <= case.target.high:
        return case.answer("same", case.at(base), used, plain=True)
    reasons = [*used, Because("more_reps_instead", {"reps": high})]
    return case.answer("reps_up", with_reps(case.at(base), high), reasons, plain=True)


def _expected_reps(case: Situation, change: float) -> int:
    """Repetitions to expect after the step, from the last session's weakest set."""
    last = case.trained[-1]
    target_rir = case.target.rir or 0.0
    found = [
        reps_after_step(one.reps or 1, target_rir if effort is None else effort, change, target_rir, case.k)
        for one, effort in zip(last.sets, last.efforts, strict=True)
    ]
    return min(found)


def _paused(case: Situation) -> bool:
    """True after a pause that is not yet an absence, but longer than this exercise usually has."""
    days = case.days_off or 0
    planned = case.every_days if case.every_days >= NO_RISE_FROM_DAYS else None
    usual = usual_gap(case.sessions) or planned
    return days >= NO_RISE_FROM_DAYS and (usual is None or days > usual + LATER_THAN_USUAL_DAYS)


def within_week(case: Situation, load: float) -> bool:
    """Whether a rise stays within the cap over the easiest load of the last seven days.

    The load in force as they began counts with those done in them. A first rise in a week is left to the
    cap per session.
    """
    since = case.on - timedelta(days=7)
    earlier = [one.load for one in case.trained if one.load is not None and one.day <= since]
    loads = earlier[-1:] + [one.load for one in case.trained if one.load is not None and one.day > since]
    if not loads:
        return True
    start = min(loads, key=case.lever.hardness)
    change = case.lever.change(start, load)
    return change is None or change <= case.caps.rise_week + TINY or same_load(start, case.base)


def over_share_of_max(case: Situation, load: float) -> Because | None:
    """A reason when a load would exceed the client's share of the estimated maximum."""
    share, best, moved = case.floor.share_of_max, case.best(), case.lever.moved(load)
    if share is None or best is None or moved is None or moved <= share * best + TINY:
        return None
    return Because("share_of_max", {"percent": round(100 * share)})


def no_harder_load(case: Situation, reasons: list[Because], shown: int = 0) -> NextStep:
    """Top of the rack, or nothing to load: another lever, in the order that the coach set.

    ``shown`` are the repetitions that could be done, where that is known: the range makes room for them.
    """
    sets = case.at(case.base)
    ways: dict[str, Offer] = {
        "more_reps": Offer("more_reps", with_reps(sets, min(MOST_REPS, max(shown, case.target.high + 1)))),
        "extra_set": Offer("extra_set", _extra_set(sets)),
    }
    if case.lever.falls:
        return case.answer("load_ceiling", ways["more_reps"].sets, reasons, plain=False, offers=[Offer("without_help")])
    offers = [
        ways.get(code, Offer(code))
        for code in case.levers
        if not (code == "more_reps" and case.target.high >= MOST_REPS)
    ]
    first = offers[0].sets if offers and offers[0].sets else sets
    return case.answer("load_ceiling", first, reasons, plain=False, offers=offers)


def _extra_set(sets: Sequence[TargetSet]) -> tuple[TargetSet, ...]:
    return (*sets, sets[-1]) if sets else ()


def _one_heavier(sets: Sequence[TargetSet], load: float) -> tuple[TargetSet, ...]:
    """The first set with the next load, as many repetitions as come, the rest as before."""
    if not sets:
        return ()
    return (replace(sets[0], load=load, reps_low=1), *sets[1:])


def _timed(case: Situation) -> NextStep:
    """Holds and carries: a little longer each time to the top of the range, then load, then the bottom again."""
    unit = case.timed
    last = case.trained[-1]
    done = [getattr(one, unit) or 0 for one in last.sets]
    goal = case.target.low
    if len(done) < (last.asked_sets or case.target.sets) or min(done) < goal:
        reasons = [last.used(), Because("time_not_met", {unit: goal})]
        return case.answer("same", case.at(case.base), reasons, plain=True)
    reasons = [last.used(), Because("time_met", {unit: goal})]
    if not case.floor.progression:
        return case.answer("same", case.at(case.base), [*reasons, Because("no_progression_for_now")], plain=True)
    if goal < case.base_high:
        more = min(goal + STEP_S, case.base_high)
        return case.answer("time_up", _lasting(case.at(case.base), unit, more), reasons, plain=True)
    base = case.base
    step = case.rack.harder(base) if base is not None else None
    change = None if base is None or step is None else case.lever.change(base, step)
    fits = step is not None and (case.lever.ordinal or (change is not None and change <= case.caps.widest + TINY))
    if step is None or not fits or not within_week(case, step):
        offers = [Offer("extra_set", _extra_set(case.at(base))), Offer("variation")]
        return case.answer(
            "load_ceiling", case.at(base), [*reasons, Because("top_of_range")], plain=False, offers=offers
        )
    low = case.base_low
    reasons.append(Because("load_step_time", {"old": base, "new": step, unit: low}))
    return case.answer("load_up", _lasting(case.at(step), unit, low), reasons, plain=True)


def _lasting(sets: Sequence[TargetSet], unit: str, amount: int) -> tuple[TargetSet, ...]:
    if unit == "metres":
        return tuple(replace(one, metres=amount) for one in sets)
    return tuple(replace(one, seconds=amount) for one in sets)
