"""Exercises and outlines as the engine's terms, and the words of an exercise in a language."""

from collections.abc import Iterable

from coachdesk.practice.models import Practice
from programs.engine import terms
from programs.engine.compose import Weights
from programs.engine.compose.request import DayType, Slot
from programs.engine.progress import LEVERS, Caps
from programs.models import Exercise, ExerciseText, Outline, OutlineSlot, OwnCaps, OwnWeights, SlotCandidate


def exercise_term(row: Exercise) -> terms.Exercise:
    """One exercise; ``row`` has its regions and joints prefetched."""
    return terms.Exercise(
        key=row.key,
        name=row.name,
        pattern=row.pattern,
        role=row.role,
        regions=tuple(terms.RegionShare(entry.region, entry.share, entry.stretched) for entry in row.regions.all()),
        implement=row.implement,
        load_entry=row.load_entry,
        skill=row.skill,
        angle=row.angle,
        grip=row.grip,
        limbs=row.limbs,
        needs_all=tuple(row.needs_all),
        needs_one=tuple(tuple(group) for group in row.needs_one),
        joints=tuple(terms.JointStress(entry.joint, entry.severity) for entry in row.joints.all()),
        rep_unit=row.rep_unit,
        rep_low=row.rep_low,
        rep_high=row.rep_high,
        rest_s=row.rest_s,
        tempo=row.tempo,
        load_step=float(row.load_step),
        bodyweight_fraction=float(row.bodyweight_fraction),
    )


def text_in(exercise: Exercise, *languages: str) -> ExerciseText | None:
    """The exercise's text in the first of these languages that it has, else in any; None where it has none.

    Reads the prefetched ``texts``.
    """
    texts = {text.language: text for text in exercise.texts.all()}
    return next((texts[language] for language in languages if language in texts), next(iter(texts.values()), None))


def library_of(practice: Practice) -> dict[str, terms.Exercise]:
    """All shown exercises of the practice by key: three queries."""
    rows = Exercise.objects.for_practice(practice).shown().with_facts().order_by("pk")
    return {row.key: exercise_term(row) for row in rows}


def weights_of(practice: Practice) -> Weights:
    """What the rules of composing weigh in the practice. One query."""
    return Weights.of(OwnWeights.objects.filter(practice=practice).values_list("own", flat=True).first() or {})


def caps_of(practice: Practice) -> tuple[Caps, tuple[str, ...]]:
    """How far a load may change at once in the practice, and in which order another lever is taken where it can't
    rise. One query."""
    own = OwnCaps.objects.filter(practice=practice).values_list("own", flat=True).first() or {}
    kept = [code for code in own.get("levers", ()) if code in LEVERS]
    return Caps.of(own), (*kept, *(code for code in LEVERS if code not in kept))


def day_types_of(outline: Outline, experience: str) -> tuple[DayType, ...]:
    """The outline's week for one experience; ``outline`` comes from ``with_week()``."""
    return tuple(
        DayType(
            key=day.key,
            name=day.name,
            occurrences=max(1, list(outline.order).count(day.key)),
            slots=tuple(_slots(day.key, day.slots.all(), experience)),
            extra_minutes=float(sum(line.minutes for line in day.lines.all())),
        )
        for day in outline.days.all()
    )


def ranked_lists(slot: OutlineSlot) -> list[list[SlotCandidate]]:
    """The candidates of a slot by occurrence, from A to the last that has any; reads what is prefetched.

    An occurrence beyond the last list starts again with the first.
    """
    rows = list(slot.candidates.all())
    count = max((row.occurrence for row in rows), default=-1) + 1
    return [[row for row in rows if row.occurrence == occurrence] for occurrence in range(count)]


def _slots(day_key: str, rows: Iterable, experience: str) -> Iterable[Slot]:
    for row in rows:
        low, high = row.sets[experience]
        yield Slot(
            key=row.key,
            day=day_key,
            title=row.title,
            regions=(row.region, *row.also_regions),
            patterns=tuple(row.patterns),
            role=row.role,
            sets_low=low,
            sets_high=high,
            reps=tuple((pair[0], pair[1]) for pair in row.reps),
            rir=float(row.rir),
            rest_s=row.rest_s,
            tempo=row.tempo,
            superset=row.superset,
            priority=row.priority,
            candidates=tuple(tuple(entry.exercise.key for entry in ranked) for ranked in ranked_lists(row)),
        )
