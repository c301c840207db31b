"""The people of a cohort: bodies, strength, habits and limits, each from a number and a seed alone."""

import math
from dataclasses import dataclass
from random import Random
from typing import Final

from programs.engine.cautions.groups import EffortFloor, effort_floor
from programs.engine.cohort.lifter import Lifter
from programs.engine.cohort.lifts import Lift, spread_out
from programs.engine.constants import ENDURANCE_SPREAD, RESPONSE_SPREAD, STRENGTH_SPREAD
from programs.engine.strength import load_for
from programs.engine.vocabulary import EXPERIENCES

WEEKS: Final = 52
LIFTS_EACH: Final = 4
STRENGTH_BY_LEVEL: Final = {"novice": 0.70, "intermediate": 1.0, "advanced": 1.30}
# Coaching practice, all of it: how regular people are, who rates effort, who is older or held to moderate effort.
ATTENDANCE: Final = (0.75, 1.0)
TAPS_THROUGH: Final = (0.0, 0.05, 0.05, 0.3)
RATES_EFFORT: Final = 0.85
OLDER: Final = 0.1
MODERATE: Final = 0.1
BODYWEIGHT: Final = (75.0, 10.0)
ENDURANCE_BOUNDS: Final = (0.6, 2.0)
LEAST_RESPONSE: Final = 0.3
AWAY_CHANCE: Final = 0.6  # of one long time off in the year
AWAY_WEEKS: Final = (2, 9)


@dataclass(frozen=True, slots=True)
class Person:
    """A lifter with a body, lifts, true maxima, limits, and the weeks they will be away."""

    number: int
    seed: int
    lifter: Lifter
    age: int
    bodyweight: float
    lifts: tuple[Lift, ...]
    maxima: tuple[float, ...]
    moderate: bool
    away: range

    def chance(self, *of: object) -> Random:
        """The chance of one event of this person's life, the same whatever happened before it."""
        return Random(repr((self.seed, self.number, *of)))

    def floor(self, week: int) -> EffortFloor:
        """The limits in a week of the year: who has not trained long is held back in the first ones."""
        trained = week if self.lifter.experience == "novice" else WEEKS
        return effort_floor(age=self.age, weeks_of_training=trained, moderate_only=self.moderate)


def person(number: int, seed: int = 0) -> Person:
    """The lifter of a number: every third of one experience, a tenth older, a tenth held to moderate effort."""
    rng = Random(repr((seed, number)))
    experience = EXPERIENCES[number % len(EXPERIENCES)]
    low, high = ENDURANCE_BOUNDS
    lifter = Lifter(
        experience,
        attendance=rng.uniform(*ATTENDANCE),
        taps_through=rng.choice(TAPS_THROUGH),
        rates_effort=rng.random() < RATES_EFFORT,
        responds=max(LEAST_RESPONSE, rng.gauss(1.0, RESPONSE_SPREAD)),
        endurance=min(high, max(low, math.exp(rng.gauss(0.0, ENDURANCE_SPREAD)))),
    )
    bodyweight = round(rng.gauss(*BODYWEIGHT), 1)
    chosen = spread_out(number // len(EXPERIENCES), LIFTS_EACH)
    level = STRENGTH_BY_LEVEL[experience] * math.exp(rng.gauss(0.0, STRENGTH_SPREAD))
    maxima = tuple(max(_least(lift, bodyweight), level * lift.maximum(bodyweight)) for lift in chosen)
    older, moderate = rng.random() < OLDER, rng.random() < MODERATE
    age = rng.randint(65, 78) if older else rng.randint(20, 60)
    start = rng.randrange(8, WEEKS - 12)
    length = rng.randint(*AWAY_WEEKS) if rng.random() < AWAY_CHANCE else 0
    return Person(number, seed, lifter, age, bodyweight, chosen, maxima, moderate, range(start, start + length))


def _least(lift: Lift, bodyweight: float) -> float:
    """A maximum with which the easiest load can be done for the range: nobody is given a lift they can't begin."""
    easiest = lift.rack.easiest or 0.0
    return lift.moved(easiest, bodyweight) / load_for(1.0, lift.low, lift.rir) * 1.05
