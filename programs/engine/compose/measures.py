"""Doses and minutes as composing counts them: whole quarter sets a cycle, seconds a session.

The figures are those of ``dose`` and ``minutes``; here they are brought into the form that a search can add up.
"""

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final

from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.engine.constants import TRANSITION_S
from programs.engine.dose import Judgement, Range, Work, group_shares, judge, session_limits, target_range
from programs.engine.minutes import Timed, block_seconds, session_seconds, timed
from programs.engine.ramp import usual_warm_ups
from programs.engine.terms import Exercise, Pick
from programs.engine.vocabulary import AUDITED_GROUPS

WEEK_DAYS: Final = 7
QUARTERS: Final = 4
ROUNDING: Final = 1e-9  # what a sum of floats may be off by

# The same few prescriptions are timed thousands of times in a search.
_timed = lru_cache(maxsize=4096)(timed)

Member = tuple[Slot, int, Exercise, int]  # slot, occurrence, exercise, sets


def group_quarters(exercise: Exercise) -> dict[str, int]:
    """Quarter sets that one set counts for each group."""
    return {group: round(share * QUARTERS) for group, share in group_shares(exercise.regions).items()}


def weekly_range(request: WeekRequest, group: str) -> Range | None:
    """The range that applies to a group in this request: the practice's own, or the published one."""
    if request.ranges is None:
        return target_range(group, request.experience, request.priorities.get(group, "usual"), request.age)
    if group not in request.ranges:
        return None
    low, high = request.ranges[group]
    return Range(low, high, low, high)


def range_quarters(request: WeekRequest) -> dict[str, tuple[int, int]]:
    """Lowest and highest quarter sets a cycle, by group, in the order of the groups.

    Rounded inwards, so that what keeps to them is in range when it is brought to seven days again.
    """
    a_cycle = QUARTERS * request.cycle_days / WEEK_DAYS
    listed = AUDITED_GROUPS if request.ranges is None else sorted(request.ranges)
    found = {group: weekly_range(request, group) for group in listed}
    return {
        group: _inwards(applies.low * a_cycle, applies.high * a_cycle)
        for group, applies in found.items()
        if applies is not None
    }


def _inwards(low: float, high: float) -> tuple[int, int]:
    inner = math.ceil(low - ROUNDING), math.floor(high + ROUNDING)
    return inner if inner[0] <= inner[1] else (round(low), round(high))


def session_ceiling(request: WeekRequest, group: str) -> float | None:
    """Most counted sets of a group in one session; None where there is no limit."""
    if request.session_ceilings is not None:
        return request.session_ceilings.get(group)
    return session_limits(group, request.experience)[1] if group in AUDITED_GROUPS else None


def ceiling_quarters(request: WeekRequest) -> dict[str, int]:
    listed = AUDITED_GROUPS if request.session_ceilings is None else sorted(request.session_ceilings)
    found = {group: session_ceiling(request, group) for group in listed}
    return {group: int(ceiling * QUARTERS) for group, ceiling in found.items() if ceiling is not None}


def judged(request: WeekRequest, group: str, counted: float) -> Judgement:
    """A group's weekly sets against the range that applies in this request."""
    if request.ranges is None:
        priority = request.priorities.get(group, "usual")
        return judge(counted, group, request.experience, priority, request.age)
    applies = weekly_range(request, group)
    if applies is None:
        return Judgement("watched")
    if counted < applies.low:
        return Judgement("under", False, applies, applies.low - counted)
    if counted > applies.high:
        return Judgement("over", False, applies, counted - applies.high)
    return Judgement("in_range", False, applies)


def work_of(request: WeekRequest, day: str, picks: Iterable[Pick]) -> list[Work]:
    """The picks of one day type as work, sets brought to seven days."""
    factor = WEEK_DAYS / request.cycle_days
    return [Work(request.library[pick.exercise].regions, pick.sets * factor, (day, pick.occurrence)) for pick in picks]


def reps_for(slot: Slot, occurrence: int, exercise: Exercise) -> tuple[int, int]:
    """The reps (or seconds, or metres) asked of an exercise: the slot's range where the exercise suits it.

    An exercise that is not counted in reps, or whose own range lies wholly outside, keeps its own.
    """
    return reps_within(slot.reps_on(occurrence), exercise)


def reps_within(wanted: tuple[int, int], exercise: Exercise) -> tuple[int, int]:
    """The same for a slot's range alone."""
    low, high = wanted
    if exercise.rep_unit != "reps" or exercise.rep_high < low or exercise.rep_low > high:
        return exercise.rep_low, exercise.rep_high
    return low, high


def timed_member(member: Member) -> Timed:
    """One exercise as ``minutes`` times it, with the warm-ups that its role usually gets.

    Without a load the ramp is not known; the scheme of its role is taken.
    """
    slot, occurrence, exercise, sets = member
    low, high = reps_for(slot, occurrence, exercise)
    return _timed(
        sets,
        (low + high) / 2,
        exercise.rest_s if slot.rest_s is None else slot.rest_s,
        tempo=(slot.tempo or exercise.tempo) if exercise.rep_unit == "reps" else "",
        implement=exercise.implement,
        unilateral=exercise.unilateral,
        rep_unit=exercise.rep_unit,
        warm_ups=usual_warm_ups(exercise, high),
    )


def superset_blocks(day: DayType) -> tuple[tuple[int, ...], ...]:
    """The slots of a day as blocks of slot numbers: neighbours of one superset together, others alone."""
    blocks: list[list[int]] = []
    for number, slot in enumerate(day.slots):
        if blocks and slot.superset and slot.superset == day.slots[blocks[-1][-1]].superset:
            blocks[-1].append(number)
        else:
            blocks.append([number])
    return tuple(tuple(block) for block in blocks)


def members_seconds(members: Sequence[Member]) -> float:
    """Seconds of one block, an exercise alone or a superset."""
    return block_seconds([timed_member(member) for member in members])


def around_seconds(request: WeekRequest, day: DayType) -> float:
    """Seconds of a session before its first exercise: the general warm-up and the free lines."""
    return session_seconds([], general_warm_up_s=request.general_warm_up_s, extra_s=day.extra_minutes * 60)


def blocks_seconds(around_s: float, blocks_s: float, blocks: int) -> float:
    """Seconds of a session whose filled blocks take so many seconds together; the sum that ``minutes`` makes."""
    return around_s + blocks_s + max(0, blocks - 1) * TRANSITION_S


def day_seconds(request: WeekRequest, day: DayType, occurrence: int, picks: Iterable[Pick]) -> float:
    """Seconds of one session with its picks."""
    at = {pick.slot: pick for pick in picks if pick.occurrence == occurrence}
    blocks = []
    for numbers in superset_blocks(day):
        slots = [day.slots[number] for number in numbers if day.slots[number].key in at]
        members = [(s, occurrence, request.library[at[s.key].exercise], at[s.key].sets) for s in slots]
        blocks.append([timed_member(member) for member in members])
    return session_seconds(blocks, general_warm_up_s=request.general_warm_up_s, extra_s=day.extra_minutes * 60)
