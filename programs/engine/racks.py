"""What a place offers for one implement, and the loads that can be put together from it.

Sums are exact: every weight is a whole number of parts (10⁻¹¹ kilogram; a pound is 45,359,237,000 of them, so a
thousandth of a pound is whole too), and mixed kilogram and pound plates add up without rounding. A rack answers
in the unit of its loads.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

PARTS_PER_THOUSANDTH: Final[Mapping[str, int]] = {"kg": 100_000_000, "lb": 45_359_237}
PARTS_PER_UNIT: Final = 100_000_000  # of any one unit, where plates are not mixed
MOST_ON_A_SLEEVE: Final = 24  # no bar holds more plates
# Kilogram and pound plates on one sleeve are offered only where nothing simpler is so near; coaching practice.
MIXED_ONLY_BEYOND_KG: Final = 1.0

Side = tuple[tuple[int, int], ...]  # (size, how many) on one sleeve, heaviest first


@dataclass(frozen=True, slots=True)
class Plate:
    """One size of plate: its weight in its own unit and how many single plates exist."""

    weight: float
    unit: str
    count: int


@dataclass(frozen=True, slots=True)
class Loading:
    """How a total is put together: the bar (or sled) and the plates of one side, heaviest first (weight, unit)."""

    bar: float | None  # None: its weight is unknown, and the total is the plates alone
    bar_unit: str
    per_side: tuple[tuple[float, str], ...]
    sides: int = 2


@dataclass(frozen=True, slots=True)
class Pin:
    """Where the pin of a stack goes, and the add-ons that go on top."""

    hole: float
    add_ons: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Rack:
    """Loads on offer, ascending. ``ordinal``: settings or bands, which can be stepped through but not reckoned
    with. ``falls``: assistance, where less is harder. ``loadings`` and ``pins`` say how each load is made."""

    loads: tuple[float, ...]
    unit: str = "kg"
    ordinal: bool = False
    falls: bool = False
    names: tuple[str, ...] = ()  # for bands, in the order of loads
    loadings: Mapping[float, Loading] = field(default_factory=dict, hash=False, compare=False)
    pins: Mapping[float, Pin] = field(default_factory=dict, hash=False, compare=False)

    def __post_init__(self) -> None:
        """Whatever order the loads come in, each is there once and they rise."""
        object.__setattr__(self, "loads", tuple(sorted(set(self.loads))))

    def nearest(self, load: float) -> float | None:
        """The load on offer nearest to ``load``; a tie goes to the easier one: down, or to more help.

        None on an empty rack.
        """
        if not self.loads:
            return None
        at = bisect_left(self.loads, load)
        if at == 0:
            return self.loads[0]
        if at == len(self.loads):
            return self.loads[-1]
        below, above = self.loads[at - 1], self.loads[at]
        if abs((load - below) - (above - load)) <= _TINY:
            return above if self.falls else below
        return below if load - below < above - load else above

    def at_most(self, load: float) -> float | None:
        """The heaviest load not above ``load``, or None when even the lightest is."""
        at = bisect_right(self.loads, load + _TINY)
        return self.loads[at - 1] if at else None

    def at_least(self, load: float) -> float | None:
        """The lightest load not below ``load``, or None when even the heaviest is."""
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
        """One step easier: down, or more help on an assisted machine."""
        return self.up(load) if self.falls else self.down(load)

    def not_harder(self, load: float) -> float | None:
        """The hardest load that asks for no more than ``load``: rounded down, or to more help."""
        return self.at_least(load) if self.falls else self.at_most(load)

    def has(self, load: float) -> bool:
        found = self.nearest(load)
        return found is not None and abs(found - load) <= _TINY

    def neighbours(self, load: float) -> tuple[float | None, float | None]:
        """The loads just below and above a wanted one that is not on offer (itself twice where it is)."""
        return self.at_most(load), self.at_least(load)

    def loading(self, load: float) -> Loading | None:
        """The plates for a load of this rack, where it is made from plates."""
        found = self.nearest(load)
        return None if found is None or abs(found - load) > _TINY else self.loadings.get(found)

    def pin(self, load: float) -> Pin | None:
        """The hole and add-ons for a load of this rack, where it is a stack."""
        found = self.nearest(load)
        return None if found is None or abs(found - load) > _TINY else self.pins.get(found)

    def name(self, load: float) -> str | None:
        """The name of a band, where the rack has names."""
        found = self.nearest(load)
        if found is None or abs(found - load) > _TINY or not self.names:
            return None
        return self.names[self.loads.index(found)]

    @property
    def easiest(self) -> float | None:
        """The lightest load, or the most help."""
        return self.heaviest if self.falls else self.lightest

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
    target = _small(total) - _small(bar)
    if target < 0 or target % 2:
        return None
    target //= 2
    # Rounded up to a power of two, so that the totals of one rack share one search.
    heaviest = 1 << target.bit_length()
    sizes: list[tuple[int, int]] = []
    weights: dict[int, float] = {}
    for weight in sorted(plates, reverse=True):
        size, pairs = _small(weight), plates[weight] // 2
        if size > 0 and pairs > 0:
            weights[size] = weight
            sizes.append((size, min(pairs, heaviest // size)))
    best = _sides(tuple(sizes), sum(pairs for _, pairs in sizes), heaviest).get(target)
    return None if best is None else [weights[size] for size, used in best for _ in range(used)]


def _small(weight: float) -> int:
    return round(weight * PARTS_PER_UNIT)


def _thousandths(weight: float) -> int:
    return round(weight * 1000)


@lru_cache(maxsize=256)
def _sides(sizes: Side, most: int, heaviest: int) -> dict[int, Side]:
    """Every sum up to ``heaviest`` that one side can carry, with the plates that make it.

    ``sizes`` are (size, how many for one side), heaviest first; at most ``most`` plates. Of the ways to one sum the
    one with the fewest plates is kept, and of those the one that begins with the heavier.
    """
    made: dict[int, Side] = {0: ()}
    ranks: dict[int, tuple[int, tuple[int, ...]]] = {0: (0, ())}  # fewest plates, then the heavier ones
    for size, available in sizes:
        additions: dict[int, Side] = {}
        added: dict[int, tuple[int, tuple[int, ...]]] = {}
        for total, used in made.items():
            plates, heavier = ranks[total]
            for number in range(1, min(available, most - plates, (heaviest - total) // size) + 1):
                reached = total + number * size
                rank = (plates + number, (*heavier, *(-size,) * number))
                if any(rank >= known[reached] for known in (ranks, added) if reached in known):
                    continue
                additions[reached] = (*used, (size, number))
                added[reached] = rank
        made.update(additions)
        ranks.update(added)
    return made


def _number_of(side: Side) -> int:
    return sum(number for _size, number in side)


@lru_cache(maxsize=64)
def _mixed_sides(one_unit: Side, other_unit: Side, apart: int) -> dict[int, Side]:
    """As ``_sides`` for plates of two units: all that one unit alone makes, and mixtures where that leaves gaps.

    Mixtures would make a sum at almost every hundred grams, by many unlike plates. One is kept where nothing kept
    before lies within ``apart``, those of fewest plates first.
    """
    alone = [
        _sides(sizes, MOST_ON_A_SLEEVE, MOST_ON_A_SLEEVE * max(size for size, _number in sizes))
        for sizes in (one_unit, other_unit)
    ]
    made = {**alone[1], **alone[0]}
    kept = sorted(made)

    def near(total: int) -> bool:
        at = bisect_left(kept, total - apart)
        return at < len(kept) and kept[at] <= total + apart

    mixtures = []
    numbers = [{total: _number_of(side) for total, side in sums.items() if total} for sums in alone]
    for one, plates in numbers[0].items():
        for other, more in numbers[1].items():
            if plates + more <= MOST_ON_A_SLEEVE and not near(one + other):
                mixtures.append((plates + more, one + other, one))
    for _plates, total, one in sorted(mixtures):
        if not near(total):
            insort(kept, total)
            made[total] = tuple(sorted(alone[0][one] + alone[1][total - one], reverse=True))
    return made


def bar_rack(
    plates: Sequence[Plate],
    *,
    bar: float | None,
    bar_unit: str = "kg",
    collars: float = 0.0,
    unit: str = "kg",
    sides: int = 2,
) -> Rack:
    """Totals in ``unit`` from a bar (None: weight unknown, plates alone count), collars and sets of plates.

    ``collars`` is the weight of both together, in the bar's unit. ``sides`` is the number of sleeves that are loaded
    alike; plates that don't go round stay off. Plates of other units add up exactly.
    """
    base = 0 if bar is None else parts(bar, bar_unit) + parts(collars, bar_unit)
    count: dict[int, int] = {}
    named: dict[int, tuple[float, str]] = {}
    for plate in plates:
        size = parts(plate.weight, plate.unit)
        if size > 0:
            count[size] = count.get(size, 0) + max(0, plate.count)
            named.setdefault(size, (plate.weight, plate.unit))
    by_unit: dict[str, list[tuple[int, int]]] = {}
    for size in sorted(count, reverse=True):
        if count[size] >= sides:
            by_unit.setdefault(named[size][1], []).append((size, count[size] // sides))
    units = [tuple(by_unit[name]) for name in sorted(by_unit)]
    if len(units) > 1:
        made = _mixed_sides(units[0], units[1], parts(MIXED_ONLY_BEYOND_KG, "kg") // sides)
    else:
        sizes = units[0] if units else ()
        made = _sides(sizes, MOST_ON_A_SLEEVE, MOST_ON_A_SLEEVE * max((size for size, _ in sizes), default=0))
    loadings: dict[float, Loading] = {}
    fewest: dict[float, int] = {}
    for side, used in made.items():
        total = _in_unit(base + sides * side, unit)
        number = _number_of(used)
        if total not in fewest or number < fewest[total]:
            fewest[total] = number
            per_side = tuple(named[size] for size, times in used for _ in range(times))
            loadings[total] = Loading(bar, bar_unit, per_side, sides)
    return Rack(tuple(loadings), unit, loadings=loadings)


def machine_rack(
    plates: Sequence[Plate], *, sled: float | None, sled_unit: str = "kg", unit: str = "kg", sides: int = 2
) -> Rack:
    """Totals of a plate-loaded machine: the sled where its weight is known, else the plates put on alone."""
    return bar_rack(plates, bar=sled, bar_unit=sled_unit, unit=unit, sides=sides)


def _in_unit(total_parts: int, unit: str) -> float:
    return round(total_parts / PARTS_PER_THOUSANDTH[unit] / 1000, 3)


def convert(load: float, unit: str, to: str) -> float:
    """A weight in another unit, not rounded: 1 lb is 0.45359237 kg. Raises KeyError for what is no weight."""
    return load if unit == to else load * PARTS_PER_THOUSANDTH[unit] / PARTS_PER_THOUSANDTH[to]


def list_rack(weights: Iterable[float], unit: str = "kg") -> Rack:
    """Dumbbells, kettlebells, loose plates: exactly these, whatever the steps between them."""
    return Rack(tuple(round(weight, 3) for weight in weights), unit)


def stack_rack(holes: Iterable[float], add_ons: Iterable[float] = (), unit: str = "kg") -> Rack:
    """A pin stack: its holes, each with any of the small add-ons, every add-on at most once; fewest add-ons first."""
    extras: list[tuple[float, ...]] = [()]
    for add_on in add_ons:
        extras += [(*extra, add_on) for extra in extras]
    pins: dict[float, Pin] = {}
    firm = sorted(holes, reverse=True)
    for extra in sorted(extras, key=len):
        for hole in firm:
            pins.setdefault(round(hole + sum(extra), 3), Pin(hole, extra))
    return Rack(tuple(pins), unit, pins=pins)


def assisted_rack(rack: Rack) -> Rack:
    """The same loads taken as help: one step harder is one step less, and no help at all is on offer."""
    return Rack((0.0, *rack.loads), rack.unit, falls=True, loadings=rack.loadings, pins=rack.pins)


def added_rack(rack: Rack) -> Rack:
    """Loads put on top of bodyweight: nothing at all is on offer too."""
    return Rack((0.0, *rack.loads), rack.unit, loadings=rack.loadings, pins=rack.pins)


def numbered_rack(settings: int) -> Rack:
    """A stack whose holes are only numbered: steps, no weights."""
    return Rack(tuple(float(number) for number in range(1, settings + 1)), "setting", ordinal=True)


def band_rack(names: Sequence[str]) -> Rack:
    """Bands from lightest to strongest; their places in the list are the loads."""
    return Rack(tuple(float(number) for number in range(1, len(names) + 1)), "band", ordinal=True, names=tuple(names))


EMPTY: Final = Rack(())
