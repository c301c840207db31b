"""What stands in the day types and slots of a working copy: lines without dose, and ranked candidates."""

from collections.abc import Mapping
from typing import Any

from coachdesk.practice.models import Coach
from programs.engine.terms import Because
from programs.models import Exercise, Outline, OutlineLine, OutlineSlot, SlotCandidate
from programs.reads import ranked_lists
from programs.services.outline_work import Refused, editing, moved, next_position, put_in_order, remove
from programs.services.rows import made

MOST_LINES = 12  # of one day type
MOST_CANDIDATES = 12  # of one list
WHOLE_SET = 4  # quarters


def add_line(outline: Outline, revision: int, coach: Coach, day: str, values: Mapping[str, Any]) -> None:
    """A line without dose, after the others that stand at the same end of the session."""
    with editing(outline, revision, coach, "outline.line_add") as (newest, entry):
        row = newest.days.get(key=day)
        if row.lines.count() >= MOST_LINES:
            raise Refused(Because("authoring.lines_full", {"most": MOST_LINES}))
        line = OutlineLine(day=row, position=next_position(row.lines.all()), **values)
        line.save()
        made(entry, [line])


def change_line(outline: Outline, revision: int, coach: Coach, line: int, values: Mapping[str, Any]) -> None:
    with editing(outline, revision, coach, "outline.line_change") as (newest, entry):
        row = _line(newest, line)
        entry.change(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))


def move_line(outline: Outline, revision: int, coach: Coach, line: int, to: int) -> None:
    """Another place among the lines at the same end of the session."""
    with editing(outline, revision, coach, "outline.line_move") as (newest, entry):
        row = _line(newest, line)
        rows = list(row.day.lines.filter(at_start=row.at_start))
        put_in_order(entry, moved(rows, rows.index(row), to))


def remove_line(outline: Outline, revision: int, coach: Coach, line: int) -> None:
    with editing(outline, revision, coach, "outline.line_remove") as (newest, entry):
        remove(entry, OutlineLine.objects.filter(pk=_line(newest, line).pk))


def add_candidate(
    outline: Outline, revision: int, coach: Coach, slot: str, occurrence: int, exercise: Exercise
) -> None:
    """An exercise at the end of a slot's list for one occurrence.

    Refused where no set of it counts whole for one of the slot's regions: composing would leave it out. Occurrences
    before this one that had no list of their own keep what they started again with.
    """
    with editing(outline, revision, coach, "outline.candidate_add", name=exercise.name) as (newest, entry):
        row = OutlineSlot.objects.prefetch_related("candidates").get(day__outline=newest, key=slot)
        regions = [row.region, *row.also_regions]
        if not exercise.regions.filter(region__in=regions, quarters=WHOLE_SET).exists():
            raise Refused(Because("authoring.region_elsewhere", {"name": exercise.name}))
        lists = ranked_lists(row)
        mine = lists[occurrence] if occurrence < len(lists) else []
        if any(candidate.exercise_id == exercise.pk for candidate in mine):
            raise Refused(Because("authoring.candidate_twice", {"name": exercise.name}))
        if len(mine) >= MOST_CANDIDATES:
            raise Refused(Because("authoring.list_full", {"most": MOST_CANDIDATES}))
        new = [
            SlotCandidate(slot=row, exercise_id=candidate.exercise_id, occurrence=before, rank=rank)
            for before in range(len(lists), occurrence)
            for rank, candidate in enumerate(lists[before % len(lists)] if lists else [])
        ]
        rank = max((candidate.rank for candidate in mine), default=-1) + 1
        new.append(SlotCandidate(slot=row, exercise=exercise, occurrence=occurrence, rank=rank))
        made(entry, SlotCandidate.objects.bulk_create(new))


def move_candidate(outline: Outline, revision: int, coach: Coach, candidate: int, to: int) -> None:
    """Another rank in its list; 0 is the first choice."""
    with editing(outline, revision, coach, "outline.candidate_move") as (newest, entry):
        row = _candidate(newest, candidate)
        rows = list(row.slot.candidates.filter(occurrence=row.occurrence))
        put_in_order(entry, moved(rows, rows.index(row), to), "rank")


def remove_candidate(outline: Outline, revision: int, coach: Coach, candidate: int) -> None:
    with editing(outline, revision, coach, "outline.candidate_remove") as (newest, entry):
        row = _candidate(newest, candidate)
        entry.params["name"] = row.exercise.name
        remove(entry, SlotCandidate.objects.filter(pk=row.pk))


def _line(outline: Outline, pk: int) -> OutlineLine:
    return OutlineLine.objects.select_related("day").get(day__outline=outline, pk=pk)


def _candidate(outline: Outline, pk: int) -> SlotCandidate:
    return SlotCandidate.objects.select_related("slot", "exercise").get(slot__day__outline=outline, pk=pk)
