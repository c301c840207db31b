"""A request made ready for a search: numbered places, their options, and every limit in whole numbers.

The form is neutral: it knows which choices exist and what is counted, not how they are tried. Doses are in
quarter sets a cycle, so that every share is a whole number.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from zlib import crc32

from programs.engine.compose import mix
from programs.engine.compose.candidates import pin_reasons, pins_by_place, places_of
from programs.engine.compose.evaluate import Rules, pick_terms, sets_terms
from programs.engine.compose.measures import (
    ceiling_quarters,
    superset_blocks,
)
from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.engine.terms import Exercise, Pick

# Of a very large library only the best by what they cost alone are tried; the others stay alternatives.
MOST_OPTIONS: Final = 30
TIE_PARTS: Final = 10_000


@dataclass(frozen=True, slots=True)
class Option:
    """One exercise on one place. ``own`` maps its possible set counts to scaled cost, tie-break included."""

    exercise: Exercise
    own: dict[int, int]
    quarters: tuple[tuple[int, int], ...]  # (group number, quarter sets a set)
    wanted: tuple[int, ...]  # numbers of what the week should hold that this one brings
    pull: int  # 1 where its sets count as pulls, -1 as pushes, else 0


@dataclass(frozen=True, slots=True)
class Place:
    """One slot on one occurrence. ``fixed`` places are pinned or kept empty; one without options stays empty."""

    number: int
    slot: Slot
    occurrence: int
    session: int
    line: int  # which slot of its session
    family: int  # the slot, whatever the occurrence
    day_type: int
    options: tuple[Option, ...]
    loss: int  # scaled cost of leaving it empty
    fixed: bool


@dataclass(frozen=True, slots=True)
class Problem:
    request: WeekRequest
    scale: int
    places: tuple[Place, ...]
    sessions: tuple[tuple[DayType, int], ...]
    session_places: tuple[tuple[int, ...], ...]
    session_blocks: tuple[tuple[tuple[int, ...], ...], ...]  # place numbers done in turns, or alone
    sibling_places: tuple[tuple[int, ...], ...]  # the occurrences of one slot, by slot
    groups: tuple[str, ...]
    ranges: tuple[tuple[int, int] | None, ...]  # by group number
    ceilings: tuple[int | None, ...]
    wanted: tuple[int, ...]  # scaled cost of each thing that the week should hold and does not
    cap_s: float | None


def build(
    request: WeekRequest,
    rules: Rules | None = None,
    *,
    most_options: int | None = MOST_OPTIONS,
    held: Mapping[tuple[str, int], str] | None = None,
) -> Problem:
    """The request as a problem; the same whatever the order of its library, mappings and sets.

    ``most_options`` is how many exercises a place has to choose from, the best by what they cost alone; None: all.
    ``held`` maps (slot key, occurrence) to the one exercise that may stand there, its sets free; to "" for a place
    that stays empty. One that does not fit there leaves the place as free as any.
    """
    rules = rules or Rules.of(request)
    listed = list(places_of(request))
    scale = TIE_PARTS * (len(listed) + 1)
    fitting, losses, ranges = rules.fitting, rules.losses, rules.ranges
    pins = pins_by_place(request)
    ceilings = ceiling_quarters(request)
    shares = rules.quarters
    groups = tuple(sorted({group for entry in shares.values() for group in entry} | set(ranges)))
    number_of = {group: number for number, group in enumerate(groups)}
    wanted = _wanted(request, rules)
    number_of_wanted = {thing: number for number, thing in enumerate(wanted)}
    sessions = [(day, occurrence) for day in request.day_types for occurrence in range(day.occurrences)]
    session_of = {(day.key, occurrence): index for index, (day, occurrence) in enumerate(sessions)}
    day_of = {day.key: index for index, day in enumerate(request.day_types)}
    lines = {slot.key: line for day in request.day_types for line, slot in enumerate(day.slots)}
    families: dict[str, list[int]] = {}
    places: list[Place] = []
    for number, (day, slot, occurrence) in enumerate(listed):
        pin = pins.get((slot.key, occurrence))
        keys: Sequence[str] = fitting[slot.key].fitting
        kept = None if pin is not None or held is None else held.get((slot.key, occurrence))
        kept_empty = kept == "" or (pin is not None and not pin.exercise)
        if kept in keys or kept == "":
            keys = (kept,) if kept else ()
        sets: Sequence[int] = range(max(1, slot.sets_low), max(1, slot.sets_low, slot.sets_high) + 1)
        if pin is not None:
            keys = () if not pin.exercise or pin_reasons(request, pin) else (pin.exercise,)
            sets = (pin.sets,) if pin.sets > 0 else sets
        options = []
        for key in keys:
            exercise = request.library[key]
            fixed = sum(t.amount for t in pick_terms(request, slot, occurrence, exercise, fitting[slot.key]))
            own = {}
            for count in sets:
                cost = fixed + sum(term.amount for term in sets_terms(request.weights, slot, occurrence, count))
                own[count] = cost * scale + _tie(slot, occurrence, key, count)
            counted = tuple((number_of[group], each) for group, each in shares[key].items())
            brings = tuple(number_of_wanted[thing] for thing in _brings(exercise) if thing in number_of_wanted)
            pull, push = mix.pull_share(exercise) if mix.applies(request) else (0, 0)
            options.append(Option(exercise, own, counted, brings, pull - push))
        options.sort(key=lambda option: (min(option.own.values()), option.exercise.key))
        places.append(
            Place(
                number,
                slot,
                occurrence,
                session_of[day.key, occurrence],
                lines[slot.key],
                list(lines).index(slot.key),
                day_of[day.key],
                tuple(options[:most_options]),
                0 if kept_empty else losses[slot.key] * scale,
                pin is not None or kept == "",
            )
        )
        families.setdefault(slot.key, []).append(number)
    session_places = [
        tuple(place.number for place in places if place.session == index) for index in range(len(sessions))
    ]
    cap = request.minutes_cap
    return Problem(
        request,
        scale,
        tuple(places),
        tuple(sessions),
        tuple(session_places),
        tuple(
            tuple(tuple(numbers[i] for i in block) for block in superset_blocks(day))
            for (day, _), numbers in zip(sessions, session_places, strict=True)
        ),
        tuple(tuple(families[key]) for key in lines),
        groups,
        tuple(ranges.get(group) for group in groups),
        tuple(ceilings.get(group) for group in groups),
        tuple(points * scale for points in wanted.values()),
        None if cap is None else cap * 60,
    )


def _wanted(request: WeekRequest, rules: Rules) -> dict[tuple[str, str], int]:
    """What the week should hold, and the points that it costs to hold none of it."""
    if not mix.applies(request):
        return {}
    weights = request.weights
    kinds = {("kind", kind): weights.kind_missing for kind in mix.WEEKLY_PATTERNS}
    return {**kinds, **{("stretched", region): weights.never_stretched for region in rules.to_stretch}}


def _brings(exercise: Exercise) -> list[tuple[str, str]]:
    kind = mix.kind_of(exercise)
    return [*([("kind", kind)] if kind else []), *(("stretched", region) for region in mix.stretches(exercise))]


def _tie(slot: Slot, occurrence: int, exercise: str, sets: int) -> int:
    """A stable figure that decides between equal weeks: the same in every process, unlike ``hash``."""
    return crc32(f"{slot.key}|{occurrence}|{exercise}|{sets}".encode()) % TIE_PARTS


def picks_of(problem: Problem, chosen: Sequence[tuple[int, int] | None]) -> tuple[Pick, ...]:
    """The picks that chosen (option number, sets) make, in the order of the week."""
    pins = pins_by_place(problem.request)
    picks = []
    for place, choice in zip(problem.places, chosen, strict=True):
        if choice is None:
            continue
        option, sets = place.options[choice[0]], choice[1]
        pinned = (place.slot.key, place.occurrence) in pins
        picks.append(Pick(place.slot.key, place.occurrence, option.exercise.key, sets, (), pinned))
    return tuple(picks)
