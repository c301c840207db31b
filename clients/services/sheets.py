"""Handing out sheets: a version is a snapshot; a later one supersedes it, and nothing handed out ever changes."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, Prescription, SheetVersion, TrainingSession
from clients.reads.health import Standing, standing_of
from clients.reads.illness import keeps_from_training
from clients.reads.racks import PlaceLoads
from clients.reads.swaps import swaps_for
from clients.sheets import document
from clients.tasks import render_pdfs
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry, Practice
from programs.engine import terms
from programs.engine.terms import Because
from programs.reads import library_of


class NotCleared(Exception):
    """A client who is not cleared gets no sheet; ``holds`` say what is missing."""

    def __init__(self, holds: Sequence[Because]) -> None:
        super().__init__(", ".join(hold.code for hold in holds))
        self.holds = tuple(holds)


class NotReady(Exception):
    """A line's load has not been decided; ``lines`` are those (prescriptions with their session and exercise)."""

    def __init__(self, lines: Sequence[Prescription]) -> None:
        super().__init__(", ".join(str(line) for line in lines))
        self.lines = tuple(lines)


@dataclass(frozen=True, slots=True)
class Issued:
    """``fresh`` is False when the session's standing sheet already says exactly this."""

    version: SheetVersion
    fresh: bool


def issue_sheet(session: TrainingSession, coach: Coach | None) -> Issued:
    """Issues a session's sheet as it stands now. Raises NotCleared or NotReady; never rewrites a version."""
    return issue_sheets([session], coach)[0]


def issue_week(block: Block, cycle: int, coach: Coach | None) -> list[Issued]:
    """Issues all untrained sessions of a cycle, or none of them. Raises NotCleared or NotReady."""
    sessions = block.sessions.filter(cycle=cycle, state=TrainingSession.State.PLANNED)
    return issue_sheets(sessions, coach)


@transaction.atomic
def issue_sheets(sessions: Iterable[TrainingSession], coach: Coach | None) -> list[Issued]:
    """Issues several sessions of one client, or none of them: one act, one undo, one PDF job.

    Raises NotCleared, and NotReady when a load has not been decided.
    """
    rows = _rows(sessions)
    if not rows:
        return []
    client = rows[0].block.client
    standing = standing_of(client, today_for(client))
    if holds := kept_back(client, standing):
        raise NotCleared(holds)
    undecided = [line for row in rows for line in undecided_lines(row)]
    if undecided:
        raise NotReady(undecided)
    about = f"client:{client.public_id}"
    with journal.act(client.practice, coach, "sheet.issue", about=about, count=len(rows)) as entry:
        library = library_of(client.practice)
        issued = [_issue(row, client, standing, coach, entry, library) for row in rows]
    _render(issued)
    return issued


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of several clients' sheets: those out now, who is not cleared, and lines that nobody decided."""

    issued: tuple[Issued, ...]
    not_cleared: tuple[Client, ...]
    not_ready: tuple[Prescription, ...]
    entry: JournalEntry | None

    @property
    def fresh(self) -> int:
        return sum(one.fresh for one in self.issued)


@transaction.atomic
def issue_ready(practice: Practice, sessions: Iterable[TrainingSession], coach: Coach) -> Sent:
    """Issues what can go out, whoever's it is, as one act; what can't is named, and nothing of it is changed."""
    by_client: dict[int, list[TrainingSession]] = {}
    for row in _rows(sessions):
        by_client.setdefault(row.block.client_id, []).append(row)
    issued: list[Issued] = []
    not_cleared: list[Client] = []
    not_ready: list[Prescription] = []
    about = {f"client:{rows[0].block.client.public_id}" for rows in by_client.values()}
    library = library_of(practice)
    with journal.act(practice, coach, "sheet.issue", about=about.pop() if len(about) == 1 else "") as entry:
        for rows in by_client.values():
            client = rows[0].block.client
            standing = standing_of(client, today_for(client))
            if kept_back(client, standing):
                not_cleared.append(client)
                continue
            for row in rows:
                undecided = undecided_lines(row)
                not_ready.extend(undecided)
                if not undecided:
                    issued.append(_issue(row, client, standing, coach, entry, library))
        entry.params["count"] = sum(one.fresh for one in issued)
    _render(issued)
    return Sent(tuple(issued), tuple(not_cleared), tuple(not_ready), entry.entry)


def kept_back(client: Client, standing: Standing) -> tuple[Because, ...]:
    """Why nothing may go out to this client; empty where it may. One query."""
    away = {Client.Status.PAUSED: "health.client_paused", Client.Status.LEFT: "health.client_left"}
    today = today_for(client)
    code = away.get(Client.Status(client.status))
    # In words that every coach may read: what it waits for stands on the health page.
    waits = any(keeps_from_training(row, today) for row in client.illnesses.all())
    return (*([Because(code)] if code else []), *([Because("health.training_waits")] if waits else []), *standing.holds)


def withdraw_ahead(client: Client) -> int:
    """Takes back what is out for sessions to come; how many. Sheets go out again by the coach's own act."""
    standing = SheetVersion.objects.standing().filter(session__block__client=client)
    return standing.filter(session__state=TrainingSession.State.PLANNED).update(state=SheetVersion.State.WITHDRAWN)


def _rows(sessions: Iterable[TrainingSession]) -> list[TrainingSession]:
    return list(
        TrainingSession.objects.with_lines()
        .filter(pk__in=[session.pk for session in sessions])
        .prefetch_related("prescriptions__exercise__texts", "prescriptions__exercise__regions")
        .prefetch_related("prescriptions__exercise__joints")
        .order_by("cycle", "position")
    )


def undecided_lines(session: TrainingSession) -> list[Prescription]:
    """Lines that ask for a load which nobody has decided: no load, no way to find one, no reason why there is none.

    ``session`` comes from ``with_lines()``; nothing is asked of the database.
    """
    return [line for line in session.prescriptions.all() if is_undecided(line)]


def is_undecided(line: Prescription) -> bool:
    """``line`` comes with its exercise and target sets."""
    if line.exercise is None or line.exercise.load_entry == "none" or line.finds_load or line.reasons:
        return False
    return all(target.load_value is None for target in line.target_sets.all())


def _render(issued: Iterable[Issued]) -> None:
    fresh = [str(one.version.public_id) for one in issued if one.fresh]
    if fresh:
        transaction.on_commit(lambda: render_pdfs.enqueue(fresh))


def _issue(
    session: TrainingSession,
    client: Client,
    standing: Standing,
    coach: Coach | None,
    entry: journal.Recording,
    library: Mapping[str, terms.Exercise] | None = None,
) -> Issued:
    """``library`` is the practice's, for a caller that issues many."""
    body = document.build(
        session,
        standing=standing,
        loads=PlaceLoads(session.place, client, session.planned_on),
        last=last_by_slot(client, session),
        swaps=swaps_for(session, client, library),
        first=not LoggedSet.objects.for_client(client).counting().exists(),
    )
    digest = document.digest_of(body)
    versions = list(session.versions.order_by("-number"))
    present = next((row for row in versions if row.state == SheetVersion.State.ISSUED), None)
    if present is not None and present.digest == digest:
        return Issued(present, fresh=False)
    # Journalled as going out, not as made: undo withdraws a sheet, since it may be on a phone by then.
    version = SheetVersion.objects.create(
        session=session,
        number=versions[0].number + 1 if versions else 1,
        document=body,
        digest=digest,
        state=SheetVersion.State.WITHDRAWN,
        issued_by=coach,
    )
    if present is not None:
        _turn(present, SheetVersion.State.SUPERSEDED, entry)
    _turn(version, SheetVersion.State.ISSUED, entry)
    return Issued(version, fresh=True)


def _turn(version: SheetVersion, state: SheetVersion.State, entry: journal.Recording) -> None:
    entry.change(version)
    version.state = state
    version.save(update_fields=["state"])


def withdraw(version: SheetVersion, coach: Coach) -> None:
    """Takes a sheet back; what was logged from it is still received."""
    client = version.session.block.client
    with journal.act(client.practice, coach, "sheet.withdraw", about=f"client:{client.public_id}") as entry:
        _turn(version, SheetVersion.State.WITHDRAWN, entry)


def reissue_if_out(
    session: TrainingSession, coach: Coach | None, entry: journal.Recording | None = None
) -> Issued | None:
    """After a change to a session: its sheet, if one is out and it is not trained yet, is superseded.

    With ``entry`` it belongs to that act and is undone with it. Whoever is not cleared any more gets no new sheet,
    and the old one, which is wrong by now, is withdrawn.
    """
    present = session.versions.filter(state=SheetVersion.State.ISSUED).first()
    if present is None or session.state != TrainingSession.State.PLANNED:
        return None
    (row,) = _rows([session])
    client = row.block.client
    standing = standing_of(client, today_for(client))
    about = f"client:{client.public_id}"
    with (
        nullcontext(entry)
        if entry is not None
        else journal.act(client.practice, coach, "sheet.issue", about=about, count=1) as recording
    ):
        if kept_back(client, standing):
            _turn(present, SheetVersion.State.WITHDRAWN, recording)
            return None
        issued = _issue(row, client, standing, coach, recording)
    _render([issued])
    return issued


def reissue_all_out(sessions: Iterable[TrainingSession], coach: Coach | None, entry: journal.Recording) -> None:
    """The same for many as parts of one act; those without a sheet cost one query altogether."""
    rows = {row.pk: row for row in sessions}
    out = SheetVersion.objects.filter(session__in=rows, state=SheetVersion.State.ISSUED).order_by("session")
    for pk in list(out.values_list("session", flat=True)):
        reissue_if_out(rows[pk], coach, entry)


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
