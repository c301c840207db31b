"""Exercises that were merged into others: what an old name, sheet or address stands for today."""

from collections.abc import Collection, Mapping
from typing import TypeVar

from programs.models import Exercise

Key = TypeVar("Key")

# What the figures of a set mean. Two exercises that differ here count different things.
COUNTED_BY = ("load_entry", "rep_unit", "limbs")
ON_BODYWEIGHT = ("added", "assisted")


def count_alike(one: Exercise, other: Exercise) -> bool:
    """Whether a set of the one, as typed, means the same under the other."""
    same = all(getattr(one, name) == getattr(other, name) for name in COUNTED_BY)
    if same and one.load_entry in ON_BODYWEIGHT:
        # A load on top of the body is another one than a load on a sled.
        return bool(one.bodyweight_fraction) == bool(other.bodyweight_fraction)
    return same


def standing(exercise: Exercise) -> Exercise:
    """The exercise that this one was merged into, however often; itself where it never was. One query a step."""
    return _followed(exercise, always=True)


def received_as(exercise: Exercise) -> Exercise:
    """Where a set goes that was typed for this exercise, say from an old sheet: to what it was merged into, as long
    as both count the same things. A set that would mean something else there stays with the exercise it names."""
    return _followed(exercise, always=False)


def _followed(exercise: Exercise, *, always: bool) -> Exercise:
    seen = {exercise.pk}
    row, onward = exercise, exercise.merged_into
    while onward is not None and onward.pk not in seen and (always or count_alike(row, onward)):
        seen.add(onward.pk)
        row, onward = onward, onward.merged_into
    return row


def ends(onward: Mapping[Key, Key]) -> dict[Key, Key]:
    """Where each chain of steps ends; one that runs in a circle ends before it would begin again."""
    return {key: _end(key, onward) for key in onward}


def _end(key: Key, onward: Mapping[Key, Key]) -> Key:
    seen = {key}
    while key in onward and onward[key] not in seen:
        key = onward[key]
        seen.add(key)
    return key


def sources(exercises: Collection[Exercise]) -> dict[int, frozenset[str]]:
    """By the exercises' own keys in the database, the keys of everything that was merged into them. No query for
    none, else one a step of the longest chain."""
    into = {row.pk: row.pk for row in exercises}
    found: dict[int, set[str]] = {pk: set() for pk in into}
    fresh = dict(into)
    while fresh:
        rows = Exercise.objects.filter(merged_into__in=fresh).order_by().values_list("pk", "public_id", "merged_into")
        step = {}
        for pk, public_id, target in rows:
            if target is not None and pk not in into:
                into[pk] = step[pk] = fresh[target]
                found[fresh[target]].add(str(public_id))
        fresh = step
    return {pk: frozenset(keys) for pk, keys in found.items()}
