"""When the sessions of a week or a cycle take place, and what becomes of those that were missed.

Dates are plain calendar dates, so that no clock change shortens a day; a weekday is 0 (Monday) to 6 (Sunday).
Recovery hours follow the findings that sets to failure, more sets and age lengthen recovery
(Morán-Navarro et al. 2017, Korak et al. 2015); the figures themselves are coaching practice.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import combinations, permutations
from typing import Final, NamedTuple

from programs.engine.terms import Because

DAY_HOURS: Final = 24
WEEK_DAYS: Final = 7
USUAL_START_HOUR: Final = 18.0

# Two sessions share a group when both give it at least this many counted sets.
SHARED_SETS: Final = 2.0
# Gaps are compared in half days: ten minutes more or less must not move a session to another weekday.
COMPARED_HOURS: Final = 12
RATIO_PARTS: Final = 144  # every preferred figure below divides it, so that equal ratios compare equal


class Recovery(NamedTuple):
    """Hours before a group is loaded again: the least, and what is preferred."""

    least_h: int
    preferred_h: int


# Coaching practice. A group that is only helped along (share 0.5 or less) needs half of these.
FEW_SETS: Final = 3.0
MANY_SETS: Final = 8.0
AFTER_FEW_EASY_SETS: Final = Recovery(24, 36)
AFTER_USUAL_WORK: Final = Recovery(48, 48)
AFTER_MUCH_OR_FAILURE: Final = Recovery(48, 72)
WITH_CARE: Final = Recovery(48, 72)

# The weekdays that so many sessions a week are usually spread over (coaching practice).
USUAL_DAYS: Final[Mapping[int, tuple[int, ...]]] = {
    1: (0,),
    2: (0, 3),
    3: (0, 2, 4),
    4: (0, 1, 3, 4),
    5: (0, 1, 2, 4, 5),
    6: (0, 1, 2, 3, 4, 5),
    7: (0, 1, 2, 3, 4, 5, 6),
}

NEXT_IN_LINE: Final = "next_in_line"
FIXED_DAY: Final = "fixed_day"


@dataclass(frozen=True, slots=True)
class SessionLoad:
    """One session of the week as recovery sees it.

    ``counted`` and ``direct`` map groups to sets; ``rir`` is the lowest reps in reserve of its sets, None if
    unknown (taken as none in reserve). ``careful``: a novice's first four weeks, a new exercise, or an age
    of 60 and over.
    """

    key: str
    counted: Mapping[str, float]
    direct: Mapping[str, float] = field(default_factory=dict)
    rir: float | None = 2
    minutes: float = 60.0
    careful: bool = False
    day: str = ""
    occurrence: int = 0


@dataclass(frozen=True, slots=True)
class Placement:
    """Where each session falls: key to weekday; empty with a reason where there are too few days."""

    days: Mapping[str, int]
    gaps_h: tuple[int, ...] = ()  # least gap of each pair that shares a group, shortest first
    back_to_back: int = 0
    reasons: tuple[Because, ...] = ()


@dataclass(frozen=True, slots=True)
class PlacedSession:
    """A session and its start, in hours from the start of the cycle (or of the block)."""

    load: SessionLoad
    start_h: float


@dataclass(frozen=True, slots=True)
class Gap:
    """The hours between a session and the next one that loads a group again.

    ``group`` is the one that decides (least hours against what it prefers); ``groups`` are all that both
    load. ``wraps``: the later session is in the next cycle.
    """

    earlier: str
    later: str
    group: str
    groups: tuple[str, ...]
    hours: int
    needed_h: float
    preferred_h: float
    wraps: bool = False

    @property
    def enough(self) -> bool:
        return rounded_gap(self.hours) >= self.needed_h


@dataclass(frozen=True, slots=True)
class Dated:
    """One session of a block on its date. Cycle, week and position count from 1."""

    key: str
    day: date
    cycle: int
    position: int
    week: int
    deload: bool = False


@dataclass(frozen=True, slots=True)
class Moved:
    """A block after sessions were missed: what is still to come, what was missed, and both end dates."""

    plan: tuple[Dated, ...]
    missed: tuple[Dated, ...]
    end_before: date
    end_after: date
    reasons: tuple[Because, ...]


def recovery(counted: float, direct: float, rir: float | None, careful: bool = False) -> Recovery:
    """Hours a group needs after ``counted`` sets with at least ``rir`` in reserve, before any halving."""
    reserve = 0.0 if rir is None else rir
    if careful:
        return WITH_CARE
    if counted > MANY_SETS or reserve <= 0:
        return AFTER_MUCH_OR_FAILURE
    if counted <= FEW_SETS and reserve >= 2:
        return AFTER_FEW_EASY_SETS
    return AFTER_USUAL_WORK


def shared_groups(one: SessionLoad, other: SessionLoad) -> tuple[str, ...]:
    """The groups that both sessions give at least two counted sets, by name."""
    return tuple(
        group
        for group in sorted(one.counted)
        if one.counted[group] >= SHARED_SETS and other.counted.get(group, 0) >= SHARED_SETS
    )


def hours_wanted(earlier: SessionLoad, later: SessionLoad, group: str) -> tuple[float, float]:
    """Least and preferred hours from ``earlier`` to ``later`` for ``group``.

    Half where one of the two only helps it along.
    """
    table = recovery(earlier.counted.get(group, 0), earlier.direct.get(group, 0), earlier.rir, earlier.careful)
    helped_only = not earlier.direct.get(group, 0) or not later.direct.get(group, 0)
    factor = 0.5 if helped_only else 1.0
    return table.least_h * factor, table.preferred_h * factor


def rounded_gap(hours: float) -> int:
    """Hours to the nearest half day, for comparing."""
    return round(hours / COMPARED_HOURS) * COMPARED_HOURS


def place_days(
    sessions: Sequence[SessionLoad],
    available: Collection[int] = range(WEEK_DAYS),
    *,
    preferred: Collection[int] = (),
    forbidden: Collection[int] = (),
    fixed: Mapping[str, int] | None = None,
    week_start: int = 0,
    start_hours: Mapping[int, float] | None = None,
) -> Placement:
    """The weekday of each session: at most one a day, the least rested pair rested best.

    Every order on every choice of days is compared (at most 5040) by, in turn: the ratios of gap to preferred
    hours of all pairs that share a group, the smallest first; fewer sessions on consecutive days; more
    preferred weekdays; the given order of the sessions; earlier days, counted from ``week_start``.
    ``fixed`` sessions keep their day, even a forbidden one.
    """
    held = dict(fixed or {})
    open_days = {day for day in available if day not in forbidden} | set(held.values())
    days = sorted(open_days, key=lambda day: (day - week_start) % WEEK_DAYS)
    if len(days) < len(sessions) or len(set(held.values())) < len(held):
        params = {"sessions": len(sessions), "days": len(days)}
        return Placement({}, reasons=(Because("calendar.too_few_days", params),))
    starts = start_hours or {}
    pairs = [(a, b, shared_groups(sessions[a], sessions[b])) for a, b in combinations(range(len(sessions)), 2)]
    pairs = [pair for pair in pairs if pair[2]]
    known: dict[tuple[int, int, int, int], tuple[int, int]] = {}

    def rested(a: int, b: int, groups: tuple[str, ...], on_a: int, on_b: int) -> tuple[int, int]:
        found = known.get((a, b, on_a, on_b))
        if found is None:
            found = min(
                _rest(sessions[a], sessions[b], groups, on_a, on_b, starts),
                _rest(sessions[b], sessions[a], groups, on_b, on_a, starts),
            )
            known[a, b, on_a, on_b] = found
        return found

    best: _PlaceKey | None = None
    best_order: tuple[int, ...] = ()
    for order in permutations(range(len(days)), len(sessions)):
        on = [days[i] for i in order]
        if any(held.get(session.key, on[i]) != on[i] for i, session in enumerate(sessions)):
            continue
        rests = sorted(rested(a, b, groups, on[a], on[b])[0] for a, b, groups in pairs)
        key = _PlaceKey(
            [-rest for rest in rests],
            _back_to_back(on),
            -sum(day in preferred for day in on),
            sum(order[i] > order[j] for i, j in combinations(range(len(on)), 2)),
            sorted(order),
            order,
        )
        if best is None or key < best:
            best, best_order = key, order
    if best is None:
        return Placement({}, reasons=(Because("calendar.fixed_days_clash", {}),))
    on = [days[i] for i in best_order]
    gaps = sorted(rested(a, b, groups, on[a], on[b])[1] for a, b, groups in pairs)
    back_to_back = _back_to_back(on)
    why = (
        Because("calendar.least_gap", {"least_h": gaps[0], "back_to_back": back_to_back})
        if gaps
        else Because("calendar.nothing_shared", {"back_to_back": back_to_back})
    )
    return Placement(
        {session.key: day for session, day in zip(sessions, on, strict=True)},
        tuple(gaps),
        back_to_back,
        (why,),
    )


class _PlaceKey(NamedTuple):
    """What decides between two ways to lay the sessions on days; smaller is better, first part first."""

    rested_worst_first: list[int]
    back_to_back: int
    preferred_days: int
    out_of_order: int
    days: list[int]
    order: tuple[int, ...]


def _back_to_back(days: Sequence[int]) -> int:
    return sum((day + 1) % WEEK_DAYS in days for day in days)


def _rest(
    earlier: SessionLoad,
    later: SessionLoad,
    groups: tuple[str, ...],
    on_earlier: int,
    on_later: int,
    starts: Mapping[int, float],
) -> tuple[int, int]:
    """Smallest ratio of gap to preferred hours over the groups, in 144ths, and the gap in whole hours."""
    days = (on_later - on_earlier) % WEEK_DAYS
    shift = starts.get(on_later, USUAL_START_HOUR) - starts.get(on_earlier, USUAL_START_HOUR)
    hours = days * DAY_HOURS + shift - earlier.minutes / 60
    wanted = max(hours_wanted(earlier, later, group)[1] for group in groups)
    return round(rounded_gap(hours) * RATIO_PARTS / wanted), int(hours // 1)


def week_of(
    sessions: Sequence[SessionLoad], days: Mapping[str, int], start_hours: Mapping[int, float] | None = None
) -> tuple[PlacedSession, ...]:
    """Placed weekday sessions as hours from the week's Monday 0:00, in order, for ``recovery_gaps``."""
    starts = start_hours or {}
    placed = [
        PlacedSession(s, days[s.key] * DAY_HOURS + starts.get(days[s.key], USUAL_START_HOUR))
        for s in sessions
        if s.key in days
    ]
    return tuple(sorted(placed, key=lambda p: (p.start_h, p.load.key)))


def recovery_gaps(
    sessions: Sequence[PlacedSession], cycle_hours: float | None = WEEK_DAYS * DAY_HOURS
) -> tuple[Gap, ...]:
    """From each session to the next one that loads one of its groups again; one gap a pair, in order.

    ``cycle_hours`` None: the sessions do not repeat. Hours run from the end of the earlier to the start of
    the later, whole hours. A session whose groups are next loaded in several others gives several gaps.
    """
    ordered = sorted(sessions, key=lambda placed: (placed.start_h, placed.load.key))
    found: list[Gap] = []
    for index, earlier in enumerate(ordered):
        ahead = [(later, later.start_h, False) for later in ordered[index + 1 :]]
        if cycle_hours is not None:
            ahead += [(later, later.start_h + cycle_hours, True) for later in ordered[: index + 1]]
        waiting = {group for group, sets in earlier.load.counted.items() if sets >= SHARED_SETS}
        end_h = earlier.start_h + earlier.load.minutes / 60
        for later, start_h, wraps in ahead:
            groups = tuple(g for g in shared_groups(earlier.load, later.load) if g in waiting)
            if not groups:
                continue
            waiting.difference_update(groups)
            wanted = {group: hours_wanted(earlier.load, later.load, group) for group in groups}
            decides = min(groups, key=lambda group: (-wanted[group][1], -wanted[group][0], group))
            least, preferred = wanted[decides]
            hours = int((start_h - end_h) // 1)
            found.append(Gap(earlier.load.key, later.load.key, decides, groups, hours, least, preferred, wraps))
    return tuple(found)


def week_dates(
    start: date, days: Mapping[str, int], weeks: int, deload_weeks: Collection[int] = ()
) -> tuple[Dated, ...]:
    """Sessions on their weekdays for ``weeks`` weeks of seven days from ``start``; a week is a cycle."""
    plan: list[Dated] = []
    for week in range(1, weeks + 1):
        first = start + timedelta(days=WEEK_DAYS * (week - 1))
        in_week = sorted(
            (first + timedelta(days=(weekday - first.weekday()) % WEEK_DAYS), key) for key, weekday in days.items()
        )
        plan += [
            Dated(key, day, week, position, week, week in deload_weeks)
            for position, (day, key) in enumerate(in_week, start=1)
        ]
    return tuple(plan)


def even_offsets(sessions: int, cycle_days: int) -> tuple[int, ...]:
    """Day offsets that spread so many sessions over a cycle: 4 over 9 days fall on days 0, 2, 4, 6."""
    if not 1 <= sessions <= cycle_days:
        raise ValueError("a cycle needs at least one day a session")
    return tuple(index * cycle_days // sessions for index in range(sessions))


def usual_offsets(sessions: int, cycle_days: int, offsets: Sequence[int] = ()) -> tuple[int, ...]:
    """Day of the cycle, from 0, of each session in order, before any client's own days are known.

    ``offsets`` where they fit the cycle; else the usual weekdays of a week (0 is Monday), or an even spread.
    Empty where there are more sessions than days, or none.
    """
    given = tuple(offsets)
    fits = given == tuple(sorted(set(given))) and all(0 <= day < cycle_days for day in given)
    if len(given) == sessions and sessions and fits:
        return given
    if not 1 <= sessions <= cycle_days:
        return ()
    return USUAL_DAYS[sessions] if cycle_days == WEEK_DAYS else even_offsets(sessions, cycle_days)


def cycle_dates(
    start: date,
    order: Sequence[str],
    offsets: Sequence[int],
    cycle_days: int,
    weeks: int,
    deload_cycles: Collection[int] = (),
) -> tuple[Dated, ...]:
    """Sessions of a rolling cycle of any length, running past the week's end, for ``weeks`` times seven days.

    ``order`` are the sessions of one cycle, ``offsets`` their days from the cycle's first day, ascending. Whole
    cycles are easier, so that each session is so once; the last cycle may be cut short.
    Every other day with A and B: order A, B; offsets 0, 2; four days a cycle. Raises ValueError where the
    offsets do not fit the cycle.
    """
    if len(order) != len(offsets) or not offsets or list(offsets) != sorted(set(offsets)):
        raise ValueError("each session of a cycle needs a day of its own, in order")
    if offsets[0] < 0 or offsets[-1] >= cycle_days:
        raise ValueError("a session lies outside its cycle")
    plan = []
    for day_index, cycle, position, key in _rolling(order, offsets, cycle_days):
        if day_index >= weeks * WEEK_DAYS:
            break
        week = day_index // WEEK_DAYS + 1
        plan.append(Dated(key, start + timedelta(days=day_index), cycle, position, week, cycle in deload_cycles))
    return tuple(plan)


def _rolling(order: Sequence[str], offsets: Sequence[int], cycle_days: int) -> Iterator[tuple[int, int, int, str]]:
    cycle = 0
    while True:
        for position, (key, offset) in enumerate(zip(order, offsets, strict=True), start=1):
            yield cycle * cycle_days + offset, cycle + 1, position, key
        cycle += 1


def per_seven_days(sets: float, cycle_days: float) -> float:
    """A cycle's sets as weekly sets: 16 in an 8-day cycle are 14 a week."""
    return sets * WEEK_DAYS / cycle_days


def move_missed(
    plan: Sequence[Dated],
    missed: Collection[date],
    mode: str,
    cycle_days: int = WEEK_DAYS,
    *,
    behind: Collection[date] = (),
    not_before: date = date.min,
) -> Moved:
    """The block after the sessions on the ``missed`` dates did not happen.

    ``next_in_line``: they are done next, on the training days that follow; everything behind them moves along
    and the end moves out by as many training days. ``fixed_day``: they are skipped and nothing else changes.
    Two sessions never fall on one day. A missed session says nothing about loads. ``plan`` holds what is not
    yet trained and what was missed, in order; ``behind`` are the days of what was trained, which only tell the
    pattern of the training days. Nothing is put on a day before ``not_before``. Raises ValueError for another mode.
    """
    ordered = sorted(plan, key=lambda dated: (dated.day, dated.position))
    gone = tuple(dated for dated in ordered if dated.day in missed)
    if mode not in (NEXT_IN_LINE, FIXED_DAY):
        raise ValueError(f"no such way to move a session: {mode}")
    end = ordered[-1].day if ordered else date.min
    if not gone:
        return Moved(tuple(ordered), (), end, end, ())
    if mode == FIXED_DAY:
        rest = tuple(dated for dated in ordered if dated.day not in missed)
        why = Because("calendar.skipped", {"sessions": len(gone), "end": end.isoformat()})
        return Moved(rest, gone, end, end, (why,))
    last_missed = gone[-1].day
    before = [dated for dated in ordered if dated.day < last_missed and dated.day not in missed]
    pending = [*gone, *(dated for dated in ordered if dated.day > last_missed)]
    after_day = max(last_missed, not_before - timedelta(days=1)) if not_before > date.min else last_missed
    days = _training_days(ordered, cycle_days, after_day, len(pending), behind)
    later = [replace(dated, day=day) for dated, day in zip(pending, days, strict=True)]
    moved = sorted([*before, *later], key=lambda dated: dated.day)
    after = moved[-1].day
    why = Because(
        "calendar.next_in_line",
        {"sessions": len(gone), "end": after.isoformat(), "days_later": (after - end).days},
    )
    return Moved(tuple(moved), gone, end, after, (why,))


def _training_days(
    plan: Sequence[Dated], cycle_days: int, after: date, count: int, behind: Collection[date]
) -> list[date]:
    """The planned dates after ``after``, going on in the pattern of the last cycle as far as needed."""
    free = {dated.day for dated in plan if dated.day > after}
    known = {dated.day for dated in plan} | set(behind)
    span = timedelta(days=cycle_days)
    reach = max(known)
    while len(free) < count:
        reach += timedelta(days=1)
        if reach - span in known:
            known.add(reach)
            if reach > after:
                free.add(reach)
    return sorted(free)[:count]
