"""The hard limits of a problem as rows over yes-or-no choices: place p holds option o with n sets.

What is common to every question that is put to the solver; what a question minimises comes on top.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from math import ceil, floor
from typing import Any, Final

from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.measures import around_seconds, timed_member
from programs.engine.compose.problem import Place, Problem
from programs.engine.constants import TRANSITION_S
from programs.engine.minutes import Timed

SEED: Final = 7
# Without it the solver proved a third of the weeks that it proves with it (measured on made-up weeks).
LINEARIZATION: Final = 2
MILLISECONDS: Final = 1000
EXACT: Final = 1e-6  # what floats of seconds may be off in the last place


@cache
def available() -> bool:
    """Whether the solver is installed for this Python."""
    return find_spec("ortools") is not None


@cache
def solver_name() -> str:
    return f"CP-SAT {import_module('ortools').__version__}"


class Rows:
    """The model of one problem with its hard limits and nothing to minimise yet.

    ``limits`` are the sessions' caps and ceilings. With ``filled`` no place may stay empty; with ``only`` nothing but
    that session is asked about. ``possible`` is false where a place has no way to be filled at all.
    """

    def __init__(self, problem: Problem, limits: Ledger, *, filled: bool, only: int | None = None) -> None:
        self.problem = problem
        self.limits = limits
        self.cp = import_module("ortools.sat.python.cp_model")
        self.model = self.cp.CpModel()
        self.possible = True
        self.taken: list[dict[tuple[int, int], Any]] = []  # by place: (option, sets) -> variable
        self.holds: list[list[Any]] = []  # by place and option: a sum of variables that is 1 when it stands there
        self.empty: list[Any] = []  # by place: 0, 1 or a variable
        self._counts: list[dict[int, list[tuple[Any, int]]]] = []  # by place and group: variables and quarter sets
        for place in problem.places:
            if only in (None, place.session):
                self._place(place, filled)
            else:
                self.taken.append({})
                self._counts.append({})
                self.holds.append([0] * len(place.options))
                self.empty.append(0)
        if not self.possible:
            return
        for session, numbers in enumerate(problem.session_places):
            if only not in (None, session):
                continue
            for by_place in self._gather(numbers, lambda exercise: exercise.key).values():
                if len(by_place) > 1:
                    self.model.add(self.any_of(by_place.values()) <= 1)
            for group in range(len(problem.groups)):
                most = self.limits.ceiling(session, group)
                counted = self._counted(numbers, group) if most is not None else []
                if counted:
                    self.model.add(
                        self.total(counted) <= most + self.more_sets(group, sum(each for _chosen, each in counted))
                    )
            self._minutes(session)

    def more_sets(self, group: int, most: int) -> Any:
        """Quarter sets beyond a ceiling that are allowed; a question may ask what more would bring."""
        return 0

    def more_ms(self) -> Any:
        """Milliseconds beyond the cap that are allowed."""
        return 0

    def solver(self, effort: float) -> Any:
        """One worker, a fixed seed and a limit in the solver's own measure of work: the same answer everywhere."""
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = SEED
        solver.parameters.linearization_level = LINEARIZATION
        solver.parameters.max_deterministic_time = effort
        return solver

    def fewest_empty(self, numbers: Sequence[int], effort: float) -> tuple[int, bool] | None:
        """The fewest of these places that must stay empty, and whether that is proven; None where no week is."""
        count = sum(self.empty[number] for number in numbers)
        if isinstance(count, int):
            return count, True
        self.model.minimize(count)
        solver = self.solver(effort)
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        return round(solver.objective_value), status == self.cp.OPTIMAL

    def leave_empty(self, numbers: Sequence[int], most: int) -> None:
        """No more of these places than that stay empty."""
        count = sum(self.empty[number] for number in numbers)
        if not isinstance(count, int):
            self.model.add(count <= most)

    def chosen(self, solver: Any) -> list[Choice]:
        return [
            next((choice for choice, variable in taken.items() if solver.boolean_value(variable)), None)
            for taken in self.taken
        ]

    def _yes(self) -> Any:
        return self.model.new_bool_var("")

    def _number(self, most: int) -> Any:
        return self.model.new_int_var(0, most, "")

    def _place(self, place: Place, filled: bool) -> None:
        taken: dict[tuple[int, int], Any] = {}
        holds: list[Any] = []
        # A pin that was refused because another stands in its session already leaves its place empty.
        refused = place.fixed and self.limits.chosen[place.number] is None
        for index, option in enumerate(place.options):
            row = []
            if not refused:
                for sets in option.own:
                    chosen = taken[index, sets] = self._yes()
                    row.append(chosen)
            holds.append(self.cp.LinearExpr.sum(row) if len(row) > 1 else row[0] if row else 0)
        counts: dict[int, list[tuple[Any, int]]] = {}
        for (index, sets), chosen in taken.items():
            for group, each in place.options[index].quarters:
                counts.setdefault(group, []).append((chosen, each * sets))
        self.taken.append(taken)
        self._counts.append(counts)
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

    def _counted(self, numbers: Collection[int], group: int) -> list[tuple[Any, int]]:
        """Choices that count for a group, with their quarter sets."""
        return [entry for number in numbers for entry in self._counts[number].get(group, ())]

    def any_of(self, held: Iterable[Sequence[Any]]) -> Any:
        """How many of these stand."""
        return self.cp.LinearExpr.sum([one for some in held for one in some])

    def total(self, counted: Sequence[tuple[Any, int]]) -> Any:
        """The sum of variables, each so many times."""
        if not counted:
            return 0
        variables, times = zip(*counted, strict=True)
        return self.cp.LinearExpr.weighted_sum(variables, times)

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
        self.model.add(sum(parts) <= floor((cap - around) * MILLISECONDS + EXACT) + self.more_ms())

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
        weighed: list[tuple[Any, int]] = []
        prepared: dict[int, list[Any]] = {}
        rests: dict[int, list[Any]] = {}
        rounds: dict[int, list[Any]] = {}
        for number in block:
            place = self.problem.places[number]
            timed: dict[int, tuple[Timed, float]] = {}  # by option: one set takes as long however many there are
            for (index, sets), chosen in self.taken[number].items():
                if index not in timed:
                    exercise = place.options[index].exercise
                    one = timed_member((place.slot, place.occurrence, exercise, sets))
                    timed[index] = one, one.one_set_s()
                one, one_set_s = timed[index]
                work = sets * one_set_s + one.warm_up_s
                if len(block) == 1:
                    weighed.append((chosen, _ms(one.set_up_s + work + (sets - 1) * one.rest_s)))
                    continue
                weighed.append((chosen, _ms(work)))
                prepared.setdefault(_ms(one.set_up_s), []).append(chosen)
                rests.setdefault(_ms(one.rest_s), []).append(chosen)
                rounds.setdefault(sets, []).append(chosen)
        parts = [self.total(weighed)]
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


def _ms(seconds: float) -> int:
    return ceil(seconds * MILLISECONDS - EXACT)
