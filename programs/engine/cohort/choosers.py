"""Ways to choose the next load on the same rack: progression, knowing everything, fixed steps, never changing."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile
from typing import Final

from programs.engine.cautions.pain import LIGHTER_SHARE, RETURN_SHARE, RIR_FLOOR_IN_PAIN
from programs.engine.cohort.lifter import WEEKS_BEHIND
from programs.engine.cohort.lifts import Lift
from programs.engine.cohort.year import Choice, Question
from programs.engine.progress import NextStep, deload, next_prescription
from programs.engine.progress.policies import MORE_REPS, MOST_REPS
from programs.engine.progress.steps import absence, lighter, share_of_sets
from programs.engine.strength import reps_at_share, share_of_max
from programs.engine.terms import Exposure, TargetSet

MISSED_TWICE: Final = 2
LOWEST_SHARE: Final = 0.5  # of the maximum; below it the curve says nothing
CHECK_FROM: Final = 2  # sessions until a beginner's coach asks for a check set
# Consistent training until a coach calls somebody intermediate, and advanced: six months and three years.
INTERMEDIATE_FROM_WEEKS: Final = 26
ADVANCED_FROM_WEEKS: Final = 156


def progression(asked: Question) -> Choice:
    """What is proposed from the log and nothing else, accepted by a coach who takes what is offered.

    Beginners go by repetitions, and by effort once a check set agreed with what they say or half a year is behind
    them; the others by effort. Where the next load, up or down, is more than may be proposed, the coach takes the
    step that is offered, and until one is, the repetitions.
    """
    lift, who = asked.lift, asked.person
    experience = experience_in(asked.week, who.lifter.experience)
    novice = experience == "novice"
    by_repetitions = "fixed_steps" if lift.role == "main" else "double_progression"
    step = next_prescription(
        asked.history,
        asked.current,
        by_repetitions if novice and not asked.trusted else "effort_led",
        lift.rack,
        role=lift.role,
        experience=experience,
        load_entry=lift.load_entry,
        on=asked.on,
        pattern=lift.pattern,
        rep_range=(lift.low, lift.high),
        bodyweight=who.bodyweight,
        bodyweight_fraction=lift.fraction,
        age=who.age,
        rir_trusted=asked.trusted or not novice,
        deload=asked.deload,
        pain=asked.pain,
        return_to=asked.before_pain,
        floor=asked.floor,
        machine=lift.machine,
        test="check_set" if novice and not asked.trusted and len(asked.history) >= CHECK_FROM else "none",
    )
    taken = _taken(step)
    return Choice(step.sets) if taken is None else Choice(taken, step.sets)


def experience_in(week: int, at_first: str) -> str:
    """The experience that a coach enters in a week of the year, by the weeks of training behind."""
    behind = WEEKS_BEHIND[at_first] + week
    if behind < INTERMEDIATE_FROM_WEEKS:
        return "novice"
    return "intermediate" if behind < ADVANCED_FROM_WEEKS else "advanced"


def _taken(step: NextStep) -> tuple[TargetSet, ...] | None:
    """The way that a coach takes in place of what is proposed, or None."""
    ways = {offer.code: offer.sets for offer in step.offers if offer.sets}
    codes = ("take_step", "more_reps") if step.change == "step_too_big" else ("take_step_down",)
    found = next((ways[code] for code in codes if code in ways), None)
    return None if found == step.sets else found


def knowing(asked: Question) -> Choice:
    """The load whose expected repetitions lie nearest to the middle of the block's range, by the day's true strength.

    Bound by no cap, pain or time off, as it never errs, but by the client's limits. It can't know how a set will be
    misjudged.
    """
    lift, who = asked.lift, asked.person
    rir = max(lift.rir, asked.floor.rir)
    share = share_of_max((lift.low + lift.high) / 2, rir, asked.endurance)
    if asked.floor.share_of_max is not None:
        share = min(share, asked.floor.share_of_max)
    wanted = share * asked.form
    load = min(lift.rack.loads, key=lambda one: (abs(lift.moved(one, who.bodyweight) - wanted), one))
    return _as_planned(asked, tuple(replace(one, load=load, rir=rir) for one in lift.asked(load)))


def knowing_freely(asked: Question) -> Choice:
    """``knowing``, and as free in the repetitions as progression is: what is too light on offer is done more often.

    Up to three repetitions above the range, and at the rack's end or the client's share up to the most of all.
    """
    choice = knowing(asked)
    first, lift = choice.sets[0], asked.lift
    if asked.deload or first.load is None:
        return choice
    share = lift.moved(first.load, asked.person.bodyweight) / asked.form
    able = MOST_REPS if share <= LOWEST_SHARE else reps_at_share(min(1.0, share), asked.endurance)
    ends = lift.rack.harder(first.load) is None or asked.floor.share_of_max is not None
    most = MOST_REPS if ends else lift.high + MORE_REPS
    high = max(lift.high, min(most, math.ceil(able - (first.rir or 0.0)) + 1))
    return Choice(tuple(replace(one, reps_high=high) for one in choice.sets))


def fixed_steps(asked: Question) -> Choice:
    """``textbook`` under the same rules for pain and time off as everybody."""
    return _fixed(asked, careful=True)


def textbook(asked: Question) -> Choice:
    """One step up when every set reached the middle of the range with the reserve asked for, one down after two misses.

    The textbook rule with a fixed number of repetitions, whatever size the step is; unknown effort counts as met.
    """
    return _fixed(asked, careful=False)


def repeating(asked: Question) -> Choice:
    """The first load for ever."""
    load = asked.history[0].done[0].load if len(asked.history) == 1 else asked.current[0].load
    return _as_planned(asked, asked.lift.asked(load))


def _as_planned(asked: Question, sets: tuple[TargetSet, ...]) -> Choice:
    return Choice(deload(sets, asked.lift.rack, asked.lift.lever(asked.person.bodyweight)) if asked.deload else sets)


def _fixed(asked: Question, *, careful: bool) -> Choice:
    lift = asked.lift
    reps, rir, count = (lift.low + lift.high) // 2, max(lift.rir, asked.floor.rir), lift.sets
    usual = [one for one in asked.history if not one.deload]
    load = usual[-1].done[0].load if usual else asked.current[0].load
    if load is None:
        return Choice(asked.current)
    lever = lift.lever(asked.person.bodyweight)
    row = absence((asked.on - asked.history[-1].day).days, asked.person.age)
    if careful and asked.pain in ("freeze", "return"):
        share = LIGHTER_SHARE if asked.pain == "freeze" else RETURN_SHARE
        light = lighter(load if asked.before_pain is None else asked.before_pain, share, lift.rack, lever)
        load = light if lever.at_least_as_hard(load, light) else load
        rir = max(rir, RIR_FLOOR_IN_PAIN) if asked.pain == "freeze" else rir
    elif careful and row.days:
        load, count = lighter(load, row.load, lift.rack, lever), share_of_sets(count, row.sets)
    else:
        load = _stepped(lift, usual, load, reps, rir)
    sets = tuple(replace(one, reps_low=reps, reps_high=reps, rir=rir) for one in lift.asked(load))
    return _as_planned(asked, sets[:count])


def _stepped(lift: Lift, usual: Sequence[Exposure], load: float, reps: int, rir: float) -> float:
    here = [one for one in usual if one.done[0].load == load]
    met = [
        len(one.done) >= len(one.asked)
        and all((done.reps or 0) >= reps and (done.rir is None or done.rir >= rir) for done in one.done)
        for one in here
    ]
    missed = [any((done.reps or 0) < reps for done in one.done) for one in here]
    after = None
    if met and met[-1]:
        after = lift.rack.harder(load)
    elif len(list(takewhile(bool, reversed(missed)))) >= MISSED_TWICE:
        after = lift.rack.easier(load)
    return load if after is None else after
