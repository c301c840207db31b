"""A careful deterministic search: fill greedily, then improve until no change of the known kinds helps.

Weeks small enough to try whole are tried whole. No clock, no chance: the same request gives the same week in
every process.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

from programs.engine.compose.fill import best_at, fill, fill_short
from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.problem import Problem

# So many whole weeks are tried one by one instead of searched.
TRY_ALL: Final = 5_000
# Two changes are tried together where by themselves they cost less than so many points: two other exercises,
# or two changes for the same group.
SWAPS_MARGIN: Final = 24
GROUP_MARGIN: Final = 12


def solve(problem: Problem) -> list[Choice]:
    """The best week found, as one choice a place."""
    ledger = Ledger(problem)
    free = [place.number for place in problem.places if place.options and _is_free(ledger, place.number)]
    size = 1
    for number in free:
        size *= 1 + sum(len(option.own) for option in problem.places[number].options)
        if size > TRY_ALL:
            break
    if size <= TRY_ALL:
        _try_all(ledger, free)
    else:
        fill(ledger, free)
        _descend(ledger, free)
        if any(ledger.chosen[number] is None for number in free):
            other = Ledger(problem)
            fill(other, free)
            if fill_short(other, free):
                _descend(other, free)
                ledger = min(ledger, other, key=lambda tried: tried.cost)
    return ledger.chosen


def _is_free(ledger: Ledger, number: int) -> bool:
    """Whether a place has anything left to decide. A pin that was refused has not."""
    place = ledger.problem.places[number]
    if not place.fixed:
        return True
    return ledger.chosen[number] is not None and len(place.options[0].own) > 1


def _try_all(ledger: Ledger, free: Sequence[int]) -> None:
    best_cost: int | None = None
    best: list[Choice] = list(ledger.chosen)

    def go(index: int) -> None:
        nonlocal best_cost, best
        if index == len(free):
            if ledger.broken == 0 and (best_cost is None or ledger.cost < best_cost):
                best_cost, best = ledger.cost, list(ledger.chosen)
            return
        number = free[index]
        start = ledger.chosen[number]
        for choice in ledger.choices(number):
            ledger.put(number, choice)
            go(index + 1)
        ledger.put(number, None)
        if not ledger.problem.places[number].fixed:
            go(index + 1)
        ledger.put(number, start)

    go(0)
    for number in free:
        ledger.put(number, best[number])


def _descend(ledger: Ledger, free: Sequence[int]) -> None:
    """Small changes until none helps, then those of two places at once; again after each that helps."""
    while sum(best_at(ledger, number) for number in free):
        continue
    while _pairs(ledger, free) or _displace(ledger, free):
        continue


def _related(problem: Problem, number: int) -> list[int]:
    """The places that compete with one for exercises and minutes: its session's and its siblings'."""
    place = problem.places[number]
    numbers = (*problem.session_places[place.session], *problem.sibling_places[place.family])
    return [other for other in dict.fromkeys(numbers) if other != number]


def _displace(ledger: Ledger, free: Sequence[int]) -> bool:
    """Take an exercise from another place that holds it, and give that place another one."""
    places, chosen = ledger.problem.places, ledger.chosen
    margin = SWAPS_MARGIN * ledger.problem.scale
    movable = [number for number in free if not places[number].fixed]
    may = set(movable)
    for number in movable:
        options = places[number].options
        for other in _related(ledger.problem, number):
            held = chosen[other]
            if held is None or other not in may:
                continue
            key = places[other].options[held[0]].exercise.key
            index = next((i for i, option in enumerate(options) if option.exercise.key == key), None)
            here = chosen[number]
            if index is None or (here and here[0] == index):
                continue
            for sets, cost in options[index].own.items():
                gained = cost - ledger.own(number, here) - ledger.own(other, held)
                for instead, option in enumerate(places[other].options):
                    least = option.own.get(held[1])
                    if least is None or gained + least > margin:
                        continue
                    if ledger.improves([(number, (index, sets)), (other, (instead, held[1]))]):
                        return True
    return False


@dataclass(frozen=True, slots=True)
class _Change:
    """Another choice for a place: what it costs and how many seconds it adds by itself."""

    choice: Choice
    loss: int
    longer_s: float
    swaps: bool  # another exercise, not only another number of sets
    groups: int  # bit mask of the groups whose dose it may change


def _pairs(ledger: Ledger, free: Sequence[int]) -> bool:
    """Change two related places at once, where the two changes together look nearly worth it; or one alone."""
    alone = {number: _alone(ledger, number) for number in free}
    helped = False
    for number in free:
        for change in alone[number]:
            if change.loss >= 0:
                break
            helped |= ledger.improves([(number, change.choice)])
        for other in _related(ledger.problem, number):
            if other > number and other in alone:
                helped |= _pair(ledger, number, other, alone)
    return helped


def _pair(ledger: Ledger, number: int, other: int, alone: Mapping[int, Sequence[_Change]]) -> bool:
    places, scale = ledger.problem.places, ledger.problem.scale
    session, other_session = places[number].session, places[other].session
    together = session == other_session
    spare, other_spare = ledger.spare_s(session), ledger.spare_s(other_session)
    helped = False
    for one in alone[number]:
        if one.longer_s > spare and not together:
            continue
        for two in alone[other]:
            loss = one.loss + two.loss
            if loss > SWAPS_MARGIN * scale:
                break
            # Two changes are worth more together than alone by the exercises that stand beside each other
            # and by the groups that both serve; changes that have neither in common only share the minutes.
            margin = SWAPS_MARGIN if one.swaps and two.swaps else GROUP_MARGIN if one.groups & two.groups else 0
            if loss >= margin * scale:
                continue
            if two.longer_s > (other_spare - one.longer_s if together else other_spare):
                continue
            if ledger.improves([(number, one.choice), (other, two.choice)]):
                helped = True
                spare, other_spare = ledger.spare_s(session), ledger.spare_s(other_session)
    return helped


def _alone(ledger: Ledger, number: int) -> list[_Change]:
    """The other choices of a place, the cheapest first, broken limits or not: a second change may mend them.

    Where its session has an empty place, this one may be emptied for it.
    """
    place, start, before = ledger.problem.places[number], ledger.chosen[number], ledger.cost
    spare = ledger.spare_s(place.session)
    numbers = ledger.problem.session_places[place.session]
    emptied: list[Choice] = [None] if any(ledger.chosen[other] is None for other in numbers) else []
    found: list[_Change] = []
    for choice in (*ledger.choices(number), *emptied):
        if choice == start:
            continue
        ledger.put(number, choice)
        longer_s = spare - ledger.spare_s(place.session) if spare < inf else 0.0
        swaps = start is None or choice is None or start[0] != choice[0]
        groups = 0
        for held in (start, choice):
            for group, _ in place.options[held[0]].quarters if held else ():
                groups |= 1 << group
        found.append(_Change(choice, ledger.cost - before, longer_s, swaps, groups))
    ledger.put(number, start)
    return sorted(found, key=lambda change: change.loss)
