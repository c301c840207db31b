"""Sessions that the client did not come to: done next, with everything behind them moving along, or left as missed.

A missed session changes no load; what became of it is a matter of days only. Both ways are offered, with the end that
the block gets, whatever the client's usual way is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from django.db import transaction

from clients.clock import today_for
from clients.cycles import NO_ROUND
from clients.models import Block, Client, TrainingSession
from clients.services import logs
from clients.services.sheets import reissue_all_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.calendar import NEXT_IN_LINE, WEEK_DAYS, Dated, move_missed

NAMED = 6


@dataclass(frozen=True, slots=True)
class Behind:
    """Sessions whose day is over without a log, and where everything would stand if they were done next."""

    block: Block
    sessions: Sequence[TrainingSession]
    moved: Sequence[tuple[TrainingSession, date]]  # those whose date would change
    end_before: date
    end_after: date
    end_left: date | None  # the last session's day where they are left as missed

    @property
    def named(self) -> Sequence[TrainingSession]:
        """Those that a page names; ``unnamed`` is how many more there are."""
        return self.sessions[:NAMED]

    @property
    def unnamed(self) -> int:
        return max(0, len(self.sessions) - NAMED)

    @property
    def days_later(self) -> int:
        return (self.end_after - self.end_before).days


class Otherwise(Exception):
    """The sessions would not end where the coach was shown that they would: something changed in between."""


def behind(client: Client) -> Behind | None:
    """Two queries. None where nothing is behind: no block, no dates, or every session is accounted for."""
    block = client.blocks.active().first()
    if block is None:
        return None
    rows = list(block.sessions.filter(planned_on__isnull=False).order_by("planned_on", "cycle", "position"))
    today = today_for(client)
    open_rows = [row for row in rows if row.state == TrainingSession.State.PLANNED]
    late = [row for row in open_rows if row.planned_on is not None and row.planned_on < today]
    if not late:
        return None
    by_key = {str(row.pk): row for row in open_rows}
    plan = [
        Dated(str(row.pk), row.planned_on, row.cycle, row.position + 1, 0)
        for row in open_rows
        if row.planned_on is not None
    ]
    found = move_missed(
        plan,
        {row.planned_on for row in late if row.planned_on is not None},
        NEXT_IN_LINE,
        block.cycle_days,
        behind={row.planned_on for row in rows if row not in open_rows and row.planned_on is not None},
        not_before=today,
    )
    moved = [(by_key[one.key], one.day) for one in found.plan if by_key[one.key].planned_on != one.day]
    left = [row.planned_on for row in rows if row not in late and row.state != TrainingSession.State.DROPPED]
    end_left = max((day for day in left if day is not None), default=None)
    return Behind(block, late, moved, found.end_before, found.end_after, end_left)


def do_next(client: Client, coach: Coach, end: date) -> tuple[int, JournalEntry | None]:
    """Puts what was missed on the next training days and moves the rest along; how many sessions were behind.

    The block is as long as its last session needs. Sheets that are out say the old dates, so they are superseded. That
    the days were missed is kept, and counts as attendance.
    Raises Otherwise when the last session would not be on ``end``, which was on screen.
    """
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.act(client.practice, coach, "sessions.next", about=about) as entry:
        found = behind(client)
        if found is None or found.end_after != end:
            raise Otherwise
        entry.params["count"] = len(found.sessions)
        block = found.block
        entry.change(block, *(row for row, _day in found.moved))
        block.weeks = max(block.weeks, ceil(((end - block.starts_on).days + 1) / WEEK_DAYS))
        block.save(update_fields=["weeks"])
        days = [(row, row.planned_on) for row in found.sessions]
        for row, day in found.moved:
            row.planned_on = day
        TrainingSession.objects.bulk_update([row for row, _day in found.moved], ["planned_on"])
        entry.made(*_keep_days(found.block, days))
        reissue_all_out([row for row, _day in found.moved], coach, entry)
    logs.reviewed_later(client.pk)
    return len(found.sessions), entry.entry


def _keep_days(block: Block, days: Sequence[tuple[TrainingSession, date | None]]) -> list[TrainingSession]:
    """That these days were missed, though their sessions are done later."""
    kept = block.sessions.filter(cycle=NO_ROUND).count()
    return TrainingSession.objects.bulk_create(
        TrainingSession(
            block=block,
            cycle=NO_ROUND,
            position=kept + number,
            day_key=row.day_key,
            occurrence=row.occurrence,
            name=row.name,
            planned_on=day,
            minutes=row.minutes,
            delivery=row.delivery,
            state=TrainingSession.State.MISSED,
        )
        for number, (row, day) in enumerate(days)
    )


def leave_out(client: Client, coach: Coach, end: date) -> tuple[int, JournalEntry | None]:
    """Marks what is behind as missed; nothing else moves.

    Raises Otherwise when other sessions are behind than were on screen, so that done next they would not end on
    ``end``.
    """
    with transaction.atomic():
        found = behind(client)
        if found is None or found.end_after != end:
            raise Otherwise
        return logs.set_states(client, [row.pk for row in found.sessions], TrainingSession.State.MISSED, coach)
