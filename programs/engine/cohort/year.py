"""A year of training lived through: what a chooser asks, what the lifter does of it, and what comes of both.

The lifter, the days kept and missed, the day's form and every misjudged set come from the seed alone and not from
what was asked, so that two ways of choosing loads are compared on the same people and the same noise.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from random import Random
from typing import Final

from programs.engine.calendar import WEEK_DAYS
from programs.engine.cautions.groups import EffortFloor
from programs.engine.cohort.lifter import GAIN_PER_LOG_WEEK, WEEKS_BEHIND, Attempt, attempt, soreness
from programs.engine.cohort.lifts import Lift
from programs.engine.cohort.people import WEEKS, Person
from programs.engine.constants import COUNTED_RIR_MOST, EASY_SET_COUNTS, GUESS_SPREAD
from programs.engine.progress.honesty import believed, rating_gap
from programs.engine.ramp import first_session_sets, next_try
from programs.engine.strength import load_for
from programs.engine.terms import Exposure, TargetSet

FIRST_DAY: Final = date(2025, 1, 6)
SESSION_DAYS: Final = (0, 3)  # both train every lift
DELOAD_EVERY: Final = {"novice": 0, "intermediate": 7, "advanced": 6}  # weeks; Rogerson et al. 2024
KEPT: Final = 30  # exposures a chooser is shown; nothing looks further back
LANDS_WITHIN: Final = 1  # whole repetitions around the reserve asked for

# What a session gives for strength: no more beyond about two direct sets (Remmert et al. 2025), nothing below about
# a third of the maximum (Lasevicius et al. 2018), and half far from failure, as sets are counted.
ENOUGH_SETS: Final = 2.0
LEAST_SHARE: Final = 0.30
# Strength is held for about three weeks without training, then falls (McMaster et al. 2013); what is lost comes back
# in half the time (Halonen et al. 2024). The rate is coaching practice, below the measured losses of long breaks.
HELD_DAYS: Final = 21
LOST_PER_WEEK: Final = 0.01
SORE_FROM: Final = 7  # of 10: so sore that every other such session is left out; coaching practice
SORE_AND_STAYS_AWAY: Final = 0.5
SORE_BY_FAILURE: Final = 0.5  # more, by the share of sets to failure (Moran-Navarro et al. 2017)
PAIN_CHANCE: Final = 0.004  # a session and lift; coaching practice
PAIN_SESSIONS: Final = 2
PAIN_REGAINED_WITHIN: Final = timedelta(weeks=6)  # after that the load before it is no goal any more
# Where a coach who sees somebody starts the search for a first load, of the load that fits; coaching practice.
COACHS_GUESS: Final = 0.75


@dataclass(frozen=True, slots=True)
class Question:
    """What a chooser knows before a session of one lift; ``trusted`` once a check set agreed with the ratings.

    ``strength``, ``form`` (the strength of that very day) and ``endurance`` are true, for who knows all.
    """

    person: Person
    lift: Lift
    history: tuple[Exposure, ...]
    current: tuple[TargetSet, ...]
    on: date
    week: int
    deload: bool
    pain: str
    before_pain: float | None
    floor: EffortFloor
    trusted: bool
    strength: float
    form: float
    endurance: float


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be done, and what was proposed where the coach took another way that was offered beside it."""

    sets: tuple[TargetSet, ...]
    proposed: tuple[TargetSet, ...] | None = None


Chooser = Callable[[Question], Choice]
Watcher = Callable[[Question, Choice], Sequence[str]]


@dataclass(slots=True)
class Year:
    """What a year came to: first work sets within one repetition of the asked reserve, gains, and what was broken.

    ``gains`` are shares of the true maximum of the first day, without what a time off took for the moment.
    """

    landed: int = 0
    counted: int = 0  # first sets that could land: with a load and repetitions, no easier week
    prescribed: int = 0
    by_hand: int = 0  # other ways taken than what was proposed
    trusted: bool = False
    gains: list[float] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)

    @property
    def gain(self) -> float:
        return sum(self.gains) / len(self.gains)


@dataclass(slots=True)
class _State:
    """One lift as it stands: weeks of training behind, what was lost by being away, what is planned."""

    lift: Lift
    start: float
    behind: float
    trained: float = 0.0
    lost: float = 0.0
    regained_per_day: float = 0.0
    last: date | None = None
    history: list[Exposure] = field(default_factory=list)
    current: tuple[TargetSet, ...] = ()
    pain_left: int = 0
    before_pain: float | None = None
    settled: date | None = None

    def maximum(self, responds: float) -> float:
        gained = responds * GAIN_PER_LOG_WEEK * math.log((self.behind + self.trained) / self.behind)
        return self.start * (1 + gained) * (1 - self.lost)


def live(who: Person, choose: Chooser, *, weeks: int = WEEKS, watch: Watcher | None = None) -> Year:
    """A year of two sessions a week with every prescription of ``choose``; ``watch`` names what one breaks."""
    year = Year()
    behind = WEEKS_BEHIND[who.lifter.experience]
    states = [
        _State(lift, maximum, behind, current=lift.asked(None))
        for lift, maximum in zip(who.lifts, who.maxima, strict=True)
    ]
    sore = 0
    for week in range(weeks):
        every = DELOAD_EVERY[who.lifter.experience]
        deload = bool(every) and week % every == every - 1
        for place, offset in enumerate(SESSION_DAYS):
            day = FIRST_DAY + timedelta(days=WEEK_DAYS * week + offset)
            rng = who.chance("kept", week, place)
            likely = who.lifter.attendance * (SORE_AND_STAYS_AWAY if sore >= SORE_FROM else 1.0)
            if rng.random() >= likely or week in who.away:
                sore = 0
                continue
            done = [_session(who, state, choose, watch, year, day, week, deload) for state in states]
            sets = [one for tried in done for one in tried]
            failed = sum(one.left <= 0 for one in sets) / max(1, len(sets))
            sore = soreness(round(len(sets) * (1 + SORE_BY_FAILURE * failed)), week, rng)
    year.gains = [state.maximum(who.lifter.responds) / (1 - state.lost) / state.start - 1 for state in states]
    return year


def _session(
    who: Person,
    state: _State,
    choose: Chooser,
    watch: Watcher | None,
    year: Year,
    day: date,
    week: int,
    deload: bool,
) -> tuple[Attempt, ...]:
    _rest(state, day)
    strength = state.maximum(who.lifter.responds)
    rng = who.chance(state.lift.key, day)
    form = strength * math.exp(rng.gauss(0.0, who.lifter.day_noise))
    if not state.history:
        return _first(who, state, strength, form, day, rng)
    question = Question(
        who,
        state.lift,
        tuple(state.history[-KEPT:]),
        state.current,
        day,
        week,
        deload,
        _pain(state, day, rng),
        state.before_pain,
        who.floor(week),
        year.trusted,
        strength,
        form,
        who.lifter.endurance,
    )
    chosen = choose(question)
    year.prescribed += 1
    year.by_hand += chosen.proposed is not None
    if watch is not None:
        year.broken += watch(question, chosen)
    if not deload and question.pain == "go_on":
        state.current = _planned(state.lift, state.current, chosen.sets)
    tried = _done(who, state, chosen.sets, form, day, rng, deload=deload)
    _counted(year, state, chosen.sets, tried, deload=deload)
    return tried


def _first(who: Person, state: _State, strength: float, form: float, day: date, rng: Random) -> tuple[Attempt, ...]:
    """The first session finds its load on the rack, and does the planned sets with it; every chooser starts there."""
    lift = state.lift
    guess = COACHS_GUESS * math.exp(rng.gauss(0.0, GUESS_SPREAD)) * load_for(strength, lift.low, lift.rir)
    light = [one for one in lift.rack.loads if lift.moved(one, who.bodyweight) <= guess]
    load = lift.rack.easiest
    if light:
        load = max(light, key=lambda one: lift.moved(one, who.bodyweight))
    plain = replace(who.lifter, taps_through=0.0, rates_effort=True, day_noise=0.0)
    tried: list[tuple[float, float | None]] = []
    while load is not None:
        asked = [TargetSet(reps_low=lift.low, reps_high=lift.low, load=load, rir=0.0)]
        one = attempt(plain, form, asked, rng, moved=lambda entered: lift.moved(entered, who.bodyweight))[0]
        tried.append((load, 0.0 if one.said is None else one.said.rir))
        answer = next_try(lift.rack, lift.low, tried)
        load = load if answer.load is None else answer.load
        if answer.found or answer.load is None:
            break
    state.current = lift.asked(load)
    return _done(who, state, state.current[: first_session_sets(lift.sets)], form, day, rng)


def _done(
    who: Person,
    state: _State,
    asked: tuple[TargetSet, ...],
    form: float,
    day: date,
    rng: Random,
    *,
    deload: bool = False,
) -> tuple[Attempt, ...]:
    """The session done and logged, and what it gives."""
    lift = state.lift
    steady = replace(who.lifter, day_noise=0.0)  # the day's form is in the strength already
    tried = attempt(steady, form, asked, rng, moved=lambda load: lift.moved(load, who.bodyweight))
    said = tuple(one.said for one in tried if one.said is not None)
    if said:
        bodyweight = who.bodyweight if lift.fraction else None
        state.history.append(Exposure(day, said, tuple(asked), deload=deload, bodyweight=bodyweight))
        _back_at_it(state, said[0].load)
    state.trained += _given(lift, who, asked, tried, form) / len(SESSION_DAYS)
    state.last = day
    return tried


def _counted(
    year: Year, state: _State, asked: tuple[TargetSet, ...], tried: tuple[Attempt, ...], *, deload: bool
) -> None:
    if tried and asked[0].load is not None and not deload:
        year.counted += 1
        year.landed += abs(tried[0].left - (asked[0].rir or 0.0)) <= LANDS_WITHIN
    if not year.trusted and asked and asked[-1].kind == "check":
        year.trusted = believed(False, rating_gap(state.history[-1:]))


def _given(lift: Lift, who: Person, asked: Sequence[TargetSet], tried: Sequence[Attempt], form: float) -> float:
    """What a session gives for strength, 0 to 1 of what is expected of it."""
    sets = 0.0
    for target, one in zip(asked, tried, strict=True):
        share = 0.0 if target.load is None else lift.moved(target.load, who.bodyweight) / form
        if one.reps >= 1 and share >= LEAST_SHARE:
            sets += 1.0 if one.left <= COUNTED_RIR_MOST else EASY_SET_COUNTS
    return min(1.0, sets / ENOUGH_SETS)


def _rest(state: _State, day: date) -> None:
    """What days without the lift take, and what training on gives back."""
    if state.last is None:
        return
    days = (day - state.last).days
    if days > HELD_DAYS:
        state.lost += LOST_PER_WEEK * (days - HELD_DAYS) / WEEK_DAYS
        state.regained_per_day = state.lost / (days / 2)
    else:
        state.lost = max(0.0, state.lost - state.regained_per_day * days)


def _pain(state: _State, day: date, rng: Random) -> str:
    """Pain of 3 or 4 comes now and then, lasts two sessions, and is then come back from."""
    if state.pain_left > 0:
        state.pain_left -= 1
        state.settled = day
        return "freeze" if state.pain_left else "return"
    if state.settled is not None and day - state.settled > PAIN_REGAINED_WITHIN:
        state.before_pain = state.settled = None
    if rng.random() < PAIN_CHANCE:
        state.pain_left = PAIN_SESSIONS
        loads = [one.load for one in state.history[-1].done if one.load is not None]
        state.before_pain = loads[0] if loads else None
        return "freeze"
    return "go_on"


def _back_at_it(state: _State, load: float | None) -> None:
    """Back at the load before the pain, it is over."""
    before = state.before_pain
    if before is None or state.pain_left or load is None:
        return
    if (load <= before) if state.lift.rack.falls else (load >= before):
        state.before_pain = None


def _planned(lift: Lift, before: tuple[TargetSet, ...], asked: tuple[TargetSet, ...]) -> tuple[TargetSet, ...]:
    """What the block plans for the next time: its own sets and reserve, with the load and range now in force."""
    if not asked:
        return before
    first = asked[0]
    return tuple(
        replace(one, load=first.load, reps_low=first.reps_low, reps_high=first.reps_high)
        for one in lift.asked(first.load)
    )
