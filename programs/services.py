"""Changing the library and the templates: one function a verb, one journal entry each, all of which can be undone."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from coachdesk.practice import journal
from coachdesk.practice.journal import Recording
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    ExerciseText,
    Outline,
    OutlineDay,
    OutlineLine,
    OutlineSlot,
    SlotCandidate,
)

NAME_LENGTH = {Exercise: 120, Outline: 80}
# What a copy does not take over from the row it was made from.
OWN = frozenset({"id", "public_id", "created_at", "seed_key", "seed_version", "edited_fields", "hidden_at"})


@dataclass(frozen=True, slots=True)
class ExerciseContent:
    """All that the editor of an exercise holds. Regions: quarters of a set and whether loaded while long; joints:
    severity; ``words`` is the text in ``language``."""

    facts: Mapping[str, Any]
    regions: Mapping[str, tuple[int, bool]]
    joints: Mapping[str, int]
    language: str
    words: Mapping[str, Any]


def about(row: Exercise | Outline) -> str:
    return f"{row._meta.model_name}:{row.public_id}"


def add_exercise(coach: Coach, content: ExerciseContent) -> tuple[Exercise, JournalEntry | None]:
    exercise = Exercise(practice=coach.practice, **content.facts)
    with journal.act(coach.practice, coach, "exercise.add", about=about(exercise), name=exercise.name) as entry:
        exercise.save()
        rows: list[models.Model] = [exercise]
        rows += ExerciseRegion.objects.bulk_create(
            ExerciseRegion(exercise=exercise, region=region, quarters=quarters, stretched=stretched)
            for region, (quarters, stretched) in content.regions.items()
        )
        rows += ExerciseJoint.objects.bulk_create(
            ExerciseJoint(exercise=exercise, joint=joint, severity=severity)
            for joint, severity in content.joints.items()
        )
        if any(content.words.values()):
            rows.append(ExerciseText.objects.create(exercise=exercise, language=content.language, **content.words))
        _made(entry, rows)
    return exercise, entry.entry


def edit_exercise(exercise: Exercise, coach: Coach, content: ExerciseContent) -> JournalEntry | None:
    """Writes what differs and remembers which fields the coach decided, so that seeding leaves those alone."""
    row = Exercise.objects.select_for_update().for_practice(coach.practice)
    with journal.act(
        coach.practice, coach, "exercise.edit", about=about(exercise), name=content.facts["name"]
    ) as entry:
        kept = row.get(pk=exercise.pk)
        entry.change(kept)
        edited = [name for name, value in content.facts.items() if getattr(kept, name) != value]
        for name in edited:
            setattr(kept, name, content.facts[name])
        regions = {
            region: {"quarters": quarters, "stretched": stretched}
            for region, (quarters, stretched) in content.regions.items()
        }
        if _match(entry, kept.regions.all(), "region", regions, lambda values: ExerciseRegion(exercise=kept, **values)):
            edited.append("regions")
        joints = {joint: {"severity": severity} for joint, severity in content.joints.items()}
        if _match(entry, kept.joints.all(), "joint", joints, lambda values: ExerciseJoint(exercise=kept, **values)):
            edited.append("joints")
        others: dict[str, dict[str, Any]] = {
            text.language: {} for text in kept.texts.all() if text.language != content.language
        }
        words = {**others, **({content.language: dict(content.words)} if any(content.words.values()) else {})}
        if _match(entry, kept.texts.all(), "language", words, lambda values: ExerciseText(exercise=kept, **values)):
            edited.append("texts")
        if edited:
            kept.mark_edited(*edited)
            kept.save()
            kept.refresh_from_db()
    return entry.entry


def copy_exercise(exercise: Exercise, coach: Coach) -> tuple[Exercise, JournalEntry | None]:
    """A copy under a name of its own, no longer bound to the seed files."""
    name = _copy_name(exercise, Exercise.objects.for_practice(coach.practice))
    with journal.act(coach.practice, coach, "exercise.copy", name=name) as entry:
        copied = _copy(exercise, name=name)
        rows: list[models.Model] = [copied]
        for related in (exercise.regions.all(), exercise.joints.all(), exercise.texts.all()):
            rows += [_copy(row, exercise=copied) for row in related]
        _made(entry, rows)
    return copied, entry.entry


def set_hidden(exercise: Exercise, coach: Coach, at: datetime | None) -> JournalEntry | None:
    """Hides an exercise from choosing, or shows it again (``at`` None). What is planned with it stays."""
    act = "exercise.hide" if at else "exercise.show"
    with journal.act(coach.practice, coach, act, about=about(exercise), name=exercise.name) as entry:
        entry.change(exercise)
        exercise.hidden_at = at
        exercise.save(update_fields=["hidden_at"])
    return entry.entry


def copy_outline(outline: Outline, coach: Coach) -> tuple[Outline, JournalEntry | None]:
    """A copy of a template with its days, slots, candidates and lines; ``outline`` comes from ``with_week()``."""
    name = _copy_name(outline, Outline.objects.for_practice(coach.practice))
    with journal.act(coach.practice, coach, "outline.copy", name=name) as entry:
        copied = _copy(outline, name=name, version=1, replaced_by=None, archived_at=None)
        rows: list[models.Model] = [copied]
        for day in outline.days.all():
            new_day: OutlineDay = _copy(day, outline=copied)
            rows.append(new_day)
            rows += OutlineLine.objects.bulk_create(_fresh(line, day=new_day) for line in day.lines.all())
            for slot in day.slots.all():
                new_slot: OutlineSlot = _copy(slot, day=new_day)
                rows.append(new_slot)
                rows += SlotCandidate.objects.bulk_create(
                    _fresh(candidate, slot=new_slot) for candidate in slot.candidates.all()
                )
        _made(entry, rows)
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


def _made(entry: Recording, rows: Iterable[models.Model]) -> None:
    """Journals new rows as the database holds them: a number that was typed "2" is kept as 2.00."""
    for row in rows:
        row.refresh_from_db()
        entry.made(row)


def _match(
    entry: Recording,
    rows: Iterable[models.Model],
    key: str,
    wanted: Mapping[str, Mapping[str, Any]],
    new: Any,
) -> bool:
    """Brings the rows of one exercise to what is wanted, by their key, and says whether any had to change."""
    present = {getattr(row, key): row for row in rows}
    changed = False
    for code, values in wanted.items():
        row = present.get(code)
        if row is None:
            row = new({key: code, **values})
            row.save()
            entry.made(row)
            changed = True
        elif any(getattr(row, name) != value for name, value in values.items()):
            entry.change(row)
            for name, value in values.items():
                setattr(row, name, value)
            row.save()
            changed = True
    for code, row in present.items():
        if code not in wanted:
            entry.change(row)
            # Not row.delete(): the journal needs the key that the row had.
            type(row)._default_manager.filter(pk=row.pk).delete()
            changed = True
    return changed


def _fresh(row: Any, **changes: Any) -> Any:
    """An unsaved copy of a row."""
    values = {
        field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if field.name not in OWN
    }
    fresh = type(row)(**values)
    for name, value in changes.items():
        setattr(fresh, name, value)
    return fresh


def _copy(row: Any, **changes: Any) -> Any:
    fresh = _fresh(row, **changes)
    fresh.save()
    return fresh


def _copy_name(row: Exercise | Outline, others: models.QuerySet) -> str:
    taken = set(others.values_list("name", flat=True))
    number, most = 1, NAME_LENGTH[type(row)]
    while True:
        ending = _(" (copy)") if number == 1 else _(" (copy %(number)d)") % {"number": number}
        name = row.name[: most - len(ending)] + ending
        if name not in taken:
            return name
        number += 1
