"""What a week costs by the rules: one list of terms, from the request and the picks alone.

The search minimises the sum, the explanations compare it term by term, and tests check the search against it.
Hard limits are no terms here: a week that breaks one is not a week (see ``audit.broken_limits``).

The weights are whole numbers on one scale, tuned on made-up weeks: a step in the coach's ranking is 8, a
set missing from a group's range 24. Dose and preference share that scale, because to save a set or two a week
at the price of many ranks is not what coaches want. Losing a slot outweighs everything below it, then comes
the same exercise twice among the occurrences of a slot.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, TypeVar

from programs.engine.compose import mix
from programs.engine.compose.candidates import SlotChoice, choices, places_of
from programs.engine.compose.measures import group_quarters, range_quarters
from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.engine.terms import Exercise, Params, Pick
from programs.engine.vocabulary import ROLES, SKILLS

UNFILLED: Final = 100_000_000
REPEAT: Final = 100_000
UNDER_QUARTER: Final = 6
FAR_UNDER_QUARTER: Final = 6  # on top, below half of the range's low end
PRIORITY_FACTOR: Final = 2  # on both of these for a group that is to grow more
OVER_QUARTER: Final = 4
RANK_STEP: Final = 8
RANK_STEPS: Final = 6  # later ranks cost no more
OUTSIDE_RANKING: Final = 56
DISLIKED: Final = 40
LIKED: Final = -20
SKILL_STEP: Final = 30
JOINT_STRESS: Final = 3  # the exercise's highest severity
GO_EASY: Final = 15  # each severity on a joint to go easy on
STAND_IN: Final = 15
OFF_PATTERN: Final = 40
OFF_REPS: Final = 20
CHANGED: Final = 25
STALLED: Final = 35
SET_AWAY: Final = 2
SAME_IMPLEMENT: Final = 12
SAME_ANGLE: Final = 12
ELSEWHERE: Final = 12
PATTERN_AGAIN: Final = 10
SECOND_MAIN: Final = 40
IMPLEMENT_CHANGE: Final = 4
SUPERSET_AT_ONE_STATION: Final = -6
SUPERSET_CLASH: Final = 100
KIND_MISSING: Final = 30  # a kind of movement that the week does not hold
NEVER_STRETCHED: Final = 10  # a slot's target that nothing in the week loads while long
OUT_OF_BALANCE: Final = 6  # each set of pulls too few or too many beside the pushes

# The client's own level of skill; what the coach allows beyond it is used with reluctance.
SKILL_AT_HOME: Final[Mapping[str, str]] = {
    "novice": "basic",
    "intermediate": "intermediate",
    "advanced": "advanced",
}
ONE_MAIN_A_SESSION: Final = ("squat", "hinge")
SUPERSET_SHARED: Final = 0.5
SUPERSET_JOINTS: Final = (("lumbar_shear", "lumbar_compression"), ("grip",))

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class Term:
    """One part of the cost: code, amount in points (negative is a merit), and what its sentence needs."""

    code: str
    amount: int
    params: Params = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Cost:
    terms: tuple[Term, ...]

    @property
    def total(self) -> int:
        return sum(term.amount for term in self.terms)


Places = dict[tuple[str, int], Pick]  # (slot key, occurrence) -> what stands there


@dataclass(frozen=True, slots=True)
class Rules:
    """What costing the weeks of one request needs again and again."""

    request: WeekRequest
    fitting: Mapping[str, SlotChoice]
    losses: Mapping[str, int]
    kept_empty: frozenset[tuple[str, int]]
    quarters: Mapping[str, Mapping[str, int]]  # exercise -> group -> quarter sets a set
    ranges: Mapping[str, tuple[int, int]]
    to_stretch: tuple[str, ...]  # regions that something in the week should load while long

    @classmethod
    def of(cls, request: WeekRequest) -> "Rules":
        fitting = choices(request)
        return cls(
            request,
            fitting,
            loss_of(request),
            frozenset((pin.slot, pin.occurrence) for pin in request.pins if not pin.exercise),
            {key: group_quarters(request.library[key]) for key in sorted(request.library)},
            range_quarters(request),
            mix.regions_to_stretch(request, {key: choice.fitting for key, choice in fitting.items()}),
        )

    def place_terms(self, at: Places, slot: Slot, occurrence: int) -> list[Term]:
        pick = at.get((slot.key, occurrence))
        if pick is None:
            kept_empty = (slot.key, occurrence) in self.kept_empty
            loss = Term("unfilled", self.losses[slot.key], {"slot": slot.key, "occurrence": occurrence})
            return [] if kept_empty else [loss]
        exercise = self.request.library[pick.exercise]
        return [
            *pick_terms(self.request, slot, occurrence, exercise, self.fitting[slot.key]),
            *sets_terms(slot, occurrence, pick.sets),
        ]

    def slot_terms(self, at: Places, day: DayType, slot: Slot) -> list[Term]:
        there = [(slot.key, occurrence) for occurrence in range(day.occurrences)]
        return sibling_terms(slot, [self.request.library[at[place].exercise] for place in there if place in at])

    def day_terms(self, at: Places, day: DayType) -> list[Term]:
        there = [(slot.key, occurrence) for occurrence in range(day.occurrences) for slot in day.slots]
        return elsewhere_terms((place[0], at[place].exercise) for place in there if place in at)

    def session_terms(self, at: Places, day: DayType, occurrence: int) -> list[Term]:
        there = [(slot, (slot.key, occurrence)) for slot in day.slots]
        session = [(slot, self.request.library[at[place].exercise]) for slot, place in there if place in at]
        return session_terms(session, occurrence)

    def week_terms(self, at: Places) -> list[Term]:
        quarters = dict.fromkeys(self.ranges, 0)
        for pick in at.values():
            for group, each in self.quarters[pick.exercise].items():
                if group in quarters:
                    quarters[group] += each * pick.sets
        terms: list[Term] = []
        for group, (low, high) in self.ranges.items():
            more = self.request.priorities.get(group) == "more"
            terms += dose_terms(group, quarters[group], low, high, more)
        if mix.applies(self.request):
            terms += mix_terms(
                [(self.request.library[pick.exercise], pick.sets) for pick in at.values()], self.to_stretch
            )
        return terms

    def near(self, at: Places, day: DayType, slot: Slot, occurrence: int) -> list[Term]:
        """The terms that a change of this one place can change."""
        return [
            *self.place_terms(at, slot, occurrence),
            *self.slot_terms(at, day, slot),
            *self.day_terms(at, day),
            *self.session_terms(at, day, occurrence),
            *self.week_terms(at),
        ]

    def cost(self, at: Places) -> Cost:
        terms: list[Term] = []
        for _, slot, occurrence in places_of(self.request):
            terms += self.place_terms(at, slot, occurrence)
        for day in self.request.day_types:
            for slot in day.slots:
                terms += self.slot_terms(at, day, slot)
            terms += self.day_terms(at, day)
            for occurrence in range(day.occurrences):
                terms += self.session_terms(at, day, occurrence)
        return Cost((*terms, *self.week_terms(at)))


def evaluate(request: WeekRequest, picks: Iterable[Pick]) -> Cost:
    """Every term of the week that ``picks`` makes. Places without a pick count as unfilled."""
    return Rules.of(request).cost(by_place(request, picks))


def by_place(request: WeekRequest, picks: Iterable[Pick]) -> Places:
    """The picks by slot and occurrence, in the order of the week; what the request does not know is left out."""
    given = {(pick.slot, pick.occurrence): pick for pick in picks if pick.exercise in request.library}
    listed = [(slot.key, occurrence) for _, slot, occurrence in places_of(request)]
    return {place: given[place] for place in listed if place in given}


def loss_of(request: WeekRequest) -> dict[str, int]:
    """What leaving a slot out costs. One slot of a better class outweighs a session full of lesser ones.

    Classes follow the coach's priority first and then the role.
    """
    slots = [slot for day_type in request.day_types for slot in day_type.slots]
    classes = sorted({_standing(slot) for slot in slots}, reverse=True)
    most = 1 + max((len(day_type.slots) for day_type in request.day_types), default=0)
    return {slot.key: UNFILLED * most ** classes.index(_standing(slot)) for slot in slots}


def _standing(slot: Slot) -> tuple[int, int]:
    return slot.priority, ROLES.index(slot.role)


def pick_terms(request: WeekRequest, slot: Slot, occurrence: int, exercise: Exercise, choice: SlotChoice) -> list[Term]:
    """What one exercise costs on one place whatever stands beside it; terms of nothing are left out."""
    here: dict[str, str | int] = {"slot": slot.key, "occurrence": occurrence, "exercise": exercise.key}
    terms: list[Term] = []

    def add(code: str, amount: int, **params: str | int) -> None:
        if amount:
            terms.append(Term(code, amount, {**here, **params}))

    ranked = slot.ranked_on(occurrence)
    if exercise.key in ranked:
        rank = ranked.index(exercise.key)
        add("rank", RANK_STEP * min(rank, RANK_STEPS), rank=rank + 1)
    elif ranked:
        add("outside_ranking", OUTSIDE_RANKING)
    if exercise.key in request.dislikes:
        add("disliked", DISLIKED)
    if exercise.key in request.likes:
        add("liked", LIKED)
    above = SKILLS.index(exercise.skill) - SKILLS.index(SKILL_AT_HOME[request.experience])
    add("skill", SKILL_STEP * max(0, above), skill=exercise.skill)
    add("joint_stress", JOINT_STRESS * max((entry.severity for entry in exercise.joints), default=0))
    easy = {limit.joint for limit in request.limits if not limit.strict}
    for entry in exercise.joints:
        if entry.joint in easy:
            add("go_easy", GO_EASY * entry.severity, joint=entry.joint, severity=entry.severity)
    if exercise.role != slot.role and exercise.key not in ranked:
        add("stand_in", STAND_IN, role=exercise.role, wanted=slot.role)
    if slot.patterns and exercise.pattern not in slot.patterns:
        add("off_pattern", OFF_PATTERN, pattern=exercise.pattern)
    low, high = slot.reps_on(occurrence)
    if exercise.rep_unit == "reps" and (exercise.rep_high < low or exercise.rep_low > high):
        add("off_reps", OFF_REPS, low=exercise.rep_low, high=exercise.rep_high)
    if exercise.key in request.stalled:
        add("stalled", STALLED)
    elif exercise.key not in request.previous and not request.previous.isdisjoint(choice.fitting):
        add("changed", CHANGED)
    return terms


def sets_terms(slot: Slot, occurrence: int, sets: int) -> list[Term]:
    away = abs(sets - slot.usual_sets)
    if not away:
        return []
    return [Term("sets", SET_AWAY * away, {"slot": slot.key, "occurrence": occurrence, "sets": sets})]


def sibling_terms(slot: Slot, exercises: Sequence[Exercise]) -> list[Term]:
    """What the occurrences of one slot have in common, though the second is there to vary the first."""
    terms: list[Term] = []
    here: dict[str, str | int] = {"slot": slot.key}
    for key, more in _again(exercise.key for exercise in exercises):
        terms.append(Term("repeat", REPEAT * more, {**here, "exercise": key}))
    for implement, more in _again(exercise.implement for exercise in exercises):
        terms.append(Term("same_implement", SAME_IMPLEMENT * more, {**here, "implement": implement}))
    for detail, more in _again((exercise.pattern, exercise.angle) for exercise in exercises):
        terms.append(Term("same_angle", SAME_ANGLE * more, {**here, "pattern": detail[0], "angle": detail[1]}))
    return terms


def elsewhere_terms(taken: Iterable[tuple[str, str]]) -> list[Term]:
    """Exercises that stand under several slots of one day type; ``taken`` pairs slot and exercise keys."""
    slots: dict[str, set[str]] = {}
    for slot, exercise in taken:
        slots.setdefault(exercise, set()).add(slot)
    return [
        Term("elsewhere", ELSEWHERE * (len(slots[key]) - 1), {"exercise": key})
        for key in sorted(slots)
        if len(slots[key]) > 1
    ]


def session_terms(session: Sequence[tuple[Slot, Exercise]], occurrence: int) -> list[Term]:
    """How the exercises of one session go together, in their order."""
    if not session:
        return []
    terms: list[Term] = []
    here: dict[str, str | int] = {"day": session[0][0].day, "occurrence": occurrence}
    for pattern, more in _again(exercise.pattern for _, exercise in session):
        terms.append(Term("pattern_again", PATTERN_AGAIN * more, {**here, "pattern": pattern}))
    mains = [e.pattern for _, e in session if e.role == "main" and e.pattern in ONE_MAIN_A_SESSION]
    for pattern, more in _again(mains):
        terms.append(Term("second_main", SECOND_MAIN * more, {**here, "pattern": pattern}))
    for (slot, exercise), (next_slot, following) in pairwise(session):
        both = {**here, "exercise": exercise.key, "other": following.key}
        if exercise.implement != following.implement:
            terms.append(Term("implement_change", IMPLEMENT_CHANGE, both))
        elif slot.superset and slot.superset == next_slot.superset:
            terms.append(Term("superset_at_one_station", SUPERSET_AT_ONE_STATION, both))
        if slot.superset and slot.superset == next_slot.superset and superset_clash(exercise, following):
            terms.append(Term("superset_clash", SUPERSET_CLASH, both))
    return terms


def superset_clash(one: Exercise, other: Exercise) -> bool:
    """Whether two exercises should not be done in turns: a region, the low back or the grip tires in both."""
    if one.role == other.role == "main":
        return True
    regions = {entry.region for entry in one.regions if entry.share >= SUPERSET_SHARED}
    if any(entry.region in regions for entry in other.regions if entry.share >= SUPERSET_SHARED):
        return True
    first = {entry.joint for entry in one.joints}
    second = {entry.joint for entry in other.joints}
    return any(not first.isdisjoint(kind) and not second.isdisjoint(kind) for kind in SUPERSET_JOINTS)


def dose_terms(group: str, quarters: int, low: int, high: int, more: bool) -> list[Term]:
    """What a group's dose is off its range, in quarter sets a cycle."""
    factor = PRIORITY_FACTOR if more else 1
    terms: list[Term] = []
    here: dict[str, str | int | float] = {
        "group": group,
        "sets": quarters / 4,
        "low": low / 4,
        "high": high / 4,
    }
    if quarters < low:
        terms.append(Term("under", UNDER_QUARTER * factor * (low - quarters), here))
    if quarters < low // 2:
        terms.append(Term("far_under", FAR_UNDER_QUARTER * factor * (low // 2 - quarters), here))
    if quarters > high:
        terms.append(Term("over", OVER_QUARTER * (quarters - high), here))
    return terms


def mix_terms(week: Sequence[tuple[Exercise, int]], to_stretch: Iterable[str]) -> list[Term]:
    """What a whole week lacks: kinds of movement, long positions, pulls beside its pushes."""
    kinds = {mix.kind_of(exercise) for exercise, _sets in week}
    terms = [Term("kind_missing", KIND_MISSING, {"kind": kind}) for kind in mix.WEEKLY_PATTERNS if kind not in kinds]
    stretched = {region for exercise, _sets in week for region in mix.stretches(exercise)}
    terms += [
        Term("never_stretched", NEVER_STRETCHED, {"region": region}) for region in to_stretch if region not in stretched
    ]
    pulls = sum(mix.pull_share(exercise)[0] * sets for exercise, sets in week)
    pushes = sum(mix.pull_share(exercise)[1] * sets for exercise, sets in week)
    off = mix.sets_out_of_balance(pulls, pushes)
    if off:
        params: dict[str, str | int] = {"pulls": pulls, "pushes": pushes, "sets": off}
        terms.append(Term("out_of_balance", OUT_OF_BALANCE * off, params))
    return terms


def _again(values: Iterable[_Value]) -> list[tuple[_Value, int]]:
    """Each value that occurs more than once with how often it does so beyond the first, in order of arrival."""
    counts: dict[_Value, int] = {}
    for value in values:
        counts[value] = counts.get(value, 0) + 1
    return [(value, count - 1) for value, count in counts.items() if count > 1]
