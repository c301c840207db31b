"""Away from the usual load and back to it: absence, illness, pain, the easier week."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from programs.engine.cautions.pain import LIGHTER_SHARE, RETURN_SHARE, RIR_FLOOR_IN_PAIN
from programs.engine.progress import steps
from programs.engine.progress.first import FIRST_RIR, without_history
from programs.engine.progress.history import Session, same_load
from programs.engine.progress.policies import FAILURES_WITHIN, over_share_of_max, within_week
from programs.engine.progress.situation import Situation, reloaded, with_reps, with_rir
from programs.engine.progress.terms import TINY, Illness, NextStep, Offer, in_short, work_sets
from programs.engine.strength import load_for
from programs.engine.terms import Because, Params, TargetSet

RETURN_RISE: Final = 0.05
# Illness: coaching practice beside the sport-medicine consensus on respiratory infection (Schwellnus et al. 2022).
ILL_SETS: Final = 0.5
ILL_RIR: Final = 4.0
ILL_LOAD: Final = 0.85  # within 80 to 90 %
BACK_AFTER_SESSIONS: Final = 3  # at the lighter load after pain, where the next one is a big step (coaching practice)
ILL_SESSIONS: Final = 2  # eased after a fever
ILL_REGAINED_WITHIN: Final = timedelta(weeks=4)
WELL_FOR_DAYS: Final = 1
PROFESSIONAL_FROM_DAYS: Final = 8  # more than seven days ill


def _used_last(case: Situation) -> list[Because]:
    return [case.trained[-1].used()] if case.trained else []


def lighter_of(case: Situation, step: NextStep, other: NextStep) -> NextStep:
    """Where two things hold a line back at once: the fewer sets, the lighter load and the more in reserve of both.

    No sets at all where either has none; a load is looked for where either asks for that.
    """
    reasons = (*step.reasons, *(why for why in other.reasons if why not in step.reasons))
    offers = step.offers or other.offers
    find_load = step.find_load or other.find_load
    sets = steps.fewer(step.sets, len(work_sets(other.sets)))
    least = in_short(other.sets).rir
    if least is not None:
        sets = with_rir(sets, least)
    load, light = in_short(sets).load, in_short(other.sets).load
    if find_load:
        sets = tuple(replace(one, load=None) for one in sets)
    elif light is not None and (load is None or not case.lever.at_least_as_hard(light, load)):
        sets = steps.reload(sets, load, light, case.rack)
    return replace(
        step, sets=sets, new=in_short(sets), reasons=reasons, offers=offers, find_load=find_load, plain=False
    )


def hurting(case: Situation, pain: str) -> NextStep:
    """What pain of 3 or 4, or its settling, leads to."""
    return frozen(case) if pain == "freeze" else after_pain(case)


def frozen(case: Situation) -> NextStep:
    """Pain of 3 or 4: lighter, further from failure, and no progression until it has settled."""
    usual = case.return_to if case.return_to is not None else case.base
    sets = case.at(case.base)
    reasons = [*_used_last(case), Because("pain_freeze", {"rir": RIR_FLOOR_IN_PAIN})]
    if usual is not None and case.base is not None and case.rack.loads:
        light = steps.lighter(usual, LIGHTER_SHARE, case.rack, case.lever)
        if light != usual and case.lever.at_least_as_hard(case.base, light):
            sets = case.at(light)
            reasons.append(Because("pain_lighter", {"old": usual, "new": light}))
    offers = [Offer("variant_without_joint"), Offer("shorter_range")]
    return case.answer("freeze", with_rir(sets, RIR_FLOOR_IN_PAIN), reasons, plain=False, offers=offers)


def after_pain(case: Situation) -> NextStep:
    """80 % of the load before; what went well last stands where that is lighter still."""
    usual = case.return_to if case.return_to is not None else case.base
    if usual is None or not case.rack.loads:
        reasons = [*_used_last(case), Because("pain_return")]
        return case.answer("return", case.at(case.base), reasons, plain=False)
    light = steps.lighter(usual, RETURN_SHARE, case.rack, case.lever)
    if case.base is not None and (light == usual or case.lever.at_least_as_hard(light, case.base)):
        light = case.base  # what went well last is light enough
    params = {"percent": round(100 * RETURN_SHARE), "old": usual}
    reasons = [*_used_last(case), Because("pain_return_load", params)]
    return case.answer("return", case.at(light), reasons, plain=False)


def after_absence(case: Situation, row: steps.Absence) -> NextStep:
    """Lighter and fewer sets, by the table; a tried estimate may make it lighter still."""
    days = case.days_off or 0
    sets = steps.fewer(case.current, steps.share_of_sets(case.count, row.sets))
    params: Params = {
        "days": days,
        "percent": round(100 * row.load),
        "sets_percent": round(100 * row.sets),
        "weeks": row.weeks,
    }
    reasons = [case.trained[-1].used(), Because("absence", params)]
    base = case.base
    if base is None or not case.rack.loads:
        return case.answer("return", reloaded(case, sets, base), reasons, plain=False)
    light = steps.lighter(base, row.load, case.rack, case.lever)
    if days >= steps.FIND_AGAIN_FROM_DAYS and not case.rack.ordinal:
        empty = tuple(replace(one, load=None) for one in with_rir(sets, FIRST_RIR))
        reasons.append(Because("absence_find_load", {"most": light}))
        return case.answer("return", empty, reasons, plain=False, find_load=True)
    best = case.best()
    if best is not None and case.target.rir is not None:
        raw = case.lever.entered(load_for(best * row.load, case.target.low, case.target.rir, case.k))
        from_best = None if raw is None else case.rack.not_harder(raw)
        if from_best is not None and case.lever.at_least_as_hard(light, from_best):
            light = from_best
    if case.lever.at_least_as_hard(light, base):
        reasons.append(Because("nothing_lighter_on_offer", {"load": light}))
    return case.answer("return", reloaded(case, sets, light), reasons, plain=False)


def illness_stage(illness: Illness, on: date) -> str:
    """Where an illness stands on a day: "professional" first, "easy" sessions, "rest", "after" it, or "over".

    Above the neck: half of the sets, far from failure, if at all. The whole body: nothing until a day without fever
    and medicine, then eased sessions. Signs of alarm, or more than seven days until it is long over: a professional
    first.
    """
    ends = illness.well_on or illness.known_on
    until = on if ends is None else min(on, ends)
    long = (until - illness.since).days >= PROFESSIONAL_FROM_DAYS
    past = illness.well_on is not None and on > illness.well_on + ILL_REGAINED_WITHIN
    if (illness.kind == "alarm" or (long and not past)) and not illness.cleared:
        return "professional"
    if illness.kind == "above_neck":
        return "easy" if illness.well_on is None or on < illness.well_on else "over"
    if illness.well_on is None or on < illness.well_on + timedelta(days=WELL_FOR_DAYS):
        return "rest"
    return "after" if on <= illness.well_on + ILL_REGAINED_WITHIN else "over"


def ill(case: Situation) -> NextStep | None:
    """What an illness leads to, and one before it; None once they are over and their eased sessions are done."""
    found = [step for one in _illnesses(case) if (step := _ill_of(replace(case, illness=one))) is not None]
    if len(found) < 2:
        return found[0] if found else None
    return lighter_of(case, found[0], found[1])


def _illnesses(case: Situation) -> list[Illness]:
    return [] if case.illness is None else [one for one in (case.illness, case.illness.earlier) if one is not None]


def _ill_of(case: Situation) -> NextStep | None:
    illness = case.illness
    if illness is None or case.on < illness.since:
        return None
    stage = illness_stage(illness, case.on)
    if stage == "professional":
        return case.answer("ill", (), [Because("ill_professional")], plain=False)
    if stage == "easy":
        return _easy_while_ill(case)
    if stage == "rest":
        return case.answer("ill", (), [Because("ill_rest")], plain=False)
    if illness.kind == "above_neck" or illness.well_on is None:
        return None
    since = sum(one.day >= illness.well_on for one in case.sessions)
    return _after_illness(case, since + 1) if since < ILL_SESSIONS else None


def _easy_while_ill(case: Situation) -> NextStep:
    sets = steps.fewer(case.at(case.base), steps.share_of_sets(case.count, ILL_SETS))
    reason = Because("ill_easy", {"sets_percent": round(100 * ILL_SETS), "rir": ILL_RIR})
    step = case.answer("ill", with_rir(sets, ILL_RIR), [*_used_last(case), reason], plain=False)
    if not case.trained:
        return lighter_of(case, step, without_history(case))
    row = steps.absence(case.away(case.days_off or 0), case.age)
    return lighter_of(case, step, after_absence(case, row)) if row.days >= steps.ABSENCE_FROM_DAYS else step


def _after_illness(case: Situation, number: int) -> NextStep | None:
    """One of the eased sessions, the lighter of illness and absence; None without anything done before it."""
    illness = case.illness
    if illness is None or illness.well_on is None or not case.trained:
        return None
    sets = steps.fewer(case.current, steps.share_of_sets(case.count, ILL_SETS))
    before = [one for one in case.trained if one.day < illness.well_on and one.load is not None]
    usual = before[-1].load if before and case.wave is None else case.base
    params: Params = {
        "session": number,
        "of": ILL_SESSIONS,
        "percent": round(100 * ILL_LOAD),
        "sets_percent": round(100 * ILL_SETS),
    }
    reasons = [case.trained[-1].used(), Because("after_illness", params)]
    if usual is None or not case.rack.loads:
        return case.answer("return", reloaded(case, sets, usual), reasons, plain=False)
    light = steps.lighter(usual, ILL_LOAD, case.rack, case.lever)
    if case.base is not None and not case.lever.at_least_as_hard(case.base, light):
        light = case.base  # the first session after it was lighter still
    row = steps.absence(case.away(case.days_off or 0), case.age)
    step = case.answer("return", reloaded(case, sets, light), reasons, plain=False)
    return lighter_of(case, step, after_absence(case, row)) if row.days else step


def after_deload(case: Situation) -> NextStep:
    """Back to the last load that went well; nothing is raised in the first session.

    Of the last sessions' loads, none harder than the last one and none below the cap of a fall, the hardest that
    was not missed; where all were missed, the easiest.
    """
    recent = [one for one in case.trained[-FAILURES_WITHIN:] if one.load is not None]
    last = case.trained[-1]
    near = [one for one in recent if _near_below(case, one.load, last.load)]
    bad = {id(one) for one, missed in zip(case.trained, case.missed, strict=True) if missed}
    good = [one for one in near if id(one) not in bad]
    session = last
    if good:
        session = max(good, key=lambda one: (case.lever.hardness(one.load or 0.0), one.day))
    elif near:
        session = min(near, key=lambda one: (case.lever.hardness(one.load or 0.0), one.day))
    params = {} if session.load is None else {"load": session.load}
    reasons = [session.used(), Because("after_deload", params)]
    return case.answer("after_deload", case.at(session.load), reasons, plain=True)


def _near_below(case: Situation, load: float | None, last: float | None) -> bool:
    if load is None or last is None or not case.lever.at_least_as_hard(last, load):
        return False
    change = case.lever.change(last, load)
    return change is None or change >= -case.caps.fall_most - TINY


def coming_back(case: Situation) -> NextStep | None:
    """Steps of 5 % after an absence, an illness or pain, up to the load before it; None with nothing to regain."""
    goal, since, row = to_regain(case)
    base = case.base
    if goal is None or base is None or case.lever.at_least_as_hard(base, goal):
        return None
    last = case.trained[-1]
    if case.missed[-1]:
        return None
    sets: Sequence[TargetSet] = case.current
    if row is not None and since is not None and case.on < since + timedelta(weeks=row.weeks):
        sets = steps.fewer(sets, steps.share_of_sets(case.count, row.sets))
    step = steps.hardest_within(base, min(RETURN_RISE, case.caps.widest), case.rack, case.lever, goal)
    if step is None:
        step = _next_within(case, base, goal)
    if step is None:
        return _step_back(case, last, goal, since, row)
    if over_share_of_max(case, step) is not None:
        return None  # the old load is over what the client may do now: the policy finds another way
    reasons = [last.used()]
    if not within_week(case, step):
        reasons.append(Because("week_cap", {"percent": round(100 * case.caps.rise_week)}))
        return case.answer("same", reloaded(case, sets, base), reasons, plain=True)
    reasons.append(Because("returning", {"goal": goal, "old": base, "new": step}))
    return case.answer("returning", reloaded(case, sets, step), reasons, plain=case.return_to is None)


def _next_within(case: Situation, base: float, goal: float) -> float | None:
    """The next load, where it is no more than a rise may be at all and not beyond the goal."""
    step = case.rack.harder(base)
    change = None if step is None else case.lever.change(base, step)
    if step is None or change is None or change > case.caps.widest + TINY:
        return None
    return step if case.lever.at_least_as_hard(goal, step) else None


def _step_back(
    case: Situation, last: Session, goal: float, since: date | None, row: steps.Absence | None
) -> NextStep | None:
    """The next load back is more than the caps allow at once: offered once the time for it has come.

    After an absence that is when the weeks of the table have passed, after pain when three sessions went well.
    """
    base = case.base
    step = None if base is None else case.rack.harder(base)
    if step is None or base is None or not case.lever.at_least_as_hard(goal, step):
        return None
    change = case.lever.change(base, step)
    if change is None or over_share_of_max(case, step) is not None:
        return None
    if row is None or since is None:
        well = [same_load(one.load, base) for one in case.trained[-BACK_AFTER_SESSIONS:]]
        due = case.return_to is not None and sum(well) == BACK_AFTER_SESSIONS
    else:
        due = case.on >= since + timedelta(weeks=row.weeks)
    if not due:
        return None
    params: Params = {"goal": goal, "old": base, "new": step}
    percent = round(100 * change, 1)
    reasons = [last.used(), Because("returning", params), Because("step_too_big", {"percent": percent})]
    sets = with_reps(case.at(base), max(case.target.high, case.base_high))
    back = with_reps(case.at(step), case.base_high)
    return case.answer("step_too_big", sets, reasons, plain=False, offers=[Offer("take_step", back)])


def to_regain(case: Situation) -> tuple[float | None, date | None, steps.Absence | None]:
    """The load to come back to, the day of return and the row of the absence, if one is being made good."""
    if case.return_to is not None:
        return case.return_to, None, None
    found = last_absence(case)
    if found is not None:
        before, after, row = found
        loads = [one.load for one in case.trained if one.day <= before and one.load is not None]
        return (loads[-1] if loads else None), after, row
    for illness in _illnesses(case):
        if illness.kind == "above_neck" or illness.well_on is None:
            continue
        if case.on <= illness.well_on + ILL_REGAINED_WITHIN:
            loads = [one.load for one in case.trained if one.day < illness.well_on and one.load is not None]
            return (loads[-1] if loads else None), None, None
    return None, None, None


def last_absence(case: Situation) -> tuple[date, date, steps.Absence] | None:
    """The last absence that is still being made good: the days before and after it, and its row."""
    for before, after in reversed(list(pairwise(case.sessions))):
        row = steps.absence(case.away((after.day - before.day).days), case.age)
        if row.days < steps.ABSENCE_FROM_DAYS:
            continue
        if row.days >= steps.FIND_AGAIN_FROM_DAYS or case.on > after.day + 2 * timedelta(weeks=row.weeks):
            break
        return before.day, after.day, row
    return None


def eased(case: Situation) -> NextStep:
    """Half of the sets, 10 % less load, more in reserve."""
    sets = steps.deload(case.at(case.base), case.rack, case.lever)
    percent = round(100 * (1 - steps.DELOAD_LOAD))
    reason = Because("deload", {"sets": len(sets), "percent": percent, "rir": steps.DELOAD_RIR})
    return case.answer("deload", sets, [case.trained[-1].used(), reason], plain=True)


def away_too(case: Situation, step: NextStep) -> NextStep:
    """What pain leads to after time off besides: the lighter load and the fewer sets of the two."""
    row = steps.absence(case.away(case.days_off or 0), case.age)
    if row.days < steps.ABSENCE_FROM_DAYS:
        return step
    return lighter_of(case, step, after_absence(case, row))


def eased_too(case: Situation, step: NextStep) -> NextStep:
    """What pain leads to in an easier week: the sets are halved all the same."""
    count = steps.eased_sets(case.count)
    sets = steps.fewer(step.sets, count)
    reasons = (*step.reasons, Because("easier_week_too", {"sets": count}))
    return replace(step, sets=sets, new=in_short(sets), reasons=reasons)


def held_for_pain(case: Situation) -> NextStep:
    """A set was stopped for pain the last time: the same again, and the coach decides."""
    reasons = [case.trained[-1].used(), Because("stopped_for_pain")]
    return case.answer("same", case.at(case.base), reasons, plain=False)
