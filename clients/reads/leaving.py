"""What pausing, leaving, coming back and a change of coach would do, row by row: shown first, then done as shown."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import ceil

from django.db.models import Q
from django.utils import timezone

from clients.cycles import WEEK_DAYS, first_day, is_rolling, round_on
from clients.models import (
    Block,
    CalendarFeed,
    Client,
    ClientLink,
    Draft,
    Prescription,
    Proposal,
    SheetLink,
    SheetVersion,
    TrainingSession,
)
from coachdesk.practice.models import Coach, Practice
from programs.engine.steering import MOST_WEEKS, weeks_holding

# How long the data of somebody who has left stays by default; the coach decides it each time (coaching practice).
KEPT_FOR = timedelta(days=3 * 365)

State = TrainingSession.State


@dataclass(frozen=True, slots=True)
class Links:
    """What opens this client's pages or dates from outside."""

    client: Sequence[ClientLink]
    sheets: Sequence[SheetLink]
    feeds: Sequence[CalendarFeed]


@dataclass(frozen=True)
class Before:
    """What stands before the act. ``digest`` names all of it: if it differs when the act is done, nothing is done."""

    client: Client
    day: date
    block: Block | None
    ahead: Sequence[TrainingSession]  # of the running block, to come from ``day`` on or without a date, or on hold
    behind: Sequence[TrainingSession]  # planned for a day before, and nothing has come in
    sheets: Sequence[SheetVersion]  # out, for sessions that are not trained
    links: Links
    proposals: int
    drafts: Sequence[Draft]
    more: tuple[str, ...] = ()

    @cached_property
    def digest(self) -> str:
        keys: list[object] = [str(self.client.status), self.client.coach_id, self.day.isoformat(), self.proposals]
        keys += [self.block.pk if self.block else None, *self.more]
        keys += [(row.pk, str(row.state), row.planned_on) for row in (*self.ahead, *self.behind)]
        keys += [row.pk for row in (*self.sheets, *self.links.client, *self.links.sheets, *self.links.feeds)]
        return hashlib.sha256(repr(keys).encode()).hexdigest()[:16]


def before(client: Client, day: date, *more: str) -> Before:
    """Eight queries. ``more`` are further choices that are part of what is agreed to."""
    block = client.blocks.active().defer("document").first()
    rows = list(block.sessions.order_by("cycle", "position")) if block is not None else []
    open_rows = [row for row in rows if row.state in (State.PLANNED, State.HELD)]
    ahead = [row for row in open_rows if row.state == State.HELD or _last_day(row) >= day]
    sheets = SheetVersion.objects.for_client(client).standing().filter(session__state__in=(State.PLANNED, State.HELD))
    return Before(
        client,
        day,
        block,
        ahead,
        [row for row in open_rows if row not in ahead],
        list(sheets.select_related("session").defer("document").order_by("session__planned_on", "session__pk")),
        links_of(client),
        Proposal.objects.waiting().filter(client=client).count(),
        list(client.drafts.filter(state=Draft.State.OPEN).select_related("outline").defer("document")),
        more,
    )


def _last_day(row: TrainingSession) -> date:
    """The session's day, or the last one of the week or cycle of one without a day."""
    if row.planned_on is not None:
        return row.planned_on
    block = row.block
    return first_day(block.starts_on, row.cycle + 1, block.cycle_days) - timedelta(days=1)


def links_of(client: Client) -> Links:
    """Those that are open now: three queries."""
    open_ones = Q(revoked_at=None, expires_at__gt=timezone.now())
    sheet_links = SheetLink.objects.filter(open_ones, session__block__client=client).select_related("session")
    return Links(
        list(ClientLink.objects.filter(open_ones, client=client)),
        list(sheet_links.order_by("session__planned_on", "pk")),
        list(CalendarFeed.objects.filter(open_ones, client=client)),
    )


# Coming back


@dataclass(frozen=True, slots=True)
class Way:
    """One way for a block that was on hold to go on.

    ``moved`` are days, or rounds where the sessions have no dates. ``ends_on`` is the last session's day, or the last
    day of its round; None where the block ends now.
    """

    code: str  # "on": from where it stopped; "dates": by its old dates; "end": it ends
    resumed: Sequence[TrainingSession]
    left_out: Sequence[TrainingSession]
    ends_on: date | None = None
    moved: int = 0
    weeks: int = 0


@dataclass(frozen=True)
class Return(Before):
    """What stands before a return: ``ways`` for the block on hold, none where no block waits."""

    ways: Sequence[Way] = ()
    decided: Sequence[Prescription] = ()  # loads decided before, to be reckoned again
    pinned: Sequence[Prescription] = ()  # loads the coach fixed, which stay

    def way(self, code: str) -> Way | None:
        return next((way for way in self.ways if way.code == code), None)


def before_return(client: Client, day: date) -> Return:
    """``before``, and one query for the lines of what is on hold."""
    base = before(client, day)
    block = base.block
    held = [row for row in base.ahead if row.state == State.HELD]
    ways = _ways(block, held, day) if block is not None and held else []
    lines = [row for row in _decided_lines(held) if row.reasons or "load" in row.pinned]
    return Return(
        **{name: getattr(base, name) for name in Before.__dataclass_fields__},
        ways=ways,
        decided=[row for row in lines if "load" not in row.pinned],
        pinned=[row for row in lines if "load" in row.pinned],
    )


def _decided_lines(sessions: Iterable[TrainingSession]) -> list[Prescription]:
    rows = Prescription.objects.filter(session__in=[row.pk for row in sessions], finds_load=False)
    return list(rows.exclude(exercise=None).select_related("exercise", "session").order_by("session__cycle", "pk"))


def _ways(block: Block, held: Sequence[TrainingSession], day: date) -> list[Way]:
    ways = []
    days = [row.planned_on for row in held if row.planned_on is not None]
    goes_on = _in_days(block, held, days, day) if days else _in_rounds(block, held, day)
    if goes_on.weeks <= MOST_WEEKS:
        ways.append(goes_on)
    by_dates = [row for row in held if _last_day(row) >= day]
    # Where nothing fell into the pause the two are the same.
    if by_dates and goes_on.moved:
        kept = {row.pk for row in by_dates}
        ends = max(_last_day(row) for row in by_dates)
        ways.append(Way("dates", by_dates, [row for row in held if row.pk not in kept], ends, weeks=block.weeks))
    ways.append(Way("end", [], held))
    return ways


def _in_days(block: Block, held: Sequence[TrainingSession], days: Sequence[date], day: date) -> Way:
    """The sessions keep their weekdays and their distances; a rolling cycle keeps its distances."""
    late = max(0, (day - min(days)).days)
    moved = late if is_rolling(block.cycle_days) else WEEK_DAYS * ceil(late / WEEK_DAYS)
    ends = max(days) + timedelta(days=moved)
    return Way("on", held, [], ends, moved, _weeks(block, ends, max(row.cycle for row in held)))


def _in_rounds(block: Block, held: Sequence[TrainingSession], day: date) -> Way:
    """Sessions of a list go on in the round that runs on ``day``."""
    first = min(row.cycle for row in held)
    running = round_on(block.starts_on, MOST_WEEKS * 4, day, block.cycle_days)
    moved = max(0, running - first)
    last = max(row.cycle for row in held) + moved
    ends = first_day(block.starts_on, last + 1, block.cycle_days) - timedelta(days=1)
    return Way("on", held, [], ends, moved, _weeks(block, ends, last))


def _weeks(block: Block, ends: date, last_round: int) -> int:
    """How long the block has to be for its last session; never shorter than it is."""
    return max(block.weeks, weeks_holding(block.starts_on, ends, last_round, block.cycle_days))


# Who coaches


def other_coaches(client: Client) -> list[Coach]:
    """Coaches of the practice who could take over. One query."""
    rows = Coach.objects.filter(practice=client.practice, is_active=True).exclude(pk=client.coach_id)
    return list(rows.order_by("name", "pk"))


# Whom to think of


@dataclass(frozen=True, slots=True)
class Reminders:
    """Who should be back by now, and who has left and need not be kept any longer."""

    due_back: Sequence[Client]
    kept_too_long: Sequence[Client]


def reminders_of(practice: Practice, today: date) -> Reminders:
    """One query."""
    status = Client.Status
    due_back = Q(status=status.PAUSED, paused_until__lte=today)
    rows = list(
        Client.objects.for_practice(practice)
        .filter(due_back | Q(status=status.LEFT, keep_until__lt=today))
        .only("public_id", "name", "status", "paused_until", "keep_until")
    )
    return Reminders(
        [row for row in rows if row.status == status.PAUSED], [row for row in rows if row.status == status.LEFT]
    )
