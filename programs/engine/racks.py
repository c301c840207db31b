"""What a place offers for one implement, and the loads that can be put together from it.

A rack answers in the unit of its loads. What plates make is searched exactly (plate_sums).
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from programs.engine.plate_sums import (
    MOST_ON_A_SLEEVE,
    PARTS_PER_THOUSANDTH,
    Side,
    convert,
    in_unit,
    mixed_sums,
    number_of,
    parts,
    plates_per_side,
    side_sums,
)

__all__ = [
    "EMPTY",
    "Choice",
    "Loading",
    "Pin",
    "Plate",
    "Rack",
    "added_rack",
    "assisted_rack",
    "band_rack",
    "bar_loading",
    "bar_rack",
    "belt_rack",
    "convert",
    "list_rack",
    "lopsided",
    "numbered_rack",
    "parts",
    "plates_per_side",
    "stack_rack",
    "through_zero",
    "with_lighter_bars",
]

# Kilogram and pound plates on one sleeve are offered only where nothing simpler is so near; coaching practice.
MIXED_ONLY_BEYOND_KG: Final = 1.0
MOST_ON_A_BELT: Final = 3  # more swing and get in the way; coaching practice


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
class Choice:
    """A load on offer beside a wanted one: how far from it (a share, below is negative) and how it is made."""

    load: float
    change: float | None  # None where loads have no weight, and beside nothing
    loading: Loading | None = None
    pin: Pin | None = None
    name: str | None = None


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

    def around(self, load: float) -> tuple[Choice, ...]:
        """What is on offer for a wanted load: itself where it can be made, else the loads below and above it."""
        found = [one for one in dict.fromkeys(self.neighbours(load)) if one is not None]
        return tuple(
            Choice(
                one,
                None if self.ordinal or load == 0 else (one - load) / abs(load),
                self.loading(one),
                self.pin(one),
                self.name(one),
            )
            for one in found
        )

    def loading(self, load: float) -> Loading | None:
        """The plates for a load of this rack, where it is made from plates."""
        found = self.nearest(load)
        return None if found is None or abs(found - load) > _TINY else self.loadings.get(found)

    def pin(self, load: float) -> Pin | None:
        """The hole and add-ons for a load of this rack, where it is a stack."""
        found = self.nearest(load)
        return None if found is None or abs(found - load) > _TINY else self.pins.get(found)

    def on_bar_of(self, load: float) -> "Rack":
        """What the bar that makes ``load`` makes: a warm-up does not change bars. The whole rack where none is told."""
        own = self.loading(load)
        if own is None:
            return self
        same = {
            total: made for total, made in self.loadings.items() if (made.bar, made.bar_unit) == (own.bar, own.bar_unit)
        }
        return self if len(same) == len(self.loads) else Rack(tuple(same), self.unit, loadings=same)

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


def _sleeve(plates: Sequence[Plate], sides: int) -> tuple[dict[int, tuple[float, str]], list[Side]]:
    """What each size is called, and by unit the sizes with how many each of the sleeves can have."""
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
    return named, [tuple(by_unit[name]) for name in sorted(by_unit)]


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
    named, units = _sleeve(plates, sides)
    if len(units) > 1:
        made = mixed_sums(units[0], units[1], parts(MIXED_ONLY_BEYOND_KG, "kg") // sides)
    else:
        sizes = units[0] if units else ()
        made = side_sums(sizes, MOST_ON_A_SLEEVE, MOST_ON_A_SLEEVE * max((size for size, _ in sizes), default=0))
    loadings: dict[float, Loading] = {}
    fewest: dict[float, int] = {}
    for side, used in made.items():
        total = in_unit(base + sides * side, unit)
        number = number_of(used)
        if total not in fewest or number < fewest[total]:
            fewest[total] = number
            per_side = tuple(named[size] for size, times in used for _ in range(times))
            loadings[total] = Loading(bar, bar_unit, per_side, sides)
    return Rack(tuple(loadings), unit, loadings=loadings)


def with_lighter_bars(rack: Rack, others: Iterable[Rack]) -> Rack:
    """The rack of a place's usual bar, and below its lightest load what lighter bars make, the heaviest of them first.

    From there up the usual bar serves: nobody changes bars for half a kilogram.
    """
    loadings = dict(rack.loadings)
    for other in sorted((one for one in others if one.loads), key=lambda one: -one.loads[0]):
        least = min(loadings, default=float("inf"))
        loadings |= {total: made for total, made in other.loadings.items() if total < least - _TINY}
    return Rack(tuple(loadings), rack.unit, loadings=loadings)


def bar_loading(
    total: float,
    plates: Sequence[Plate],
    *,
    bar: float | None,
    bar_unit: str = "kg",
    collars: float = 0.0,
    unit: str = "kg",
    sides: int = 2,
) -> Loading | None:
    """The plates for any total that these make, mixtures that the rack does not offer included; None if none do.

    Of what comes to the same the fewest plates are taken, and of those the ones that begin with the heavier.
    """
    base = 0 if bar is None else parts(bar, bar_unit) + parts(collars, bar_unit)
    named, units = _sleeve(plates, sides)
    per_unit = [side_sums(one, MOST_ON_A_SLEEVE, MOST_ON_A_SLEEVE * max(size for size, _ in one)) for one in units]
    alone, others = per_unit[0] if per_unit else {0: ()}, per_unit[1] if len(per_unit) > 1 else {0: ()}
    # A total is written to a thousandth of its unit, so that the sums it may stand for lie in one narrow band.
    wanted = parts(total, unit) - base
    leeway = PARTS_PER_THOUSANDTH[unit]
    sums = sorted(others)
    found: list[tuple[int, tuple[int, ...], Side]] = []
    for one, side in alone.items():
        at = bisect_left(sums, (wanted - leeway) // sides - one)
        for other in sums[at : bisect_right(sums, (wanted + leeway) // sides + 1 - one)]:
            if in_unit(base + sides * (one + other), unit) == round(total, 3):
                whole = tuple(sorted(side + others[other], reverse=True))
                if number_of(whole) <= MOST_ON_A_SLEEVE:
                    heavier = tuple(-size for size, times in whole for _ in range(times))
                    found.append((len(heavier), heavier, whole))
    if not found:
        return None
    best = min(found)[2]
    return Loading(bar, bar_unit, tuple(named[size] for size, times in best for _ in range(times)), sides)


def lopsided(one_side: Iterable[tuple[float, str]], other_side: Iterable[tuple[float, str]], unit: str = "kg") -> float:
    """How much more one side carries than the other, in ``unit``; plates are (weight, unit). 0 when they are level."""
    left, right = (sum(parts(weight, own) for weight, own in side) for side in (one_side, other_side))
    return in_unit(abs(left - right), unit)


def belt_rack(plates: Sequence[Plate], unit: str = "kg", most: int = MOST_ON_A_BELT) -> Rack:
    """What can be hung on a belt: one plate or several, ``most`` at the most, each as often as it is there."""
    count: dict[int, int] = {}
    for plate in plates:
        size = parts(plate.weight, plate.unit)
        if size > 0 and plate.count > 0:
            count[size] = count.get(size, 0) + plate.count
    sizes = tuple((size, count[size]) for size in sorted(count, reverse=True))
    made = side_sums(sizes, most, most * max(count, default=0))
    return Rack(tuple(in_unit(total, unit) for total in made if total), unit)


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


def assisted_rack(rack: Rack, added: Rack = Rack((), "")) -> Rack:
    """The same loads taken as help: one step harder is one step less, and no help at all is on offer.

    Beyond no help stands what can be ``added``, with a minus: the same line as ``through_zero``, told from its other
    end. What is weighed in another unit, or not at all, is left off it.
    """
    if rack.ordinal or added.ordinal or added.unit != rack.unit:
        return Rack((0.0, *rack.loads), rack.unit, falls=True, loadings=rack.loadings, pins=rack.pins)
    line = through_zero(rack, added)
    return Rack(
        tuple(-load or 0.0 for load in line.loads),
        rack.unit,
        falls=True,
        loadings={-load: made for load, made in line.loadings.items()},
        pins={-load: pin for load, pin in line.pins.items()},
    )


def added_rack(rack: Rack) -> Rack:
    """Loads put on top of bodyweight: nothing at all is on offer too."""
    return Rack((0.0, *rack.loads), rack.unit, loadings=rack.loadings, pins=rack.pins)


def through_zero(helped: Rack, added: Rack) -> Rack:
    """One line from the most help over the body alone to the most added: help has a minus here, and up is harder.

    Works as ``added`` loads do, as help taken off the body is less than nothing put on it. Both in one unit; bands
    have no weight and cannot stand on it.
    """
    if helped.unit != added.unit or helped.ordinal or added.ordinal:
        raise ValueError("help and added loads stand on one line where both are weighed in one unit")
    loads = {0.0, *(-load for load in helped.loads if load), *added.loads}
    pins = {**{-load: pin for load, pin in helped.pins.items()}, **added.pins}
    loadings = {**{-load: made for load, made in helped.loadings.items()}, **added.loadings}
    return Rack(tuple(loads), added.unit, loadings=loadings, pins=pins)


def numbered_rack(settings: int) -> Rack:
    """A stack whose holes are only numbered: steps, no weights."""
    return Rack(tuple(float(number) for number in range(1, settings + 1)), "setting", ordinal=True)


def band_rack(names: Sequence[str]) -> Rack:
    """Bands from lightest to strongest; their places in the list are the loads."""
    return Rack(tuple(float(number) for number in range(1, len(names) + 1)), "band", ordinal=True, names=tuple(names))


EMPTY: Final = Rack(())
