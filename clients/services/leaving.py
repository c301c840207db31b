"""A client pauses, leaves, comes back or changes coach: one act each, shown before it is done, with one undo.

What was on screen is named by its digest; where something has changed since, nothing is done. Undo puts back status,
block, sessions, sheets and proposals. Links that were closed stay closed (``links.close_links`` says why).
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.db import transaction
from django.db.models import QuerySet
from django.utils.formats import date_format

from clients.clock import today_for
from clients.models import Block, Client, Prescription, Proposal, SheetVersion, TrainingSession
from clients.reads.health import standing_of
from clients.reads.leaving import Before, Return, Way, before, before_return
from clients.services.links import close_links
from clients.services.logs import reviewed_later
from clients.services.people import about
from clients.services.sheets import kept_back, reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry

ACTS = ("client.pause", "client.leave", "client.come_back", "client.coach")
FAR = 1000  # rounds: beyond any block's, so that no two sessions have the same place while they move

Status = Client.Status
State = TrainingSession.State


class Otherwise(Exception):
    """Something changed since the coach was shown what would be done."""


class NotNow(Exception):
    """The client's status does not allow this: who has left can't pause."""


def pause(
    client: Client, coach: Coach, day: date, digest: str, *, until: date | None = None, close: bool = False
) -> JournalEntry | None:
    """Puts the running block on hold from ``day`` on and withdraws its sheets; with ``close`` the links are closed too.

    Nothing on hold is sent, due or missed. Raises Otherwise, and NotNow for whoever is paused or has left already.
    """
    with transaction.atomic():
        _locked(client, Status.ACTIVE, Status.ENQUIRY)
        found = _agreed(before(client, day), digest)
        with journal.act(client.practice, coach, "client.pause", about=about(client), name=client.name) as entry:
            ahead = _among(found.ahead)
            _withdraw(entry, SheetVersion.objects.filter(session__in=[row.pk for row in found.ahead]))
            entry.move(ahead, "state", State.PLANNED.value, State.HELD.value)
            _overtake(entry, client)
            _set(entry, client, status=Status.PAUSED, status_since=day, paused_until=until)
            if close:
                close_links(client)
    return entry.entry


def wait_until(client: Client, coach: Coach, day: date, digest: str, *, until: date | None) -> JournalEntry | None:
    """Another day to be back on, None where it is not known any more. Raises Otherwise, and NotNow for whoever does
    not pause."""
    with transaction.atomic():
        _locked(client, Status.PAUSED)
        _agreed(before(client, day), digest)
        with journal.act(client.practice, coach, "client.wait", about=about(client), name=client.name) as entry:
            _set(entry, client, paused_until=until)
    return entry.entry


def leave(client: Client, coach: Coach, day: date, digest: str, *, keep_until: date) -> JournalEntry | None:
    """Closes the links, withdraws what is out, ends the running block, and says until when the data is kept.

    Raises Otherwise, and NotNow for whoever has left already.
    """
    with transaction.atomic():
        _locked(client, Status.ACTIVE, Status.ENQUIRY, Status.PAUSED)
        found = _agreed(before(client, day), digest)
        with journal.act(client.practice, coach, "client.leave", about=about(client), name=client.name) as entry:
            close_links(client)
            _withdraw(entry, SheetVersion.objects.filter(pk__in=[row.pk for row in found.sheets]))
            ahead = _among(found.ahead)
            entry.move(ahead, "state", State.PLANNED.value, State.DROPPED.value)
            entry.move(ahead, "state", State.HELD.value, State.DROPPED.value)
            _let_go(entry, client)
            if found.block is not None:
                _end(entry, found.block)
            _overtake(entry, client)
            _set(entry, client, status=Status.LEFT, status_since=day, paused_until=None, keep_until=keep_until)
    return entry.entry


def come_back(client: Client, coach: Coach, day: date, digest: str, *, way: str = "") -> JournalEntry | None:
    """Active again from ``day`` on, with a block on hold going on in one of the ways that were shown.

    No sheet goes out before the health questions are answered anew. What was logged stays as it is, and loads that
    were decided before the pause are reckoned again from it, so that the time away counts. Raises Otherwise and
    NotNow.
    """
    with transaction.atomic():
        _locked(client, Status.PAUSED, Status.LEFT)
        found = before_return(client, day)
        _agreed(found, digest)
        chosen = found.way(way)
        if found.ways and chosen is None:
            raise Otherwise
        with journal.act(client.practice, coach, "client.come_back", about=about(client), name=client.name) as entry:
            _let_go(entry, client)
            if chosen is not None and found.block is not None:
                _resume(entry, found, found.block, chosen)
            asked_from = min(day, today_for(client))
            fields = {"paused_until": None, "keep_until": None, "answers_from": asked_from}
            _set(entry, client, status=Status.ACTIVE, status_since=day, **fields)
    reviewed_later(client.pk)
    return entry.entry


def change_coach(client: Client, coach: Coach, to: Coach, digest: str, *, day: date, note: str) -> JournalEntry | None:
    """``to`` is responsible from now on; the hand-over note stands first in the notes for coaches.

    Sheets that are out name the old coach, so they are superseded. Raises Otherwise.
    """
    with transaction.atomic():
        row = Client.objects.select_for_update(of=("self",)).select_related("coach").get(pk=client.pk)
        found = _agreed(before(row, day, str(to.pk)), digest)
        words = {"name": client.name, "coach": to.name}
        with journal.act(client.practice, coach, "client.coach", about=about(client), **words) as entry:
            fields: dict[str, object] = {"coach": to}
            if note.strip():
                said = f"{date_format(day, 'j M Y')}, {row.coach.name} → {to.name}: {note.strip()}"
                fields["note"] = "\n\n".join(filter(None, (said, row.note)))
            _set(entry, client, **fields)
            for version in found.sheets:
                reissue_if_out(TrainingSession.objects.get(pk=version.session_id), coach, entry)
    return entry.entry


def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    """Once a client is back where they were: what is proposed is reckoned again, and what is out fits that.

    Refused where sheets went out since to somebody who would be away again; those of sessions before a pause are out
    all the time.
    """
    if entry.act not in ACTS:
        return
    public_id = entry.about.partition(":")[2]
    client = Client.objects.filter(practice_id=entry.practice_id, public_id=public_id).first()
    if client is None:
        return
    out = SheetVersion.objects.for_client(client).standing().filter(session__state__in=(State.PLANNED, State.HELD))
    if client.status in (Status.PAUSED, Status.LEFT):
        if out.filter(issued_at__gte=entry.at).exists():
            raise journal.CannotUndo("later", {"model": "clients.sheetversion"})
        if client.status == Status.LEFT:
            close_links(client)
    elif kept_back(client, standing_of(client, today_for(client))):
        out.update(state=SheetVersion.State.WITHDRAWN)
    reviewed_later(client.pk)


def _locked(client: Client, *allowed: Status) -> None:
    status = Client.objects.select_for_update().only("status").get(pk=client.pk).status
    if status not in allowed:
        raise NotNow
    client.status = status


def _agreed(found: Before, digest: str) -> Before:
    if found.digest != digest:
        raise Otherwise
    return found


def _among(rows: Sequence[TrainingSession]) -> QuerySet[TrainingSession]:
    return TrainingSession.objects.filter(pk__in=[row.pk for row in rows])


def _withdraw(entry: journal.Recording, versions: QuerySet[SheetVersion]) -> None:
    entry.move(versions, "state", SheetVersion.State.ISSUED.value, SheetVersion.State.WITHDRAWN.value)


def _let_go(entry: journal.Recording, client: Client) -> None:
    """What is on hold in a block that another one has taken the place of since is left out."""
    rows = TrainingSession.objects.for_client(client).filter(block__state=Block.State.ENDED)
    entry.move(rows, "state", State.HELD.value, State.DROPPED.value)


def _overtake(entry: journal.Recording, client: Client) -> None:
    proposals = Proposal.objects.filter(client=client)
    entry.move(proposals, "state", Proposal.State.WAITING.value, Proposal.State.SUPERSEDED.value)


def _end(entry: journal.Recording, block: Block) -> None:
    # By field, so that undo refuses with a reason where another block runs by then.
    entry.move(Block.objects.filter(pk=block.pk), "state", Block.State.ACTIVE.value, Block.State.ENDED.value)


def _set(entry: journal.Recording, client: Client, **fields: object) -> None:
    row = Client.objects.get(pk=client.pk)
    entry.change(row)
    for name, value in fields.items():
        setattr(row, name, value)
        setattr(client, name, value)
    row.save(update_fields=list(fields))


def _resume(entry: journal.Recording, found: Return, block: Block, way: Way) -> None:
    entry.move(_among(way.left_out), "state", State.HELD.value, State.DROPPED.value)
    if way.code == "end":
        _end(entry, block)
        return
    # The last first: undo puts them back the other way round, so that no two have one place in between.
    rows = list(_among(way.resumed).order_by("-cycle", "-position"))
    entry.change(*rows)
    for row in rows:
        row.state = State.PLANNED
    TrainingSession.objects.bulk_update(rows, ["state"])
    if way.moved:
        _shift(entry, block, way, rows)
    resumed = {row.pk for row in rows}
    lines = [line for line in found.decided if line.session_id in resumed]
    entry.change(*lines)
    for line in lines:
        line.reasons = []
    Prescription.objects.bulk_update(lines, ["reasons"])


def _shift(entry: journal.Recording, block: Block, way: Way, rows: Sequence[TrainingSession]) -> None:
    """Days for sessions that have them, rounds for those of a list; the block is as long as its last one needs."""
    entry.change(block)
    block.weeks = way.weeks
    if any(row.planned_on is not None for row in rows):
        for row in rows:
            row.planned_on = row.planned_on + timedelta(days=way.moved) if row.planned_on is not None else None
        TrainingSession.objects.bulk_update(rows, ["planned_on"])
    else:
        first = min(row.cycle for row in rows)
        block.deload_weeks = [week + way.moved if week >= first else week for week in block.deload_weeks]
        others = block.sessions.exclude(pk__in=[row.pk for row in rows]).values_list("cycle", "position")
        for row in rows:
            row.cycle += FAR
        TrainingSession.objects.bulk_update(rows, ["cycle"])
        for row in rows:
            row.cycle += way.moved - FAR
        _make_room(rows, others)
        TrainingSession.objects.bulk_update(rows, ["cycle", "position"])
    block.save(update_fields=["weeks", "deload_weeks"])


def _make_room(rows: Sequence[TrainingSession], others: Iterable[tuple[int, int]]) -> None:
    """Where another one stands, such as one that was left out or trained ahead, a session comes last in its round."""
    taken = set(others)
    in_round: dict[int, list[int]] = {}
    for cycle, position in (*taken, *((row.cycle, row.position) for row in rows)):
        in_round.setdefault(cycle, []).append(position)
    for row in reversed(rows):
        if (row.cycle, row.position) in taken:
            row.position = max(in_round[row.cycle]) + 1
            in_round[row.cycle].append(row.position)
