"""The next prescription of one exercise from its log: a proposal with its reasons, which the coach disposes of."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from programs.engine.calendar import WEEK_DAYS
from programs.engine.cautions.groups import EffortFloor
from programs.engine.cautions.pain import (
    ACTIONS,
    LIGHTER_SHARE,
    RETURN_SHARE,
    RIR_FLOOR_IN_PAIN,
)
from programs.engine.progress import steps
from programs.engine.progress.history import read, target_of
from programs.engine.progress.policies import ordinary, within_week
from programs.engine.progress.situation import Situation, with_rir
from programs.engine.progress.terms import (
    LEVERS,
    POLICIES,
    TINY,
    WORK_KINDS,
    Caps,
    Lever,
    MappedEstimate,
    NextStep,
    Offer,
    in_short,
)
from programs.engine.racks import Rack
from programs.engine.strength import load_for
from programs.engine.terms import Because, Exposure, Params, TargetSet
from programs.engine.vocabulary import EXPERIENCES, LOAD_ENTRIES, ROLES

PRESSES: Final = ("horizontal_push", "incline_push", "decline_push", "vertical_push")
MAPPED_SHARE: Final = 0.90  # of an estimate carried over (coaching practice)
MAPPED_SHARE_OTHER: Final = 0.80  # from another implement
FIRST_RIR: Final = 3.0
FIRST_SESSION_SETS: Final = 0.65  # of the planned sets, for a new client
RETURN_RISE: Final = 0.05
WITHOUT_LOAD: Final = ("none", "band")


def next_prescription(
    history: Sequence[Exposure],
    current: Sequence[TargetSet],
    policy: str,
    rack: Rack,
    *,
    role: str,
    experience: str,
    load_entry: str,
    on: date,
    pattern: str = "",
    rep_unit: str = "reps",
    rep_range: tuple[int, int] | None = None,
    bodyweight: float | None = None,
    bodyweight_fraction: float = 0.0,
    k: float = 1.0,
    age: int | None = None,
    rir_trusted: bool = True,
    deload: bool = False,
    pain: str = "go_on",
    return_to: float | None = None,
    estimate: MappedEstimate | None = None,
    new_client: bool = False,
    floor: EffortFloor | None = None,
    caps: Caps | None = None,
    levers: Sequence[str] = LEVERS,
    every_days: int = WEEK_DAYS,
) -> NextStep:
    """What to do next time, and why.

    ``history`` are the exercise's exposures at this place and in this slot, in any order; those after
    ``on`` (the day planned for) are left out. ``current`` is the prescription planned so far.
    ``rep_range`` is the slot's own range where the current one may have outgrown it, and the range of
    seconds or metres where those are counted. ``pain`` is the action in force (cautions.pain_action);
    ``return_to`` the load worked with before pain. ``estimate`` carries a maximum over to a new exercise.
    ``every_days`` is how often the slot comes round as planned: a fortnight between two sessions is an absence in
    a weekly plan, and none in a cycle of fourteen days.
    All loads in one unit, that of ``rack``. ValueError for words that are no policy, role, experience,
    load entry or action.

    Coaching practice within ACSM 2009; see the modules beside this one for each figure's source.
    """
    for word, words in (
        (policy, POLICIES),
        (role, ROLES),
        (experience, EXPERIENCES),
        (load_entry, LOAD_ENTRIES),
        (pain, ACTIONS),
    ):
        if word not in words:
            raise ValueError(f"{word!r} is none of {', '.join(words)}")
    lever = Lever(load_entry, bodyweight, bodyweight_fraction, rack.ordinal, load_entry == "assisted")
    work = tuple(one for one in current if one.kind != "warm_up")
    target = target_of(work)
    base_low, base_high = rep_range or (target.low, target.high)
    case = Situation(
        current=work,
        sessions=tuple(read(history, on, rir_trusted, lever)),
        policy=policy,
        rack=rack if rack.falls == lever.falls else replace(rack, falls=lever.falls),
        lever=lever,
        role=role,
        experience=experience,
        on=on,
        target=target,
        base_low=base_low,
        base_high=base_high,
        pressing=pattern in PRESSES,
        timed=rep_unit if rep_unit != "reps" else "",
        k=k,
        age=age,
        caps=caps or Caps(),
        floor=floor or EffortFloor(),
        levers=tuple(levers),
        estimate=estimate,
        return_to=return_to,
        new_client=new_client,
        every_days=every_days,
    )
    return _bounded(case, _decide(case, pain, deload))


def _decide(case: Situation, pain: str, deload: bool) -> NextStep:
    """The first that applies: pain, no history, absence, deload, coming back, then the policy."""
    if pain == "stop":
        return case.answer("stop", (), [Because("pain_stop")], plain=False)
    if not case.trained:
        return _without_history(case)
    if pain == "freeze":
        return _frozen(case)
    if pain == "return":
        return _after_pain(case)
    row = steps.absence(case.away(case.days_off or 0), case.age)
    if row.days >= steps.ABSENCE_FROM_DAYS:
        return _after_absence(case, row)
    if deload:
        sets = steps.deload(case.at(case.base), case.rack, case.lever)
        percent = round(100 * (1 - steps.DELOAD_LOAD))
        reason = Because("deload", {"sets": len(sets), "percent": percent, "rir": steps.DELOAD_RIR})
        return case.answer("deload", sets, [case.trained[-1].used(), reason], plain=True)
    if any(one.stopped_for_pain for one in case.trained[-1].sets):
        reasons = [case.trained[-1].used(), Because("stopped_for_pain")]
        return case.answer("same", case.at(case.base), reasons, plain=False)
    if case.sessions[-1].deload:
        return _after_deload(case)
    return _coming_back(case) or ordinary(case)


def _without_history(case: Situation) -> NextStep:
    planned = in_short(case.current).load
    sets = with_rir(case.current, FIRST_RIR) if case.current else case.current
    reasons: list[Because] = []
    if case.new_client:
        count = sum(one.kind in WORK_KINDS for one in sets)
        sets = steps.fewer(sets, steps.share_of_sets(count, FIRST_SESSION_SETS))
        reasons.append(Because("first_session_fewer_sets", {"percent": round(100 * FIRST_SESSION_SETS)}))
    if planned is not None:
        return case.answer("same", case.current, [Because("no_history_load_planned")], plain=True)
    if case.lever.load_entry in WITHOUT_LOAD or case.lever.or_bodyweight(None) is not None:
        return case.answer("same", sets, [*reasons, Because("no_history_no_load_needed")], plain=True)
    if case.estimate is not None and not case.timed and not case.rack.ordinal:
        found = _from_estimate(case)
        if found is not None:
            load, why = found
            loaded = tuple(replace(one, load=load) for one in sets)
            return case.answer("first_load", loaded, [*reasons, why], plain=False)
    reasons.append(Because("no_history_find_load", {"rir": FIRST_RIR}))
    return case.answer("find_load", sets, reasons, plain=True, find_load=True)


def _from_estimate(case: Situation) -> tuple[float, Because] | None:
    """A careful first load from a like exercise's maximum; None where nothing on offer is light enough."""
    estimate = case.estimate
    if estimate is None:
        return None
    share = MAPPED_SHARE_OTHER if estimate.other_implement else MAPPED_SHARE
    rir = max(case.target.rir or 0.0, FIRST_RIR)
    load = case.rack.at_most(load_for(share * estimate.e1rm, case.target.low, rir, case.k))
    if load is None:
        return None
    params: Params = {"source": estimate.source, "e1rm": round(estimate.e1rm, 1), "percent": round(100 * share)}
    return load, Because("from_like_exercise", params)


def _frozen(case: Situation) -> NextStep:
    """Pain of 3 or 4: lighter, further from failure, and no progression until it has settled."""
    usual = case.return_to if case.return_to is not None else case.base
    sets = case.at(case.base)
    reasons = [case.trained[-1].used(), Because("pain_freeze", {"rir": RIR_FLOOR_IN_PAIN})]
    if usual is not None and case.base is not None and case.rack.loads:
        light = steps.lighter(usual, LIGHTER_SHARE, case.rack, case.lever)
        if light != usual and case.lever.at_least_as_hard(case.base, light):
            sets = case.at(light)
            reasons.append(Because("pain_lighter", {"old": usual, "new": light}))
    offers = [Offer("variant_without_joint"), Offer("shorter_range")]
    return case.answer("freeze", with_rir(sets, RIR_FLOOR_IN_PAIN), reasons, plain=False, offers=offers)


def _after_pain(case: Situation) -> NextStep:
    usual = case.return_to if case.return_to is not None else case.base
    if usual is None or not case.rack.loads:
        reasons = [case.trained[-1].used(), Because("pain_return")]
        return case.answer("return", case.at(case.base), reasons, plain=False)
    light = steps.lighter(usual, RETURN_SHARE, case.rack, case.lever)
    if case.base is not None and (light == usual or case.lever.at_least_as_hard(light, case.base)):
        light = case.base  # what went well last is light enough
    params = {"percent": round(100 * RETURN_SHARE), "old": usual}
    reasons = [case.trained[-1].used(), Because("pain_return_load", params)]
    return case.answer("return", case.at(light), reasons, plain=False)


def _after_absence(case: Situation, row: steps.Absence) -> NextStep:
    days = case.days_off or 0
    last = case.trained[-1]
    count = sum(one.kind in WORK_KINDS for one in case.current)
    sets = steps.fewer(case.current, steps.share_of_sets(count, row.sets))
    params: Params = {
        "days": days,
        "percent": round(100 * row.load),
        "sets_percent": round(100 * row.sets),
        "weeks": row.weeks,
    }
    reasons = [last.used(), Because("absence", params)]
    base = case.base
    if base is None or not case.rack.loads:
        return case.answer("return", _reloaded(case, sets, base), reasons, plain=False)
    light = steps.lighter(base, row.load, case.rack, case.lever)
    if days >= steps.FIND_AGAIN_FROM_DAYS and not case.rack.ordinal:
        empty = tuple(replace(one, load=None) for one in with_rir(sets, FIRST_RIR))
        reasons.append(Because("absence_find_load", {"most": light}))
        return case.answer("return", empty, reasons, plain=False, find_load=True)
    best = case.best()
    if best is not None and case.target.rir is not None:
        raw = case.lever.entered(load_for(best * row.load, case.target.low, case.target.rir, case.k))
        from_best = None if raw is None else _rounded_easy(case, raw)
        if from_best is not None and case.lever.at_least_as_hard(light, from_best):
            light = from_best
    if case.lever.at_least_as_hard(light, base):
        reasons.append(Because("nothing_lighter_on_offer", {"load": light}))
    return case.answer("return", _reloaded(case, sets, light), reasons, plain=False)


def _rounded_easy(case: Situation, load: float) -> float | None:
    return case.rack.at_least(load) if case.lever.falls else case.rack.at_most(load)


def _reloaded(case: Situation, sets: Sequence[TargetSet], load: float | None) -> tuple[TargetSet, ...]:
    if load is None:
        return tuple(sets)
    return steps.reload(sets, in_short(case.current).load, load, case.rack)


def _after_deload(case: Situation) -> NextStep:
    """Back to the last load that went well; nothing is raised in the first session."""
    good = [one for one in case.trained if one.load is not None and not one.missed(case.target, case.lever)]
    session = good[-1] if good else case.trained[-1]
    params = {} if session.load is None else {"load": session.load}
    reasons = [session.used(), Because("after_deload", params)]
    return case.answer("after_deload", case.at(session.load), reasons, plain=True)


def _coming_back(case: Situation) -> NextStep | None:
    """Steps of 5 % after an absence or pain, up to the load before it; None when there is nothing to regain."""
    goal, since, row = _to_regain(case)
    base = case.base
    if goal is None or base is None or case.lever.at_least_as_hard(base, goal):
        return None
    last = case.trained[-1]
    if last.missed(case.target, case.lever):
        return None
    sets = case.current
    if row is not None and since is not None and case.on < since + timedelta(weeks=row.weeks):
        count = sum(one.kind in WORK_KINDS for one in sets)
        sets = steps.fewer(sets, steps.share_of_sets(count, row.sets))
    step = steps.hardest_within(base, RETURN_RISE, case.rack, case.lever, goal)
    if step is None:
        step = steps.hardest_within(base, case.caps.rise_most, case.rack, case.lever, goal)
    if step is None:
        return None
    reasons = [last.used()]
    if not within_week(case, step):
        reasons.append(Because("week_cap", {"percent": round(100 * case.caps.rise_week)}))
        return case.answer("same", _reloaded(case, sets, base), reasons, plain=True)
    reasons.append(Because("returning", {"goal": goal, "old": base, "new": step}))
    return case.answer("returning", _reloaded(case, sets, step), reasons, plain=case.return_to is None)


def _to_regain(case: Situation) -> tuple[float | None, date | None, steps.Absence | None]:
    """The load to come back to, the day of return and the row of the absence, if one is being made good."""
    if case.return_to is not None:
        return case.return_to, None, None
    for before, after in reversed(list(pairwise(case.sessions))):
        row = steps.absence(case.away((after.day - before.day).days), case.age)
        if row.days < steps.ABSENCE_FROM_DAYS:
            continue
        if row.days >= steps.FIND_AGAIN_FROM_DAYS or case.on > after.day + 2 * timedelta(weeks=row.weeks):
            break
        loads = [one.load for one in case.trained if one.day <= before.day and one.load is not None]
        return (loads[-1] if loads else None), after.day, row
    return None, None, None


def _bounded(case: Situation, step: NextStep) -> NextStep:
    """The client's own limits on top: effort, rest, share of the maximum."""
    floor = case.floor
    sets = step.sets
    reasons = list(step.reasons)
    needs_rir = floor.rir > 0 and any(one.rir is None or one.rir < floor.rir for one in sets)
    if needs_rir:
        sets = with_rir(sets, floor.rir)
        reasons.append(Because("rir_floor", {"rir": floor.rir}))
    if floor.rest_s is not None and any(one.rest_s is not None and one.rest_s < floor.rest_s for one in sets):
        least = floor.rest_s
        sets = tuple(replace(one, rest_s=max(one.rest_s or least, least)) for one in sets)
        reasons.append(Because("rest_floor", {"rest_s": least}))
    load, best = in_short(sets).load, case.best()
    if floor.share_of_max is not None and best is not None and load is not None:
        most = case.lever.entered(best * floor.share_of_max)
        moved = case.lever.moved(load)
        if most is not None and moved is not None and moved > best * floor.share_of_max + TINY:
            light = _rounded_easy(case, most)
            if light is not None:
                sets = steps.reload(sets, load, light, case.rack)
                reasons.append(Because("share_of_max", {"percent": round(100 * floor.share_of_max)}))
    if sets == step.sets:
        return step
    return replace(step, sets=sets, new=in_short(sets), reasons=tuple(reasons), plain=False)
