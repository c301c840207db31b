"""Plain changes that go out by themselves, for clients whose coach has said so; and releasing what a coach pinned.

For everybody else nothing leaves the program before the coach has accepted it.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.db import transaction

from clients.clock import today_for
from clients.cycles import first_day
from clients.models import Client, Prescription, Proposal, SheetVersion, TrainingSession
from clients.reads.blocks import NUMBERS
from clients.reads.decisions import WENT_OUT
from clients.reads.health import standing_of
from clients.services import logs, plainness, proposals, sheets
from clients.services.proposing import refresh
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.terms import Because

SWITCH = "client.plain_goes_out"
RELEASE = "proposal.release"
SHEETS_AHEAD = timedelta(days=7)
DECIDED_BY_HAND = frozenset({"set_by_coach", "declined_repeat"})


class NeverPlain(Exception):
    """Nothing of this client goes out by itself; ``reasons`` say why."""

    def __init__(self, reasons: Sequence[Because]) -> None:
        super().__init__(", ".join(reason.code for reason in reasons))
        self.reasons = tuple(reasons)


class TooLate(Exception):
    """The session is behind: what it asked for stays."""


def review(client: Client) -> int:
    """Reckons the client's proposals again and lets plain ones go out where the coach has said so.

    Returns how many wait for the coach.
    """
    waiting = refresh(client)
    return waiting - let_out(client)


def let_out(client: Client) -> int:
    """Accepts the client's plain proposals in the program's own name, if that is switched on; how many they were.

    A sheet that is out is superseded; a session of the week ahead whose every line is decided gets its sheet. All of
    it is one act. What a coach has taken back waits for the coach from then on.
    """
    switched_on = Client.objects.filter(pk=client.pk, plain_goes_out=True, status=Client.Status.ACTIVE)
    if not switched_on.exists():
        return 0
    with transaction.atomic():
        rows = list(Proposal.objects.filter(client=client, plain=True).waiting().select_related("exercise", "session"))
        if not rows or client.pk in proposals.held_now({client.pk}):
            return 0
        taken_back = _taken_back(client)
        rows = [row for row in rows if row.pk not in taken_back]
        if not rows:
            return 0
        about = f"client:{client.public_id}"
        exercise = rows[0].exercise.name if len(rows) == 1 else ""
        with journal.whole(client.practice, None, WENT_OUT, about=about, exercise=exercise) as entry:
            count, _entry = proposals.decide(rows, None, practice=client.practice)
            sent = _send({row.session_id for row in rows}, client)
            entry.params.update(count=count, sheets=sent)
    return count


def _taken_back(client: Client) -> set[int]:
    """Keys of proposals that went out by themselves and were taken back by a coach."""
    entries = JournalEntry.objects.for_practice(client.practice).filter(
        act=WENT_OUT, about=f"client:{client.public_id}", undone_by__isnull=False
    )
    return {
        row["pk"]
        for rows in entries.values_list("rows", flat=True)
        for row in rows
        if row["model"] == Proposal._meta.label_lower
    }


def _send(keys: Iterable[int], client: Client) -> int:
    """Sheets of those sessions that are due, decided to the last line, and not out yet; how many went out."""
    today = today_for(client)
    found = (
        TrainingSession.objects.with_lines()
        .filter(pk__in=keys, state=TrainingSession.State.PLANNED)
        .exclude(versions__state=SheetVersion.State.ISSUED)
        .exclude(proposals__state=Proposal.State.WAITING)
    )
    due = [row for row in found if is_due(row, today) and not sheets.undecided_lines(row)]
    try:
        return sum(one.fresh for one in sheets.issue_sheets(due, None))
    except (sheets.NotCleared, sheets.NotReady):
        return 0


def is_due(session: TrainingSession, today: date) -> bool:
    """Whether its sheet belongs to the week ahead; without a date its round has to run, or to begin, by then."""
    if session.planned_on is not None:
        return today <= session.planned_on <= today + SHEETS_AHEAD
    block = session.block
    first, after = (
        first_day(block.starts_on, number, block.cycle_days) for number in (session.cycle, session.cycle + 1)
    )
    return first <= today + SHEETS_AHEAD and today < after


def refusals(client: Client) -> tuple[Because, ...]:
    """Why nothing of this client may go out by itself; empty where it may."""
    today = today_for(client)
    return plainness.never_plain(client, standing_of(client, today), today)


def switch(client: Client, coach: Coach, *, on: bool) -> JournalEntry | None:
    """Lets plain changes of this client go out by themselves, or stops it. Raises NeverPlain.

    What is plain and waits goes out with the next reckoning, which is asked for at once.
    """
    if on and (reasons := refusals(client)):
        raise NeverPlain(reasons)
    with journal.act(client.practice, coach, SWITCH, about=f"client:{client.public_id}", on=on) as entry:
        entry.change(client)
        client.plain_goes_out = on
        client.save(update_fields=["plain_goes_out"])
    if on and entry.entry is not None:
        logs.reviewed_later(client.pk)
    return entry.entry


def may_release(line: Prescription, session: TrainingSession) -> bool:
    """Whether the coach's own numbers hold the line, and its session is still to come."""
    return session.state == TrainingSession.State.PLANNED and bool(NUMBERS & set(line.pinned))


def release(line: Prescription, coach: Coach) -> JournalEntry | None:
    """Takes a coach's own numbers off a line, so that what comes next is reckoned for it, at once.

    The numbers stay until the new proposal is decided. Raises TooLate once the session is behind.
    """
    session = line.session
    client = session.block.client
    if session.state != TrainingSession.State.PLANNED:
        raise TooLate
    exercise = line.exercise.name if line.exercise is not None else ""
    about = f"client:{client.public_id}"
    with transaction.atomic():
        with journal.act(client.practice, coach, RELEASE, about=about, exercise=exercise) as entry:
            entry.change(line)
            line.pinned = [name for name in line.pinned if name not in NUMBERS]
            if any(reason["code"] in DECIDED_BY_HAND for reason in line.reasons):
                line.reasons = []
            line.save(update_fields=["pinned", "reasons"])
        review(client)
    return entry.entry


def follow_undo(entry: JournalEntry, _actor: Coach | None) -> None:
    """A pin that is put back takes its proposal away again."""
    if entry.act != RELEASE:
        return
    keys = [row["pk"] for row in entry.rows if row["model"] == Prescription._meta.label_lower]
    for client in Client.objects.filter(blocks__sessions__prescriptions__in=keys).distinct():
        logs.reviewed_later(client.pk)
