"""Importing what was previewed: exercises or templates of a file in bulk, one journal entry and one undo for all."""

from collections.abc import Iterable
from typing import Any

from django.utils import timezone

from coachdesk.practice import journal
from coachdesk.practice.journal import Recording
from coachdesk.practice.models import Coach, JournalEntry
from programs.exchange import library, outline_documents, outlines
from programs.exchange.fields import FACTS, NO_WORDS, ORIGIN
from programs.exchange.plans import CHANGED, NEW, Change, Outcome, Plan
from programs.exchange.sheets import Sheet
from programs.models import (
    Exercise,
    ExerciseJoint,
    ExerciseRegion,
    ExerciseText,
    FavouriteExercise,
    Outline,
    OutlineDay,
    OutlineLine,
    OutlineSlot,
    Photo,
    SlotCandidate,
)
from programs.services.outline_work import WEEK, WORDS

NOT_SEEDED = frozenset({"hidden_at", "favourite", "photo"})  # seeding never touches these


class ChangedMeanwhile(Exception):
    """What was previewed would come out otherwise now; ``plan`` says how."""

    def __init__(self, plan: Any) -> None:
        super().__init__("changed meanwhile")
        self.plan = plan


def import_library(coach: Coach, sheet: Sheet, seen: str, *, changes: bool) -> tuple[Plan, JournalEntry | None]:
    """Writes exactly the plan whose digest is ``seen``: what is new and, with ``changes``, what differs.

    Raises ChangedMeanwhile, and writes nothing, if the library has come to differ from what was previewed.
    """
    with journal.act(coach.practice, coach, "library.import") as entry:
        plan = library.plan(sheet, coach.practice, coach, lock=True)
        if plan.digest != seen:
            raise ChangedMeanwhile(plan)
        photos = _photos(coach, plan.outcomes)
        changed = [one for one in plan.outcomes if one.kind == CHANGED] if changes else []
        _change(entry, coach, changed, photos)
        _make(entry, coach, [one for one in plan.outcomes if one.kind == NEW], photos)
        entry.params.update(new=plan.counts[NEW], changed=len(changed))
    return plan, entry.entry


def _photos(coach: Coach, outcomes: Iterable[Outcome]) -> dict[int, Photo]:
    """New photos by the row of the file. The journal does not hold them: it says which one an exercise shows."""
    brought = {one.number: said for one in outcomes if (said := _photo_of(one))}
    asked = [said["id"] for said in brought.values() if said["id"]]
    taken = set(map(str, Photo.objects.filter(public_id__in=asked).values_list("public_id", flat=True)))
    made: dict[int, Photo] = {}
    for number, said in brought.items():
        values = {name: said[name] for name in ("image", "width", "height", "shows")}
        if said["id"] and said["id"] not in taken:
            values["public_id"] = said["id"]
            taken.add(said["id"])
        made[number] = Photo(practice=coach.practice, **values)
    Photo.objects.bulk_create(made.values())
    return made


def _photo_of(outcome: Outcome) -> dict[str, Any] | None:
    if outcome.kind == NEW:
        return outcome.record.get("photo")
    return next((change.new for change in outcome.changes if change.name == "photo"), None)


def _make(entry: Recording, coach: Coach, outcomes: list[Outcome], photos: dict[int, Photo]) -> None:
    rows = []
    for one in outcomes:
        record = one.record
        values = {name: record[name] for name in (*FACTS, *ORIGIN, "hidden_at")}
        row = Exercise(practice=coach.practice, photo=photos.get(one.number), **values)
        if record["id"]:
            row.public_id = record["id"]
        rows.append(row)
    Exercise.objects.bulk_create(rows)
    entry.made(*rows)
    entry.made(
        *ExerciseRegion.objects.bulk_create(
            ExerciseRegion(exercise=row, region=region, quarters=quarters, stretched=stretched)
            for row, one in zip(rows, outcomes, strict=True)
            for region, (quarters, stretched) in one.record["regions"].items()
        ),
        *ExerciseJoint.objects.bulk_create(
            ExerciseJoint(exercise=row, joint=joint, severity=severity)
            for row, one in zip(rows, outcomes, strict=True)
            for joint, severity in one.record["joints"].items()
        ),
        *ExerciseText.objects.bulk_create(
            ExerciseText(exercise=row, language=language, **{**NO_WORDS, **words})
            for row, one in zip(rows, outcomes, strict=True)
            for language, words in one.record["texts"].items()
        ),
        *FavouriteExercise.objects.bulk_create(
            FavouriteExercise(coach=coach, exercise=row)
            for row, one in zip(rows, outcomes, strict=True)
            if one.record["favourite"]
        ),
    )
    _lead_on(coach, rows, outcomes)


def _lead_on(coach: Coach, rows: list[Exercise], outcomes: list[Outcome]) -> None:
    """What was merged leads to what it was merged into, once all are there."""
    merged = [(row, one.record["merged_into"]) for row, one in zip(rows, outcomes, strict=True)]
    merged = [(row, target) for row, target in merged if target]
    if not merged:
        return
    keys = dict(Exercise.objects.for_practice(coach.practice).order_by().values_list("public_id", "pk"))
    by_id = {str(public_id): pk for public_id, pk in keys.items()}
    for row, target in merged:
        row.merged_into_id = by_id[target]
    Exercise.objects.bulk_update([row for row, _target in merged], ["merged_into"])


def _change(entry: Recording, coach: Coach, outcomes: list[Outcome], photos: dict[int, Photo]) -> None:
    alike: dict[frozenset[str], list[Exercise]] = {}
    parts = _Parts(entry)
    let_go = []
    for one in outcomes:
        assert one.present is not None  # noqa: S101  what differs from something is there
        row = one.present.row
        entry.change(row)
        fields = set()
        for change in one.changes:
            if change.name in FACTS or change.name == "hidden_at":
                setattr(row, change.name, change.new)
                fields.add(change.name)
            elif change.name == "photo":
                let_go.append(row.photo_id)
                row.photo = photos.get(one.number)
                fields.add("photo")
        edited = {_edited_name(change) for change in one.changes} - NOT_SEEDED
        if edited:
            row.mark_edited(*edited)
            fields.add("edited_fields")
        parts.take(one, coach)
        alike.setdefault(frozenset(fields), []).append(row)
    for names, rows in alike.items():
        if names:
            Exercise.objects.bulk_update(rows, sorted(names))
    Photo.objects.filter(pk__in=[key for key in let_go if key]).update(changed_at=timezone.now())
    parts.write()


def _edited_name(change: Change) -> str:
    return change.name if change.name in (*FACTS, "regions", "joints", *NOT_SEEDED) else "texts"


class _Parts:
    """What hangs on exercises that change: gathered first, then written in bulk and journalled."""

    def __init__(self, entry: Recording) -> None:
        self.entry = entry
        self.made: dict[Any, list[Any]] = {}
        self.changed: dict[Any, list[Any]] = {}
        self.gone: dict[Any, list[Any]] = {}

    def take(self, outcome: Outcome, coach: Coach) -> None:
        present, record = outcome.present, outcome.record
        assert present is not None  # noqa: S101  what differs from something is there
        names = {_edited_name(change) for change in outcome.changes}
        row = present.row
        if "regions" in names:
            wanted = {
                region: {"quarters": quarters, "stretched": stretched}
                for region, (quarters, stretched) in record["regions"].items()
            }
            self._match(ExerciseRegion, "region", row, present.regions, wanted)
        if "joints" in names:
            severities = {joint: {"severity": severity} for joint, severity in record["joints"].items()}
            self._match(ExerciseJoint, "joint", row, present.joints, severities)
        if "texts" in names:
            words = {language: {**NO_WORDS, **said} for language, said in record["texts"].items()}
            self._match(ExerciseText, "language", row, present.texts, words)
        if "favourite" in names and present.favourite is None:
            self._add(FavouriteExercise(coach=coach, exercise=row))
        elif "favourite" in names:
            self._remove(present.favourite)

    def _match(self, model: Any, key: str, exercise: Exercise, rows: list[Any], wanted: dict[str, Any]) -> None:
        here = {getattr(row, key): row for row in rows}
        for code, values in wanted.items():
            row = here.get(code)
            if row is None:
                self._add(model(exercise=exercise, **{key: code}, **values))
            elif any(getattr(row, name) != value for name, value in values.items()):
                self.entry.change(row)
                for name, value in values.items():
                    setattr(row, name, value)
                self.changed.setdefault((model, tuple(values)), []).append(row)
        for code, row in here.items():
            if code not in wanted:
                self._remove(row)

    def _add(self, row: Any) -> None:
        self.made.setdefault(type(row), []).append(row)

    def _remove(self, row: Any) -> None:
        self.entry.change(row)
        self.gone.setdefault(type(row), []).append(row.pk)

    def write(self) -> None:
        for model, keys in self.gone.items():
            model.objects.filter(pk__in=keys).delete()
        for (model, names), rows in self.changed.items():
            model.objects.bulk_update(rows, names)
        for model, rows in self.made.items():
            self.entry.made(*model.objects.bulk_create(rows))


def import_templates(coach: Coach, sheet: Sheet, seen: str, *, changes: bool) -> tuple[Plan, JournalEntry | None]:
    """Writes exactly the plan whose digest is ``seen``. What differs becomes the next version of its template.

    Raises ChangedMeanwhile, and writes nothing, if templates or library have come to differ from the preview.
    """
    with journal.act(coach.practice, coach, "templates.import") as entry:
        plan = outlines.plan(sheet, coach.practice, lock=True)
        if plan.digest != seen:
            raise ChangedMeanwhile(plan)
        taken = [one for one in plan.outcomes if one.kind == NEW or (changes and one.kind == CHANGED)]
        rows = [_outline(coach, one) for one in taken]
        Outline.objects.bulk_create(rows)
        entry.made(*rows)
        _weeks(entry, rows, taken)
        for row, one in zip(rows, taken, strict=True):
            if one.kind == CHANGED:
                entry.change(one.present)
                one.present.replaced_by = row
                one.present.save(update_fields=["replaced_by"])
        entry.params.update(new=plan.counts[NEW], changed=len(taken) - plan.counts[NEW])
    return plan, entry.entry


def _outline(coach: Coach, outcome: Outcome) -> Outline:
    record = outcome.record
    words = {name: record[name] for name in outlines.WORDS}
    if outcome.kind == NEW:
        own = {name: record[name] for name in ("version", "archived_at", "seed_key", "seed_version", "edited_fields")}
        row = Outline(practice=coach.practice, **words, **own)
        if record["id"]:
            row.public_id = record["id"]
        return row
    before: Outline = outcome.present
    row = Outline(
        practice=coach.practice,
        **words,
        version=before.version + 1,
        archived_at=before.archived_at,
        seed_key=before.seed_key,
        seed_version=before.seed_version,
        edited_fields=list(before.edited_fields),
    )
    # So that seeding keeps what was imported.
    row.mark_edited(*(one.name if one.name in WORDS else WEEK for one in outcome.changes))
    return row


def _weeks(entry: Recording, rows: list[Outline], outcomes: list[Outcome]) -> None:
    """Day types, slots, candidates and lines of all the templates: one bulk each."""
    said = [(row, day) for row, one in zip(rows, outcomes, strict=True) for day in one.record["days"]]
    days = OutlineDay.objects.bulk_create(
        OutlineDay(outline=row, **{name: day[name] for name in outline_documents.DAY}) for row, day in said
    )
    entry.made(*days)
    slots_said = [(row, slot) for row, (_row, day) in zip(days, said, strict=True) for slot in day["slots"]]
    slots = OutlineSlot.objects.bulk_create(
        OutlineSlot(day=row, **{name: slot[name] for name in outline_documents.SLOT}) for row, slot in slots_said
    )
    entry.made(*slots)
    entry.made(
        *SlotCandidate.objects.bulk_create(
            SlotCandidate(slot=row, exercise_id=one["pk"], occurrence=one["occurrence"], rank=one["rank"])
            for row, (_day, slot) in zip(slots, slots_said, strict=True)
            for one in slot["candidates"]
        ),
        *OutlineLine.objects.bulk_create(
            OutlineLine(day=row, **{name: line[name] for name in outline_documents.LINE})
            for row, (_row, day) in zip(days, said, strict=True)
            for line in day["lines"]
        ),
    )
