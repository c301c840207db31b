"""What a week costs by the rules: one list of terms, from the request and the picks alone.

The search minimises the sum, the explanations compare it term by term, and tests check the search against it.
Hard limits are no terms here: a week that breaks one is not a week (see ``audit.broken_limits``).

What each term weighs comes with the request (``weights``). Losing a slot outweighs everything below it, then
comes the same exercise twice among the occurrences of a slot.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, TypeVar

from programs.engine.compose import mix
from programs.engine.compose.candidates import SlotChoice, choices, places_of
from programs.engine.compose.measures import group_quarters, range_quarters
from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.engine.compose.weights import Weights
from programs.engine.terms import Exercise, Params, Pick
from programs.engine.vocabulary import ROLES, SKILLS

# What outweighs every weight, in its order; both grow with the weights' reach.
UNFILLED: Final = 100_000_000
REPEAT: Final = 100_000  # the same exercise twice among the occurrences of a slot

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
            *sets_terms(self.request.weights, slot, occurrence, pick.sets),
        ]

    def slot_terms(self, at: Places, day: DayType, slot: Slot) -> list[Term]:
        there = [(slot.key, occurrence) for occurrence in range(day.occurrences)]
        exercises = [self.request.library[at[place].exercise] for place in there if place in at]
        return sibling_terms(self.request.weights, slot, exercises)

    def day_terms(self, at: Places, day: DayType) -> list[Term]:
        there = [(slot.key, occurrence) for occurrence in range(day.occurrences) for slot in day.slots]
        return elsewhere_terms(self.request.weights, [(place[0], at[place].exercise) for place in there if place in at])

    def session_terms(self, at: Places, day: DayType, occurrence: int) -> list[Term]:
        there = [(slot, (slot.key, occurrence)) for slot in day.slots]
        session = [(slot, self.request.library[at[place].exercise]) for slot, place in there if place in at]
        return session_terms(self.request.weights, session, occurrence)

    def week_terms(self, at: Places) -> list[Term]:
        quarters = dict.fromkeys(self.ranges, 0)
        for pick in at.values():
            for group, each in self.quarters[pick.exercise].items():
                if group in quarters:
                    quarters[group] += each * pick.sets
        terms: list[Term] = []
        for group, (low, high) in self.ranges.items():
            more = self.request.priorities.get(group) == "more"
            terms += dose_terms(self.request.weights, group, quarters[group], low, high, more)
        if mix.applies(self.request):
            week = [(self.request.library[pick.exercise], pick.sets) for pick in at.values()]
            terms += mix_terms(self.request.weights, week, self.to_stretch)
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
    least = UNFILLED * request.weights.reach
    return {slot.key: least * most ** classes.index(_standing(slot)) for slot in slots}


def _standing(slot: Slot) -> tuple[int, int]:
    return slot.priority, ROLES.index(slot.role)


def pick_terms(request: WeekRequest, slot: Slot, occurrence: int, exercise: Exercise, choice: SlotChoice) -> list[Term]:
    """What one exercise costs on one place whatever stands beside it; terms of nothing are left out."""
    weights = request.weights
    here: dict[str, str | int] = {"slot": slot.key, "occurrence": occurrence, "exercise": exercise.key}
    terms: list[Term] = []

    def add(code: str, amount: int, **params: str | int) -> None:
        if amount:
            terms.append(Term(code, amount, {**here, **params}))

    ranked = slot.ranked_on(occurrence)
    if exercise.key in ranked:
        rank = ranked.index(exercise.key)
        add("rank", weights.rank_step * min(rank, weights.rank_steps), rank=rank + 1)
    elif ranked:
        add("outside_ranking", weights.outside_ranking)
    if exercise.key in request.dislikes:
        add("disliked", weights.disliked)
    if exercise.key in request.likes:
        add("liked", -weights.liked)
    above = SKILLS.index(exercise.skill) - SKILLS.index(SKILL_AT_HOME[request.experience])
    add("skill", weights.skill_step * max(0, above), skill=exercise.skill)
    add("joint_stress", weights.joint_stress * max((entry.severity for entry in exercise.joints), default=0))
    easy = {limit.joint for limit in request.limits if not limit.strict}
    for entry in exercise.joints:
        if entry.joint in easy:
            add("go_easy", weights.go_easy * entry.severity, joint=entry.joint, severity=entry.severity)
    if exercise.role != slot.role and exercise.key not in ranked:
        add("stand_in", weights.stand_in, role=exercise.role, wanted=slot.role)
    if slot.patterns and exercise.pattern not in slot.patterns:
        add("off_pattern", weights.off_pattern, pattern=exercise.pattern)
    low, high = slot.reps_on(occurrence)
    if exercise.rep_unit == "reps" and (exercise.rep_high < low or exercise.rep_low > high):
        add("off_reps", weights.off_reps, low=exercise.rep_low, high=exercise.rep_high)
    if exercise.key in request.stalled:
        add("stalled", weights.stalled)
    elif exercise.key in request.due:
        add("due", weights.stalled)
    elif exercise.key not in request.previous and not request.previous.isdisjoint(choice.fitting):
        add("changed", weights.changed)
    return terms


def sets_terms(weights: Weights, slot: Slot, occurrence: int, sets: int) -> list[Term]:
    away = abs(sets - slot.usual_sets)
    if not away:
        return []
    return [Term("sets", weights.set_away * away, {"slot": slot.key, "occurrence": occurrence, "sets": sets})]


def sibling_terms(weights: Weights, slot: Slot, exercises: Sequence[Exercise]) -> list[Term]:
    """What the occurrences of one slot have in common, though the second is there to vary the first."""
    terms: list[Term] = []
    here: dict[str, str | int] = {"slot": slot.key}
    for key, more in _again(exercise.key for exercise in exercises):
        terms.append(Term("repeat", REPEAT * weights.reach * more, {**here, "exercise": key}))
    for implement, more in _again(exercise.implement for exercise in exercises):
        terms.append(Term("same_implement", weights.same_implement * more, {**here, "implement": implement}))
    for detail, more in _again((exercise.pattern, exercise.angle) for exercise in exercises):
        terms.append(Term("same_angle", weights.same_angle * more, {**here, "pattern": detail[0], "angle": detail[1]}))
    return terms


def elsewhere_terms(weights: Weights, taken: Iterable[tuple[str, str]]) -> list[Term]:
    """Exercises that stand under several slots of one day type; ``taken`` pairs slot and exercise keys."""
    slots: dict[str, set[str]] = {}
    for slot, exercise in taken:
        slots.setdefault(exercise, set()).add(slot)
    return [
        Term("elsewhere", weights.elsewhere * (len(slots[key]) - 1), {"exercise": key})
        for key in sorted(slots)
        if len(slots[key]) > 1
    ]


def session_terms(weights: Weights, session: Sequence[tuple[Slot, Exercise]], occurrence: int) -> list[Term]:
    """How the exercises of one session go together, in their order."""
    if not session:
        return []
    terms: list[Term] = []
    here: dict[str, str | int] = {"day": session[0][0].day, "occurrence": occurrence}
    for pattern, more in _again(exercise.pattern for _, exercise in session):
        terms.append(Term("pattern_again", weights.pattern_again * more, {**here, "pattern": pattern}))
    mains = [e.pattern for _, e in session if e.role == "main" and e.pattern in ONE_MAIN_A_SESSION]
    for pattern, more in _again(mains):
        terms.append(Term("second_main", weights.second_main * more, {**here, "pattern": pattern}))
    for (slot, exercise), (next_slot, following) in pairwise(session):
        both = {**here, "exercise": exercise.key, "other": following.key}
        if exercise.implement != following.implement:
            terms.append(Term("implement_change", weights.implement_change, both))
        elif slot.superset and slot.superset == next_slot.superset:
            terms.append(Term("superset_at_one_station", -weights.superset_at_one_station, both))
        if slot.superset and slot.superset == next_slot.superset and superset_clash(exercise, following):
            terms.append(Term("superset_clash", weights.superset_clash, both))
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


def dose_terms(weights: Weights, group: str, quarters: int, low: int, high: int, more: bool) -> list[Term]:
    """What a group's dose is off its range, in quarter sets a cycle."""
    factor = weights.priority_factor if more else 1
    terms: list[Term] = []
    here: dict[str, str | int | float] = {
        "group": group,
        "sets": quarters / 4,
        "low": low / 4,
        "high": high / 4,
    }
    if quarters < low:
        terms.append(Term("under", weights.under_quarter * factor * (low - quarters), here))
    if quarters < low // 2:
        terms.append(Term("far_under", weights.far_under_quarter * factor * (low // 2 - quarters), here))
    if quarters > high:
        terms.append(Term("over", weights.over_quarter * (quarters - high), here))
    return terms


def mix_terms(weights: Weights, week: Sequence[tuple[Exercise, int]], to_stretch: Iterable[str]) -> list[Term]:
    """What a whole week lacks: kinds of movement, long positions, pulls beside its pushes."""
    kinds = {mix.kind_of(exercise) for exercise, _sets in week}
    missing = weights.kind_missing
    terms = [Term("kind_missing", missing, {"kind": kind}) for kind in mix.WEEKLY_PATTERNS if kind not in kinds]
    stretched = {region for exercise, _sets in week for region in mix.stretches(exercise)}
    terms += [
        Term("never_stretched", weights.never_stretched, {"region": region})
        for region in to_stretch
        if region not in stretched
    ]
    pulls = sum(mix.pull_share(exercise)[0] * sets for exercise, sets in week)
    pushes = sum(mix.pull_share(exercise)[1] * sets for exercise, sets in week)
    off = mix.sets_out_of_balance(pulls, pushes)
    if off:
        params: dict[str, str | int] = {"pulls": pulls, "pushes": pushes, "sets": off}
        terms.append(Term("out_of_balance", weights.out_of_balance * off, params))
    return terms


def _again(values: Iterable[_Value]) -> list[tuple[_Value, int]]:
    """Each value that occurs more than once with how often it does so beyond the first, in order of arrival."""
    counts: dict[_Value, int] = {}
    for value in values:
        counts[value] = counts.get(value, 0) + 1
    return [(value, count - 1) for value, count in counts.items() if count > 1]
