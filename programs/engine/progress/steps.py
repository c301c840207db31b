"""Loads and sets of a step: rises and falls under the caps, deloads, and coming back after time off."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from programs.engine.progress.terms import TINY, WORK_KINDS, Caps, Lever
from programs.engine.racks import Rack
from programs.engine.strength import load_for, reps_at_share, share_of_max
from programs.engine.terms import TargetSet

# Deloads in practice: Rogerson et al. 2024, Bell et al. 2023.
DELOAD_SETS: Final = 0.5  # rounded up
DELOAD_LOAD: Final = 0.90
DELOAD_RIR: Final = 2.0
MOST_RIR: Final = 5.0


@dataclass(frozen=True, slots=True)
class Absence:
    """Coming back after ``days`` or more: shares of load and sets, and weeks until both are whole again."""

    days: int
    load: float
    sets: float
    weeks: int


# Coaching practice, below the losses measured by Bosquet et al. 2013 and McMaster et al. 2013, as tissue that
# is not used to the load any more needs care that strength does not.
ABSENCES: Final = (
    Absence(0, 1.00, 1.0, 0),
    Absence(11, 0.95, 0.8, 1),
    Absence(21, 0.90, 0.7, 2),
    Absence(35, 0.85, 0.6, 3),
    Absence(56, 0.80, 0.5, 4),
    Absence(91, 0.70, 0.5, 6),
    Absence(181, 0.60, 0.5, 6),  # with a new search for the load
)
ABSENCE_FROM_DAYS: Final = 11
OLDER_THAN: Final = 65  # one row further down
FIND_AGAIN_FROM_DAYS: Final = 181


def absence(days: int, age: int | None = None) -> Absence:
    """The row for ``days`` without the exercise; above 65 years the next one, once there is an absence."""
    row = max(i for i, one in enumerate(ABSENCES) if days >= one.days)
    if row and age is not None and age > OLDER_THAN:
        row = min(row + 1, len(ABSENCES) - 1)
    return ABSENCES[row]


def return_load(
    e1rm: float, days: int, reps: int, rir: float, rack: Rack, *, age: int | None = None, k: float = 1.0
) -> float | None:
    """First load after ``days`` off from the old estimate, rounded down; None below the lightest load."""
    return rack.at_most(load_for(e1rm * absence(days, age).load, reps, rir, k))


def rir_led(
    load: float,
    reps: int,
    rir: float,
    target_reps: int,
    target_rir: float,
    rack: Rack,
    caps: Caps | None = None,
    k: float = 1.0,
) -> float | None:
    """The load for the target from one set done: along the curve, within the caps, as loadable.

    A rise goes to the highest load not above the cap, a fall to the nearest. None on an empty rack.
    """
    caps = caps or Caps()
    raw = load * share_of_max(target_reps, target_rir, k) / share_of_max(reps, rir, k)
    if raw > load:
        found = rack.at_most(min(raw, load * (1 + caps.rise)))
        return found if found is not None else rack.lightest
    return rack.nearest(max(raw, load * (1 - caps.fall_most)))


def load_for_range(
    e1rm: float, reps: int, rir: float, rack: Rack, *, down: bool = False, k: float = 1.0
) -> float | None:
    """The load for a new range, which the coach has planned: nearest, or rounded down. No cap applies."""
    raw = load_for(e1rm, reps, rir, k)
    return rack.at_most(raw) if down else rack.nearest(raw)


def reps_after_step(reps: int, rir: float, change: float, target_rir: float, k: float = 1.0) -> int:
    """Repetitions to expect at ``target_rir`` after a load change (a share, 0.10 for +10 %); 0 if none."""
    share = share_of_max(reps, rir, k) * (1 + change)
    if share > 1:
        return 0
    return max(0, math.floor(reps_at_share(share, k) - target_rir + TINY))


def lighter(load: float, share: float, rack: Rack, lever: Lever) -> float:
    """``share`` of what is moved, rounded to the easier side; ``load`` itself where nothing easier is on offer."""
    moved = lever.moved(load)
    if lever.falls:  # lighter is more help; without the body's weight, by the help alone
        wanted = lever.entered(moved * share) if moved is not None else load / share
        found = rack.at_least(max(wanted if wanted is not None else load, load + 10 * TINY))
        found = rack.heaviest if found is None else found
    else:
        unweighed = load * share if load > 0 else load / share  # below nothing added stands help
        wanted = lever.entered(moved * share) if moved is not None else unweighed
        found = None if wanted is None else rack.at_most(wanted)
        found = rack.lightest if found is None else found
    return load if found is None or lever.at_least_as_hard(found, load) else found


def hardest_within(load: float, most: float, rack: Rack, lever: Lever, limit: float | None = None) -> float | None:
    """The hardest load on offer whose rise over ``load`` is at most ``most``; None if no harder one fits.

    ``limit`` is a load not to go beyond. Loads without weight never fit: they are not reckoned with.
    """
    best = None
    candidate = rack.harder(load)
    while candidate is not None:
        change = lever.change(load, candidate)
        if change is None or change > most + TINY:
            break
        if limit is not None and not lever.at_least_as_hard(limit, candidate):
            break
        best = candidate
        candidate = rack.harder(candidate)
    return best


def easier_by(load: float, share: float, most: float, rack: Rack, lever: Lever) -> float | None:
    """The load nearest to a fall by ``share``, at least one step and at most a fall by ``most``, or None."""
    below = []
    candidate = rack.easier(load)
    while candidate is not None:
        change = lever.change(load, candidate)
        if change is None:
            return candidate
        if change < -most - TINY:
            break
        below.append((abs(change + share), candidate))
        candidate = rack.easier(candidate)
    return min(below)[1] if below else None


def reload(sets: Sequence[TargetSet], old: float | None, new: float, rack: Rack) -> tuple[TargetSet, ...]:
    """The sets with a new working load; sets of another load keep their share of it, rounded to the easier side.

    Where nothing or help stands in for a load they keep their distance from it instead.
    """
    out = []
    for one in sets:
        if one.load is None or old is None or abs(one.load - old) <= TINY or rack.ordinal:
            out.append(replace(one, load=new))
        elif abs(new - old) <= TINY:
            out.append(one)
        else:
            scaled = one.load * new / old if min(one.load, old, new) > 0 else one.load + new - old
            out.append(replace(one, load=_reached(one.load, scaled, rack)))
    return tuple(out)


def _reached(load: float, wanted: float, rack: Rack) -> float:
    """The load on offer for a wanted one, rounded to the easier side, but not past the present one on a rise."""
    if not rack.loads:
        return wanted
    found = rack.not_harder(wanted)
    found = rack.easiest if found is None else found
    rises = wanted < load if rack.falls else wanted > load
    back = found is None or (found > load if rack.falls else found < load)
    return load if found is None or (rises and back) else found


def fewer(sets: Sequence[TargetSet], count: int) -> tuple[TargetSet, ...]:
    """The first ``count`` work sets, each with its drop parts."""
    out, kept = [], 0
    for one in sets:
        kept += one.kind in WORK_KINDS
        if kept <= count:
            out.append(one)
    return tuple(out)


def share_of_sets(count: int, share: float) -> int:
    """A share of a number of sets, halves up, at least one."""
    return max(1, math.floor(count * share + 0.5))


def eased_sets(count: int) -> int:
    """How many of so many work sets a deload keeps."""
    return math.ceil(count * DELOAD_SETS)


def deload(sets: Sequence[TargetSet], rack: Rack, lever: Lever) -> tuple[TargetSet, ...]:
    """Half of the sets (rounded up), 10 % less load (rounded down), two more in reserve; nothing open-ended."""
    count = sum(one.kind in WORK_KINDS for one in sets)
    out = []
    for one in fewer(sets, eased_sets(count)):
        if one.kind not in WORK_KINDS:
            continue  # no drop parts in an easy week
        load = one.load
        if load is not None and rack.loads and not rack.ordinal:
            load = lighter(load, DELOAD_LOAD, rack, lever)
        rir = None if one.rir is None else min(one.rir + DELOAD_RIR, MOST_RIR)
        out.append(replace(one, kind="work", load=load, rir=rir, open_ended=False))
    return tuple(out)


def nearest_easier(load: float, wanted: float, most: float, rack: Rack, lever: Lever) -> float:
    """The load nearest to ``wanted`` of ``load`` itself and the easier ones that are a fall by at most ``most``.

    ``wanted`` is an entered load. A tie goes to the easier one.
    """
    best, candidate = load, rack.easier(load)
    while candidate is not None:
        change = lever.change(load, candidate)
        if change is None or change < -most - TINY or abs(candidate - wanted) > abs(best - wanted) + TINY:
            break
        best = candidate
        candidate = rack.easier(candidate)
    return best
