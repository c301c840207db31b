"""What a draft has of its own beside its template's slots: slots added, slots removed, and which are done in turns.

Kept in the draft's document, and in the block's after it:
"added_slots": [{"key", "day", "title", "region", "role", "sets": [low, high], "reps": [low, high], "rir", "rest_s",
"priority"}], "removed_slots": [{"slot", "day", "title", "at", "picks"}] with what filled the slot and its place in the
order, "supersets": {slot: letter}, "" where a superset of the template is not wanted.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Any

from programs.engine.compose.request import DayType, Slot


def with_own_slots(days: Sequence[DayType], document: Mapping[str, Any]) -> tuple[DayType, ...]:
    """The template's day types less what was removed, and with what was added at their ends."""
    gone = {row["slot"] for row in document.get("removed_slots", ())}
    added = [_slot(row) for row in document.get("added_slots", ()) if row["key"] not in gone]
    return tuple(
        replace(
            day,
            slots=(
                *(slot for slot in day.slots if slot.key not in gone),
                *(slot for slot in added if slot.day == day.key),
            ),
        )
        for day in days
    )


def in_turns(days: Sequence[DayType], document: Mapping[str, Any]) -> tuple[DayType, ...]:
    """Day types whose slots, in their order, have the supersets that the coach wants.

    Only neighbours can be done in turns: of a superset that was parted the longest run stays one.
    """
    wanted = document.get("supersets", {})
    return tuple(
        replace(
            day,
            slots=_together([replace(slot, superset=wanted.get(slot.key, slot.superset)) for slot in day.slots]),
        )
        for day in days
    )


def removed_slots(document: Mapping[str, Any], day: str) -> list[Mapping[str, Any]]:
    return [row for row in document.get("removed_slots", ()) if row["day"] == day]


def added_keys(document: Mapping[str, Any]) -> frozenset[str]:
    return frozenset(row["key"] for row in document.get("added_slots", ()))


def _slot(row: Mapping[str, Any]) -> Slot:
    low, high = row["sets"]
    return Slot(
        key=row["key"],
        day=row["day"],
        regions=(row["region"],),
        role=row["role"],
        sets_low=low,
        sets_high=high,
        title=row["title"],
        reps=((row["reps"][0], row["reps"][1]),),
        rir=float(row["rir"]),
        rest_s=row["rest_s"],
        priority=row["priority"],
    )


def _together(slots: Sequence[Slot]) -> tuple[Slot, ...]:
    longest: dict[str, list[str]] = {}
    for letter, run in groupby(slots, key=lambda slot: slot.superset):
        keys = [slot.key for slot in run]
        if letter and len(keys) > max(1, len(longest.get(letter, ()))):
            longest[letter] = keys
    return tuple(
        slot if not slot.superset or slot.key in longest.get(slot.superset, ()) else replace(slot, superset="")
        for slot in slots
    )
