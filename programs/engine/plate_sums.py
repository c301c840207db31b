"""Which plates make a total: exact sums of what one side of a bar can carry, every combination searched.

Every weight is a whole number of parts (10⁻¹¹ kilogram; a pound is 45,359,237,000 of them, so a thousandth of a
pound is whole too), and mixed kilogram and pound plates add up without rounding.
"""

from bisect import bisect_left, insort
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

PARTS_PER_THOUSANDTH: Final[Mapping[str, int]] = {"kg": 100_000_000, "lb": 45_359_237}
PARTS_PER_UNIT: Final = 100_000_000  # of any one unit, where plates are not mixed
MOST_ON_A_SLEEVE: Final = 24  # no bar holds more plates

Side = tuple[tuple[int, int], ...]  # (size, how many) on one sleeve, heaviest first


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
    best = side_sums(tuple(sizes), sum(pairs for _, pairs in sizes), heaviest).get(target)
    return None if best is None else [weights[size] for size, used in best for _ in range(used)]


def _small(weight: float) -> int:
    return round(weight * PARTS_PER_UNIT)


def _thousandths(weight: float) -> int:
    return round(weight * 1000)


@lru_cache(maxsize=256)
def side_sums(sizes: Side, most: int, heaviest: int) -> dict[int, Side]:
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


def number_of(side: Side) -> int:
    return sum(number for _size, number in side)


@lru_cache(maxsize=64)
def mixed_sums(one_unit: Side, other_unit: Side, apart: int) -> dict[int, Side]:
    """As ``side_sums`` for plates of two units: all that one unit alone makes, and mixtures where that leaves gaps.

    Mixtures would make a sum at almost every hundred grams, by many unlike plates. One is kept where nothing kept
    before lies within ``apart``, those of fewest plates first.
    """
    alone = [
        side_sums(sizes, MOST_ON_A_SLEEVE, MOST_ON_A_SLEEVE * max(size for size, _number in sizes))
        for sizes in (one_unit, other_unit)
    ]
    made = {**alone[1], **alone[0]}
    kept = sorted(made)

    def near(total: int) -> bool:
        at = bisect_left(kept, total - apart)
        return at < len(kept) and kept[at] <= total + apart

    mixtures = []
    numbers = [{total: number_of(side) for total, side in sums.items() if total} for sums in alone]
    for one, plates in numbers[0].items():
        for other, more in numbers[1].items():
            if plates + more <= MOST_ON_A_SLEEVE and not near(one + other):
                mixtures.append((plates + more, one + other, one))
    for _plates, total, one in sorted(mixtures):
        if not near(total):
            insort(kept, total)
            made[total] = tuple(sorted(alone[0][one] + alone[1][total - one], reverse=True))
    return made


def in_unit(total_parts: int, unit: str) -> float:
    return round(total_parts / PARTS_PER_THOUSANDTH[unit] / 1000, 3)


def convert(load: float, unit: str, to: str) -> float:
    """A weight in another unit, not rounded: 1 lb is 0.45359237 kg. Raises KeyError for what is no weight."""
    return load if unit == to else load * PARTS_PER_THOUSANDTH[unit] / PARTS_PER_THOUSANDTH[to]
