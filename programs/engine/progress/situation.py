"""One question to progression, with everything that bears on it, and the ways to answer."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

from programs.engine.calendar import WEEK_DAYS
from programs.engine.cautions.groups import EffortFloor
from programs.engine.constants import BODYWEIGHT_VALID_DAYS
from programs.engine.progress.history import Session, Target, best_estimate, planned_load
from programs.engine.progress.steps import reload
from programs.engine.progress.terms import (
    LEVERS,
    WORK_KINDS,
    Caps,
    Illness,
    Lever,
    MappedEstimate,
    NextStep,
    Offer,
    Wave,
    in_short,
)
from programs.engine.racks import Rack
from programs.engine.terms import Because, TargetSet


@dataclass(frozen=True)
class Situation:
    """All that decides the next step; ``current`` are the work sets planned, ``sessions`` what was done."""

    current: tuple[TargetSet, ...]
    sessions: tuple[Session, ...]
    policy: str
    rack: Rack
    lever: Lever
    role: str
    experience: str
    on: date
    target: Target
    base_low: int  # the slot's own range, which the current one may have outgrown
    base_high: int
    pressing: bool = False
    timed: str = ""  # "seconds" or "metres" where that is counted
    k: float = 1.0
    age: int | None = None
    caps: Caps = field(default_factory=Caps)
    floor: EffortFloor = field(default_factory=EffortFloor)
    levers: tuple[str, ...] = LEVERS
    estimate: MappedEstimate | None = None
    return_to: float | None = None
    new_client: bool = False
    every_days: int = WEEK_DAYS
    beside: tuple[Session, ...] = ()  # the same exercise on another day type, or elsewhere, where that compares
    new_machine: bool = False
    baseline_on: date | None = None  # where a new baseline cut an older past off
    wave: Wave | None = None
    illness: Illness | None = None
    bodyweight_days: int = 0
    machine: bool = False
    rating_gap: float | None = None  # what the last check set showed beyond what was said, in repetitions

    @cached_property
    def trained(self) -> tuple[Session, ...]:
        """Sessions that count as training at the usual load: deloads and tests of strength left out."""
        return tuple(one for one in self.sessions if not one.deload and not one.tested)

    @cached_property
    def base(self) -> float | None:
        """The working load in force: what was last done, else what is planned; in a wave what is planned."""
        planned = self.lever.or_bodyweight(planned_load(self.current))
        if self.wave is not None and planned is not None:
            return planned
        for session in reversed(self.trained):
            if session.load is not None:
                return session.load
        return planned

    @cached_property
    def met(self) -> list[bool]:
        return [one.met(self.target, self.lever) for one in self.trained]

    @cached_property
    def missed(self) -> list[bool]:
        """Sessions that count as missed; fewer repetitions later in the session than usual are no miss."""
        return [not one.late and one.missed(self.target, self.lever) for one in self.trained]

    @property
    def count(self) -> int:
        """Work sets planned."""
        return sum(one.kind in WORK_KINDS for one in self.current)

    @property
    def days_off(self) -> int | None:
        return (self.on - self.sessions[-1].day).days if self.sessions else None

    def away(self, days: int) -> int:
        """Days without the exercise as the table of absences counts them: from a week on, what was planned is none."""
        return max(0, days - max(0, self.every_days - WEEK_DAYS))

    @property
    def stale(self) -> bool:
        """Whether the body is moved and was not weighed for too long to estimate from."""
        return self.lever.moves_body and self.bodyweight_days > BODYWEIGHT_VALID_DAYS

    def best(self) -> float | None:
        """The latest estimate; None where the bodyweight is stale."""
        if self.stale:
            return None
        return best_estimate([one for one in self.sessions if not one.deload], self.lever, self.k)

    def at(self, load: float | None) -> tuple[TargetSet, ...]:
        """The planned sets at a working load."""
        if load is None:
            return self.current
        return reload(self.current, planned_load(self.current), load, self.rack)

    def answer(
        self,
        change: str,
        sets: Sequence[TargetSet],
        reasons: Sequence[Because],
        *,
        plain: bool,
        find_load: bool = False,
        offers: Sequence[Offer] = (),
        working_max: float | None = None,
    ) -> NextStep:
        old = in_short(self.current)
        if old.load is None:
            old = replace(old, load=self.base)
        sets = tuple(sets)
        return NextStep(sets, change, old, in_short(sets), tuple(reasons), plain, find_load, tuple(offers), working_max)


def with_rir(sets: Sequence[TargetSet], least: float) -> tuple[TargetSet, ...]:
    """The sets with at least this much in reserve; an effort that was left open is set to it."""
    return tuple(replace(one, rir=least if one.rir is None else max(one.rir, least)) for one in sets)


def with_reps(sets: Sequence[TargetSet], high: int) -> tuple[TargetSet, ...]:
    """The sets with another top of the range."""
    return tuple(
        replace(one, reps_high=max(high, one.reps_low or 1)) if one.reps_low is not None else one for one in sets
    )


def reloaded(case: Situation, sets: Sequence[TargetSet], load: float | None) -> tuple[TargetSet, ...]:
    """Some of the planned sets at a working load; as they are where there is none."""
    if load is None:
        return tuple(sets)
    return reload(sets, planned_load(case.current), load, case.rack)
