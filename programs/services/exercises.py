"""Changing the library: one function a verb, one journal entry each, all of which can be undone."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import models

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Exercise, ExerciseJoint, ExerciseRegion, ExerciseText
from programs.services.rows import about, copy_name, duplicate, made, match


@dataclass(frozen=True, slots=True)
class ExerciseContent:
    """All that the editor of an exercise holds. Regions: quarters of a set and whether loaded while long; joints:
    severity; ``words`` is the text in ``language``."""

    facts: Mapping[str, Any]
    regions: Mapping[str, tuple[int, bool]]
    joints: Mapping[str, int]
    language: str
    words: Mapping[str, Any]


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
        made(entry, rows)
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
        if match(entry, kept.regions.all(), "region", regions, lambda values: ExerciseRegion(exercise=kept, **values)):
            edited.append("regions")
        joints = {joint: {"severity": severity} for joint, severity in content.joints.items()}
        if match(entry, kept.joints.all(), "joint", joints, lambda values: ExerciseJoint(exercise=kept, **values)):
            edited.append("joints")
        others: dict[str, dict[str, Any]] = {
            text.language: {} for text in kept.texts.all() if text.language != content.language
        }
        words = {**others, **({content.language: dict(content.words)} if any(content.words.values()) else {})}
        if match(entry, kept.texts.all(), "language", words, lambda values: ExerciseText(exercise=kept, **values)):
            edited.append("texts")
        if edited:
            kept.mark_edited(*edited)
            kept.save()
            kept.refresh_from_db()
    return entry.entry


def copy_exercise(exercise: Exercise, coach: Coach) -> tuple[Exercise, JournalEntry | None]:
    """A copy under a name of its own, no longer bound to the seed files. Other names stay with the one that has them:
    a message with one would be about either."""
    name = copy_name(exercise, Exercise.objects.for_practice(coach.practice))
    with journal.act(coach.practice, coach, "exercise.copy", name=name) as entry:
        copied = duplicate(exercise, name=name, aliases=[])
        rows: list[models.Model] = [copied]
        for related in (exercise.regions.all(), exercise.joints.all()):
            rows += [duplicate(row, exercise=copied) for row in related]
        rows += [duplicate(text, exercise=copied, name="") for text in exercise.texts.all()]
        made(entry, rows)
    return copied, entry.entry


def set_hidden(exercise: Exercise, coach: Coach, at: datetime | None) -> JournalEntry | None:
    """Hides an exercise from choosing, or shows it again (``at`` None). What is planned with it stays."""
    act = "exercise.hide" if at else "exercise.show"
    with journal.act(coach.practice, coach, act, about=about(exercise), name=exercise.name) as entry:
        entry.change(exercise)
        exercise.hidden_at = at
        exercise.save(update_fields=["hidden_at"])
    return entry.entry
