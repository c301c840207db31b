"""Which exercises may fill a slot, and for every other one the reasons that keep it out.

Nothing here weighs one exercise against another: an exercise passes every hard limit or it has reasons.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.engine.terms import Because, Exercise, Pick
from programs.engine.vocabulary import EVERYWHERE, SKILLS

# The highest skill without the coach's word. Advanced skills always wait for it (coaching practice).
SKILL_BY_EXPERIENCE: Final[Mapping[str, str]] = {
    "novice": "basic",
    "intermediate": "intermediate",
    "advanced": "intermediate",
}

# Which roles may stand in for a slot's own. A place without main lifts still fills its main slots.
STAND_INS: Final[Mapping[str, tuple[str, ...]]] = {
    "main": ("secondary",),
    "secondary": ("main", "isolation"),
    "isolation": ("secondary", "trunk"),
    "trunk": ("carry",),
    "carry": ("trunk", "isolation"),
}

EXCLUDED: Final = "exercise.excluded"
JOINT: Final = "exercise.spared_joint"
STATION: Final = "exercise.station_missing"
ONE_STATION: Final = "exercise.one_station_missing"
SKILL: Final = "exercise.skill"
REGION: Final = "exercise.other_region"
ROLE: Final = "exercise.other_role"
# What a coach's pin may set aside; a pin never brings back a spared joint, an excluded exercise or a machine
# that is not there.
PIN_SETS_ASIDE: Final = frozenset((SKILL, REGION, ROLE))


@dataclass(frozen=True, slots=True)
class SlotChoice:
    """The exercises that may fill a slot, by key in order, and the reasons that keep the others out.

    Exercises of other regions are kept out without being listed, unless the coach ranked them.
    """

    fitting: tuple[str, ...]
    kept_out: Mapping[str, tuple[Because, ...]]


def allowed_skill(request: WeekRequest) -> str:
    return request.skill_allowed or SKILL_BY_EXPERIENCE[request.experience]


def reasons_against(exercise: Exercise, request: WeekRequest) -> tuple[Because, ...]:
    """Why this client may not do the exercise here, whatever the slot; empty if they may."""
    found = []
    if exercise.key in request.excluded:
        found.append(Because(EXCLUDED, {"exercise": exercise.key}))
    stress = {entry.joint: entry.severity for entry in exercise.joints}
    for joint in sorted({limit.joint for limit in request.limits if limit.strict}):
        if joint in stress:
            found.append(Because(JOINT, {"joint": joint, "severity": stress[joint]}))
    there = request.stations.union(EVERYWHERE)
    for kind in dict.fromkeys((exercise.implement, *exercise.needs_all)):
        if kind not in there:
            found.append(Because(STATION, {"station": kind}))
    for kinds in exercise.needs_one:
        if there.isdisjoint(kinds):
            found.append(Because(ONE_STATION, {"stations": ",".join(kinds)}))
    allowed = allowed_skill(request)
    if SKILLS.index(exercise.skill) > SKILLS.index(allowed):
        found.append(Because(SKILL, {"skill": exercise.skill, "allowed": allowed}))
    return tuple(found)


def fits_regions(exercise: Exercise, slot: Slot) -> bool:
    return any(region in slot.regions for region in exercise.primary_regions())


def reasons_for_slot(exercise: Exercise, slot: Slot) -> tuple[Because, ...]:
    """Why the exercise is no way to fill this slot. The coach's own ranking settles the role."""
    found = []
    if not fits_regions(exercise, slot):
        found.append(Because(REGION, {"region": slot.regions[0]}))
    ranked = any(exercise.key in keys for keys in slot.candidates)
    if not ranked and exercise.role != slot.role and exercise.role not in STAND_INS[slot.role]:
        found.append(Because(ROLE, {"role": exercise.role, "wanted": slot.role}))
    return tuple(found)


def choices(request: WeekRequest) -> dict[str, SlotChoice]:
    """For every slot key of the week: what fits and what is kept out. The library's own order is no matter."""
    against = {key: reasons_against(request.library[key], request) for key in sorted(request.library)}
    by_region: dict[str, list[str]] = {}
    for key in against:
        for region in request.library[key].primary_regions():
            by_region.setdefault(region, []).append(key)
    slots = [slot for day_type in request.day_types for slot in day_type.slots]
    return {slot.key: _choice_for(request, slot, against, by_region) for slot in slots}


def _choice_for(
    request: WeekRequest,
    slot: Slot,
    against: Mapping[str, tuple[Because, ...]],
    by_region: Mapping[str, Sequence[str]],
) -> SlotChoice:
    listed = {key for keys in slot.candidates for key in keys if key in against}
    listed.update(key for region in slot.regions for key in by_region.get(region, ()))
    fitting: list[str] = []
    kept_out: dict[str, tuple[Because, ...]] = {}
    for key in sorted(listed):
        reasons = (*against[key], *reasons_for_slot(request.library[key], slot))
        if reasons:
            kept_out[key] = reasons
        else:
            fitting.append(key)
    return SlotChoice(tuple(fitting), kept_out)


def pin_reasons(request: WeekRequest, pin: Pick) -> tuple[Because, ...]:
    """Why a pin cannot be honoured; empty if it can. A pin without an exercise keeps its slot empty."""
    if not pin.exercise:
        return ()
    exercise = request.library.get(pin.exercise)
    if exercise is None:
        return (Because("exercise.unknown", {"exercise": pin.exercise}),)
    return tuple(why for why in reasons_against(exercise, request) if why.code not in PIN_SETS_ASIDE)


def pins_by_place(request: WeekRequest) -> dict[tuple[str, int], Pick]:
    """The pins by slot key and occurrence; pins of slots that no longer exist are left aside."""
    places = {(slot.key, occurrence) for _, slot, occurrence in places_of(request)}
    return {(pin.slot, pin.occurrence): pin for pin in request.pins if (pin.slot, pin.occurrence) in places}


def places_of(request: WeekRequest) -> Iterator[tuple[DayType, Slot, int]]:
    """Every slot on every occurrence, session by session: day types in order, A before B, slots in order."""
    for day_type in request.day_types:
        for occurrence in range(day_type.occurrences):
            for slot in day_type.slots:
                yield day_type, slot, occurrence
