"""What a template comes to before anyone is assigned: sets by group and minutes, by experience."""

from collections.abc import Mapping
from dataclasses import dataclass

from programs.engine.compose import Audit, WeekRequest, assess
from programs.engine.terms import Exercise, Pick
from programs.engine.vocabulary import EXPERIENCES
from programs.models import Outline
from programs.reads import day_types_of, exercise_term


@dataclass(frozen=True, slots=True)
class Preview:
    """A template's week for one experience: every slot with its first choice and the middle of its sets."""

    experience: str
    audit: Audit


def previews(outline: Outline) -> list[Preview]:
    """One preview an experience; ``outline`` comes from ``with_preview()``. No queries."""
    library: dict[str, Exercise] = {}
    for day in outline.days.all():
        for slot in day.slots.all():
            for candidate in slot.candidates.all():
                if candidate.exercise.hidden_at is None and candidate.exercise.key not in library:
                    library[candidate.exercise.key] = exercise_term(candidate.exercise)
    return [_preview(outline, library, experience) for experience in EXPERIENCES]


def _preview(outline: Outline, library: Mapping[str, Exercise], experience: str) -> Preview:
    days = day_types_of(outline, experience)
    picks = []
    for day in days:
        for slot in day.slots:
            for occurrence in range(day.occurrences):
                first = next((key for key in slot.ranked_on(occurrence) if key in library), None)
                if first is not None:
                    picks.append(Pick(slot.key, occurrence, first, slot.usual_sets))
    request = WeekRequest(day_types=days, library=library, experience=experience)
    return Preview(experience, assess(request, picks))
