"""One question to progression, with everything that bears on it, and the ways to answer."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from programs.engine.calendar import WEEK_DAYS
from programs.engine.cautions.groups import EffortFloor
from programs.engine.progress.history import Session, Target, best_estimate
from programs.engine.progress.steps import reload
from programs.engine.progress.terms import (
    LEVERS,
    Caps,
    Lever,
    MappedEstimate,
    NextStep,
    Offer,
    in_short,
)
from programs.engine.racks import Rack
from programs.engine.terms import Because, TargetSet


@dataclass(frozen=True, slots=True)
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

    @property
    def trained(self) -> tuple[Session, ...]:
        """Sessions that count as training at the usual load: deloads left out."""
        return tuple(one for one in self.sessions if not one.deload)

    @property
    def base(self) -> float | None:
        """The working load in force: what was last done, else what is planned."""
        for session in reversed(self.trained):
            if session.load is not None:
                return session.load
        return self.lever.or_bodyweight(in_short(self.current).load)

    @property
    def days_off(self) -> int | None:
        return (self.on - self.sessions[-1].day).days if self.sessions else None

    def away(self, days: int) -> int:
        """Days without the exercise as the table of absences counts them: from a week on, what was planned is none."""
        return max(0, days - max(0, self.every_days - WEEK_DAYS))

    def best(self) -> float | None:
        return best_estimate(self.trained, self.lever, self.k)

    def at(self, load: float | None) -> tuple[TargetSet, ...]:
        """The planned sets at a working load."""
        if load is None:
            return self.current
        return reload(self.current, in_short(self.current).load, load, self.rack)

    def answer(
        self,
        change: str,
        sets: Sequence[TargetSet],
        reasons: Sequence[Because],
        *,
        plain: bool,
        find_load: bool = False,
        offers: Sequence[Offer] = (),
    ) -> NextStep:
        old = in_short(self.current)
        if old.load is None:
            old = replace(old, load=self.base)
        sets = tuple(sets)
        return NextStep(sets, change, old, in_short(sets), tuple(reasons), plain, find_load, tuple(offers))


def with_rir(sets: Sequence[TargetSet], least: float) -> tuple[TargetSet, ...]:
    """The sets with at least this much in reserve; an effort that was left open is set to it."""
    return tuple(replace(one, rir=least if one.rir is None else max(one.rir, least)) for one in sets)


def with_reps(sets: Sequence[TargetSet], high: int) -> tuple[TargetSet, ...]:
    """The sets with another top of the range."""
    return tuple(
        replace(one, reps_high=max(high, one.reps_low or 1)) if one.reps_low is not None else one for one in sets
    )
