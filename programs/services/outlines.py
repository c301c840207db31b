"""Changing the templates: one function a verb, one journal entry each, all of which can be undone."""

from collections.abc import Mapping
from typing import Any

from django.db import models

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.services.rows import about, copy_name, duplicate, fresh, made

# What a copy of a template does not take over, beside what no copy takes over.
OF_ITS_OWN: Mapping[str, Any] = {
    "version": 1,
    "replaced_by": None,
    "archived_at": None,
    "in_work": False,
    "draft_of": None,
    "revision": 1,
}


def copy_outline(outline: Outline, coach: Coach) -> tuple[Outline, JournalEntry | None]:
    """A copy of a template with its days, slots, candidates and lines; ``outline`` comes from ``with_week()``."""
    name = copy_name(outline, Outline.objects.for_practice(coach.practice))
    with journal.act(coach.practice, coach, "outline.copy", name=name) as entry:
        copied = duplicate(outline, **{**OF_ITS_OWN, "name": name})
        made(entry, [copied, *copy_week(outline, copied)])
    return copied, entry.entry


def copy_week(outline: Outline, to: Outline) -> list[models.Model]:
    """Copies the days of a template with all that is in them to another one and returns the rows that it made."""
    rows: list[models.Model] = []
    for day in outline.days.all():
        rows += copy_day_rows(day, outline=to)
    return rows


def copy_day_rows(day: OutlineDay, **changes: Any) -> list[models.Model]:
    """One day type with its lines, slots and candidates, copied; ``changes`` are those of the day's own row."""
    new_day: OutlineDay = duplicate(day, **changes)
    rows: list[models.Model] = [new_day]
    rows += OutlineLine.objects.bulk_create(fresh(line, day=new_day) for line in day.lines.all())
    for slot in day.slots.all():
        rows += copy_slot_rows(slot, day=new_day)
    return rows


def copy_slot_rows(slot: OutlineSlot, **changes: Any) -> list[models.Model]:
    """One slot with its candidates, copied."""
    new_slot: OutlineSlot = duplicate(slot, **changes)
    return [
        new_slot,
        *SlotCandidate.objects.bulk_create(fresh(candidate, slot=new_slot) for candidate in slot.candidates.all()),
    ]


def rename_outline(outline: Outline, coach: Coach, words: Mapping[str, Any]) -> JournalEntry | None:
    """Changes what a template is called and whom it serves."""
    with journal.act(coach.practice, coach, "outline.edit", about=about(outline), name=words["name"]) as entry:
        kept = Outline.objects.select_for_update().for_practice(coach.practice).get(pk=outline.pk)
        entry.change(kept)
        edited = [name for name, value in words.items() if getattr(kept, name) != value]
        for name in edited:
            setattr(kept, name, words[name])
        if edited:
            kept.mark_edited(*edited)
            kept.save()
    return entry.entry
