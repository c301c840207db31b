"""What a template comes to before anyone is assigned: its week by experience, in the engine's values."""

from collections.abc import Mapping

from programs.engine.compose import Weights
from programs.engine.compose.outlook import Outlook, outlook
from programs.engine.compose.recovering import session_key
from programs.engine.terms import Exercise
from programs.engine.vocabulary import EXPERIENCES
from programs.models import Outline
from programs.reads import day_types_of, exercise_term

LETTERS = "ABCDEFG"


def previews(
    outline: Outline, library: Mapping[str, Exercise] | None = None, weights: Weights | None = None
) -> list[Outlook]:
    """One outlook an experience; ``outline`` comes from ``with_preview()``. No queries.

    With the practice's ``library`` (see ``reads.library_of``) the weeks are composed from it, by its ``weights``;
    else every slot takes its first candidate.
    """
    chosen_from = _candidates(outline) if library is None else library
    return [
        outlook(
            day_types_of(outline, experience),
            chosen_from,
            experience,
            _known_order(outline),
            outline.cycle_days,
            _days(outline.offsets),
            composed=library is not None,
            weights=weights or Weights(),
        )
        for experience in EXPERIENCES
    ]


def _candidates(outline: Outline) -> dict[str, Exercise]:
    """The candidates that are shown, by key."""
    library: dict[str, Exercise] = {}
    for day in outline.days.all():
        for slot in day.slots.all():
            for candidate in slot.candidates.all():
                if candidate.exercise.hidden_at is None and candidate.exercise.key not in library:
                    library[candidate.exercise.key] = exercise_term(candidate.exercise)
    return library


def names_of(outline: Outline) -> dict[str, str]:
    """Names for the keys that reasons mention: exercises, slots, day types, and sessions as "upper:1"."""
    named: dict[str, str] = {}
    for day in outline.days.all():
        times = outline.order.count(day.key)
        named[day.key] = day.name
        for occurrence in range(max(1, times)):
            letter = f" {LETTERS[occurrence % len(LETTERS)]}" if times > 1 else ""
            named[session_key(day.key, occurrence)] = f"{day.name}{letter}"
        for slot in day.slots.all():
            named[slot.key] = slot.title
            named |= {candidate.exercise.key: candidate.exercise.name for candidate in slot.candidates.all()}
    return named


def _known_order(outline: Outline) -> list[str]:
    """The day types as they come round; what is being edited may still name one that is gone."""
    known = {day.key for day in outline.days.all()}
    return [key for key in outline.order if key in known]


def _days(offsets: object) -> list[int]:
    return [day for day in offsets if isinstance(day, int)] if isinstance(offsets, list) else []
