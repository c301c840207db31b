"""Exercises like one: those for the same regions by the same movement, the least different first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

# What each difference costs: another implement asks less of a client than another skill or other joints.
WEIGHTS: Mapping[str, int] = {"implement": 1, "angle": 1, "grip": 1, "limbs": 2, "counts": 2, "skill": 2, "joints": 2}
OTHER_PATTERN = 6
OTHER_REGION = 4
CLEARLY = 2  # how much a joint is asked, of 3


@dataclass(frozen=True, slots=True)
class Traits:
    """What is compared of an exercise. ``regions`` are those that a set counts whole for, ``joints`` all tags with how
    much is asked of each (1 to 3)."""

    pk: int
    name: str
    pattern: str
    regions: frozenset[str]
    implement: str
    angle: str
    grip: str
    limbs: str
    skill: str
    joints: frozenset[tuple[str, int]]
    counts: str = "reps"  # what a set is told in


@dataclass(frozen=True, slots=True)
class Alike:
    """Another exercise and the names of the traits in which it differs, in the order of WEIGHTS."""

    other: Traits
    differs: tuple[str, ...]
    distance: int


def alike(one: Traits, others: Iterable[Traits], most: int) -> list[Alike]:
    """At most ``most`` others with a region in common, the nearest first, then by name.

    One that shares no whole region is never alike, however near its movement.
    """
    found = [compared(one, other) for other in others if other.pk != one.pk and one.regions & other.regions]
    return sorted(found, key=lambda each: (each.distance, each.other.name, each.other.pk))[:most]


def compared(one: Traits, other: Traits) -> Alike:
    differs = tuple(
        name for name in WEIGHTS if (joints_between(one, other) if name == "joints" else _differ(name, one, other))
    )
    distance = sum(WEIGHTS[name] for name in differs)
    distance += OTHER_PATTERN * (one.pattern != other.pattern)
    distance += OTHER_REGION * len(one.regions ^ other.regions)
    return Alike(other, differs, distance)


def joints_between(one: Traits, other: Traits) -> dict[str, tuple[int, int]]:
    """For each joint of which they ask unlike much, and one of them clearly or much: how much each asks, 0 for none."""
    ours, theirs = dict(one.joints), dict(other.joints)
    asked = {joint: (ours.get(joint, 0), theirs.get(joint, 0)) for joint in sorted({*ours, *theirs})}
    return {joint: both for joint, both in asked.items() if both[0] != both[1] and max(both) >= CLEARLY}


def _differ(name: str, one: Traits, other: Traits) -> bool:
    return bool(getattr(one, name) != getattr(other, name))
