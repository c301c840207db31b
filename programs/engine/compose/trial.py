"""Trying one exercise on one place, all else the same, against the hard limits and the rules."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

from programs.engine.compose.evaluate import Places, Rules, Term
from programs.engine.compose.measures import QUARTERS, day_seconds, session_ceiling
from programs.engine.compose.request import DayType, Slot
from programs.engine.terms import Because, Params, Pick

ALREADY: Final = "session.already_there"
MINUTES: Final = "session.no_minutes"
CEILING: Final = "session.ceiling"


@dataclass(frozen=True, slots=True)
class Trial:
    """A week in which one place has another exercise; ``changed`` are the picks that differ."""

    exercise: str
    sets: int
    at: Places
    changed: tuple[Pick, ...]
    cost: int  # against the week as it was; negative is better
    before: tuple[Term, ...]
    after: tuple[Term, ...]
    swaps_with: int | None = None


def find_slot(rules: Rules, key: str) -> tuple[DayType, Slot]:
    """The slot of that key with its day type; KeyError for a slot that the request does not have."""
    for day in rules.request.day_types:
        for slot in day.slots:
            if slot.key == key:
                return day, slot
    raise KeyError(key)


def session_picks(at: Places, day: DayType, occurrence: int) -> list[Pick]:
    return [at[slot.key, occurrence] for slot in day.slots if (slot.key, occurrence) in at]


def session_quarters(rules: Rules, picks: Iterable[Pick]) -> dict[str, int]:
    found: dict[str, int] = {}
    for pick in picks:
        for group, each in rules.quarters[pick.exercise].items():
            found[group] = found.get(group, 0) + each * pick.sets
    return found


def breaks(rules: Rules, old: Places, new: Places, day: DayType, occurrence: int) -> tuple[Because, ...]:
    """The hard limits of a session that ``new`` breaks, or breaks further than ``old`` already did."""
    found = []
    request = rules.request
    before, after = session_picks(old, day, occurrence), session_picks(new, day, occurrence)
    if request.minutes_cap is not None:
        seconds = day_seconds(request, day, occurrence, after)
        cap_s = request.minutes_cap * 60
        if seconds > cap_s and seconds > day_seconds(request, day, occurrence, before):
            over: Params = {"over": _tenths_up((seconds - cap_s) / 60), "cap": request.minutes_cap}
            found.append(Because(MINUTES, over))
    used = session_quarters(rules, before)
    for group, quarters in sorted(session_quarters(rules, after).items()):
        ceiling = session_ceiling(request, group)
        if ceiling is not None and quarters > max(ceiling * QUARTERS, used.get(group, 0)):
            far: Params = {"group": group, "sets": quarters / QUARTERS, "ceiling": ceiling}
            found.append(Because(CEILING, far))
    return tuple(found)


def _tenths_up(minutes: float) -> float:
    """Never less than it is, so that as many minutes more are enough."""
    return ceil(round(minutes * 10, 6)) / 10


def try_exercise(
    rules: Rules, at: Places, slot_key: str, occurrence: int, exercise: str, before: Sequence[Term] | None = None
) -> Trial | tuple[Because, ...]:
    """The week with ``exercise`` on that place, with as many of its present sets as fit; or why not.

    An exercise that a sibling occurrence holds comes in exchange for the present one where that is possible.
    ``before`` are the terms near the place as it is, for a caller that tries several.
    """
    day, slot = find_slot(rules, slot_key)
    here = (slot_key, occurrence)
    present = at.get(here)
    for pick in session_picks(at, day, occurrence):
        if pick.exercise == exercise and pick.slot != slot_key:
            return (Because(ALREADY, {"exercise": exercise, "slot": pick.slot}),)
    wanted = present.sets if present else slot.usual_sets
    lowest = min(wanted, max(1, slot.sets_low))
    why: tuple[Because, ...] = ()
    for sets in range(wanted, lowest - 1, -1):
        put = Pick(slot_key, occurrence, exercise, sets)
        exchanged = _exchange(rules, at, day, slot, put)
        if exchanged is not None:
            return exchanged
        new = {**at, here: put}
        why = breaks(rules, at, new, day, occurrence)
        if not why:
            before = rules.near(at, day, slot, occurrence) if before is None else before
            after = tuple(rules.near(new, day, slot, occurrence))
            cost = sum(term.amount for term in after) - sum(term.amount for term in before)
            return Trial(exercise, sets, new, (put,), cost, tuple(before), after)
    return why


def _exchange(rules: Rules, at: Places, day: DayType, slot: Slot, put: Pick) -> Trial | None:
    present = at.get((slot.key, put.occurrence))
    if present is None or present.exercise == put.exercise:
        return None
    if present.exercise not in rules.fitting[slot.key].fitting:
        return None
    for other in range(day.occurrences):
        held = at.get((slot.key, other))
        if other == put.occurrence or held is None or held.pinned or held.exercise != put.exercise:
            continue
        session = session_picks(at, day, other)
        if any(pick.exercise == present.exercise and pick.slot != slot.key for pick in session):
            continue
        back = replace(held, exercise=present.exercise, reasons=())
        new = {**at, (slot.key, put.occurrence): put, (slot.key, other): back}
        if breaks(rules, at, new, day, put.occurrence) or breaks(rules, at, new, day, other):
            continue
        before, after = rules.cost(at), rules.cost(new)
        cost = after.total - before.total
        return Trial(put.exercise, put.sets, new, (put, back), cost, before.terms, after.terms, other)
    return None
