"""What a place offers for one implement, and the loads that can be put together from it.

Sums are exact: every weight is a whole number of parts (10⁻¹¹ kilogram; a pound is 45,359,237,000 of them, so a
thousandth of a pound is whole too), and mixed kilogram and pound plates add up without rounding. A rack answers
in the unit of its loads.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

PARTS_PER_THOUSANDTH: Final[Mapping[str, int]] = {"kg": 100_000_000, "lb": 45_359_237}
MOST_PAIRS: Final = 24  # pairs of plates on one sleeve; no bar holds more


@dataclass(frozen=True, slots=True)
class Plate:
    """One size of plate: its weight in its own unit and how many single plates exist."""

    weight: float
    unit: str
    count: int


@dataclass(frozen=True, slots=True)
class Loading:
    """How a total is put together: the bar and the plates of one side, heaviest first (weight, unit)."""

    bar: float | None
    bar_unit: str
    per_side: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class Rack:
    """Loads on offer, ascending. ``ordinal``: settings or bands, which can be stepped through but not reckoned
    with. ``falls``: assistance, where less is harder. ``loadings`` says how plates make each total."""

    loads: tuple[float, ...]
    unit: str = "kg"
    ordinal: bool = False
    falls: bool = False
    names: tuple[str, ...] = ()  # for bands, in the order of loads
    loadings: Mapping[float, Loading] = field(default_factory=dict, hash=False, compare=False)

    def nearest(self, load: float) -> float | None:
        """The load on offer nearest to ``load``; a tie goes down. None on an empty rack."""
        if not self.loads:
            return None
        at = bisect_left(self.loads, load)
        if at == 0:
            return self.loads[0]
        if at == len(self.loads):
            return self.loads[-1]
        below, above = self.loads[at - 1], self.loads[at]
        return below if load - below <= above - load else above

    def at_most(self, load: float) -> float | None:
        """The heaviest load not above ``load``, or None when even the lightest is."""
        at = bisect_right(self.loads, load + _TINY)
        return self.loads[at - 1] if at else None

    def at_least(self, load: float) -> float | None:
        at = bisect_left(self.loads, load - _TINY)
        return self.loads[at] if at < len(self.loads) else None

    def up(self, load: float) -> float | None:
        """The next load above ``load``, or None at the top."""
        at = bisect_right(self.loads, load + _TINY)
        return self.loads[at] if at < len(self.loads) else None

    def down(self, load: float) -> float | None:
        """The next load below ``load``, or None at the bottom."""
        at = bisect_left(self.loads, load - _TINY)
        return self.loads[at - 1] if at else None

    def harder(self, load: float) -> float | None:
        """One step harder: up, or less help on an assisted machine."""
        return self.down(load) if self.falls else self.up(load)

    def easier(self, load: float) -> float | None:
        return self.up(load) if self.falls else self.down(load)

    def has(self, load: float) -> bool:
        found = self.nearest(load)
        return found is not None and abs(found - load) <= _TINY

    def neighbours(self, load: float) -> tuple[float | None, float | None]:
        """The loads just below and above a wanted one that is not on offer (itself twice where it is)."""
        return self.at_most(load), self.at_least(load)

    def loading(self, load: float) -> Loading | None:
        """The plates for a load of this rack, where it is made from plates."""
        found = self.nearest(load)
        if found is None or abs(found - load) > _TINY:
            return None
        return self.loadings.get(found)

    @property
    def lightest(self) -> float | None:
        return self.loads[0] if self.loads else None

    @property
    def heaviest(self) -> float | None:
        return self.loads[-1] if self.loads else None


_TINY: Final = 1e-6


def parts(weight: float, unit: str) -> int:
    """A weight, given to at most three places, in whole parts. Raises KeyError for a unit that is no weight."""
    return _thousandths(weight) * PARTS_PER_THOUSANDTH[unit]


def plates_per_side(total: float, bar: float, plates: Mapping[float, int]) -> list[float] | None:
    """The plates of one side that make ``total`` on ``bar``: heaviest first, fewest plates; None if none do.

    ``plates`` maps a plate's weight to how many single plates exist, all in one unit; a lone plate is never used,
    as it can't be balanced. Every combination is searched, so that what biggest-first misses is found.
    """
    target = _thousandths(total) - _thousandths(bar)
    if target < 0 or target % 2:
        return None
    sizes = tuple(sorted(((_thousandths(weight), count // 2) for weight, count in plates.items()), reverse=True))
    best = _sides(tuple((size, pairs) for size, pairs in sizes if pairs and size > 0)).get(target // 2)
    if best is None:
        return None
    return [size / 1000 for size, used in best for _ in range(used)]


def _thousandths(weight: float) -> int:
    return round(weight * 1000)


@lru_cache(maxsize=256)
def _sides(sizes: tuple[tuple[int, int], ...]) -> dict[int, tuple[tuple[int, int], ...]]:
    """Every sum that one side can carry, with the plates that make it: fewest, and heavier ones first in a tie.

    ``sizes`` are (size, how many for one side), heaviest first.
    """
    made: dict[int, tuple[tuple[int, int], ...]] = {0: ()}
    ranks: dict[int, tuple[int, tuple[int, ...]]] = {0: (0, ())}  # fewest plates, then the heavier ones
    for size, available in sizes:
        additions: dict[int, tuple[tuple[int, int], ...]] = {}
        added: dict[int, tuple[int, tuple[int, ...]]] = {}
        for total, used in made.items():
            plates, heavier = ranks[total]
            for number in range(1, min(available, MOST_PAIRS - plates) + 1):
                reached = total + number * size
                rank = (plates + number, (*heavier, *(-size,) * number))
                if any(rank >= known[reached] for known in (ranks, added) if reached in known):
                    continue
                additions[reached] = (*used, (size, number))
                added[reached] = rank
        made.update(additions)
        ranks.update(added)
    return made


def bar_rack(
    plates: Sequence[Plate],
    *,
    bar: float | None,
    bar_unit: str = "kg",
    collars: float = 0.0,
    unit: str = "kg",
) -> Rack:
    """Totals in ``unit`` from a bar (None: weight unknown, plates alone count), collars and pairs of plates.

    ``collars`` is the weight of both together, in the bar's unit. Plates of other units add up exactly.
    """
    base = 0 if bar is None else parts(bar, bar_unit) + parts(collars, bar_unit)
    weights = sorted({(parts(plate.weight, plate.unit), plate.weight, plate.unit) for plate in plates}, reverse=True)
    available: dict[int, int] = {}
    for plate in plates:
        if plate.weight > 0:
            size = parts(plate.weight, plate.unit)
            available[size] = available.get(size, 0) + plate.count // 2
    named = {size: (weight, plate_unit) for size, weight, plate_unit in weights}
    sides = _sides(tuple((size, pairs) for size, pairs in sorted(available.items(), reverse=True) if pairs))
    loadings: dict[float, Loading] = {}
    fewest: dict[float, int] = {}
    for side, used in sides.items():
        total = _in_unit(base + 2 * side, unit)
        plates_used = sum(number for _size, number in used)
        if plates_used >= fewest.get(total, MOST_PAIRS + 1):
            continue
        fewest[total] = plates_used
        per_side = tuple(named[size] for size, number in used for _ in range(number))
        loadings[total] = Loading(bar, bar_unit, per_side)
    return Rack(tuple(sorted(loadings)), unit, loadings=loadings)


def _in_unit(total_parts: int, unit: str) -> float:
    return round(total_parts / PARTS_PER_THOUSANDTH[unit] / 1000, 3)


def list_rack(weights: Iterable[float], unit: str = "kg") -> Rack:
    """Dumbbells, kettlebells, loose plates: exactly these, whatever the steps between them."""
    return Rack(tuple(sorted({round(weight, 3) for weight in weights})), unit)


def stack_rack(holes: Iterable[float], add_ons: Iterable[float] = (), unit: str = "kg") -> Rack:
    """A pin stack: its holes, each with any of the small add-ons, every add-on at most once."""
    extras = {0.0}
    for add_on in add_ons:
        extras |= {round(extra + add_on, 3) for extra in extras}
    return Rack(tuple(sorted({round(hole + extra, 3) for hole in holes for extra in extras})), unit)


def assisted_rack(rack: Rack) -> Rack:
    """The same loads taken as help: one step harder is one step less, and no help at all is on offer."""
    return Rack(tuple(sorted({0.0, *rack.loads})), rack.unit, falls=True)


def added_rack(rack: Rack) -> Rack:
    """Loads put on top of bodyweight: nothing at all is on offer too."""
    return Rack(tuple(sorted({0.0, *rack.loads})), rack.unit, loadings=rack.loadings)


def numbered_rack(settings: int) -> Rack:
    """A stack whose holes are only numbered: steps, no weights."""
    return Rack(tuple(float(number) for number in range(1, settings + 1)), "setting", ordinal=True)


def band_rack(names: Sequence[str]) -> Rack:
    """Bands from lightest to strongest; their places in the list are the loads."""
    return Rack(tuple(float(number) for number in range(1, len(names) + 1)), "band", ordinal=True, names=tuple(names))


EMPTY: Final = Rack(())
