"""What to give up where no week is whole: the cheapest sets of limits, and which limits clash.

Every limit of the request is a row that may be let go at a price (see ``weights``); the fewest points that make
every slot fillable, at the fewest sets of each, are the way out. A spared joint is only ever offered with a tick.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from zlib import crc32

from programs.engine.compose import candidates
from programs.engine.compose.candidates import pins_by_place, reasons_against
from programs.engine.compose.ledger import Ledger
from programs.engine.compose.measures import QUARTERS, ceiling_quarters
from programs.engine.compose.problem import Problem, build
from programs.engine.compose.request import WeekRequest
from programs.engine.compose.solver.rows import MILLISECONDS, Rows
from programs.engine.compose.weights import MINUTES_STEP
from programs.engine.terms import Because, Params, Pick
from programs.engine.vocabulary import SKILLS, STATION_KINDS

MOST_MORE_MINUTES: Final = 120
MOST_WAYS_OUT: Final = 3
EFFORT: Final = 1.0
MINUTE_S: Final = 60
TIES: Final = 100_000

PIN: Final = "free.release_exercise"
LEAVE: Final = "free.leave_out"
MINUTES: Final = "free.more_minutes"
CEILING: Final = "free.raise_ceiling"
STATION: Final = "free.add_station"
ONE_STATION: Final = "free.add_one_station"
EXERCISE: Final = "free.allow_exercise"
SKILL: Final = "free.allow_skill"
JOINT: Final = "free.load_spared_joint"

Step = tuple[str, str, int]  # code, what it names, and the occurrence where it names a place (else -1)


@dataclass(frozen=True, slots=True)
class WayOut:
    """Limits to give up together, after which every slot can be filled. Codes: "free.…", each with what it names;
    ``needs_tick`` where one of them loads a spared joint."""

    steps: tuple[Because, ...]
    cost: int
    needs_tick: bool = False


def ways_out(request: WeekRequest, most: int = MOST_WAYS_OUT) -> tuple[WayOut, ...]:
    """The cheapest sets of limits to give up, the cheapest first; none where the week can be filled as it stands.

    Places that the coach keeps empty stay empty. Ways that ask for more than an earlier one are left out.
    """
    model = _Elastic(request)
    found: list[WayOut] = []
    while len(found) < most:
        way = model.cheapest()
        if way is None or not way.steps:
            break
        found.append(way)
    return tuple(sorted(found, key=lambda way: (way.needs_tick, way.cost)))


def given_up(request: WeekRequest, steps: Iterable[Because]) -> WeekRequest:
    """The request with these limits let go: what composing is asked once the coach agrees."""
    for step in steps:
        request = _LET_GO[step.code](request, step.params)
    return request


class _Elastic(Rows):
    """Every exercise of a slot's regions at the fewest sets, and a price on each limit that it breaks."""

    fives: Any = None  # five minutes more, so many times; made where a session has a cap

    def __init__(self, request: WeekRequest, only: int | None = None) -> None:
        self.request = request
        self.steps: dict[Step, Any] = {}
        self.over: dict[int, Any] = {}
        tight = Ledger(build(request))
        self._pins = pins_by_place(request)
        super().__init__(_with_pins(_loosened(request), self._pins), tight, filled=False, only=only)
        self.against = {key: reasons_against(exercise, request) for key, exercise in request.library.items()}
        for place, taken in zip(self.problem.places, self.taken, strict=True):
            if only not in (None, place.session):
                continue
            key = place.slot.key, place.occurrence
            pin = self._pins.get(key)
            for (option, sets), chosen in taken.items():
                self._allow(chosen, Pick(*key, place.options[option].exercise.key, sets), pin)
            empty = self.empty[place.number]
            if pin is not None and not pin.exercise:
                continue
            leave = self._step((LEAVE, *key))
            if isinstance(empty, int):
                self.model.add(leave >= empty)
            else:
                self.model.add_implication(empty, leave)
        # The tie-break keeps the answer the same whatever the library's order.
        prices = [(TIES * self._price(step) + _tie(step)) * taken for step, taken in self.steps.items()]
        if self.fives is not None:
            some = self._yes()
            self.model.add(self.fives <= MOST_MORE_MINUTES // MINUTES_STEP * some)
            weights = request.weights
            prices += [TIES * weights.more_minutes * some, TIES * weights.each_five_minutes * self.fives]
        self.cost = sum(prices)

    def more_ms(self) -> Any:
        if self.fives is None:
            self.fives = self._number(MOST_MORE_MINUTES // MINUTES_STEP)
        return MINUTES_STEP * MINUTE_S * MILLISECONDS * self.fives

    def more_sets(self, group: int, most: int) -> Any:
        return most * self._step((CEILING, self.problem.groups[group], -1))

    def _step(self, step: Step) -> Any:
        if step not in self.steps:
            self.steps[step] = self._yes()
        return self.steps[step]

    def _allow(self, chosen: Any, pick: Pick, pin: Pick | None) -> None:
        """What has to be given up for a pick to stand on its place."""
        pinned = pin is not None and pin.exercise == pick.exercise and pin.sets in (0, pick.sets)
        if pin is not None and not pinned:
            self.model.add_implication(chosen, self._step((PIN, pick.slot, pick.occurrence)))
        for why in self.against[pick.exercise]:
            if pinned and why.code in candidates.PIN_SETS_ASIDE:
                continue
            self.model.add_bool_or([chosen.negated(), *(self._step(step) for step in _lets_in(why))])

    def _price(self, step: Step) -> int:
        if step[0] == LEAVE:
            slot = next(place.slot for place in self.problem.places if place.slot.key == step[1])
            return self.request.weights.leaving_out(slot.role)
        return self.request.weights.price(step[0])

    def cheapest(self) -> WayOut | None:
        """The cheapest way that asks for something no way before it did without; None when there is no other."""
        model = self.model
        model.minimize(self.cost)
        solver = self.solver(EFFORT)
        status = solver.solve(model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None
        taken = sorted(step for step, variable in self.steps.items() if solver.boolean_value(variable))
        fives = 0 if self.fives is None else solver.value(self.fives)
        parts: list[Any] = [self.steps[step] for step in taken]
        cost = round(solver.objective_value) // TIES
        minutes = self._minutes_needed(taken, fives) if fives else 0
        if fives:
            enough = self._yes()
            model.add(self.fives >= fives).only_enforce_if(enough)
            model.add(self.fives <= fives - 1).only_enforce_if(enough.negated())
            parts.append(enough)
        if parts:
            model.add(sum(parts) <= len(parts) - 1)
        steps = [self._to_give_up(step) for step in taken]
        if minutes:
            steps.append(Because("free.more_minutes", {"minutes": minutes}))
        return WayOut(tuple(steps), cost, any(step[0] == JOINT for step in taken))

    def _minutes_needed(self, taken: Sequence[Step], fives: int) -> int:
        """Whole minutes that are really needed of the fives that were paid for."""
        request = given_up(self.request, [self._to_give_up(step) for step in taken])
        for minutes in range(MINUTES_STEP * (fives - 1) + 1, MINUTES_STEP * fives):
            if can_be_filled(_longer(request, {"minutes": minutes})):
                return minutes
        return MINUTES_STEP * fives

    def clash(self) -> tuple[Because, ...] | None:
        """Limits that cannot hold together, none of which could be missed; None where all of them can hold."""
        limits: dict[Any, Because] = {}
        for step, variable in sorted(self.steps.items()):
            limits[variable.negated()] = self._limit(step)
        if self.fives is not None:
            as_it_is = self._yes()
            self.model.add(self.fives == 0).only_enforce_if(as_it_is)
            limits[as_it_is] = Because("limit.minutes", {"minutes": self.request.minutes_cap})
        held = list(limits)
        core = self._core(held)
        if core is None:
            return None
        for one in list(core):
            fewer = self._core([other for other in core if other is not one])
            if fewer is not None:
                core = fewer
        return tuple(limits[one] for one in core)

    def _core(self, held: list[Any]) -> list[Any] | None:
        """Some of the held limits that clash; None where they do not."""
        self.model.clear_assumptions()
        self.model.add_assumptions(held)
        solver = self.solver(EFFORT)
        solver.parameters.linearization_level = 1
        if solver.solve(self.model) != self.cp.INFEASIBLE:
            return None
        core = set(solver.sufficient_assumptions_for_infeasibility())
        return [one for one in held if one.index in core]

    def _where(self, step: Step) -> Params:
        """Where a step lies, as reasons name it."""
        _code, name, occurrence = step
        day = next(place.slot.day for place in self.problem.places if place.slot.key == name)
        return {"day": day, "occurrence": occurrence, "slot": name}

    def _to_give_up(self, step: Step) -> Because:
        """A step in the words of what to do."""
        code, name, occurrence = step
        if code == PIN:
            pinned = self._pins[name, occurrence].exercise
            return Because("free.release_exercise", {**self._where(step), "exercise": pinned})
        if code == LEAVE:
            return Because("free.leave_out", self._where(step))
        return {
            CEILING: Because("free.raise_ceiling", {"group": name}),
            EXERCISE: Because("free.allow_exercise", {"exercise": name}),
            STATION: Because("free.add_station", {"station": name}),
            ONE_STATION: Because("free.add_one_station", {"stations": name}),
            SKILL: Because("free.allow_skill", {"skill": name}),
            JOINT: Because("free.load_spared_joint", {"joint": name, "needs_tick": True}),
        }[code]

    def _limit(self, step: Step) -> Because:
        """A step in the words of the limit that stands."""
        code, name, occurrence = step
        if code == PIN:
            pinned = self._pins[name, occurrence].exercise
            return Because("limit.pin", {**self._where(step), "exercise": pinned})
        if code == LEAVE:
            return Because("limit.slot", self._where(step))
        return {
            CEILING: Because("limit.ceiling", {"group": name}),
            EXERCISE: Because("limit.exercise", {"exercise": name}),
            STATION: Because("limit.station", {"station": name}),
            ONE_STATION: Because("limit.one_station", {"stations": name}),
            SKILL: Because("limit.skill", {"skill": name}),
            JOINT: Because("limit.joint", {"joint": name}),
        }[code]


def clashes(request: WeekRequest) -> dict[tuple[str, int], tuple[Because, ...]]:
    """By session (day type, occurrence) that cannot be filled: the limits that cannot hold together there."""
    found = {}
    for session, (day, occurrence) in enumerate(build(request).sessions):
        core = _Elastic(request, only=session).clash()
        if core is not None:
            found[day.key, occurrence] = core
    return found


def _with_pins(request: WeekRequest, pins: Mapping[tuple[str, int], Pick]) -> Problem:
    """The problem of a loosened request in which what is pinned may stand too: exercises that the slot would not take
    by itself, and sets beside the fewest."""
    problem = build(request, most_options=None)
    held = tuple(pin for pin in pins.values() if pin.exercise)
    if not held:
        return problem
    pinned = build(replace(request, pins=(*request.pins, *held)), most_options=None)
    places = []
    for place, with_pin in zip(problem.places, pinned.places, strict=True):
        pin = pins.get((place.slot.key, place.occurrence))
        if pin is not None and pin.exercise:
            others = tuple(option for option in place.options if option.exercise.key != pin.exercise)
            there = next((option for option in place.options if option.exercise.key == pin.exercise), None)
            own = {**(there.own if there else {}), **({pin.sets: 0} if pin.sets else {})}
            own_place = (replace(option, own=own or option.own) for option in with_pin.options)
            place = replace(place, options=(*own_place, *others))
        places.append(place)
    return replace(problem, places=tuple(places))


def _tie(step: Step) -> int:
    return crc32("|".join(map(str, step)).encode()) % (TIES // 100)


def can_be_filled(request: WeekRequest) -> bool:
    """Whether a week exists that fills every slot which is not kept empty."""
    return next(_unfillable(request), None) is None


def unfillable_sessions(request: WeekRequest) -> tuple[tuple[str, int], ...]:
    """The sessions (day type, occurrence) that no choice of exercises fills."""
    return tuple(_unfillable(request))


def _unfillable(request: WeekRequest) -> Iterator[tuple[str, int]]:
    """Session by session: no hard limit reaches beyond one."""
    least = build(_fewest_sets(request), most_options=None)
    limits = Ledger(least)
    for session, (day, occurrence) in enumerate(least.sessions):
        rows = Rows(least, limits, filled=True, only=session)
        solver = rows.solver(EFFORT)
        if not rows.possible or solver.solve(rows.model) not in (rows.cp.OPTIMAL, rows.cp.FEASIBLE):
            yield day.key, occurrence


def _lets_in(why: Because) -> list[Step]:
    """The steps each of which takes one reason away."""
    params = why.params
    if why.code == candidates.STATION:
        return [(STATION, str(params["station"]), -1)]
    if why.code == candidates.ONE_STATION:
        kinds = str(params["stations"])
        return [(ONE_STATION, kinds, -1), *((STATION, kind, -1) for kind in kinds.split(","))]
    if why.code == candidates.EXCLUDED:
        return [(EXERCISE, str(params["exercise"]), -1)]
    if why.code == candidates.SKILL:
        return [(SKILL, skill, -1) for skill in SKILLS[SKILLS.index(str(params["skill"])) :]]
    return [(JOINT, str(params["joint"]), -1)]


def _loosened(request: WeekRequest) -> WeekRequest:
    """Every limit that has a price let go, every slot at its fewest sets; the pins' own sets stay."""
    empty = tuple(pin for pin in request.pins if not pin.exercise)
    return replace(
        _fewest_sets(request),
        stations=frozenset(STATION_KINDS),
        limits=tuple(limit for limit in request.limits if not limit.strict),
        excluded=frozenset(),
        skill_allowed=SKILLS[-1],
        pins=empty,
    )


def _fewest_sets(request: WeekRequest) -> WeekRequest:
    days = tuple(
        replace(day, slots=tuple(replace(slot, sets_high=slot.sets_low) for slot in day.slots))
        for day in request.day_types
    )
    return replace(request, day_types=days)


def _without_pin(request: WeekRequest, params: Params) -> WeekRequest:
    there = params["slot"], params["occurrence"]
    return replace(request, pins=tuple(pin for pin in request.pins if (pin.slot, pin.occurrence) != there))


def _left_out(request: WeekRequest, params: Params) -> WeekRequest:
    request = _without_pin(request, params)
    gone = Pick(str(params["slot"]), int(params["occurrence"] or 0), "", 0, (), True)
    return replace(request, pins=(*request.pins, gone))


def _longer(request: WeekRequest, params: Params) -> WeekRequest:
    cap = request.minutes_cap
    return request if cap is None else replace(request, minutes_cap=cap + int(params["minutes"] or 0))


def _no_ceiling(request: WeekRequest, params: Params) -> WeekRequest:
    kept = {group: most / QUARTERS for group, most in ceiling_quarters(request).items() if group != params["group"]}
    return replace(request, session_ceilings=kept)


def _with_station(request: WeekRequest, params: Params) -> WeekRequest:
    return replace(request, stations=request.stations | {str(params["station"])})


def _with_one_station(request: WeekRequest, params: Params) -> WeekRequest:
    return replace(request, stations=request.stations | {str(params["stations"]).split(",")[0]})


def _with_exercise(request: WeekRequest, params: Params) -> WeekRequest:
    return replace(request, excluded=request.excluded - {str(params["exercise"])})


def _with_skill(request: WeekRequest, params: Params) -> WeekRequest:
    return replace(request, skill_allowed=str(params["skill"]))


def _without_limit(request: WeekRequest, params: Params) -> WeekRequest:
    kept = tuple(limit for limit in request.limits if not (limit.strict and limit.joint == params["joint"]))
    return replace(request, limits=kept)


_LET_GO: Final[Mapping[str, Callable[[WeekRequest, Params], WeekRequest]]] = {
    PIN: _without_pin,
    LEAVE: _left_out,
    MINUTES: _longer,
    CEILING: _no_ceiling,
    STATION: _with_station,
    ONE_STATION: _with_one_station,
    EXERCISE: _with_exercise,
    SKILL: _with_skill,
    JOINT: _without_limit,
}
