"""The first load of an exercise: from what the client did before, carefully; else a way to find one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clients.models import RecentSet
from programs.engine import strength, terms
from programs.engine.cautions import EffortFloor
from programs.engine.progress.steps import FIND_AGAIN_FROM_DAYS, absence, return_load
from programs.engine.racks import Rack
from programs.engine.terms import Because

CONFIDENCE_ORDER = {"good": 0, "fair": 1, "weak": 2}


@dataclass(frozen=True, slots=True)
class FirstLoad:
    """``load`` in the rack's unit, or None; ``find`` asks for the load-finding procedure on the sheet."""

    load: float | None
    find: bool
    reasons: tuple[Because, ...]


def first_load(
    exercise: terms.Exercise,
    rack: Rack,
    *,
    reps: int | None,
    rir: float,
    recent: Sequence[RecentSet],
    exposures: Sequence[terms.Exposure],
    bodyweight: float | None,
    on: date,
    age: int | None,
    effort: EffortFloor,
) -> FirstLoad:
    """Rounded down on the rack, after the absence table, under the client's share of the maximum."""
    if exercise.load_entry == "none" or exercise.rep_unit != "reps" or reps is None:
        start = 0.0 if exercise.load_entry == "added" and 0.0 in rack.loads else None
        weightless = exercise.load_entry == "none" or start is not None
        return FirstLoad(start, not weightless and bool(rack.loads), (Because("load.by_feel"),))
    known = _best(exercise, rack.unit, recent, exposures, bodyweight)
    if known is None or rack.ordinal:
        if exercise.implement == "bodyweight" and exercise.load_entry == "added":
            return FirstLoad(0.0, False, (Because("load.bodyweight_first"),))
        return FirstLoad(None, True, (Because("load.find"),))
    maximum, done = known
    days = max(0, (on - done.day).days)
    if days >= FIND_AGAIN_FROM_DAYS:
        return FirstLoad(None, True, (Because("load.too_long_ago", {"days": days}),))
    cap = effort.share_of_max
    share = min(strength.share_of_max(reps, rir), cap or 1.0)
    factor = absence(days, age).load
    moved = maximum * factor * share
    entered = strength.entered_load(moved, exercise.load_entry, bodyweight, exercise.bodyweight_fraction)
    if entered is None:
        return FirstLoad(None, True, (Because("load.find"),))
    if exercise.load_entry == "assisted":
        load = rack.at_least(max(entered, 0.0))
    elif exercise.load_entry == "added" or cap is not None:
        load = rack.at_most(max(entered, 0.0))
    else:
        load = return_load(maximum, days, reps, rir, rack, age=age)
    if load is None:
        return FirstLoad(rack.lightest, False, (Because("load.lightest_is_heavier", {"wanted": round(entered, 1)}),))
    said: terms.Params = {"load": done.load, "unit": rack.unit, "reps": done.reps, "rir": done.rir, "days": days}
    reasons = [Because("load.from_before", said)]
    if factor < 1:
        reasons.append(Because("load.after_absence", {"days": days, "share": factor}))
    if cap is not None and cap < strength.share_of_max(reps, rir):
        reasons.append(Because("load.share_capped", {"share": cap}))
    return FirstLoad(load, False, tuple(reasons))


@dataclass(frozen=True, slots=True)
class _Known:
    day: date
    load: float
    reps: int
    rir: float


def _best(
    exercise: terms.Exercise,
    unit: str,
    recent: Sequence[RecentSet],
    exposures: Sequence[terms.Exposure],
    bodyweight: float | None,
) -> tuple[float, _Known] | None:
    """The estimate to stand on: the newest day's most trusted one."""
    found: list[tuple[tuple[int, int, float], float, _Known]] = []
    rows = [
        _Known(row.done_on, value, row.reps, float(row.rir))
        for row in recent
        if row.rir is not None and row.load is not None and (value := row.load.in_unit(unit)) is not None
    ]
    rows += [
        _Known(one.day, done.load, done.reps, done.rir)
        for one in exposures
        for done in one.done
        if done.kind == "work" and done.load is not None and done.reps and done.rir is not None
    ]
    for row in rows:
        moved = strength.system_load(row.load, exercise.load_entry, bodyweight, exercise.bodyweight_fraction)
        if moved is None:
            continue
        estimate = strength.estimate(moved, row.reps, row.rir)
        if estimate is None:
            continue
        rank = (-row.day.toordinal(), CONFIDENCE_ORDER[estimate.confidence], -estimate.e1rm)
        found.append((rank, estimate.e1rm, row))
    if not found:
        return None
    _rank, maximum, row = min(found, key=lambda entry: entry[0])
    return maximum, row
