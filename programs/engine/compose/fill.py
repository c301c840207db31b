"""First weeks for the search to improve: as good as one look at each place makes them."""

from collections.abc import Sequence
from itertools import combinations
from typing import Final

from programs.engine.compose.ledger import Choice, Ledger

# Which slots of a short session to keep is tried whole up to so many slots.
MOST_SLOTS: Final = 12


def fill(ledger: Ledger, free: Sequence[int]) -> None:
    """Fill the most important places first, each with the fewest sets, so that short minutes cost the least."""
    places = ledger.problem.places
    for number in sorted(free, key=lambda n: (-places[n].loss, len(places[n].options), n)):
        if ledger.chosen[number] is None:
            best_at(ledger, number, fewest=True)


def best_at(ledger: Ledger, number: int, fewest: bool = False) -> bool:
    """Put the best choice on a place if that betters the week."""
    start = best = ledger.chosen[number]
    best_cost = ledger.cost
    for choice in ledger.choices(number):
        if fewest and choice is not None and choice[1] > ledger.problem.places[number].slot.sets_low:
            continue
        ledger.put(number, choice)
        if ledger.broken == 0 and ledger.cost < best_cost:
            best, best_cost = choice, ledger.cost
    ledger.put(number, best)
    return best != start


def fill_short(ledger: Ledger, free: Sequence[int]) -> bool:
    """Fill short sessions again so that the least is left out: the quickest exercises, the fewest sets.

    Whether any session lost less than before. Soft merits are left to the search.
    """
    problem = ledger.problem
    may = {number for number in free if not problem.places[number].fixed}
    helped = False
    for session, numbers in enumerate(problem.session_places):
        open_places = [number for number in numbers if number in may]
        lost = sum(problem.places[n].loss for n in open_places if ledger.chosen[n] is None)
        if not lost or len(open_places) > MOST_SLOTS:
            continue
        before = {number: ledger.chosen[number] for number in open_places}
        for number in open_places:
            ledger.put(number, None)
        if not _keep_most(ledger, session, open_places, lost):
            for number, choice in before.items():
                ledger.put(number, choice)
        else:
            helped = True
    return helped


def _keep_most(ledger: Ledger, session: int, numbers: Sequence[int], lost: int) -> bool:
    """Fill the best set of places that fits the minutes, if it loses less than ``lost``."""
    places = ledger.problem.places
    quick = {number: _quickest_first(ledger, number) for number in numbers}
    ways = sorted(
        (sum(places[number].loss for number in left_out), left_out)
        for size in range(len(numbers) + 1)
        for left_out in combinations(numbers, size)
    )
    spare = ledger.spare_s(session)
    for loss, left_out in ways:
        if loss >= lost:
            return False
        kept = sorted(set(numbers).difference(left_out), key=lambda n: (len(quick[n]), n))
        if sum(quick[number][0][0] for number in kept) > spare:
            continue
        if all(_put_first(ledger, number, quick[number]) for number in kept):
            return True
        for number in kept:
            ledger.put(number, None)
    return False


def _put_first(ledger: Ledger, number: int, choices: Sequence[tuple[float, int, Choice]]) -> bool:
    for _, _, choice in choices:
        ledger.put(number, choice)
        if ledger.broken == 0:
            return True
    return False


def _quickest_first(ledger: Ledger, number: int) -> list[tuple[float, int, Choice]]:
    """A place's choices with the fewest sets, the quickest first, as (seconds at least, cost, choice).

    What a superset saves depends on its other exercises, so there the least is taken as nothing.
    """
    session = ledger.problem.places[number].session
    spare, together = ledger.spare_s(session), ledger.shares_block(number)
    found: list[tuple[float, int, Choice]] = []
    for choice in ledger.choices(number):
        if choice is not None and choice[1] == min(ledger.problem.places[number].options[choice[0]].own):
            ledger.put(number, choice)
            found.append((spare - ledger.spare_s(session), ledger.own(number, choice), choice))
    ledger.put(number, None)
    found.sort()
    return [(0.0, cost, choice) for _, cost, choice in found] if together else found
