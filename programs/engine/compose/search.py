"""A careful deterministic search: fill greedily, then improve until no change of the known kinds helps.

Weeks small enough to try whole are tried whole. No clock, no chance: the same request gives the same week in
every process.
"""

from collections.abc import Sequence
from math import inf
from typing import Final

from programs.engine.compose.fill import best_at, fill, fill_short
from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.problem import Problem

# So many whole weeks are tried one by one instead of searched.
TRY_ALL: Final = 5_000
# Of two places so many choices each are tried together, where they alone cost no more than so many points.
PAIR_OPTIONS: Final = 8
PAIR_MARGIN: Final = 30


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
    while True:
        while sum(best_at(ledger, number) for number in free):
            continue
        if not _displace(ledger, free) and not _pairs(ledger, free):
            return


def _related(problem: Problem, number: int) -> list[int]:
    """The places that compete with one for exercises and minutes: its session's and its siblings'."""
    place = problem.places[number]
    numbers = (*problem.session_places[place.session], *problem.sibling_places[place.family])
    return [other for other in dict.fromkeys(numbers) if other != number]


def _displace(ledger: Ledger, free: Sequence[int]) -> bool:
    """Take an exercise from another place that holds it, and give that place another one."""
    places, chosen = ledger.problem.places, ledger.chosen
    margin = PAIR_MARGIN * ledger.problem.scale
    movable = [number for number in free if not places[number].fixed]
    may = set(movable)
    helped = False
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
    return helped


def _pairs(ledger: Ledger, free: Sequence[int]) -> bool:
    """Change two related places at once, where the two changes together look nearly worth it."""
    places = ledger.problem.places
    margin = PAIR_MARGIN * ledger.problem.scale
    alone = {number: _alone(ledger, number) for number in free}
    helped = False
    for number in free:
        session = places[number].session
        for other in _related(ledger.problem, number):
            if other < number or other not in alone:
                continue
            together = places[other].session == session
            spare, other_spare = ledger.spare_s(session), ledger.spare_s(places[other].session)
            for loss, longer_s, choice in alone[number]:
                if longer_s > spare and not together:
                    continue
                for other_loss, other_longer_s, other_choice in alone[other]:
                    if loss + other_loss > margin:
                        break
                    if other_longer_s > (other_spare - longer_s if together else other_spare):
                        continue
                    if ledger.improves([(number, choice), (other, other_choice)]):
                        helped = True
                        spare, other_spare = ledger.spare_s(session), ledger.spare_s(places[other].session)
    return helped


def _alone(ledger: Ledger, number: int) -> list[tuple[int, float, Choice]]:
    """The other choices of a place with what each costs by itself and how many seconds it adds.

    The cheapest first, broken limits or not: the other place of a pair may mend them. Where its session has
    an empty place, this one may be emptied for it.
    """
    start, before = ledger.chosen[number], ledger.cost
    session = ledger.problem.places[number].session
    spare = ledger.spare_s(session)
    found: list[tuple[int, float, Choice]] = []
    numbers = ledger.problem.session_places[session]
    emptied: list[Choice] = [None] if any(ledger.chosen[other] is None for other in numbers) else []
    for choice in (*ledger.choices(number), *emptied):
        if choice != start:
            ledger.put(number, choice)
            found.append((ledger.cost - before, spare - ledger.spare_s(session) if spare < inf else 0, choice))
    ledger.put(number, start)
    found.sort(key=lambda entry: entry[0])
    return found[:PAIR_OPTIONS] + [entry for entry in found[PAIR_OPTIONS:] if entry[2] is None]
