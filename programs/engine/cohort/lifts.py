"""What simulated lifters train: lifts on racks as places really have them, coarse, uneven and ending."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from programs.engine.progress.terms import Lever
from programs.engine.racks import Plate, Rack, added_rack, assisted_rack, bar_rack, list_rack, numbered_rack, stack_rack
from programs.engine.terms import TargetSet

BAR: Final = "bar"
WEIGHTS: Final = "weights"
STACK: Final = "stack"
SETTINGS: Final = "settings"
HELP: Final = "help"
BELT: Final = "belt"


@dataclass(frozen=True, slots=True)
class Equipment:
    """What stands there: a bar with plates (kilograms or pounds, and how many), or weights, holes with add-ons,
    numbered holes, holes that help, weights on a belt."""

    kind: str
    bar: float = 0.0
    plates: tuple[tuple[float, str, int], ...] = ()
    weights: tuple[float, ...] = ()
    add_ons: tuple[float, ...] = ()
    settings: int = 0

    def rack(self) -> Rack:
        if self.kind == BAR:
            return bar_rack(tuple(Plate(weight, unit, count) for weight, unit, count in self.plates), bar=self.bar)
        if self.kind == WEIGHTS:
            return list_rack(self.weights)
        if self.kind == STACK:
            return stack_rack(self.weights, self.add_ons)
        if self.kind == SETTINGS:
            return numbered_rack(self.settings)
        return assisted_rack(stack_rack(self.weights)) if self.kind == HELP else added_rack(list_rack(self.weights))


@dataclass(frozen=True, slots=True)
class Lift:
    """One exercise of a year: its equipment, its range, and what a usual intermediate can move once.

    ``usual`` is the maximum in kilograms, for lifts that move the body as a share of bodyweight. ``hidden`` is what
    the first numbered hole and each further one really weigh, which only the simulation knows.
    """

    key: str
    equipment: Equipment
    rack: Rack
    usual: float
    role: str = "secondary"
    pattern: str = ""
    load_entry: str = "total"
    fraction: float = 0.0
    low: int = 8
    high: int = 12
    rir: float = 2.0
    sets: int = 3
    machine: bool = False
    hidden: tuple[float, float] = (0.0, 0.0)

    def asked(self, load: float | None) -> tuple[TargetSet, ...]:
        """The sets as the block plans them, at a load."""
        return (TargetSet(reps_low=self.low, reps_high=self.high, load=load, rir=self.rir),) * self.sets

    def lever(self, bodyweight: float) -> Lever:
        return Lever(self.load_entry, bodyweight, self.fraction, self.rack.ordinal, self.rack.falls)

    def moved(self, load: float, bodyweight: float) -> float:
        """What an entered load really moves, in kilograms; numbered holes too."""
        if self.rack.ordinal:
            first, further = self.hidden
            return first + further * (load - 1)
        moved = self.lever(bodyweight).moved(load)
        return 0.0 if moved is None else moved

    def maximum(self, bodyweight: float) -> float:
        return self.usual * bodyweight if self.fraction > 0 else self.usual


_FULL: Final = tuple((weight, "kg", 8) for weight in (25.0, 20.0, 15.0, 10.0, 5.0, 2.5, 1.25))
_NO_SMALL: Final = tuple((weight, "kg", 6) for weight in (20.0, 15.0, 10.0, 5.0, 2.5))
_MIXED: Final = ((20.0, "kg", 4), (10.0, "kg", 2), (45.0, "lb", 4), (5.0, "lb", 2), (2.5, "lb", 2))


@lru_cache(maxsize=1)
def lifts() -> tuple[Lift, ...]:
    """Every kind of rack once: full and coarse bars, mixed plates, dumbbells, bells, stacks, numbers, help, belt."""
    full = Equipment(BAR, bar=20.0, plates=_FULL)
    pairs = Equipment(WEIGHTS, weights=tuple(float(weight) for weight in range(2, 42, 2)))
    light_pairs = Equipment(WEIGHTS, weights=tuple(float(weight) for weight in range(2, 22, 2)))
    bells = Equipment(WEIGHTS, weights=(8.0, 12.0, 16.0, 20.0, 24.0, 28.0, 32.0))
    uneven = Equipment(STACK, weights=tuple(5.0 + 7.0 * hole for hole in range(14)), add_ons=(2.3,))
    help_stack = Equipment(HELP, weights=tuple(5.0 * hole for hole in range(1, 15)))
    belt = Equipment(BELT, weights=(2.5, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0))
    coarse = Equipment(BAR, bar=20.0, plates=_NO_SMALL)
    mixed = Equipment(BAR, bar=20.0, plates=_MIXED)
    sled = Equipment(BAR, bar=45.0, plates=_FULL)
    numbered = Equipment(SETTINGS, settings=15)

    def lift(key: str, equipment: Equipment, usual: float, role: str, pattern: str, **more: object) -> Lift:
        return Lift(key, equipment, equipment.rack(), usual, role, pattern, **more)  # type: ignore[arg-type]

    return (
        lift("squat", full, 120, "main", "squat", low=5, high=8),
        lift("bench press", full, 90, "main", "horizontal_push", low=5, high=8),
        lift("bench press, no small plates", coarse, 90, "main", "horizontal_push", low=6, high=10),
        lift("deadlift, mixed plates", mixed, 110, "main", "hinge", low=5, high=8),
        lift("dumbbell press", pairs, 34, "secondary", "incline_push", load_entry="per_hand"),
        lift("dumbbell curl", light_pairs, 18, "isolation", "", load_entry="per_hand", low=10, high=15),
        lift("kettlebell squat", bells, 44, "secondary", "squat"),
        lift("row, uneven stack", uneven, 80, "secondary", "", load_entry="stack", machine=True),
        lift("leg press", sled, 200, "secondary", "squat", low=10, high=15, machine=True),
        lift(
            "extension, numbered holes",
            numbered,
            60,
            "isolation",
            "",
            load_entry="numbered_setting",
            low=10,
            high=15,
            machine=True,
            hidden=(8.0, 6.0),
        ),
        lift(
            "pull-up with help",
            help_stack,
            1.0,
            "secondary",
            "vertical_pull",
            load_entry="assisted",
            fraction=1.0,
            low=6,
            high=10,
        ),
        lift(
            "dip with a belt",
            belt,
            1.3,
            "secondary",
            "vertical_push",
            load_entry="added",
            fraction=0.95,
            low=6,
            high=10,
        ),
    )


def spread_out(number: int, count: int) -> tuple[Lift, ...]:
    """``count`` different lifts for the lifter of a number, so that every kind comes equally often."""
    every = lifts()
    step = next(step for step in range(5, len(every) + 5) if math.gcd(step, len(every)) == 1)
    return tuple(every[(number + step * place) % len(every)] for place in range(count))
