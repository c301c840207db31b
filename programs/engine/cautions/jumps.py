"""Looks at a received load before it counts: a slipped key, pounds for kilos, fields swapped, or far off.

Odd values are asked about, never changed or dropped; until answered they touch no record and no target.
The robust cut is the modified z-score with a floor, as a flat history has no spread of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Final

from programs.engine.constants import KILOGRAMS_PER_POUND
from programs.engine.terms import Params

JUMPS: Final = (
    "swapped_fields",
    "other_unit",
    "ten_times",
    "tenth",
    "both_for_one",
    "one_for_both",
    "far_off",
)

CLOSE: Final = 0.20  # how near a corrected value must come to what is usual
UNIT_CLOSE: Final = 0.12
EXACT: Final = 0.01
OUTLIER_Z: Final = 3.5  # Iglewicz and Hoaglin 1993
NORMAL_MAD: Final = 0.6745
FLOOR_SHARE: Final = 0.10  # nothing nearer than this to the usual load is asked about
ENOUGH_HISTORY: Final = 5
MOST_REPS: Final = 30
FEWEST_AS_LOAD: Final = 40  # without history, repetitions above this may be a load


@dataclass(frozen=True, slots=True)
class Jump:
    """A question about one set: the code, and the likelier values to offer (None where there are none)."""

    code: str
    load: float | None = None
    unit: str | None = None
    reps: int | None = None
    params: Params = field(default_factory=dict)


def check_load(
    load: float,
    reps: int | None,
    recent: Sequence[float],
    unit: str,
    *,
    load_entry: str = "total",
    next_loads: Sequence[float] = (),
) -> Jump | None:
    """The likeliest question about a working set, or None when nothing is odd.

    ``recent`` are working loads of the same exercise at the same place, in ``unit`` ("kg" or "lb", or any
    other for settings without weight, where units are not compared), any order. ``next_loads`` are loads
    that may well come now (the prescribed one, one step up or down): they are never far off. ValueError for
    a negative load.
    """
    if load < 0:
        raise ValueError("a load is not negative")
    load = float(load)
    known = [float(value) for value in recent if value > 0]
    if not known:
        if reps is not None and load and load <= MOST_REPS and reps >= FEWEST_AS_LOAD and load < reps:
            return Jump("swapped_fields", float(reps), unit, int(load))
        return None
    usual = median(known)
    if any(_near(load, value, EXACT) for value in (*known, *next_loads)) or load == 0:
        return None
    return _halves(load, usual, unit, load_entry) or _slip(load, reps, usual, unit) or _outlier(load, known, usual)


def _near(value: float, usual: float, within: float) -> bool:
    return usual > 0 and abs(value / usual - 1) <= within


def _slip(load: float, reps: int | None, usual: float, unit: str) -> Jump | None:
    """A slip that one correction puts right: the correction nearest to what is usual."""
    params = {"usual": usual, "load": load}
    offers: list[tuple[float, Jump]] = []
    if reps is not None and load.is_integer() and 1 <= load <= MOST_REPS and _near(reps, usual, CLOSE):
        offers.append((abs(reps / usual - 1), Jump("swapped_fields", float(reps), unit, int(load), params)))
    for code, factor in (("ten_times", 0.1), ("tenth", 10.0)):
        if _near(load * factor, usual, CLOSE):
            value = round(load * factor, 3)
            offers.append((abs(value / usual - 1), Jump(code, value, unit, reps, params)))
    if unit in ("kg", "lb"):
        other = "lb" if unit == "kg" else "kg"
        value = load * (KILOGRAMS_PER_POUND if other == "lb" else 1 / KILOGRAMS_PER_POUND)
        if _near(value, usual, UNIT_CLOSE):
            offers.append(
                (
                    abs(value / usual - 1),
                    Jump("other_unit", load, other, reps, params | {"same_as": round(value, 1)}),
                )
            )
    return min(offers, key=lambda offer: offer[0])[1] if offers and not _near(load, usual, CLOSE) else None


def _halves(load: float, usual: float, unit: str, load_entry: str) -> Jump | None:
    """Exactly twice or half of the usual load where one of two implements is logged, or might be."""
    if load_entry not in ("per_hand", "total"):
        return None
    for code, factor in (("both_for_one", 0.5), ("one_for_both", 2.0)):
        if _near(load * factor, usual, EXACT):
            return Jump(code, round(load * factor, 3), unit, None, {"usual": usual, "load": load})
    return None


def _outlier(load: float, known: Sequence[float], usual: float) -> Jump | None:
    if len(known) < ENOUGH_HISTORY:
        return None
    spread = median(abs(value - usual) for value in known)
    allowed = max(OUTLIER_Z * spread / NORMAL_MAD, FLOOR_SHARE * usual)
    if abs(load - usual) <= allowed:
        return None
    return Jump("far_off", params={"usual": usual, "load": load, "percent": round(100 * (load / usual - 1))})
