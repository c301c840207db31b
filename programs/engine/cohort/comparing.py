"""One lifter's year lived over and over: by what is proposed, by who knows all, by fixed steps, and unchanging."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from programs.engine.cohort.choosers import fixed_steps, knowing, knowing_freely, progression, repeating, textbook
from programs.engine.cohort.people import WEEKS, person
from programs.engine.cohort.watcher import watch
from programs.engine.cohort.year import live


@dataclass(frozen=True, slots=True)
class Compared:
    """What the years of one lifter came to; gains are shares of the first day's strength, means over the lifts."""

    number: int
    experience: str
    landed: int
    counted: int
    landed_knowing: int
    counted_knowing: int
    landed_freely: int
    counted_freely: int
    gain: float
    gain_fixed: float
    gain_textbook: float
    gain_repeating: float
    prescribed: int
    by_hand: int
    broken: tuple[str, ...]


def compare(number: int, *, seed: int = 0, weeks: int = WEEKS) -> Compared:
    """The lifter of a number, every way on the same days and the same noise."""
    who = person(number, seed)
    proposed = live(who, progression, weeks=weeks, watch=watch)
    known = live(who, knowing, weeks=weeks)
    freely = live(who, knowing_freely, weeks=weeks)
    return Compared(
        number,
        who.lifter.experience,
        proposed.landed,
        proposed.counted,
        known.landed,
        known.counted,
        freely.landed,
        freely.counted,
        proposed.gain,
        live(who, fixed_steps, weeks=weeks).gain,
        live(who, textbook, weeks=weeks).gain,
        live(who, repeating, weeks=weeks).gain,
        proposed.prescribed,
        proposed.by_hand,
        tuple(proposed.broken),
    )


def landing(rows: Sequence[Compared]) -> tuple[float, float, float]:
    """Share of first work sets within a repetition of the reserve asked for: as proposed, by who knows all, and by who
    knows all and is as free in the repetitions."""
    return (
        sum(row.landed for row in rows) / sum(row.counted for row in rows),
        sum(row.landed_knowing for row in rows) / sum(row.counted_knowing for row in rows),
        sum(row.landed_freely for row in rows) / sum(row.counted_freely for row in rows),
    )


def gained(rows: Iterable[Compared], against: Callable[[Compared], float]) -> float:
    """Strength gained as proposed, as a multiple of what the other way gains."""
    every = list(rows)
    return sum(row.gain for row in every) / sum(against(row) for row in every)
