"""The slots of a working copy and the supersets they make: one function a verb, one journal entry each."""

from collections.abc import Mapping, Sequence
from itertools import groupby, pairwise
from string import ascii_uppercase
from typing import Any

from coachdesk.practice.journal import Recording
from coachdesk.practice.models import Coach
from programs.engine import terms
from programs.engine.compose.evaluate import superset_clash
from programs.engine.terms import Because
from programs.models import Outline, OutlineDay, OutlineSlot
from programs.reads import exercise_term, ranked_lists
from programs.services.outline_work import (
    Refused,
    editing,
    free_key,
    moved,
    next_position,
    put_in_order,
    remove,
)
from programs.services.outlines import copy_slot_rows
from programs.services.rows import made

MOST_SETS = 10  # of one slot in one session
MOST_SLOTS = 16  # of one day type: more would be no session that anybody trains
# What a slot asks for until the coach says otherwise, by role: sets by experience, reps, RIR and rest (coaching
# practice: heavier and longer rest for the lifts that come first, lighter for what follows).
USUAL: Mapping[str, Mapping[str, Any]] = {
    "main": {"sets": ([2, 3], [3, 4], [3, 5]), "reps": [[5, 8]], "rir": 2, "rest_s": 180, "priority": 1},
    "secondary": {"sets": ([2, 3], [2, 4], [3, 4]), "reps": [[8, 12]], "rir": 2, "rest_s": 120, "priority": 2},
    "isolation": {"sets": ([1, 2], [2, 3], [2, 4]), "reps": [[10, 15]], "rir": 1, "rest_s": 75, "priority": 3},
    "trunk": {"sets": ([1, 2], [2, 3], [2, 3]), "reps": [[8, 15]], "rir": 2, "rest_s": 75, "priority": 3},
    "carry": {"sets": ([1, 2], [2, 3], [2, 3]), "reps": [[8, 12]], "rir": 2, "rest_s": 90, "priority": 3},
}
LEVELS = ("novice", "intermediate", "advanced")


def usual_slot(role: str) -> dict[str, Any]:
    """What a new slot of a role asks for."""
    usual = dict(USUAL[role])
    usual["sets"] = {level: list(span) for level, span in zip(LEVELS, usual["sets"], strict=True)}
    return usual


def add_slot(outline: Outline, revision: int, coach: Coach, day: str, values: Mapping[str, Any]) -> str:
    """A slot at the end of a day type; what ``values`` leave open is what its role usually asks for. Its key."""
    with editing(outline, revision, coach, "outline.slot_add", name=values["title"]) as (newest, entry):
        row = newest.days.get(key=day)
        slots = list(row.slots.all())
        _room(slots)
        key = free_key(f"{day} {values['title']}", _taken(newest), OutlineSlot.KEY_LENGTH, "slot")
        slot = OutlineSlot(
            day=row, key=key, position=next_position(row.slots.all()), **{**usual_slot(values["role"]), **values}
        )
        slot.save()
        made(entry, [slot])
    return key


def change_slot(outline: Outline, revision: int, coach: Coach, slot: str, values: Mapping[str, Any]) -> None:
    """Writes what the coach typed for a slot: any of its own columns."""
    with editing(outline, revision, coach, "outline.slot_change", name=values["title"]) as (newest, entry):
        row = _slot(newest, slot)
        entry.change(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))


def copy_slot(outline: Outline, revision: int, coach: Coach, slot: str, day: str) -> str:
    """A copy with its candidates: right after the slot, or at the end of another day type. Its key."""
    with editing(outline, revision, coach, "outline.slot_copy") as (newest, entry):
        source = _slot(newest, slot)
        entry.params["name"] = source.title
        target = newest.days.get(key=day)
        slots = list(target.slots.all())
        _room(slots)
        key = free_key(source.key, _taken(newest), OutlineSlot.KEY_LENGTH, "slot")
        rows = copy_slot_rows(source, day=target, key=key, position=next_position(target.slots.all()), superset="")
        made(entry, rows)
        at = slots.index(source) + 1 if source in slots else len(slots)
        put_in_order(entry, [*slots[:at], rows[0], *slots[at:]])
        _keep_supersets_together(entry, target)
    return key


def move_slot(outline: Outline, revision: int, coach: Coach, slot: str, day: str, to: int) -> None:
    """Another place in its day type, or in another one. A superset that it leaves or parts is released."""
    with editing(outline, revision, coach, "outline.slot_move") as (newest, entry):
        row = _slot(newest, slot)
        entry.params["name"] = row.title
        source, target = row.day, newest.days.get(key=day)
        slots = list(target.slots.all())
        if source == target:
            put_in_order(entry, moved(slots, slots.index(row), to))
        else:
            _room(slots)
            entry.change(row)
            row.day, row.superset = target, ""
            row.save(update_fields=["day", "superset"])
            put_in_order(entry, moved([*slots, row], len(slots), to))
            _keep_supersets_together(entry, source)
        _keep_supersets_together(entry, target)


def remove_slot(outline: Outline, revision: int, coach: Coach, slot: str) -> None:
    with editing(outline, revision, coach, "outline.slot_remove") as (newest, entry):
        row = _slot(newest, slot)
        entry.params["name"] = row.title
        remove(entry, OutlineSlot.objects.filter(pk=row.pk))
        _keep_supersets_together(entry, row.day)


def pair_slot(outline: Outline, revision: int, coach: Coach, slot: str) -> None:
    """A slot and the one after it are done in turns. Refused where one would tire what the other needs."""
    with editing(outline, revision, coach, "outline.pair") as (newest, entry):
        day = _slot(newest, slot).day
        slots = list(day.slots.prefetch_related("candidates__exercise__regions", "candidates__exercise__joints"))
        at = next(number for number, row in enumerate(slots) if row.key == slot)
        if at + 1 == len(slots):
            raise Refused(Because("authoring.nothing_after", {"name": slots[at].title}))
        one, other = slots[at], slots[at + 1]
        entry.params.update(name=one.title, other=other.title)
        if one.superset and one.superset == other.superset:
            raise Refused(Because("authoring.already_paired", {"name": one.title, "other": other.title}))
        clash = pair_clash(one, other, max(1, newest.order.count(day.key)))
        if clash is not None:
            raise Refused(clash)
        _join(entry, slots, one, other)


def release_slot(outline: Outline, revision: int, coach: Coach, slot: str) -> None:
    """Takes a slot out of its superset; one that would be alone in it is released too."""
    with editing(outline, revision, coach, "outline.release") as (newest, entry):
        row = _slot(newest, slot)
        entry.params["name"] = row.title
        _letter(entry, row, "")
        _keep_supersets_together(entry, row.day)


def pair_clash(one: OutlineSlot, other: OutlineSlot, occurrences: int) -> Because | None:
    """Why two slots should not be done in turns: on some occurrence their first choices tire the same part.

    Both come with their candidates and those exercises' regions and joints. A slot without candidates stands for an
    exercise that works its region.
    """
    for occurrence in range(occurrences):
        first, second = _first_choice(one, occurrence), _first_choice(other, occurrence)
        if superset_clash(first, second):
            return Because("authoring.pair_clash", {"name": first.name, "other": second.name})
    return None


def _first_choice(slot: OutlineSlot, occurrence: int) -> terms.Exercise:
    lists = ranked_lists(slot)
    ranked = lists[occurrence % len(lists)] if lists else []
    shown = next((row.exercise for row in ranked if row.exercise.hidden_at is None), None)
    if shown is not None:
        return exercise_term(shown)
    region = (terms.RegionShare(slot.region, 1),)
    return terms.Exercise(slot.key, slot.title, "", slot.role, region, "bodyweight", "none")


def _join(entry: Recording, slots: Sequence[OutlineSlot], one: OutlineSlot, other: OutlineSlot) -> None:
    """One letter for both, and for those that either took turns with already."""
    joined = {letter for letter in (one.superset, other.superset) if letter}
    taken = {row.superset for row in slots}
    letter = min(joined) if joined else next(free for free in ascii_uppercase if free not in taken)
    for row in slots:
        if row in (one, other) or (row.superset and row.superset in joined):
            _letter(entry, row, letter)


def _letter(entry: Recording, slot: OutlineSlot, letter: str) -> None:
    if slot.superset != letter:
        entry.change(slot)
        slot.superset = letter
        slot.save(update_fields=["superset"])


def _keep_supersets_together(entry: Recording, day: OutlineDay) -> None:
    """Only neighbours can be done in turns: of a superset that was parted the longest run keeps the letter."""
    slots = list(day.slots.all())
    runs = [list(run) for _letter_of, run in groupby(slots, key=lambda row: row.superset)]
    kept: dict[str, list[OutlineSlot]] = {}
    for run in runs:
        letter = run[0].superset
        if letter and len(run) > max(1, len(kept.get(letter, []))):
            kept[letter] = run
    for row in slots:
        if row.superset and row not in kept.get(row.superset, []):
            _letter(entry, row, "")


def brackets(slots: Sequence[OutlineSlot]) -> list[str]:
    """Of every slot where it stands in its superset: "start", "middle", "end", or "" outside one."""
    tied = [False, *(one.superset != "" and one.superset == other.superset for one, other in pairwise(slots)), False]
    names = {(False, True): "start", (True, True): "middle", (True, False): "end", (False, False): ""}
    return [names[tied[number], tied[number + 1]] for number in range(len(slots))]


def _slot(outline: Outline, key: str) -> OutlineSlot:
    return OutlineSlot.objects.select_related("day__outline").get(day__outline=outline, key=key)


def _taken(outline: Outline) -> set[str]:
    return set(OutlineSlot.objects.filter(day__outline=outline).values_list("key", flat=True))


def _room(slots: Sequence[OutlineSlot]) -> None:
    if len(slots) >= MOST_SLOTS:
        raise Refused(Because("authoring.slots_full", {"most": MOST_SLOTS}))
