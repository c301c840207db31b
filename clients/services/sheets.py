"""Handing out sheets: a version is a snapshot; a later one supersedes it, and nothing handed out ever changes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, SheetVersion, TrainingSession
from clients.reads.health import Standing, standing_of
from clients.reads.racks import PlaceLoads
from clients.reads.swaps import swaps_for
from clients.sheets import document
from clients.tasks import render_pdfs
from coachdesk.practice import journal
from coachdesk.practice.models import Coach
from programs.engine.terms import Because


class NotCleared(Exception):
    """A client who is not cleared gets no sheet; ``holds`` say what is missing."""

    def __init__(self, holds: Sequence[Because]) -> None:
        super().__init__(", ".join(hold.code for hold in holds))
        self.holds = tuple(holds)


@dataclass(frozen=True, slots=True)
class Issued:
    """``fresh`` is False when the session's standing sheet already says exactly this."""

    version: SheetVersion
    fresh: bool


def issue_sheet(session: TrainingSession, coach: Coach | None) -> Issued:
    """Issues a session's sheet as it stands now. Raises NotCleared; never touches a version handed out before."""
    return issue_sheets([session], coach)[0]


def issue_week(block: Block, cycle: int, coach: Coach | None) -> list[Issued]:
    """Issues all untrained sessions of a cycle."""
    sessions = block.sessions.filter(cycle=cycle, state=TrainingSession.State.PLANNED)
    return issue_sheets(sessions, coach)


@transaction.atomic
def issue_sheets(sessions: Iterable[TrainingSession], coach: Coach | None) -> list[Issued]:
    """Issues several sessions of one client: one act, one undo, one PDF job."""
    rows = list(
        TrainingSession.objects.with_lines()
        .filter(pk__in=[session.pk for session in sessions])
        .prefetch_related("prescriptions__exercise__texts", "prescriptions__exercise__regions")
        .prefetch_related("prescriptions__exercise__joints")
        .order_by("cycle", "position")
    )
    if not rows:
        return []
    client = rows[0].block.client
    standing = standing_of(client, today_for(client))
    if not standing.cleared:
        raise NotCleared(standing.holds)
    issued = []
    act = "sheet.issue"
    with journal.act(client.practice, coach, act, about=f"client:{client.public_id}", count=len(rows)) as entry:
        for row in rows:
            issued.append(_issue(row, client, standing, coach, entry))
    fresh = [str(one.version.public_id) for one in issued if one.fresh]
    if fresh:
        transaction.on_commit(lambda: render_pdfs.enqueue(fresh))
    return issued


def _issue(
    session: TrainingSession, client: Client, standing: Standing, coach: Coach | None, entry: journal.Recording
) -> Issued:
    body = document.build(
        session,
        standing=standing,
        loads=PlaceLoads(session.block.place, client, session.planned_on),
        last=last_by_slot(client, session),
        swaps=swaps_for(session, client),
        first=not LoggedSet.objects.for_client(client).counting().exists(),
    )
    digest = document.digest_of(body)
    versions = list(session.versions.order_by("-number"))
    standing_version = next((row for row in versions if row.state == SheetVersion.State.ISSUED), None)
    if standing_version is not None and standing_version.digest == digest:
        return Issued(standing_version, fresh=False)
    if standing_version is not None:
        entry.change(standing_version)
        standing_version.state = SheetVersion.State.SUPERSEDED
        standing_version.save(update_fields=["state"])
    version = SheetVersion.objects.create(
        session=session,
        number=versions[0].number + 1 if versions else 1,
        document=body,
        digest=digest,
        issued_by=coach,
    )
    entry.made(version)
    return Issued(version, fresh=True)


def withdraw(version: SheetVersion, coach: Coach) -> None:
    """Takes a sheet back; what was logged from it is still received."""
    client = version.session.block.client
    with journal.act(client.practice, coach, "sheet.withdraw", about=f"client:{client.public_id}") as entry:
        entry.change(version)
        version.state = SheetVersion.State.WITHDRAWN
        version.save(update_fields=["state"])


def reissue_if_out(session: TrainingSession, coach: Coach | None) -> Issued | None:
    """After a change to a session: its sheet, if one is out and it is not trained yet, is superseded."""
    out = session.versions.filter(state=SheetVersion.State.ISSUED).exists()
    if not out or session.state != TrainingSession.State.PLANNED:
        return None
    return issue_sheet(session, coach)


def last_by_slot(client: Client, session: TrainingSession) -> dict[str, list[LoggedSet]]:
    """What was last logged in each slot of this session's day and occurrence, for the exercise it has now.

    The second day of a type has a history of its own: "last time" on Upper B is the last Upper B.
    """
    exercises = {row.slot_key: row.exercise_id for row in session.prescriptions.all() if row.exercise_id is not None}
    rows = (
        LoggedSet.objects.for_client(client)
        .counting()
        .filter(slot_key__in=exercises, occurrence=session.occurrence, exercise_id__in=exercises.values())
        .exclude(kind="warm_up")
        .exclude(session=session)
        .order_by("-performed_on", "order", "pk")[:400]
    )
    newest: dict[str, date] = {}
    found: dict[str, list[LoggedSet]] = {}
    for row in rows:
        if exercises.get(row.slot_key) != row.exercise_id:
            continue
        day = newest.setdefault(row.slot_key, row.performed_on)
        if row.performed_on == day:
            found.setdefault(row.slot_key, []).append(row)
    return found


def sheet_state(versions: Sequence[SheetVersion]) -> str:
    """ "none", "issued", "withdrawn" for a session's versions, newest first."""
    newest: Any = next(iter(versions), None)
    return "none" if newest is None else str(newest.state)
