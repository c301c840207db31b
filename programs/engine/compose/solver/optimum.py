"""The best week there is: the problem as one model of whole numbers, solved by CP-SAT and proven.

The model is written from the rules that ``evaluate`` states, apart from the search that ``search`` runs; tests hold
both against each other and against trying every week.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil
from typing import Any, Final

from programs.engine.compose.evaluate import ONE_MAIN_A_SESSION, REPEAT, superset_clash
from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.mix import PULL_TO_PUSH_HIGH, PULL_TO_PUSH_LOW, TENTHS
from programs.engine.compose.problem import Problem
from programs.engine.compose.solver.rows import Rows, solver_name
from programs.engine.terms import Exercise

# The solver's own measure of work, the same on any machine; one unit is about a second and a half here.
USUAL_EFFORT: Final = 2.0


@dataclass(frozen=True, slots=True)
class Optimum:
    """The best choices found, one a place. ``off_by`` is how many points a better week could save at most: 0 when
    proven. ``solver`` names the solver and its version."""

    chosen: list[Choice]
    proven: bool
    off_by: int
    solver: str


def optimum(
    problem: Problem, *, effort: float = USUAL_EFFORT, stay: Mapping[int, int] | None = None, gaps: bool = False
) -> Optimum | None:
    """The best week, or None where no week keeps the hard limits (pins that clash with each other).

    ``stay`` maps numbers of places that may change to the option that they hold, given up only where that saves more
    than the weight of the same name. Places that cannot all be filled are left empty, the least wanted first; with
    ``gaps`` that is expected, and a week without any is not tried first. The answer is the same.
    """
    limits = Ledger(problem)
    if not gaps and not _must_repeat(problem):
        found = _best(_Model(problem, limits, filled=True, repeats=False), stay, effort)
        if found is not None:
            return found
    # How few places have to stay empty is asked of the hard limits alone, class by class of what an empty place
    # loses: that is soon answered.
    bare = Rows(problem, limits, filled=False)
    fewest: list[tuple[list[int], int]] = []
    proven = True
    for loss in sorted({place.loss for place in problem.places if place.loss}, reverse=True):
        numbers = [place.number for place in problem.places if place.loss == loss]
        answer = bare.fewest_empty(numbers, effort)
        if answer is None:
            return None
        bare.leave_empty(numbers, answer[0])
        fewest.append((numbers, answer[0]))
        proven = proven and answer[1]
    model = _Model(problem, limits, filled=not any(count for _numbers, count in fewest), repeats=True)
    for numbers, count in fewest:
        model.leave_empty(numbers, count)
    found = _best(model, stay, effort)
    if found is None or proven:
        return found
    return Optimum(found.chosen, False, found.off_by, found.solver)


def _best(model: "_Model", stay: Mapping[int, int] | None, effort: float) -> Optimum | None:
    if not model.possible:
        return None
    model.prefer(stay or {})
    return model.solve(effort)


def _must_repeat(problem: Problem) -> bool:
    """Whether some slot has fewer exercises than occurrences to fill."""
    for numbers in problem.sibling_places:
        filled = [problem.places[number].options for number in numbers if problem.places[number].options]
        if len({option.exercise.key for options in filled for option in options}) < len(filled):
            return True
    return False


class _Model(Rows):
    """The rows of a problem with what a week costs, term by term."""

    def __init__(self, problem: Problem, limits: Ledger, *, filled: bool, repeats: bool) -> None:
        super().__init__(problem, limits, filled=filled)
        self.costs: list[tuple[Any, int]] = []  # variable and points
        self._clashing: dict[tuple[str, str], bool] = {}
        self.weights = problem.request.weights
        if not self.possible:
            return
        for numbers in problem.session_places:
            self._session(numbers)
        for numbers in problem.sibling_places:
            self._siblings(numbers, repeats)
        self._elsewhere()
        self._doses()
        self._mix()

    def prefer(self, stay: Mapping[int, int]) -> None:
        """Another exercise than the present one must save more than its own unrest."""
        for number, option in stay.items():
            held = self.holds[number][option] if self.holds else 0
            if not isinstance(held, int):
                self.costs.append((held, -self.weights.stay))

    def _session(self, numbers: Sequence[int]) -> None:
        self._beyond_first(self._gather(numbers, lambda exercise: exercise.pattern), self.weights.pattern_again)
        mains = self._gather(
            numbers,
            lambda exercise: (
                exercise.pattern if exercise.role == "main" and exercise.pattern in ONE_MAIN_A_SESSION else None
            ),
        )
        self._beyond_first(mains, self.weights.second_main)
        for one, other in combinations(range(len(numbers)), 2):
            self._neighbours(numbers[one], numbers[other], [self.empty[n] for n in numbers[one + 1 : other]])

    def _beyond_first(self, gathered: Mapping[Any, Mapping[int, Sequence[Any]]], points: int) -> None:
        """Charges each place beyond the first that holds the same value."""
        for by_place in gathered.values():
            if len(by_place) > 1:
                more = self._number(len(by_place) - 1)
                self.model.add(more >= self.any_of(by_place.values()) - 1)
                self.costs.append((more, points))

    def _neighbours(self, one: int, other: int, between: Sequence[Any]) -> None:
        """Two exercises in turn: those with only empty places between them."""
        if any(isinstance(empty, int) and empty == 0 for empty in between):
            return
        model, places = self.model, self.problem.places
        ends = [1 - self.empty[one], 1 - self.empty[other]]
        if any(isinstance(end, int) and end == 0 for end in ends):
            return
        certain = not between and all(isinstance(end, int) for end in ends)
        next_to: Any = 1 if certain else self._yes()
        if not certain:
            open_between = [empty for empty in between if not isinstance(empty, int)]
            for end in ends:
                model.add(next_to <= end)
            for empty in open_between:
                model.add(next_to <= empty)
            model.add(next_to >= sum(ends) + sum(open_between) - len(open_between) - 1)
            self.costs.append((next_to, self.weights.implement_change))
        letter = places[one].slot.superset
        together = bool(letter) and letter == places[other].slot.superset
        saved = self.weights.implement_change + (self.weights.superset_at_one_station if together else 0)
        for by_place in self._gather((one, other), lambda exercise: exercise.implement).values():
            if len(by_place) == 2:
                same = self._yes()
                for held in by_place.values():
                    model.add(same <= sum(held))
                if not certain:
                    model.add(same <= next_to)
                self.costs.append((same, -saved))
        if together:
            self._clashes(one, other, next_to)

    def _clash(self, one: Exercise, other: Exercise) -> bool:
        """Asked once a pair: the same two come up on every occurrence."""
        pair = one.key, other.key
        if pair not in self._clashing:
            self._clashing[pair] = superset_clash(one, other)
        return self._clashing[pair]

    def _clashes(self, one: int, other: int, next_to: Any) -> None:
        places = self.problem.places
        for option, holds in zip(places[one].options, self.holds[one], strict=True):
            if isinstance(holds, int):
                continue
            against = [
                held
                for following, held in zip(places[other].options, self.holds[other], strict=True)
                if not isinstance(held, int) and self._clash(option.exercise, following.exercise)
            ]
            if against:
                clash = self._yes()
                self.model.add(clash >= holds + sum(against) + next_to - 2)
                self.costs.append((clash, self.weights.superset_clash))

    def _siblings(self, numbers: Sequence[int], repeats: bool) -> None:
        if len(numbers) < 2:
            return
        gathered = self._gather(numbers, lambda exercise: exercise.key)
        if repeats:
            self._beyond_first(gathered, REPEAT * self.weights.reach)
        else:
            for by_place in gathered.values():
                if len(by_place) > 1:
                    self.model.add(self.any_of(by_place.values()) <= 1)
        self._beyond_first(self._gather(numbers, lambda exercise: exercise.implement), self.weights.same_implement)
        angles = self._gather(numbers, lambda exercise: (exercise.pattern, exercise.angle))
        self._beyond_first(angles, self.weights.same_angle)

    def _elsewhere(self) -> None:
        """An exercise under several slots of one day type."""
        stands: dict[tuple[int, str], dict[int, list[Any]]] = {}
        for place, holds in zip(self.problem.places, self.holds, strict=True):
            for option, held in zip(place.options, holds, strict=True):
                if not isinstance(held, int):
                    by_slot = stands.setdefault((place.day_type, option.exercise.key), {})
                    by_slot.setdefault(place.family, []).append(held)
        for by_slot in stands.values():
            if len(by_slot) < 2:
                continue
            under = []
            for held in by_slot.values():
                here: Any = held[0] if len(held) == 1 else self._yes()
                for one in held if len(held) > 1 else ():
                    self.model.add(here >= one)
                under.append(here)
            more = self._number(len(under) - 1)
            self.model.add(more >= sum(under) - 1)
            self.costs.append((more, self.weights.elsewhere))

    def _doses(self) -> None:
        problem, weights = self.problem, self.weights
        numbers = range(len(problem.places))
        for group, limits in enumerate(problem.ranges):
            if limits is None:
                continue
            low, high = limits
            counted = self._counted(numbers, group)
            most = sum(each for _chosen, each in counted)
            # No variable of its own for it: with one the solver proved fewer weeks within its limit.
            dose = self.total(counted)
            more = problem.request.priorities.get(problem.groups[group]) == "more"
            factor = weights.priority_factor if more else 1
            prices = (low, weights.under_quarter * factor), (low // 2, weights.far_under_quarter * factor)
            for short_of, points in prices:
                if short_of > 0:
                    under = self._number(short_of)
                    self.model.add(under >= short_of - dose)
                    self.costs.append((under, points))
            if most > high:
                over = self._number(most)
                self.model.add(over >= dose - high)
                self.costs.append((over, weights.over_quarter))

    def _mix(self) -> None:
        """What the week should hold, and its pulls beside its pushes."""
        problem, model = self.problem, self.model
        brought: list[list[Any]] = [[] for _thing in problem.wanted]
        sets: dict[int, list[Any]] = {1: [], -1: []}
        most = 0
        for place, taken, holds in zip(problem.places, self.taken, self.holds, strict=True):
            for option, held in zip(place.options, holds, strict=True):
                if not isinstance(held, int):
                    for thing in option.wanted:
                        brought[thing].append(held)
            for (index, count), chosen in taken.items():
                pull = place.options[index].pull
                if pull:
                    sets[pull].append(count * chosen)
                    most += count
        for points, by in zip(problem.wanted, brought, strict=True):
            missing = self._yes()
            model.add(missing >= 1 - sum(by))
            self.costs.append((missing, points // problem.scale))
        pulls, pushes = sum(sets[1]), sum(sets[-1])
        if sets[-1]:
            off = self._number(2 * most)
            model.add(TENTHS * off >= round(PULL_TO_PUSH_LOW * TENTHS) * pushes - TENTHS * pulls)
            over = TENTHS * pulls - round(PULL_TO_PUSH_HIGH * TENTHS) * pushes
            some = self._yes()  # a week without pushes has nothing to be out of balance with
            for pushed in sets[-1]:
                model.add(pushed <= most * some)
            model.add(TENTHS * off >= over - TENTHS * most * (1 - some))
            self.costs.append((off, self.weights.out_of_balance))

    def solve(self, effort: float) -> Optimum | None:
        scale = self.problem.scale
        prices = [
            (variable, place.options[index].own[sets])
            for place, taken in zip(self.problem.places, self.taken, strict=True)
            for (index, sets), variable in taken.items()
        ]
        prices += [(variable, scale * amount) for variable, amount in self.costs]
        self.model.minimize(self.total(prices))
        solver = self.solver(effort)
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        proven = status == self.cp.OPTIMAL
        off_by = 0 if proven else ceil((solver.objective_value - solver.best_objective_bound) / scale)
        return Optimum(self.chosen(solver), proven, off_by, solver_name())
