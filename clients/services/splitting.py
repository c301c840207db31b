"""Making two exercises of one: a copy under a new name takes a part of the history, as one act with one undo."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db import models
from django.db.models import Exists, OuterRef

from clients.models import Limit, Prescription, Progression, Proposal, Taste
from clients.reads.splitting import Part, lines_in, pain_in, portion_of, recent_in, sets_in
from clients.services.merging import SPLIT, reviewed_later, training_with
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.models import Exercise, Outline, SlotCandidate
from programs.services.outline_work import WEEK
from programs.services.rows import about, duplicate, fresh, made


class CannotSplit(Exception):
    """Nothing is in the part, or the exercise was merged into another: there is nothing to split off."""


@dataclass(frozen=True, slots=True)
class Split:
    exercise: Exercise
    sets: int
    entry: JournalEntry | None


def split(
    one: Exercise,
    name: str,
    part: Part,
    coach: Coach,
    *,
    aliases: Collection[str] = (),
    outlines: Collection[int] = (),
) -> Split:
    """Makes a copy of an exercise under a new name and moves a part of its history there.

    A fixed number of statements, but for one more for every ten thousand rows. ``aliases`` are those of its other
    names that the new one takes along, ``outlines`` the templates that offer the new one in its place. Limits, likes,
    dislikes and how it progresses hold for both from then on; favourites stay. Raises CannotSplit.
    """
    with journal.act(coach.practice, coach, SPLIT, about=about(one), name=one.name, made=name) as entry:
        one = Exercise.objects.for_practice(coach.practice).select_for_update().get(pk=one.pk)
        if one.merged_into_id is not None or portion_of(one, part).nothing:
            raise CannotSplit
        entry.params["clients"] = training_with(one)
        new = _copy(entry, one, name, aliases)
        # Which lines are in the part is told by the sets that are still the one's.
        lines = entry.move(lines_in(one, part), "exercise", one.pk, new.pk)
        sets = entry.move(sets_in(one, part), "exercise", one.pk, new.pk)
        entry.move(recent_in(one, part), "exercise", one.pk, new.pk)
        entry.move(pain_in(one, part), "exercise", one.pk, new.pk)
        if lines:
            taken = Prescription.objects.filter(
                session=OuterRef("session"), slot_key=OuterRef("slot_key"), exercise=new
            )
            entry.move(Proposal.objects.filter(Exists(taken)), "exercise", one.pk, new.pk)
        _offer(entry, one, new, outlines)
        entry.params["sets"] = sets
    reviewed_later(entry.params["clients"])
    return Split(new, sets, entry.entry)


def _copy(entry: journal.Recording, one: Exercise, name: str, aliases: Collection[str]) -> Exercise:
    """The new exercise with all facts and words of the one, and with what its clients like, dislike and spare, and
    how it goes on for them."""
    given = [alias for alias in one.aliases if alias in aliases and alias != name]
    new: Exercise = duplicate(one, name=name, aliases=given)
    rows: list[models.Model] = [new]
    for related in (one.regions.all(), one.joints.all()):
        rows += [duplicate(row, exercise=new) for row in related]
    # Not the name in another language: that one stays with the one.
    rows += [duplicate(text, exercise=new, name="") for text in one.texts.all()]
    rows += Taste.objects.bulk_create(fresh(row, exercise_id=new.pk) for row in Taste.objects.filter(exercise=one))
    rows += Limit.objects.bulk_create(fresh(row, exercise_id=new.pk) for row in Limit.objects.filter(exercise=one))
    steered = Progression.objects.filter(exercise=one)
    rows += Progression.objects.bulk_create(fresh(row, exercise_id=new.pk) for row in steered)
    made(entry, rows)
    left = [alias for alias in one.aliases if alias not in given and alias != name]
    if left != one.aliases:
        entry.change(one)
        one.aliases = left
        one.mark_edited("aliases")
        one.save(update_fields=["aliases", "edited_fields"])
    return new


def _offer(entry: journal.Recording, one: Exercise, new: Exercise, keys: Collection[int]) -> None:
    """Puts the new exercise in the one's place in some templates; seeding leaves those to the coach from then on."""
    outlines = list(Outline.objects.for_practice(one.practice).current().filter(pk__in=keys))
    entry.change(*outlines)
    for outline in outlines:
        outline.mark_edited(WEEK)
    Outline.objects.bulk_update(outlines, ["edited_fields"])
    entry.move(SlotCandidate.objects.filter(slot__day__outline__in=outlines), "exercise", one.pk, new.pk)
