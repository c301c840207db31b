"""Watches every prescription of a year, and shares nothing with what makes them: own figures, own sums, own racks.

The caps are written out here again, the racks are enumerated plate by plate, the curve is computed anew, and the
client's limits come from who the client is. What this finds broken is broken, whatever progression thinks of it.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta
from functools import lru_cache
from itertools import product
from typing import Final

from programs.engine.cohort.lifts import BAR, HELP, SETTINGS, STACK, Equipment, Lift
from programs.engine.cohort.people import Person
from programs.engine.cohort.year import Choice, Question
from programs.engine.terms import Exposure, SetDone, TargetSet

# Coaching practice; the upper bound of a rise is the 2-10 % of ACSM 2009.
RISE_USUAL: Final = 0.05
RISE_MOST: Final = 0.10
RISE_WEEK: Final = 0.10
FALL_MOST: Final = 0.10
MOST_REPS: Final = 30
# Days away, and the share of the load that is the most to come back to.
AWAY: Final = ((11, 0.95), (21, 0.90), (35, 0.85), (56, 0.80), (91, 0.70), (181, 0.60))
OLDER_THAN: Final = 65
# An older adult's limits at the start and later, and those of who may train moderately: reserve, share of the max.
OLDER_AT_FIRST: Final = (3.0, 0.60)
OLDER_LATER: Final = (1.0, 0.85)
MODERATELY: Final = (3.0, 0.70)
FIRST_WEEKS: Final = 8
POUND: Final = 0.45359237
NEAR: Final = 0.002  # kilograms: what is made from pounds is written with three decimals
TINY: Final = 1e-6


def watch(asked: Question, choice: Choice) -> list[str]:
    """What a choice breaks, in a word each with the figures; nothing for one that keeps every bound."""
    proposed = choice.sets if choice.proposed is None else choice.proposed
    found = [*_bounds(asked, proposed), *_caps(asked, proposed)]
    if choice.proposed is not None:
        found += [*_bounds(asked, choice.sets), *_by_hand(asked, choice.sets)]
    where = f"{asked.person.number} {asked.lift.key} {asked.on}"
    return [f"{where}: {one}" for one in found]


def _bounds(asked: Question, sets: Sequence[TargetSet]) -> Iterator[str]:
    """The rack and the client's limits."""
    lift = asked.lift
    reserve, share = _limits(asked.person, asked.week)
    offered = loads_of(lift.equipment)
    strongest = _strongest(asked)
    lightest = min(_moved(lift, load, asked.person.bodyweight) for load in offered)
    for one in sets:
        if one.load is None:
            yield "no load"
            continue
        if all(abs(one.load - load) > NEAR for load in offered):
            yield f"rack: {one.load} cannot be made"
        if (one.rir or 0.0) < reserve:
            yield f"limit: {one.rir} in reserve, {reserve} at least"
        if (one.reps_low or 0) < lift.low or (one.reps_high or 0) > MOST_REPS:
            yield f"range: {one.reps_low} to {one.reps_high}"
        moved = _moved(lift, one.load, asked.person.bodyweight)
        if share is None or strongest is None or lift.equipment.kind == SETTINGS:
            continue
        if moved > share * strongest + TINY and moved > lightest + TINY:
            yield f"limit: {moved:.1f} of {strongest:.1f}, at most {share}"


def _caps(asked: Question, sets: Sequence[TargetSet]) -> Iterator[str]:
    """How far a proposal may go from what was last worked with."""
    worked = [one for one in asked.history if not one.deload]
    load = next((one.load for one in sets), None)
    last = worked[-1].done[0].load if worked else None
    if load is None or last is None:
        return
    lift, body = asked.lift, asked.person.bodyweight
    if lift.equipment.kind == SETTINGS:
        if load > last + 1:
            yield f"rise: setting {load} after {last}"
    else:
        now, then = _moved(lift, load, body), _moved(lift, last, body)
        change = now / then - 1
        if change > RISE_MOST + TINY:
            yield f"rise: {change:.1%} after {last}"
        elif change > RISE_USUAL + TINY:
            if not _next_up(lift, last, load):
                yield f"rise: {change:.1%} and not the next load after {last}"
            if not _was_done(asked, now) and _expected(asked, change) < lift.low:
                yield f"rise: {change:.1%} without the repetitions for it"
        week = _moved_in_a_week(asked, worked)
        if change > TINY and now > min(week) * (1 + RISE_WEEK) + TINY:
            yield f"week: {now:.1f} after {min(week):.1f}"
        if change < -FALL_MOST - TINY and not _may_fall_far(asked, then):
            yield f"fall: {change:.1%} after {last}"
        yield from _after_time_off(asked, now, then)
    if asked.pain == "freeze" and _moved(lift, load, body) > _moved(lift, last, body) + TINY:
        yield f"pain: {load} after {last}"
    if asked.deload and len(sets) > math.ceil(lift.sets / 2):
        yield f"easier week: {len(sets)} sets"


def _by_hand(asked: Question, sets: Sequence[TargetSet]) -> Iterator[str]:
    """A coach's own step: the next load on offer, and up only with the repetitions for it or back to a known load."""
    worked = [one for one in asked.history if not one.deload]
    load, last = sets[0].load, worked[-1].done[0].load
    if load is None or last is None or abs(load - last) <= NEAR:
        return
    lift, body = asked.lift, asked.person.bodyweight
    now, then = _moved(lift, load, body), _moved(lift, last, body)
    if now > then:
        if not _next_up(lift, last, load):
            yield f"by hand: {load} is not the next after {last}"
        if not _was_done(asked, now) and _expected(asked, now / then - 1) < lift.low:
            yield f"by hand: {load} after {last} without the repetitions for it"
    elif not _next_up(lift, load, last):
        yield f"by hand: {load} is not the one below {last}"


@lru_cache(maxsize=32)
def loads_of(equipment: Equipment) -> tuple[float, ...]:
    """Every load that can be made, by trying each number of each plate on both sides, or each hole with each add-on."""
    if equipment.kind == SETTINGS:
        return tuple(float(number + 1) for number in range(equipment.settings))
    if equipment.kind == BAR:
        per_side = [
            [number * weight * (POUND if unit == "lb" else 1.0) for number in range(count // 2 + 1)]
            for weight, unit, count in equipment.plates
        ]
        return tuple(sorted({round(equipment.bar + 2 * sum(side), 3) for side in product(*per_side)}))
    if equipment.kind == STACK:
        return tuple(hole + sum(added) for hole in equipment.weights for added in product(*_with(equipment.add_ons)))
    nothing = () if equipment.kind == "weights" else (0.0,)
    return (*nothing, *equipment.weights)


def _with(add_ons: Sequence[float]) -> list[tuple[float, float]]:
    return [(0.0, weight) for weight in add_ons]


def _moved(lift: Lift, load: float, bodyweight: float) -> float:
    """Kilograms moved: the body's share with what is added, or less what helps; a setting is only its number."""
    if lift.fraction > 0:
        return lift.fraction * bodyweight + (-load if lift.equipment.kind == HELP else load)
    return load


def _next_up(lift: Lift, last: float, load: float) -> bool:
    """Whether nothing on offer lies between the two; a place may leave out odd mixtures of what can be made."""
    low, high = min(last, load), max(last, load)
    return not any(low + NEAR < one < high - NEAR for one in lift.rack.loads)


def _limits(who: Person, week: int) -> tuple[float, float | None]:
    """The least reserve and the most of the maximum."""
    held = [MODERATELY] if who.moderate else []
    if who.age >= OLDER_THAN:
        starts = who.lifter.experience == "novice" and week < FIRST_WEEKS
        held.append(OLDER_AT_FIRST if starts else OLDER_LATER)
    if not held:
        return 0.0, None
    return max(reserve for reserve, _share in held), min(share for _reserve, share in held)


def _share_at(reps: float) -> float:
    """Wathan 1994, one repetition being the maximum."""
    return (48.8 + 53.8 * math.exp(-0.075 * reps)) / (48.8 + 53.8 * math.exp(-0.075))


def _reps_at(share: float) -> float:
    if share > 1:
        return 0.0
    inside = (share * (48.8 + 53.8 * math.exp(-0.075)) - 48.8) / 53.8
    return -math.log(inside) / 0.075 if inside > 0 else math.inf


def _rated(asked: Question, one: SetDone) -> bool:
    believed = asked.trusted or asked.person.lifter.experience != "novice" or asked.week >= 26 - 8
    return believed and one.rir is not None and not one.as_planned and bool(one.reps) and one.load is not None


def _strongest(asked: Question) -> float | None:
    """The highest maximum that the log speaks for: the latest session's, and further back while sets were far from
    the limit, where they only show that it was not less."""
    best: float | None = None
    for exposure in reversed([one for one in asked.history if not one.deload]):
        shown = []
        for one in exposure.done:
            if not _rated(asked, one) or one.load is None or one.reps is None or one.rir is None:
                continue
            reps = min(one.reps, 15) + min(one.rir, 4.0, max(0.0, 15.0 - one.reps))
            moved = _moved(asked.lift, one.load, asked.person.bodyweight)
            shown.append((moved / _share_at(reps), one.reps + one.rir > reps))
        if shown:
            value, easy = max(shown)
            best = value if best is None else max(best, value)
            if not easy:
                break
    return best


def _expected(asked: Question, change: float) -> int:
    """Repetitions of the first set after a step, by the last session or the best of the last three."""
    rir = max(asked.lift.rir, _limits(asked.person, asked.week)[0])
    worked = [one for one in asked.history if not one.deload]
    load = worked[-1].done[0].load
    found = []
    for exposure in worked[-3:]:
        for one in exposure.done:
            if one.load == load and one.reps:
                left = one.rir if _rated(asked, one) and one.rir is not None else rir
                found.append(_reps_at(_share_at(one.reps + left) * (1 + change)) - rir)
    return math.floor(max(found, default=0.0) + TINY)


def _was_done(asked: Question, moved: float) -> bool:
    """Whether as much was worked with before."""
    return any(
        one.load is not None and _moved(asked.lift, one.load, asked.person.bodyweight) >= moved - NEAR
        for exposure in asked.history
        if not exposure.deload
        for one in exposure.done
    )


def _moved_in_a_week(asked: Question, worked: Sequence[Exposure]) -> list[float]:
    """What was moved in the last seven days and in force as they began; a first rise is left to the cap of its own."""
    since = asked.on - timedelta(days=7)
    within = [one for one in worked if one.day > since]
    before = [one for one in worked if one.day <= since][-1:]
    loads = [one.done[0].load for one in (*before, *within)]
    return [_moved(asked.lift, load, asked.person.bodyweight) for load in loads if load is not None]


def _may_fall_far(asked: Question, then: float) -> bool:
    """Pain, an easier week, time off, a load above the client's share."""
    days = (asked.on - asked.history[-1].day).days
    share, strongest = _limits(asked.person, asked.week)[1], _strongest(asked)
    over = share is not None and strongest is not None and then > share * strongest
    return asked.pain != "go_on" or asked.deload or days >= AWAY[0][0] or over


def _after_time_off(asked: Question, now: float, then: float) -> Iterator[str]:
    days = (asked.on - asked.history[-1].day).days
    rows = [number for number, (least, _share) in enumerate(AWAY) if days >= least]
    if not rows:
        return
    row = rows[-1] + (asked.person.age > OLDER_THAN)
    share = AWAY[min(row, len(AWAY) - 1)][1]
    lightest = min(_moved(asked.lift, one, asked.person.bodyweight) for one in loads_of(asked.lift.equipment))
    if now > share * then + TINY and now > lightest + TINY:
        yield f"time off: {now / then:.0%} after {days} days"
