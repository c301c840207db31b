"""Working on a template: its working copy is opened, changed step by step, and saved as the next version.

Every change names the revision that was on screen, is one journal entry and raises the revision; one that changes
nothing leaves both alone. What is composed from is never touched: blocks and clients keep the version they came from.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.db import models, transaction
from django.db.models import F, Max
from django.utils.text import slugify
from django.utils.translation import gettext as _

from coachdesk.practice import journal
from coachdesk.practice.journal import Recording
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.terms import Because
from programs.models import Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.services.outlines import OF_ITS_OWN, copy_week
from programs.services.rows import about, duplicate, made

FULL_BODY_UP_TO = 3  # sessions a week; with more the usual start is to part the body in two (coaching practice)
WEEK = "week"  # among the edited fields: seeding then leaves the template's week to the coach
WORDS = ("name", "summary", "serves")


class StaleOutline(Exception):
    """Somebody changed the working copy since this page was loaded; ``outline`` is how it stands now."""

    def __init__(self, outline: Outline) -> None:
        super().__init__(f"revision {outline.revision}")
        self.outline = outline


class Refused(Exception):
    """A change that the template's own rules forbid; ``reasons`` say which."""

    def __init__(self, *reasons: Because) -> None:
        super().__init__(", ".join(reason.code for reason in reasons))
        self.reasons = reasons


def newest_version(outline: Outline) -> Outline:
    """The version that took the place of this one, or of the one that did, and so on."""
    while outline.replaced_by is not None:
        outline = outline.replaced_by
    return outline


def start_outline(coach: Coach, *, name: str, days: int, serves: Sequence[str]) -> tuple[Outline, JournalEntry | None]:
    """A new template in work, with day types to fill: one for up to three days a week, two in turns for more."""
    named = [("full", _("Full body"))] if days <= FULL_BODY_UP_TO else [("upper", _("Upper")), ("lower", _("Lower"))]
    with journal.act(coach.practice, coach, "outline.start", name=name) as entry:
        outline = Outline.objects.create(
            practice=coach.practice,
            name=name,
            serves=list(serves),
            order=[named[number % len(named)][0] for number in range(days)],
            in_work=True,
        )
        rows = [
            OutlineDay.objects.create(outline=outline, key=key, name=words, position=position)
            for position, (key, words) in enumerate(named)
        ]
        made(entry, [outline, *rows])
    return outline, entry.entry


def open_copy(outline: Outline, coach: Coach) -> Outline:
    """The working copy of a template's newest version: the one that is open, or a new one."""
    outline = newest_version(outline)
    if outline.in_work:
        return outline
    with transaction.atomic():
        held = Outline.objects.select_for_update().for_practice(coach.practice).get(pk=outline.pk)
        present = Outline.objects.filter(draft_of=held).first()
        if present is not None:
            return present
        week = Outline.objects.with_week().get(pk=held.pk)
        with journal.act(coach.practice, coach, "outline.open", about=about(held), name=held.name) as entry:
            own = {**OF_ITS_OWN, "version": held.version + 1, "in_work": True, "draft_of": held}
            copied: Outline = duplicate(week, **own)
            made(entry, [copied, *copy_week(week, copied)])
    return copied


@contextmanager
def editing(
    outline: Outline, revision: int, coach: Coach, act: str, **params: Any
) -> Iterator[tuple[Outline, Recording]]:
    """The newest row of the working copy, held, with the open journal entry.

    Raises StaleOutline when ``revision`` is not what stands, or when the copy is not in work any more.
    """
    with transaction.atomic():
        newest = Outline.objects.select_for_update().for_practice(coach.practice).get(pk=outline.pk)
        if newest.revision != revision or not newest.in_work:
            raise StaleOutline(newest)
        with journal.act(coach.practice, coach, act, about=about(newest), **params) as entry:
            yield newest, entry
        if entry.entry is not None:
            Outline.objects.filter(pk=newest.pk).update(revision=F("revision") + 1)


def lacks(outline: Outline) -> list[Because]:
    """What must still be done before the working copy can be a version; ``outline`` comes from ``with_slots()``."""
    found = []
    if not outline.order:
        found.append(Because("authoring.no_session"))
    if not outline.serves:
        found.append(Because("authoring.serves_nobody"))
    for day in outline.days.all():
        if day.key not in outline.order:
            found.append(Because("authoring.day_unused", {"name": day.name}))
        if not day.slots.all():
            found.append(Because("authoring.day_empty", {"name": day.name}))
    return found


def save_version(outline: Outline, revision: int, coach: Coach) -> tuple[Outline, JournalEntry | None]:
    """Makes the working copy the next version. Refused while something is lacking.

    The version it replaces may have been followed by a seeded one in the meantime; ours then follows that one. What
    the coach changed is marked as edited, so that seeding keeps it.
    """
    with editing(outline, revision, coach, "outline.save", name=outline.name) as (newest, entry):
        missing = lacks(Outline.objects.with_slots().get(pk=newest.pk))
        if missing:
            raise Refused(*missing)
        entry.change(newest)
        before = newest_version(newest.draft_of) if newest.draft_of is not None else None
        if before is not None:
            entry.change(before)
            newest.seed_key, newest.seed_version = before.seed_key, before.seed_version
            newest.version = before.version + 1
            newest.edited_fields = list(before.edited_fields)
            newest.mark_edited(WEEK, *(name for name in WORDS if getattr(newest, name) != getattr(before, name)))
        newest.in_work, newest.draft_of = False, None
        newest.save()
        if before is not None:
            before.replaced_by = newest
            before.save(update_fields=["replaced_by"])
        entry.params["version"] = newest.version
    return newest, entry.entry


def discard(outline: Outline, revision: int, coach: Coach) -> JournalEntry | None:
    """Throws the working copy away, with all that is in it; undo brings it back."""
    with editing(outline, revision, coach, "outline.discard", name=outline.name) as (newest, entry):
        entry.params["revision"] = revision
        remove(entry, Outline.objects.filter(pk=newest.pk))
    return entry.entry


def remove(entry: Recording, rows: models.QuerySet[Any]) -> None:
    """Deletes days, slots, candidates or lines (or a whole template) with what hangs on them.

    The journal is told what hangs on a row before the row itself: undo writes in the opposite order.
    """
    below: dict[type[models.Model], list[tuple[type[models.Model], str]]] = {
        Outline: [(OutlineDay, "outline")],
        OutlineDay: [(OutlineLine, "day"), (OutlineSlot, "day")],
        OutlineSlot: [(SlotCandidate, "slot")],
    }
    present = list(rows)
    keys = [row.pk for row in present]
    for model, name in below.get(rows.model, []):
        remove(entry, model._default_manager.filter(**{f"{name}__in": keys}))
    entry.change(*present)
    rows.model._default_manager.filter(pk__in=keys).delete()


def put_in_order(entry: Recording, rows: Sequence[Any], name: str = "position") -> None:
    """Numbers rows as they stand in the list, from 0."""
    for number, row in enumerate(rows):
        if getattr(row, name) != number:
            entry.change(row)
            setattr(row, name, number)
            row.save(update_fields=[name])


def moved(rows: list[Any], at: int, to: int) -> list[Any]:
    """The list with one of its members at another place; a place beyond an end is that end."""
    left = [row for number, row in enumerate(rows) if number != at]
    left.insert(min(max(to, 0), len(left)), rows[at])
    return left


def free_key(wanted: str, taken: set[str], length: int, fallback: str) -> str:
    """A key made from words that no row of the template has yet."""
    stem = slugify(wanted)[: length - 4] or fallback
    key, number = stem, 2
    while key in taken:
        key, number = f"{stem}-{number}", number + 1
    return key


def next_position(rows: models.QuerySet[Any], name: str = "position") -> int:
    last = rows.aggregate(last=Max(name))["last"]
    return 0 if last is None else last + 1


def steps(outline: Outline) -> tuple[list[int], list[int]]:
    """Journal entries that undo and redo would turn back, the next one last. One query."""
    return journal.open_steps(outline.practice, about(outline), ("outline.save", "outline.discard"))


def turn_back(outline: Outline, coach: Coach, revision: int, *, redo: bool = False) -> bool:
    """Takes the latest change back, or does it again. False when there is none."""
    with transaction.atomic():
        newest = Outline.objects.select_for_update().for_practice(coach.practice).get(pk=outline.pk)
        if newest.revision != revision or not newest.in_work:
            raise StaleOutline(newest)
        entries = steps(newest)[redo]
        if not entries:
            return False
        journal.undo(JournalEntry.objects.get(pk=entries[-1]), coach)
    return True


@journal.follows_undo
def _raise_revision(undone: JournalEntry, _actor: Coach | None) -> None:
    """A working copy that was put back, from wherever, is not what anybody has on screen."""
    kind, _sign, public_id = undone.about.partition(":")
    if kind == Outline._meta.model_name:
        for outline in Outline.objects.for_practice(undone.practice).filter(public_id=public_id):
            # One that was thrown away comes back without a revision: it goes on from the one that it had.
            revision = max(outline.revision, undone.params.get("revision", 0)) + 1
            Outline.objects.filter(pk=outline.pk).update(revision=revision)
