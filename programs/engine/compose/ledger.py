"""The state of a search: what stands where, what it costs, and how many hard limits it breaks.

Every step keeps the cost up to date from the very terms that ``evaluate`` sums, so the two cannot drift apart.
"""

from collections.abc import Iterable, Iterator
from math import inf

from programs.engine.compose.evaluate import dose_terms, session_terms, sibling_terms
from programs.engine.compose.measures import around_seconds, blocks_seconds, members_seconds
from programs.engine.compose.mix import sets_out_of_balance
from programs.engine.compose.problem import Place, Problem

Choice = tuple[int, int] | None  # option number and sets; None leaves the place empty


class Ledger:
    """The state of a search: what stands where, its scaled cost, and how many hard limits are broken."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._weights = problem.request.weights
        self.chosen: list[Choice] = [None] * len(problem.places)
        self.cost = sum(place.loss for place in problem.places)
        self.broken = 0
        groups = len(problem.groups)
        self._week = [0] * groups
        self._in_session = [[0] * groups for _ in problem.sessions]
        self._ceilings = [list(problem.ceilings) for _ in problem.sessions]
        self._caps = [problem.cap_s] * len(problem.sessions)
        self._around = [around_seconds(problem.request, day) for day, _ in problem.sessions]
        self._blocks = [[0.0] * len(blocks) for blocks in problem.session_blocks]
        self._block_of = {
            number: (session, index)
            for session, blocks in enumerate(problem.session_blocks)
            for index, block in enumerate(blocks)
            for number in block
        }
        self._dose_costs = [self._dose_table(number, most) for number, most in enumerate(self._most_quarters())]
        self.cost += sum(table[0] for table in self._dose_costs)
        self._brought = [0] * len(problem.wanted)
        self.cost += sum(problem.wanted)
        self._pulls = self._pushes = 0
        self._session_costs = [0] * len(problem.sessions)
        self._doubled = [0] * len(problem.sessions)
        self._sibling_costs = [0] * len(problem.sibling_places)
        self._in_sessions = [[-1] * len(numbers) for numbers in problem.session_places]
        self._in_siblings = [[-1] * len(numbers) for numbers in problem.sibling_places]
        self._times_in_slot: dict[tuple[int, str], int] = {}
        self._slots_with: dict[tuple[int, str], int] = {}
        self._late = [False] * len(problem.sessions)
        self._seen_sessions: dict[tuple[int, ...], tuple[int, int]] = {}
        self._seen_siblings: dict[tuple[int, ...], int] = {}
        self._seen_blocks: dict[tuple[object, ...], float] = {}
        self._place_pins()

    def _most_quarters(self) -> list[int]:
        """By group, the most quarter sets that there could be in the week."""
        most = [0] * len(self.problem.groups)
        for place in self.problem.places:
            here: dict[int, int] = {}
            for option in place.options:
                sets = max(option.own)
                for group, each in option.quarters:
                    here[group] = max(here.get(group, 0), each * sets)
            for group, quarters in here.items():
                most[group] += quarters
        return most

    def _dose_table(self, number: int, most: int) -> list[int]:
        problem = self.problem
        limits = problem.ranges[number]
        if limits is None:
            return [0] * (most + 1)
        group = problem.groups[number]
        more = problem.request.priorities.get(group) == "more"
        low, high = limits
        return [
            0
            if low <= quarters <= high  # asked a thousand times for every week: nothing to add up within the range
            else problem.scale * sum(term.amount for term in dose_terms(self._weights, group, quarters, *limits, more))
            for quarters in range(most + 1)
        ]

    def _place_pins(self) -> None:
        """Pins come first; where they alone pass a ceiling or the cap, that is the limit for their session."""
        for place in self.problem.places:
            if place.fixed and place.options:
                self.put(place.number, (0, min(place.options[0].own)))
                if self._doubled[place.session]:
                    self.put(place.number, None)
        for session, doses in enumerate(self._in_session):
            for number, dose in enumerate(doses):
                ceiling = self._ceilings[session][number]
                if ceiling is not None and dose > ceiling:
                    self._ceilings[session][number] = dose
            cap = self._caps[session]
            if cap is not None and self._late[session]:
                self._caps[session] = self.seconds(session)
                self._late[session] = False
        self.broken = 0

    def seconds(self, session: int) -> float:
        blocks = self._blocks[session]
        return blocks_seconds(self._around[session], sum(blocks), len(blocks) - blocks.count(0.0))

    def ceiling(self, session: int, group: int) -> int | None:
        """Most quarter sets of a group in a session; pins alone may have raised it."""
        return self._ceilings[session][group]

    def cap_s(self, session: int) -> float | None:
        """Most seconds of a session; pins alone may have raised it."""
        return self._caps[session]

    def spare_s(self, session: int) -> float:
        """The seconds a session has left under its cap; negative where it runs over."""
        cap = self._caps[session]
        return inf if cap is None else cap - self.seconds(session)

    def shares_block(self, number: int) -> bool:
        """Whether a place is done in turns with others."""
        session, index = self._block_of[number]
        return len(self.problem.session_blocks[session][index]) > 1

    def put(self, number: int, choice: Choice) -> None:
        """Set one place, broken limits or not; ``cost`` and ``broken`` follow."""
        old = self.chosen[number]
        if old == choice:
            return
        problem = self.problem
        place = problem.places[number]
        session = place.session
        self.chosen[number] = choice
        self.cost += self.own(number, choice) - self.own(number, old)
        if old is not None and choice is not None and old[0] == choice[0]:
            self._count(session, place.options[old[0]].quarters, choice[1] - old[1])
        else:
            if old is not None:
                self._count(session, place.options[old[0]].quarters, -old[1])
            if choice is not None:
                self._count(session, place.options[choice[0]].quarters, choice[1])
            self._neighbours(number, old, choice)
            self._mix(place, old, -1)
            self._mix(place, choice, 1)
        self._balance(place, old, choice)
        self._time(number)

    def _mix(self, place: Place, choice: Choice, change: int) -> None:
        """Count what the week should hold; each thing costs only while nothing brings it."""
        for thing in place.options[choice[0]].wanted if choice else ():
            before = self._brought[thing]
            self._brought[thing] = before + change
            if (before == 0) != (before + change == 0):
                self.cost -= change * self.problem.wanted[thing]

    def _balance(self, place: Place, old: Choice, new: Choice) -> None:
        pulls, pushes = self._pulls, self._pushes
        for choice, change in ((old, -1), (new, 1)):
            if choice is not None:
                pull = place.options[choice[0]].pull
                pulls += change * choice[1] * (pull > 0)
                pushes += change * choice[1] * (pull < 0)
        if (pulls, pushes) != (self._pulls, self._pushes):
            off = sets_out_of_balance(pulls, pushes) - sets_out_of_balance(self._pulls, self._pushes)
            self.cost += self._weights.out_of_balance * self.problem.scale * off
            self._pulls, self._pushes = pulls, pushes

    def own(self, number: int, choice: Choice) -> int:
        place = self.problem.places[number]
        return place.loss if choice is None else place.options[choice[0]].own[choice[1]]

    def _count(self, session: int, quarters: tuple[tuple[int, int], ...], sets: int) -> None:
        doses, ceilings, weekly = self._in_session[session], self._ceilings[session], self._week
        for group, each in quarters:
            change = each * sets
            table, week = self._dose_costs[group], weekly[group]
            self.cost += table[week + change] - table[week]
            weekly[group] = week + change
            before = doses[group]
            doses[group] = before + change
            ceiling = ceilings[group]
            if ceiling is not None:
                self.broken += (before + change > ceiling) - (before > ceiling)

    def _neighbours(self, number: int, old: Choice, new: Choice) -> None:
        """What the exercise shares with its session, its siblings and its day type."""
        problem = self.problem
        place = problem.places[number]
        session, family = place.session, place.family
        index = -1 if new is None else new[0]
        beside = self._in_sessions[session]
        beside[place.line] = index
        key = (session, *beside)
        known = self._seen_sessions.get(key)
        if known is None:
            known = self._seen_sessions[key] = self._session_cost(session)
        cost, doubled = known
        self.cost += cost - self._session_costs[session]
        self._session_costs[session] = cost
        self.broken += doubled - self._doubled[session]
        self._doubled[session] = doubled
        siblings = self._in_siblings[family]
        if len(siblings) > 1:
            siblings[place.occurrence] = index
            key = (family, *siblings)
            shared = self._seen_siblings.get(key)
            if shared is None:
                shared = self._seen_siblings[key] = self._sibling_cost(family)
            self.cost += shared - self._sibling_costs[family]
            self._sibling_costs[family] = shared
        if old is not None:
            self._elsewhere(place, place.options[old[0]].exercise.key, -1)
        if new is not None:
            self._elsewhere(place, place.options[new[0]].exercise.key, 1)

    def _elsewhere(self, place: Place, exercise: str, change: int) -> None:
        """Count under how many slots of its day type an exercise stands, and charge those beyond the first."""
        in_slot, in_day = (place.family, exercise), (place.day_type, exercise)
        before = self._times_in_slot.get(in_slot, 0)
        after = self._times_in_slot[in_slot] = before + change
        if (before == 0) != (after == 0):
            slots = self._slots_with.get(in_day, 0)
            now = self._slots_with[in_day] = slots + change
            self.cost += self._weights.elsewhere * self.problem.scale * (max(now - 1, 0) - max(slots - 1, 0))

    def _sibling_cost(self, family: int) -> int:
        problem = self.problem
        numbers = problem.sibling_places[family]
        exercises = [problem.places[n].options[c[0]].exercise for n in numbers if (c := self.chosen[n])]
        terms = sibling_terms(self._weights, problem.places[numbers[0]].slot, exercises)
        return problem.scale * sum(term.amount for term in terms)

    def _session_cost(self, session: int) -> tuple[int, int]:
        problem = self.problem
        pairs = [
            (problem.places[n].slot, problem.places[n].options[c[0]].exercise)
            for n in problem.session_places[session]
            if (c := self.chosen[n])
        ]
        doubled = len(pairs) - len({exercise.key for _, exercise in pairs})
        terms = session_terms(self._weights, pairs, problem.sessions[session][1])
        return problem.scale * sum(term.amount for term in terms), doubled

    def _time(self, number: int) -> None:
        session, index = self._block_of[number]
        block = self.problem.session_blocks[session][index]
        chosen = self.chosen
        key = (session, index, *(chosen[n] for n in block))
        seconds = self._seen_blocks.get(key)
        if seconds is None:
            places = self.problem.places
            members = [
                (places[n].slot, places[n].occurrence, places[n].options[c[0]].exercise, c[1])
                for n in block
                if (c := chosen[n])
            ]
            seconds = self._seen_blocks[key] = members_seconds(members) if members else 0.0
        self._blocks[session][index] = seconds
        cap = self._caps[session]
        if cap is not None:
            late = self.seconds(session) > cap
            self.broken += late - self._late[session]
            self._late[session] = late

    def choices(self, number: int) -> Iterator[Choice]:
        """Everything that may stand on a place; a fixed place keeps its exercise."""
        place = self.problem.places[number]
        for index, option in enumerate(place.options):
            for sets in option.own:
                yield index, sets

    def improves(self, moves: Iterable[tuple[int, Choice]]) -> bool:
        """Make the moves if the week stays whole and gets better; otherwise leave it as it was."""
        before = self.cost
        undo = []
        for number, choice in moves:
            undo.append((number, self.chosen[number]))
            self.put(number, choice)
        if self.broken == 0 and self.cost < before:
            return True
        for number, choice in reversed(undo):
            self.put(number, choice)
        return False
