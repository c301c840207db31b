"""What else moves when the coach changes one pick: little, and only what is worth it.

The solver says what the best week around the change would be. Of what it would move besides, each part has to save
as much as the weights ask of what moves (``stay``), or to keep a hard limit that the change alone would break. The
rest stays.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from itertools import combinations
from typing import Final

from programs.engine.compose import solver
from programs.engine.compose.evaluate import Places, Rules, by_place
from programs.engine.compose.request import DayType, WeekRequest
from programs.engine.compose.trial import breaks, session_picks
from programs.engine.compose.week import neighbourhood, settled_picks
from programs.engine.terms import Pick

MOST_TOGETHER: Final = 2  # so many changes that lean on each other are looked at as one

Place = tuple[str, int]


def set_right(
    request: WeekRequest,
    picks: Iterable[Pick],
    touched: Collection[Place],
    released: Collection[Place] = (),
    before: Iterable[Pick] = (),
) -> tuple[Pick, ...]:
    """The week after the coach's own change, with what is worth changing beside it.

    ``picks`` are the week as the coach put it; the ``touched`` picks stand as they are, sets included, those
    ``released`` are chosen anew. ``before`` is the week that it was: what would have been better in it already, and
    was let stand, is let stand again. No place that is filled becomes empty. Without the solver nothing else moves.
    """
    rules = Rules.of(request)
    put = by_place(request, picks)
    if not solver.available():
        return tuple(put.values())
    fixed = [replace(put[place], pinned=True) for place in touched if place in put and place not in released]
    elsewhere = [pin for pin in request.pins if (pin.slot, pin.occurrence) not in touched or not pin.exercise]
    asked = Rules.of(replace(request, pins=(*elsewhere, *fixed)))
    around = {*touched, *released}
    standing = [pick for place, pick in put.items() if place not in released]
    found, proof = settled_picks(asked, standing, around)
    best = by_place(request, found)
    if proof.kind not in ("settled", "best_found") or not put.keys() <= best.keys():
        return tuple(put.values())
    near = neighbourhood(request, around)
    if any(best[place].exercise != pick.exercise and place not in near for place, pick in put.items()):
        return tuple(put.values())
    week = _worth_it(rules, put, best, around, by_place(request, before))
    return tuple(replace(pick, pinned=put[place].pinned if place in put else False) for place, pick in week.items())


def _worth_it(rules: Rules, put: Places, best: Places, around: Collection[Place], before: Places) -> Places:
    """The best week less what moves in it for too little, or for no reason of this change."""
    week = dict(best)
    moved = [place for place, pick in put.items() if place not in around and _differs(pick, best[place])]
    days = {slot.key: day for day in rules.request.day_types for slot in day.slots}
    while moved:
        cost = rules.cost(week).total
        back = _least_worth(rules, week, put, moved, days, cost, before)
        if not back:
            break
        week |= {place: put[place] for place in back}
        moved = [place for place in moved if place not in back]
    # What is left leans on each other: all of it together must be worth it too.
    if moved:
        whole = {**week, **{place: put[place] for place in moved}}
        saved = rules.cost(whole).total - rules.cost(week).total - _saved_before(rules, before, week, moved)
        if saved < rules.request.weights.stay * len(moved) and _holds(rules, week, whole, moved, days):
            return whole
    return week


def _least_worth(
    rules: Rules,
    week: Places,
    put: Places,
    moved: list[Place],
    days: Mapping[str, DayType],
    cost: int,
    before: Places,
) -> tuple[Place, ...]:
    """What may stay where it was for the fewest points; nothing where all that moves is worth it."""
    found: list[tuple[int, tuple[Place, ...]]] = []
    for many in range(1, min(MOST_TOGETHER, len(moved)) + 1):
        for back in combinations(moved, many):
            tried = {**week, **{place: put[place] for place in back}}
            lost = rules.cost(tried).total - cost - _saved_before(rules, before, week, back)
            if lost < rules.request.weights.stay * many and _holds(rules, week, tried, back, days):
                found.append((lost, back))
        if found:
            return min(found)[1]
    return ()


def _saved_before(rules: Rules, before: Places, week: Places, moved: Iterable[Place]) -> int:
    """What the same moves would have saved in the week that it was."""
    there = {place: week[place] for place in moved if place in before}
    return max(0, rules.cost(before).total - rules.cost({**before, **there}).total) if there else 0


def _holds(rules: Rules, old: Places, new: Places, back: Iterable[Place], days: Mapping[str, DayType]) -> bool:
    """Whether the sessions keep the hard limits that they kept, with no exercise twice."""
    for key, occurrence in {(days[slot].key, occurrence) for slot, occurrence in back}:
        day = next(day for day in rules.request.day_types if day.key == key)
        exercises = [pick.exercise for pick in session_picks(new, day, occurrence)]
        if len(exercises) > len(set(exercises)) or breaks(rules, old, new, day, occurrence):
            return False
    return True


def _differs(one: Pick, other: Pick) -> bool:
    return (one.exercise, one.sets) != (other.exercise, other.sets)
