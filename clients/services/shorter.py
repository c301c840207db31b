"""A session with less time than planned: the least important sets are cut for it, as one act with one undo.

What is cut is no failure: nobody was asked for it, and what comes next is reckoned from the sets of its own session.
"""

import hashlib
import json
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

from django.db import transaction

from clients.models import Prescription, TargetSet, TrainingSession
from clients.reads.history import target_term
from clients.reads.library import exercise_term
from clients.services.logs import reviewed_later
from clients.services.proposing import overtake
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import terms
from programs.engine.minutes import Prescribed
from programs.engine.progress.terms import WORK_KINDS
from programs.engine.shorter import Ranked, cut_to, kept_sets
from programs.engine.terms import Because
from programs.models import OutlineSlot

USUAL_PRIORITY = 2
MINUTE_S = 60.0


@dataclass(frozen=True, slots=True)
class Cut:
    """A line that gives sets, and how many it had and keeps."""

    line: Prescription
    before: int
    after: int


class Otherwise(Exception):
    """What was shown is not what would be cut, which is ``cuts``: something changed in between."""

    def __init__(self, cuts: Sequence[Cut]) -> None:
        super().__init__()
        self.cuts = cuts


class CannotShorten(Exception):
    """The session is behind, or not even one set fits into so little time."""


def cuts(session: TrainingSession, minutes: int) -> list[Cut]:
    """What would go, line by line; nothing where all of it fits. ``session`` comes with its lines. One query.

    Raises CannotShorten where not even one set fits, or the session is not to come any more.
    """
    if session.state != TrainingSession.State.PLANNED:
        raise CannotShorten
    lines = [line for line in session.prescriptions.all() if line.exercise is not None]
    priorities = _priorities(session)
    ranked = [_ranked(line, priorities) for line in lines]
    free = MINUTE_S * sum(line.minutes for line in session.prescriptions.all() if line.exercise is None)
    kept = kept_sets(ranked, minutes, extra_s=free) if ranked else ()
    if kept is None:
        raise CannotShorten
    found = []
    for line, after in zip(lines, kept, strict=True):
        before = sum(row.kind in WORK_KINDS for row in line.target_sets.all())
        if after < before:
            found.append(Cut(line, before, after))
    return found


def digest_of(gone: Sequence[Cut]) -> str:
    """Names what was on screen: lines, and the sets that each had and keeps."""
    said = [(cut.line.pk, cut.line.exercise_id, cut.before, cut.after) for cut in gone]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def shorten(session: TrainingSession, minutes: int, coach: Coach, digest: str) -> tuple[list[Cut], JournalEntry | None]:
    """Cuts the session to so many minutes, as it was shown; a sheet that is out is superseded.

    What waits for the session was reckoned for other sets, so that it is reckoned anew. Raises CannotShorten, and
    Otherwise when something else would be cut by now.
    """
    with transaction.atomic():
        TrainingSession.objects.select_for_update().only("pk").get(pk=session.pk)
        found = TrainingSession.objects.with_lines().get(pk=session.pk)
        gone = cuts(found, minutes)
        if gone and digest_of(gone) != digest:
            raise Otherwise(gone)
        client = found.block.client
        about = f"client:{client.public_id}"
        with journal.act(
            client.practice, coach, "session.shorten", about=about, session=found.name, minutes=minutes
        ) as entry:
            for cut in gone:
                _cut(cut, minutes, entry)
            if gone:
                entry.change(found)
                found.state_reason = TrainingSession.CUT_FOR_TIME
                found.save(update_fields=["state_reason"])
                overtake([session.pk])
                reissue_if_out(found, coach, entry)
        if gone:
            reviewed_later(client.pk)
    return gone, entry.entry


def _cut(cut: Cut, minutes: int, entry: journal.Recording) -> None:
    """The sets that stay are written anew, as with every change of a line: an undo is refused once they were changed
    again, and can't put some of the sets back among others."""
    rows = list(cut.line.target_sets.all())
    entry.change(*rows)
    kept = [copy(row) for row in rows[: len(cut_to([_term(row) for row in rows], cut.after))]]
    TargetSet.objects.filter(pk__in=[row.pk for row in rows]).delete()
    for row in kept:
        row.pk = None
    entry.made(*TargetSet.objects.bulk_create(kept))
    if not cut.after:
        # Nothing of it is asked for any more, so that there is nothing to propose either.
        entry.change(cut.line)
        why = Because("cut_for_time", {"minutes": minutes})
        cut.line.reasons = [{"code": why.code, "params": dict(why.params)}]
        cut.line.save(update_fields=["reasons"])


def _ranked(line: Prescription, priorities: dict[str, int]) -> Ranked:
    if line.exercise is None:
        raise ValueError("a free line has no sets")
    targets = tuple(_term(row) for row in line.target_sets.all())
    prescribed = Prescribed(exercise_term(line.exercise), targets, line.superset)
    return Ranked(prescribed, priorities.get(line.slot_key, USUAL_PRIORITY))


def _term(row: TargetSet) -> terms.TargetSet:
    return target_term(row, row.load_unit or "kg")


def _priorities(session: TrainingSession) -> dict[str, int]:
    """What the template says of how long each slot is kept when minutes are short."""
    rows = OutlineSlot.objects.filter(day__outline=session.block.outline_id, day__key=session.day_key)
    return dict(rows.values_list("key", "priority"))
