"""What a coach keeps near: theirs alone, and to be taken back like every other act."""

from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Exercise, FavouriteExercise
from programs.services.rows import about


def set_favourite(exercise: Exercise, coach: Coach, wanted: bool) -> JournalEntry | None:
    """Makes an exercise one of the coach's favourites, or no longer; None where it was so already."""
    name = "exercise.favourite" if wanted else "exercise.no_favourite"
    with journal.act(coach.practice, coach, name, about=about(exercise), name=exercise.name) as entry:
        kept = FavouriteExercise.objects.filter(coach=coach, exercise=exercise)
        if wanted:
            row, new = FavouriteExercise.objects.get_or_create(coach=coach, exercise=exercise)
            if new:
                entry.made(row)
        else:
            entry.change(*kept)
            kept.delete()
    return entry.entry
