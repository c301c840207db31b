"""What each term of the rules weighs: whole points, the published ones as defaults, any of them a practice's own.

All weights share one scale, tuned on made-up weeks: a step in the coach's ranking is 8, a set missing from a group's
range 24. Dose and preference share that scale, because to save a set or two a week at the price of many ranks is not
what coaches want.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from math import ceil
from typing import Final

from programs.engine.terms import Because

LOWEST: Final = 0
HIGHEST: Final = 500
MINUTES_STEP: Final = 5
# Steps that give a limit up, and the weight that is their price.
PRICES: Final[Mapping[str, str]] = {
    "free.release_pin": "release_pin",
    "free.release_exercise": "release_pin",
    "free.raise_ceiling": "raise_ceiling",
    "free.allow_exercise": "allow_exercise",
    "free.add_station": "add_station",
    "free.add_one_station": "add_station",
    "free.allow_skill": "allow_skill",
    "free.load_spared_joint": "load_spared_joint",
}
LEAVING_OUT: Final[Mapping[str, str]] = {"main": "leave_out_main", "secondary": "leave_out_secondary"}
# Weights of one price: what they come to together is what reaches furthest.
TOGETHER: Final = (
    ("under_quarter", "priority_factor"),
    ("far_under_quarter", "priority_factor"),
    ("rank_step", "rank_steps"),
)
# Prices of giving a limit up. They are compared with each other alone, and none is nothing.
GIVING_UP: Final = (
    *dict.fromkeys(PRICES.values()),
    *("more_minutes", "each_five_minutes"),
    *(*LEAVING_OUT.values(), "leave_out_other"),
)
# What is no part of what a week costs.
APART: Final = ("stay", *GIVING_UP)
# How far a weight goes, where that is not from nothing to HIGHEST: what counts or multiplies, and prices.
BOUNDS: Final[Mapping[str, tuple[int, int]]] = {
    "priority_factor": (1, 10),
    "rank_steps": (1, 20),
    **dict.fromkeys(GIVING_UP, (1, HIGHEST)),
}


@dataclass(frozen=True)
class Weights:
    """The points of every term of ``evaluate``. All are whole numbers from 0, and 0 switches a term off."""

    under_quarter: int = 6
    """Each quarter of a set that a group's week stays below its range."""
    far_under_quarter: int = 6
    """On top, each quarter of a set below half of the range's low end."""
    priority_factor: int = 2
    """What both of these are multiplied by for a group that is to grow more."""
    over_quarter: int = 4
    """Each quarter of a set that a group's week goes beyond its range."""
    rank_step: int = 8
    """Each step down in the coach's ranking of a slot."""
    rank_steps: int = 6
    """After so many steps later ranks cost no more."""
    outside_ranking: int = 56
    """An exercise that a ranked slot does not name."""
    liked: int = 20
    """Merit: saved by an exercise that the client likes."""
    disliked: int = 40
    """An exercise that the client dislikes."""
    skill_step: int = 30
    """Each level of skill above what the client's experience brings, where the coach allows it."""
    joint_stress: int = 3
    """The highest severity with which an exercise stresses any joint."""
    go_easy: int = 15
    """Each severity on a joint that is to be gone easy on."""
    stand_in: int = 15
    """An exercise of another role than the slot's, unless the ranking names it."""
    off_pattern: int = 40
    """An exercise of none of the slot's preferred patterns."""
    off_reps: int = 20
    """An exercise that is not done in the slot's range of reps."""
    changed: int = 25
    """Another exercise where one of the last block would still serve."""
    stalled: int = 35
    """An exercise that stalled in the last block, or was done long enough to be rotated."""
    set_away: int = 2
    """Each set more or fewer than the slot's usual ones."""
    same_implement: int = 12
    """Each further occurrence of a slot with an implement that another one has."""
    same_angle: int = 12
    """Each further occurrence of a slot with the pattern and angle of another one."""
    elsewhere: int = 12
    """Each further slot of a day type under which an exercise stands on some occurrence."""
    pattern_again: int = 10
    """Each time that a session repeats a pattern."""
    second_main: int = 40
    """On top, a second main lift of the squat or the hinge in one session."""
    implement_change: int = 4
    """Each change of implement from one exercise of a session to the next."""
    superset_at_one_station: int = 6
    """Merit: saved by two neighbours of a superset with one implement."""
    superset_clash: int = 100
    """Two neighbours of a superset that tire one region, the low back or the grip, or both main lifts."""
    kind_missing: int = 30
    """Each kind of movement that the week does not hold."""
    never_stretched: int = 10
    """Each slot's target that nothing in the week loads while long."""
    out_of_balance: int = 6
    """Each set of pulls too few or too many beside the pushes."""
    stay: int = 20
    """What another exercise must save to come in where the coach changed only its neighbour."""
    release_pin: int = 3
    """Price of letting a pinned exercise go where the week cannot be filled."""
    more_minutes: int = 3
    """Price of longer sessions at all."""
    each_five_minutes: int = 1
    """On top, each five minutes more."""
    raise_ceiling: int = 4
    """Price of more of a group in one session than it should hold."""
    allow_exercise: int = 5
    """Price of allowing an exercise that was to be left out."""
    add_station: int = 6
    """Price of equipment that is not there."""
    allow_skill: int = 7
    """Price of more skill than is allowed."""
    load_spared_joint: int = 20
    """Price of loading a spared joint, offered last and with a tick only, whatever it is."""
    leave_out_main: int = 14
    """Price of leaving out a slot for a main lift."""
    leave_out_secondary: int = 9
    """Price of leaving out a slot for a secondary exercise."""
    leave_out_other: int = 6
    """Price of leaving out any other slot."""

    @classmethod
    def of(cls, own: Mapping[str, object]) -> "Weights":
        """The defaults with a practice's ``own`` in their place; unknown names and what is no such number left out."""
        return cls(**{name: value for name, value in own.items() if isinstance(value, int) and _fits(name, value)})

    def as_dict(self) -> dict[str, int]:
        return asdict(self)

    @property
    def own(self) -> dict[str, int]:
        """Only what differs from the defaults."""
        return {name: value for name, value in asdict(self).items() if value != DEFAULTS[name]}

    def price(self, step: str) -> int:
        """What giving up one limit costs, by the code of the step; minutes and slots have prices of their own."""
        return int(getattr(self, PRICES[step]))

    def leaving_out(self, role: str) -> int:
        """What leaving out a slot of a role costs."""
        return int(getattr(self, LEAVING_OUT.get(role, "leave_out_other")))

    @cached_property
    def reach(self) -> int:
        """How many times its default the heaviest weight is, rounded up, at least 1.

        No week's other costs are more than so many times what they are by default; what must outweigh all of them
        grows along, so that an avoidable repeat or a lost slot is never the cheaper way.
        """
        times = {name: value / DEFAULTS[name] for name, value in asdict(self).items() if name not in APART}
        both = (times[one] * times[other] for one, other in TOGETHER)
        return max(1, ceil(max(*times.values(), *both)))


USUAL: Final = Weights()
DEFAULTS: Final[Mapping[str, int]] = asdict(USUAL)


def bounds(name: str) -> tuple[int, int]:
    """The lowest and the highest that a weight may be."""
    return BOUNDS.get(name, (LOWEST, HIGHEST))


def _fits(name: str, value: int) -> bool:
    low, high = bounds(name)
    return name in DEFAULTS and not isinstance(value, bool) and low <= value <= high


def against(weights: Weights) -> dict[str, Because]:
    """What speaks against weights that contradict each other, by the name of the one to change."""
    found: dict[str, Because] = {}
    last_rank = weights.rank_step * weights.rank_steps
    if weights.outside_ranking < last_rank:
        params = {"points": weights.outside_ranking, "step": weights.rank_step, "steps": weights.rank_steps}
        found["outside_ranking"] = Because("weights.outside_ranking_too_cheap", {**params, "least": last_rank})
    if weights.superset_clash <= weights.superset_at_one_station:
        found["superset_clash"] = Because(
            "weights.clash_too_cheap", {"points": weights.superset_clash, "merit": weights.superset_at_one_station}
        )
    return found
