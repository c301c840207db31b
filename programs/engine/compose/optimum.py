"""The best week there is: the problem as one model of whole numbers, solved by CP-SAT and proven.

The model is written from the rules that ``evaluate`` states, apart from the search that ``search`` runs; tests hold
both against each other and against trying every week. One worker, a fixed seed and a deterministic limit: the same
problem gives the same answer in every process. Where the limit stops the proof, the best week found is given with
what it may be off by.

The solver's library is large and is loaded only when a week is solved; where it is not installed, ``available`` is
false and the search stands in.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from itertools import combinations
from math import ceil, floor
from typing import Any, Final

from programs.engine.compose.evaluate import (
    ELSEWHERE,
    FAR_UNDER_QUARTER,
    IMPLEMENT_CHANGE,
    ONE_MAIN_A_SESSION,
    OVER_QUARTER,
    PATTERN_AGAIN,
    PRIORITY_FACTOR,
    REPEAT,
    SAME_ANGLE,
    SAME_IMPLEMENT,
    SECOND_MAIN,
    SUPERSET_AT_ONE_STATION,
    SUPERSET_CLASH,
    UNDER_QUARTER,
    superset_clash,
)
from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.measures import around_seconds, timed_member
from programs.engine.compose.problem import Place, Problem
from programs.engine.constants import TRANSITION_S

# The solver's own measure of work, the same on any machine; one unit is about a second and a half here.
USUAL_EFFORT: Final = 1.0
SEED: Final = 7
# Without it the solver proved a third of the weeks that it proves with it (measured on made-up weeks).
LINEARIZATION: Final = 2
MILLISECONDS: Final = 1000


@dataclass(frozen=True, slots=True)
class Optimum:
    """The best choices found, one a place. ``off_by`` is how many points a better week could save at most: 0 when
    proven. ``solver`` names the solver and its version."""

    chosen: list[Choice]
    proven: bool
    off_by: int
    solver: str


@cache
def available() -> bool:
    """Whether the solver is installed for this Python."""
    return find_spec("ortools") is not None


@cache
def solver_name() -> str:
    return f"CP-SAT {import_module('ortools').__version__}"


def optimum(
    problem: Problem,
    *,
    effort: float = USUAL_EFFORT,
    keep: Mapping[int, int] | None = None,
) -> Optimum | None:
    """The best week, or None where no week keeps the hard limits (pins that clash with each other).

    ``keep`` maps place numbers to the option that must stay there, its sets free: what is solved again around a
    change. Places that cannot all be filled are left empty, the least wanted first.
    """
    limits = Ledger(problem)
    for repeats in (False, True):
        model = _Model(problem, limits, keep or {}, filled=True, repeats=repeats)
        if model.possible and (found := model.solve(effort)) is not None:
            return found
    return _with_gaps(problem, limits, keep or {}, effort)


def _with_gaps(problem: Problem, limits: Ledger, keep: Mapping[int, int], effort: float) -> Optimum | None:
    """Leaves as few places empty as the limits ask for, class by class of what an empty place loses."""
    model = _Model(problem, limits, keep, filled=False, repeats=True)
    classes = sorted({place.loss for place in problem.places if place.loss}, reverse=True)
    proven = True
    for loss in classes:
        numbers = [place.number for place in problem.places if place.loss == loss]
        fewest = model.fewest_empty(numbers, effort)
        if fewest is None:
            return None
        proven = proven and fewest[1]
    found = model.solve(effort)
    if found is None or proven:
        return found
    return Optimum(found.chosen, False, found.off_by, found.solver)


class _Model:
    """One problem as rows over yes-or-no choices: place p holds option o with n sets."""

    def __init__(
        self, problem: Problem, limits: Ledger, keep: Mapping[int, int], *, filled: bool, repeats: bool
    ) -> None:
        self.problem = problem
        self.limits = limits
        self.cp = import_module("ortools.sat.python.cp_model")
        self.model = self.cp.CpModel()
        self.possible = True
        self.costs: list[tuple[Any, int]] = []  # variable and points
        self.own: list[tuple[Any, int]] = []  # variable and scaled points
        self.taken: list[dict[Choice, Any]] = []
        self.holds: list[list[Any]] = []  # by place and option: a sum of variables that is 1 when it stands there
        self.empty: list[Any] = []  # by place: 0, 1 or a variable
        for place in problem.places:
            self._place(place, keep.get(place.number), filled)
        if not self.possible:
            return
        for session in range(len(problem.sessions)):
            self._session(session)
        for numbers in problem.sibling_places:
            self._siblings(numbers, repeats)
        self._elsewhere()
        self._doses()

    def _yes(self) -> Any:
        return self.model.new_bool_var("")

    def _number(self, most: int) -> Any:
        return self.model.new_int_var(0, most, "")

    def _place(self, place: Place, kept: int | None, filled: bool) -> None:
        taken: dict[Choice, Any] = {}
        holds: list[Any] = []
        # A pin that was refused because another stands in its session already leaves its place empty.
        refused = place.fixed and self.limits.chosen[place.number] is None
        for index, option in enumerate(place.options):
            row = []
            if not refused and (kept is None or kept == index):
                for sets, cost in option.own.items():
                    chosen = taken[index, sets] = self._yes()
                    self.own.append((chosen, cost))
                    row.append(chosen)
            holds.append(sum(row) if row else 0)
        self.taken.append(taken)
        self.holds.append(holds)
        if not taken:
            self.empty.append(1)
            if filled and not (place.fixed and not place.loss):
                self.possible = False
        elif filled or place.fixed:
            self.model.add_exactly_one(taken.values())
            self.empty.append(0)
        else:
            empty = self._yes()
            self.model.add_exactly_one([*taken.values(), empty])
            self.empty.append(empty)

    def _gather(self, numbers: Sequence[int], key: Any) -> dict[Any, dict[int, list[Any]]]:
        """For each value that ``key`` finds in the options: by place, what stands for holding it."""
        found: dict[Any, dict[int, list[Any]]] = {}
        for number in numbers:
            for option, holds in zip(self.problem.places[number].options, self.holds[number], strict=True):
                value = key(option.exercise)
                if value is not None and not isinstance(holds, int):
                    found.setdefault(value, {}).setdefault(number, []).append(holds)
        return found

    def _beyond_first(self, gathered: Mapping[Any, Mapping[int, Sequence[Any]]], points: int) -> None:
        """Charges each place beyond the first that holds the same value."""
        for by_place in gathered.values():
            if len(by_place) > 1:
                more = self._number(len(by_place) - 1)
                self.model.add(more >= sum(sum(held) for held in by_place.values()) - 1)
                self.costs.append((more, points))

    def _session(self, session: int) -> None:
        problem, model = self.problem, self.model
        numbers = problem.session_places[session]
        for by_place in self._gather(numbers, lambda exercise: exercise.key).values():
            if len(by_place) > 1:
                model.add(sum(sum(held) for held in by_place.values()) <= 1)
        self._beyond_first(self._gather(numbers, lambda exercise: exercise.pattern), PATTERN_AGAIN)
        mains = self._gather(
            numbers,
            lambda exercise: (
                exercise.pattern if exercise.role == "main" and exercise.pattern in ONE_MAIN_A_SESSION else None
            ),
        )
        self._beyond_first(mains, SECOND_MAIN)
        for one, other in combinations(range(len(numbers)), 2):
            self._neighbours(numbers[one], numbers[other], [self.empty[n] for n in numbers[one + 1 : other]])
        for group in range(len(problem.groups)):
            most = self.limits.ceiling(session, group)
            counted = self._counted(numbers, group) if most is not None else []
            if counted:
                model.add(sum(each * chosen for chosen, each in counted) <= most)
        self._minutes(session)

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
            self.costs.append((next_to, IMPLEMENT_CHANGE))
        letter = places[one].slot.superset
        together = bool(letter) and letter == places[other].slot.superset
        saved = IMPLEMENT_CHANGE - (SUPERSET_AT_ONE_STATION if together else 0)
        for by_place in self._gather((one, other), lambda exercise: exercise.implement).values():
            if len(by_place) == 2:  # noqa: PLR2004  both of them
                same = self._yes()
                for held in by_place.values():
                    model.add(same <= sum(held))
                if not certain:
                    model.add(same <= next_to)
                self.costs.append((same, -saved))
        if together:
            self._clashes(one, other, next_to)

    def _clashes(self, one: int, other: int, next_to: Any) -> None:
        places = self.problem.places
        for option, holds in zip(places[one].options, self.holds[one], strict=True):
            if isinstance(holds, int):
                continue
            against = [
                held
                for following, held in zip(places[other].options, self.holds[other], strict=True)
                if not isinstance(held, int) and superset_clash(option.exercise, following.exercise)
            ]
            if against:
                clash = self._yes()
                self.model.add(clash >= holds + sum(against) + next_to - 2)
                self.costs.append((clash, SUPERSET_CLASH))

    def _counted(self, numbers: Collection[int], group: int) -> list[tuple[Any, int]]:
        """Choices that count for a group, with their quarter sets."""
        found = []
        for number in numbers:
            options = self.problem.places[number].options
            for choice, chosen in self.taken[number].items():
                assert choice is not None
                for counted, each in options[choice[0]].quarters:
                    if counted == group:
                        found.append((chosen, each * choice[1]))
        return found

    def _minutes(self, session: int) -> None:
        """The session's seconds in whole milliseconds, rounded up: a week that fits by them fits."""
        cap = self.limits.cap_s(session)
        if cap is None:
            return
        problem = self.problem
        parts: list[Any] = []
        blocks: list[Any] = []
        for block in problem.session_blocks[session]:
            parts += self._block(block)
            blocks.append(self._any_filled(block))
        around = around_seconds(problem.request, problem.sessions[session][0])
        between = ceil(TRANSITION_S * MILLISECONDS)
        # Blocks with nothing in them ask for no way to the next; one alone for none.
        parts.append(between * (sum(blocks) - 1))
        self.model.add(sum(parts) <= floor((cap - around) * MILLISECONDS + EXACT))

    def _any_filled(self, block: Sequence[int]) -> Any:
        empties = [self.empty[number] for number in block]
        if any(isinstance(empty, int) and empty == 0 for empty in empties):
            return 1
        if len(empties) == 1:
            return 1 - empties[0]
        filled = self._yes()
        for empty in empties:
            self.model.add(filled >= 1 - empty)
        return filled

    def _block(self, block: Sequence[int]) -> list[Any]:
        """Milliseconds of an exercise alone, or of several in turns: work adds up; setting up, rounds and rest go by
        the longest."""
        parts: list[Any] = []
        prepared: dict[int, list[Any]] = {}
        rests: dict[int, list[Any]] = {}
        rounds: dict[int, list[Any]] = {}
        for number in block:
            place = self.problem.places[number]
            for choice, chosen in self.taken[number].items():
                assert choice is not None
                option, sets = place.options[choice[0]], choice[1]
                one = timed_member((place.slot, place.occurrence, option.exercise, sets))
                work = sets * one.one_set_s() + one.warm_up_s
                if len(block) == 1:
                    alone = one.set_up_s + work + (sets - 1) * one.rest_s
                    parts.append(_ms(alone) * chosen)
                    continue
                parts.append(_ms(work) * chosen)
                prepared.setdefault(_ms(one.set_up_s), []).append(chosen)
                rests.setdefault(_ms(one.rest_s), []).append(chosen)
                rounds.setdefault(sets, []).append(chosen)
        if len(block) > 1 and rounds:
            parts += [self._longest(prepared), self._rest(rests, rounds)]
        return parts

    def _longest(self, by_length: Mapping[int, Sequence[Any]]) -> Any:
        longest = self._number(max(by_length))
        for length, chosen in by_length.items():
            for choice in chosen:
                self.model.add(longest >= length * choice)
        return longest

    def _rest(self, rests: Mapping[int, Sequence[Any]], rounds: Mapping[int, Sequence[Any]]) -> Any:
        """The longest rest after every round but the last."""
        whole = self._number(max(rests) * max(0, max(rounds) - 1))
        as_long = {length: self._reached(rests, length) for length in rests}
        as_often = {sets: self._reached(rounds, sets) for sets in rounds if sets > 1}
        for length, long in as_long.items():
            for sets, often in as_often.items():
                self.model.add(whole >= length * (sets - 1) * (long + often - 1))
        return whole

    def _reached(self, by_size: Mapping[int, Sequence[Any]], size: int) -> Any:
        """Whether anything of at least this size is chosen."""
        reached = self._yes()
        for other, chosen in by_size.items():
            if other >= size:
                for choice in chosen:
                    self.model.add_implication(choice, reached)
        return reached

    def _siblings(self, numbers: Sequence[int], repeats: bool) -> None:
        if len(numbers) < 2:  # noqa: PLR2004  nothing to repeat
            return
        gathered = self._gather(numbers, lambda exercise: exercise.key)
        if repeats:
            self._beyond_first(gathered, REPEAT)
        else:
            for by_place in gathered.values():
                if len(by_place) > 1:
                    self.model.add(sum(sum(held) for held in by_place.values()) <= 1)
        self._beyond_first(self._gather(numbers, lambda exercise: exercise.implement), SAME_IMPLEMENT)
        angles = self._gather(numbers, lambda exercise: (exercise.pattern, exercise.angle))
        self._beyond_first(angles, SAME_ANGLE)

    def _elsewhere(self) -> None:
        """An exercise under several slots of one day type."""
        stands: dict[tuple[int, str], dict[int, list[Any]]] = {}
        for place, holds in zip(self.problem.places, self.holds, strict=True):
            for option, held in zip(place.options, holds, strict=True):
                if not isinstance(held, int):
                    by_slot = stands.setdefault((place.day_type, option.exercise.key), {})
                    by_slot.setdefault(place.family, []).append(held)
        for by_slot in stands.values():
            if len(by_slot) < 2:  # noqa: PLR2004  one slot alone
                continue
            under = []
            for held in by_slot.values():
                here: Any = held[0] if len(held) == 1 else self._yes()
                for one in held if len(held) > 1 else ():
                    self.model.add(here >= one)
                under.append(here)
            more = self._number(len(under) - 1)
            self.model.add(more >= sum(under) - 1)
            self.costs.append((more, ELSEWHERE))

    def _doses(self) -> None:
        problem = self.problem
        numbers = range(len(problem.places))
        for group, limits in enumerate(problem.ranges):
            if limits is None:
                continue
            low, high = limits
            counted = self._counted(numbers, group)
            dose = sum(each * chosen for chosen, each in counted) if counted else 0
            most = sum(each for _chosen, each in counted)
            factor = PRIORITY_FACTOR if problem.request.priorities.get(problem.groups[group]) == "more" else 1
            for short_of, points in ((low, UNDER_QUARTER * factor), (low // 2, FAR_UNDER_QUARTER * factor)):
                if short_of > 0:
                    under = self._number(short_of)
                    self.model.add(under >= short_of - dose)
                    self.costs.append((under, points))
            if most > high:
                over = self._number(most)
                self.model.add(over >= dose - high)
                self.costs.append((over, OVER_QUARTER))

    def _solver(self, effort: float) -> Any:
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = SEED
        solver.parameters.linearization_level = LINEARIZATION
        solver.parameters.max_deterministic_time = effort
        return solver

    def fewest_empty(self, numbers: Sequence[int], effort: float) -> tuple[int, bool] | None:
        """The fewest of these places that must stay empty, kept from here on; and whether that is proven."""
        count = sum(self.empty[number] for number in numbers)
        if isinstance(count, int):
            return count, True
        self.model.minimize(count)
        solver = self._solver(effort)
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        fewest = round(solver.objective_value)
        self.model.add(count <= fewest)
        return fewest, status == self.cp.OPTIMAL

    def solve(self, effort: float) -> Optimum | None:
        scale = self.problem.scale
        points = [scale * amount * variable for variable, amount in self.costs]
        self.model.minimize(sum(cost * chosen for chosen, cost in self.own) + sum(points))
        solver = self._solver(effort)
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        chosen: list[Choice] = [
            next((choice for choice, variable in taken.items() if solver.boolean_value(variable)), None)
            for taken in self.taken
        ]
        proven = status == self.cp.OPTIMAL
        off_by = 0 if proven else ceil((solver.objective_value - solver.best_objective_bound) / scale)
        return Optimum(chosen, proven, off_by, solver_name())


EXACT: Final = 1e-6  # what floats of seconds may be off in the last place


def _ms(seconds: float) -> int:
    return ceil(seconds * MILLISECONDS - EXACT)
