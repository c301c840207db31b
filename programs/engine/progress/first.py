"""The first time: without a history in this slot, on this machine, or since a new baseline."""

from dataclasses import replace
from typing import Final

from programs.engine.constants import FIRST_SESSION_SETS_SHARE
from programs.engine.progress import steps
from programs.engine.progress.history import best_estimate
from programs.engine.progress.situation import Situation, with_rir
from programs.engine.progress.terms import NextStep, in_short
from programs.engine.strength import load_for
from programs.engine.terms import Because, Params

MAPPED_SHARE: Final = 0.90  # of an estimate carried over (coaching practice)
MAPPED_SHARE_OTHER: Final = 0.80  # from another implement
FIRST_RIR: Final = 3.0
WITHOUT_LOAD: Final = ("none", "band")


def without_history(case: Situation) -> NextStep:
    """What was planned, or a careful load from what is known besides, or the search for one."""
    afresh = case.new_machine or case.baseline_on is not None
    planned = None if afresh else in_short(case.current).load
    sets = with_rir(case.current, FIRST_RIR)
    if afresh:
        sets = tuple(replace(one, load=None) for one in sets)
    reasons: list[Because] = []
    if case.baseline_on is not None:
        reasons.append(Because("new_baseline", {"day": case.baseline_on.isoformat()}))
    if case.new_machine:
        reasons.append(Because("new_machine"))
    if case.new_client:
        sets = steps.fewer(sets, steps.share_of_sets(case.count, FIRST_SESSION_SETS_SHARE))
        reasons.append(Because("first_session_fewer_sets", {"percent": round(100 * FIRST_SESSION_SETS_SHARE)}))
    if planned is not None:
        kept = sets if case.new_client else case.current
        return case.answer("same", kept, [*reasons, Because("no_history_load_planned")], plain=True)
    if case.lever.load_entry in WITHOUT_LOAD or case.lever.or_bodyweight(None) is not None:
        return case.answer("same", sets, [*reasons, Because("no_history_no_load_needed")], plain=True)
    found = None if case.timed or case.rack.ordinal else _from_beside(case) or _from_estimate(case)
    if found is not None:
        load, rir, why = found
        loaded = tuple(replace(one, load=load) for one in (with_rir(sets, rir) if rir is not None else sets))
        return case.answer("first_load", loaded, [*reasons, *why], plain=False)
    reasons.append(Because("no_history_find_load", {"rir": FIRST_RIR}))
    return case.answer("find_load", sets, reasons, plain=not afresh, find_load=True)


def _from_beside(case: Situation) -> tuple[float, float | None, list[Because]] | None:
    """From the same exercise on another day: its maximum, taken down as after an absence, in the new range."""
    trained = [one for one in case.beside if not one.deload]
    best = None if case.stale else best_estimate(trained, case.lever, case.k)
    if best is None:
        return None
    last = trained[-1]
    row = steps.absence(case.away((case.on - last.day).days), case.age)
    if row.days >= steps.FIND_AGAIN_FROM_DAYS:
        return None
    rir = max(case.target.rir or 0.0, FIRST_RIR)
    wanted = case.lever.entered(load_for(best * row.load, case.target.low, rir, case.k))
    load = None if wanted is None else case.rack.not_harder(wanted)
    if load is None:
        return None
    params: Params = {"day": last.day.isoformat(), "e1rm": round(best, 1), "percent": round(100 * row.load)}
    return load, rir, [last.used(), Because("from_other_day", params)]


def _from_estimate(case: Situation) -> tuple[float, float | None, list[Because]] | None:
    """A careful first load from a like exercise's maximum; None where nothing on offer is light enough."""
    estimate = case.estimate
    if estimate is None:
        return None
    share = MAPPED_SHARE_OTHER if estimate.other_implement else MAPPED_SHARE
    rir = max(case.target.rir or 0.0, FIRST_RIR)
    wanted = case.lever.entered(load_for(share * estimate.e1rm, case.target.low, rir, case.k))
    load = None if wanted is None else case.rack.not_harder(wanted)
    if load is None:
        return None
    params: Params = {"source": estimate.source, "e1rm": round(estimate.e1rm, 1), "percent": round(100 * share)}
    return load, None, [Because("from_like_exercise", params)]
