"""Which exercises of the last block go on, and which give way to others.

An exercise is kept long enough for a trend to be seen, and exchanged when it has stopped serving; frequent random
change may hinder (Kassiano et al. 2022). How many weeks are long enough is coaching practice: four to eight.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

LEAST_WEEKS: Final = 3  # before that no trend can be seen, so nothing is exchanged for one
WEEKS_MAIN: Final = 8
WEEKS_OTHERS: Final = 4
SPENT: Final = ("stall", "regress")
# A longer pause begins the count anew.
PAUSE: Final = timedelta(days=28)
KEEP: Final = "keep"
ROTATE: Final = "rotate"


@dataclass(frozen=True, slots=True)
class Kept:
    """An exercise of the last block: its role, the days it was trained on, and what its trend says."""

    role: str
    days: tuple[date, ...]
    verdict: str


@dataclass(frozen=True, slots=True)
class Rotation:
    """Keys of the exercises that no longer bring progress, and of those that were done long enough."""

    stalled: frozenset[str]
    due: frozenset[str]


def weeks_kept(days: Iterable[date], until: date) -> float:
    """Weeks from the first day without a longer pause behind it to ``until``; 0 where it was never trained."""
    first = until
    for day in sorted(days, reverse=True):
        if day > until:
            continue
        if first - day > PAUSE:
            break
        first = day
    return (until - first).days / 7


def rotation(kept: Mapping[str, Kept], on: date, way: str = KEEP) -> Rotation:
    """What is to be exchanged in a block from ``on``.

    "keep": only what has stopped serving. "rotate": also all that was done for four weeks, main lifts for eight.
    ValueError for another way.
    """
    if way not in (KEEP, ROTATE):
        raise ValueError(f"no such way to go on: {way}")
    stalled, due = set(), set()
    for key, one in kept.items():
        weeks = weeks_kept(one.days, on)
        if weeks < LEAST_WEEKS:
            continue
        if one.verdict in SPENT:
            stalled.add(key)
        elif way == ROTATE and weeks >= (WEEKS_MAIN if one.role == "main" else WEEKS_OTHERS):
            due.add(key)
    return Rotation(frozenset(stalled), frozenset(due))
