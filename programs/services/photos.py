"""A coach's own picture of an exercise: set, described, taken away; each one journal entry.

The journal keeps which picture an exercise shows, never the picture itself. One that nothing shows any more is kept
for a while, so that undo finds it, and then emptied.
"""

from datetime import datetime, timedelta

from django.utils import timezone

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.models import Exercise, Photo
from programs.photos import Rewritten
from programs.services.rows import about

KEPT_FOR_UNDO = timedelta(days=30)


def set_photo(exercise: Exercise, coach: Coach, picture: Rewritten, shows: str) -> JournalEntry | None:
    """Shows a new picture; ``shows`` says in words what it shows."""
    with journal.act(coach.practice, coach, "exercise.photo", about=about(exercise), name=exercise.name) as entry:
        row = Exercise.objects.select_for_update().for_practice(coach.practice).get(pk=exercise.pk)
        photo = Photo.objects.create(
            practice=coach.practice, image=picture.jpeg, width=picture.width, height=picture.height, shows=shows
        )
        entry.change(row)
        _let_go(row)
        row.photo = photo
        row.save(update_fields=["photo"])
    empty_forgotten(coach.practice)
    return entry.entry


def describe_photo(exercise: Exercise, coach: Coach, shows: str) -> JournalEntry | None:
    """Says anew what the picture shows; the picture stays."""
    photo = exercise.photo
    if photo is None:
        return None
    with journal.act(coach.practice, coach, "exercise.photo", about=about(exercise), name=exercise.name) as entry:
        entry.change(photo)
        photo.shows = shows
        photo.save(update_fields=["shows"])
    return entry.entry


def remove_photo(exercise: Exercise, coach: Coach) -> JournalEntry | None:
    with journal.act(
        coach.practice, coach, "exercise.photo_remove", about=about(exercise), name=exercise.name
    ) as entry:
        row = Exercise.objects.select_for_update().for_practice(coach.practice).get(pk=exercise.pk)
        entry.change(row)
        _let_go(row)
        row.photo = None
        row.save(update_fields=["photo"])
    empty_forgotten(coach.practice)
    return entry.entry


def empty_forgotten(practice: Practice, now: datetime | None = None) -> int:
    """Empties the pictures that nothing has shown for a month; returns how many. Their rows stay: undo names them."""
    long_ago = (now or timezone.now()) - KEPT_FOR_UNDO
    forgotten = Photo.objects.filter(practice=practice, changed_at__lt=long_ago, exercises=None).exclude(image=b"")
    return forgotten.update(image=b"")


def _let_go(exercise: Exercise) -> None:
    if exercise.photo_id:
        Photo.objects.filter(pk=exercise.photo_id).update(changed_at=timezone.now())
