"""Changing the templates: one function a verb, one journal entry each, all of which can be undone."""

from collections.abc import Mapping
from typing import Any

from django.db import models

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.services.rows import about, copy_name, duplicate, fresh, made


def copy_outline(outline: Outline, coach: Coach) -> tuple[Outline, JournalEntry | None]:
    """A copy of a template with its days, slots, candidates and lines; ``outline`` comes from ``with_week()``."""
    name = copy_name(outline, Outline.objects.for_practice(coach.practice))
    with journal.act(coach.practice, coach, "outline.copy", name=name) as entry:
        copied = duplicate(outline, name=name, version=1, replaced_by=None, archived_at=None)
        rows: list[models.Model] = [copied]
        for day in outline.days.all():
            new_day: OutlineDay = duplicate(day, outline=copied)
            rows.append(new_day)
            rows += OutlineLine.objects.bulk_create(fresh(line, day=new_day) for line in day.lines.all())
            for slot in day.slots.all():
                new_slot: OutlineSlot = duplicate(slot, day=new_day)
                rows.append(new_slot)
                rows += SlotCandidate.objects.bulk_create(
                    fresh(candidate, slot=new_slot) for candidate in slot.candidates.all()
                )
        made(entry, rows)
    return copied, entry.entry


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
