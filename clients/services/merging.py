"""Making one exercise of two: all that hangs on the one hangs on the other from then on, as one act with one undo.

The history is moved and never rewritten: sheets that went out, what was decided and the figures of every set stay as
they are. The merged exercise stays too, hidden, and leads to the other.
"""

from dataclasses import dataclass

from django.db import models, transaction
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from clients.models import (
    Block,
    Client,
    Limit,
    LoggedSet,
    PainReport,
    Prescription,
    Progression,
    Proposal,
    RecentSet,
    Taste,
)
from clients.reads.merging import LIMIT, differences, held_by, refused
from clients.tasks import review_clients
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Exercise, FavouriteExercise, SlotCandidate
from programs.names import MOST_ALIASES, added, called
from programs.services.rows import about

# Rows that say nothing else of an exercise than which one it is: any number of them may name the same.
FREE = (LoggedSet, Prescription, Proposal, RecentSet, PainReport)
# What an exercise may show for which there is one place only.
PICTURES = ("photo", "clip_url", "figure")
MERGE, SPLIT = "exercise.merge", "exercise.split"


class CannotMerge(Exception):
    """Merging would falsify what was logged or planned, or one of the two is no exercise to choose any more."""


@dataclass(frozen=True, slots=True)
class Merged:
    sets: int
    entry: JournalEntry | None


def merge(one: Exercise, other: Exercise, coach: Coach, *, keep_names: bool = True) -> Merged:
    """Merges ``one`` into ``other``. A fixed number of statements, but for one more for every ten thousand rows.

    Where there is place for one row only: a dislike outweighs a like, a slot keeps the better of the two ranks, the
    same limit and the same favourite stand once, and how the
    other progresses outweighs how the one did. What the other has no photo, clip or drawing of is shown by those of
    the one. With ``keep_names`` the names of the one become other names of the
    other, as far as they are free and MOST_ALIASES allows. Raises CannotMerge.
    """
    with journal.act(coach.practice, coach, MERGE, about=about(other), name=one.name, into=other.name) as entry:
        rows = Exercise.objects.for_practice(coach.practice).with_facts().select_for_update()
        found = {row.pk: row for row in rows.filter(pk__in=[one.pk, other.pk])}
        if len(found) != 2 or found[one.pk].merged_into_id or not can_be_chosen(found[other.pk]):
            raise CannotMerge
        one, other = found[one.pk], found[other.pk]
        if refused(differences(one, other, held_by(one))):
            raise CannotMerge
        entry.change(one, other)
        entry.params["clients"] = training_with(one)
        _merge_tastes(entry, one, other)
        _merge_limits(entry, one, other)
        _merge_progressions(entry, one, other)
        _merge_favourites(entry, one, other)
        _merge_candidates(entry, one, other)
        moved = {model: entry.move(model._base_manager.all(), "exercise", one.pk, other.pk) for model in FREE}
        entry.params["sets"] = moved[LoggedSet]
        after = {name: getattr(one, name) for name in pictures_after(one, other)}
        if keep_names:
            after["aliases"] = names_after(one, other)[0]
        for name, value in after.items():
            setattr(other, name, value)
        other.mark_edited(*after.keys() - {"photo"})  # which is never seeded
        other.save(update_fields=[*after, "edited_fields"])
        one.merged_into = other
        one.hidden_at = one.hidden_at or timezone.now()
        one.save(update_fields=["merged_into", "hidden_at"])
    reviewed_later(entry.params["clients"])
    return Merged(moved[LoggedSet], entry.entry)


def can_be_chosen(exercise: Exercise) -> bool:
    """Whether another exercise may be merged into it."""
    return exercise.hidden_at is None and exercise.merged_into_id is None


def names_after(one: Exercise, other: Exercise) -> tuple[list[str], list[str]]:
    """The other names of ``other`` once ``one`` is merged into it, and those of ``one`` that can't be taken over:
    they mean a third exercise, or there are too many. Two queries."""
    taken = called(other.practice, besides=[one.pk, other.pk])
    names = [one.name, *one.aliases, *(text.name for text in one.texts.all() if text.name)]
    free = [name for name in names if not taken.whose(name)]
    wanted = added(other.aliases, free, own=other.name)
    kept = wanted[: max(MOST_ALIASES, len(other.aliases))]
    return kept, [name for name in names if name not in free] + wanted[len(kept) :]


def pictures_after(one: Exercise, other: Exercise) -> list[str]:
    """Which of PICTURES ``other`` lacks and takes over from ``one``."""
    return [name for name in PICTURES if getattr(one, name) and not getattr(other, name)]


def training_with(exercise: Exercise) -> list[int]:
    """Clients with a block in hand whose next proposals may look at this exercise. One query."""
    done = LoggedSet.objects.filter(client=OuterRef("pk"), exercise=exercise)
    asked = Prescription.objects.filter(session__block__client=OuterRef("pk"), exercise=exercise)
    active = Block.objects.active().filter(client=OuterRef("pk"))
    rows = Client.objects.for_practice(exercise.practice).filter(Exists(active), Q(Exists(done)) | Q(Exists(asked)))
    return list(rows.order_by("pk").values_list("pk", flat=True))


def reviewed_later(clients: list[int]) -> None:
    """What waits to be decided is reckoned again, from the history as it is now."""
    if clients:
        transaction.on_commit(lambda: review_clients.enqueue(clients))


def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    if entry.act in (MERGE, SPLIT):
        reviewed_later(list(entry.params.get("clients", ())))


def _merge_tastes(entry: journal.Recording, one: Exercise, other: Exercise) -> None:
    mine = {row.client_id: row for row in Taste.objects.filter(exercise=one)}
    both = list(Taste.objects.filter(exercise=other, client__in=mine))
    turned = [row for row in both if row.likes and not mine[row.client_id].likes]
    entry.change(*turned)
    for row in turned:
        row.likes = False
    Taste.objects.bulk_update(turned, ["likes"])
    _drop(entry, [mine[row.client_id] for row in both])
    entry.move(Taste.objects.all(), "exercise", one.pk, other.pk)


def _merge_limits(entry: journal.Recording, one: Exercise, other: Exercise) -> None:
    there = set(Limit.objects.filter(exercise=other).values_list(*LIMIT))
    mine = Limit.objects.filter(exercise=one)
    _drop(entry, [row for row in mine if (row.client_id, row.side, row.strict, row.since, row.until) in there])
    entry.move(Limit.objects.all(), "exercise", one.pk, other.pk)


def _merge_progressions(entry: journal.Recording, one: Exercise, other: Exercise) -> None:
    there = Progression.objects.filter(exercise=other).values("client")
    _drop(entry, list(Progression.objects.filter(exercise=one, client__in=there)))
    entry.move(Progression.objects.all(), "exercise", one.pk, other.pk)


def _merge_favourites(entry: journal.Recording, one: Exercise, other: Exercise) -> None:
    there = FavouriteExercise.objects.filter(exercise=other).values("coach")
    _drop(entry, list(FavouriteExercise.objects.filter(exercise=one, coach__in=there)))
    entry.move(FavouriteExercise.objects.all(), "exercise", one.pk, other.pk)


def _merge_candidates(entry: journal.Recording, one: Exercise, other: Exercise) -> None:
    mine = {(row.slot_id, row.occurrence): row for row in SlotCandidate.objects.filter(exercise=one)}
    theirs = SlotCandidate.objects.filter(exercise=other, slot__candidates__exercise=one).distinct()
    both = [row for row in theirs if (row.slot_id, row.occurrence) in mine]
    better = [row for row in both if mine[row.slot_id, row.occurrence].rank < row.rank]
    entry.change(*better)
    for row in better:
        row.rank = mine[row.slot_id, row.occurrence].rank
    SlotCandidate.objects.bulk_update(better, ["rank"])
    _drop(entry, [mine[row.slot_id, row.occurrence] for row in both])
    entry.move(SlotCandidate.objects.all(), "exercise", one.pk, other.pk)


def _drop(entry: journal.Recording, rows: list) -> None:
    """Takes rows away for which the other exercise has one already."""
    if rows:
        entry.change(*rows)
        model: type[models.Model] = type(rows[0])
        model._base_manager.filter(pk__in=[row.pk for row in rows]).delete()
