"""What the client's pages show: the week's list, and one sheet with everything logged from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet

from clients.access import ClientRequest
from clients.models import Block, Client, LoggedSet, SessionNote, SheetVersion, TrainingSession
from clients.phone import rows
from clients.reads.lists import ListedWeek, listed_week
from clients.reads.merged import gather_merged
from clients.receiving.pain import held_back, is_held

STILL_OPEN_DAYS = 14
STALE_BODYWEIGHT = timedelta(days=30)
FUTURE_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Entry:
    """A session in the client's list: its newest sheet (None: none handed out), and how much of it was done."""

    session: TrainingSession
    version: SheetVersion | None
    sets_done: int
    sets_asked: int
    today: bool

    @property
    def trained(self) -> bool:
        return self.session.state == TrainingSession.State.TRAINED

    @property
    def complete(self) -> bool:
        return self.trained and self.sets_done >= self.sets_asked


@dataclass(frozen=True, slots=True)
class Week:
    """What the client opens first: the session to do, the others of its week, what is still open from before."""

    first: Entry | None
    others: tuple[Entry, ...]
    still_open: tuple[Entry, ...]
    block: Block | None
    listed: ListedWeek | None = None  # for clients without days: the week's list, ranked


def week_of(client: Client, today: date) -> Week:
    """Three queries, however long the block; a list without days takes its ranking besides."""
    block = client.blocks.active().first()
    if block is None:
        return Week(None, (), (), None)
    standing = SheetVersion.objects.standing().only("public_id", "session_id", "number", "document", "state")
    sessions = (
        block.sessions.exclude(state__in=(TrainingSession.State.DROPPED, TrainingSession.State.HELD))
        .annotate(
            done=Count(
                "logged_sets",
                filter=Q(logged_sets__line__isnull=False, logged_sets__number__lte=rows.TRIES_FROM)
                & ~Q(logged_sets__state=LoggedSet.State.TAKEN_BACK),
            )
        )
        .order_by("cycle", "position")
    )
    found = list(sessions)
    listed = listed_week(client, today, block)
    cycle = listed.cycle if listed is not None and listed.enough else cycle_in_hand(found, today)
    listed = listed if listed is not None and listed.cycle == cycle else None
    if listed is not None:
        rank = {row.pk: place for place, row in enumerate(listed.sessions)}
        found.sort(key=lambda row: (row.cycle, rank.get(row.pk, row.position)))
    shown = [row for row in found if row.cycle == cycle or row.trained_on == today or _still_open(row, today)]
    versions = {row.session_id: row for row in standing.filter(session__in=[row.pk for row in shown])}
    entries = [_entry(row, versions.get(row.pk), today) for row in shown]
    week = [entry for entry in entries if entry.session.cycle == cycle]
    older = [entry for entry in entries if entry.session.cycle != cycle]
    first = (
        next((entry for entry in entries if entry.today and not entry.complete), None)
        or next((entry for entry in entries if entry.today), None)
        or next((entry for entry in week if _ahead(entry, today)), None)
        or next((entry for entry in week if not entry.trained), None)
    )
    return Week(
        first,
        tuple(entry for entry in week if entry is not first),
        tuple(entry for entry in older if entry is not first and entry.version is not None),
        block,
        listed,
    )


def cycle_in_hand(sessions: Sequence[TrainingSession], today: date) -> int:
    """The week that holds today, else the first with something still to do, else the last."""
    for row in sessions:
        if today in (row.planned_on, row.trained_on):
            return row.cycle
    open_rows = [row for row in sessions if row.state == TrainingSession.State.PLANNED]
    ahead = [row for row in open_rows if row.planned_on is None or row.planned_on >= today]
    if ahead:
        return ahead[0].cycle
    return open_rows[-1].cycle if open_rows else (sessions[-1].cycle if sessions else 1)


def _still_open(row: TrainingSession, today: date) -> bool:
    day = row.planned_on
    return (
        row.state == TrainingSession.State.PLANNED
        and day is not None
        and today - timedelta(days=STILL_OPEN_DAYS) <= day < today
    )


def _ahead(entry: Entry, today: date) -> bool:
    day = entry.session.planned_on
    return not entry.trained and (day is None or day >= today)


def _entry(row: TrainingSession, version: SheetVersion | None, today: date) -> Entry:
    asked = 0
    if version is not None:
        lines = [line for line in version.document["lines"] if not line["free"]]
        asked = sum(1 for line in lines for target in line["sets"] if target["kind"] != "warm_up")
    on = row.trained_on if row.state == TrainingSession.State.TRAINED else row.planned_on
    return Entry(row, version, row.done, asked, today=on == today)  # type: ignore[attr-defined]


class Sheet:
    """One sheet version with what was logged from its session. Each part is asked for once, when it is needed."""

    def __init__(self, version: SheetVersion) -> None:
        self.version = version
        self.session: TrainingSession = version.session
        self.client: Client = version.session.block.client
        self.document: Mapping[str, Any] = version.document
        self.lines: list[dict[str, Any]] = version.document["lines"]

    @cached_property
    def newest(self) -> SheetVersion | None:
        """The standing version that replaced this one; None when this one stands, or none does."""
        if self.version.state == SheetVersion.State.ISSUED:
            return None
        return self.session.versions.standing().first()

    @cached_property
    def logged(self) -> dict[int, list[LoggedSet]]:
        """What was logged, by line; sets taken back are left out."""
        found: dict[int, list[LoggedSet]] = {}
        sets = list(
            LoggedSet.objects.for_client(self.client)
            .filter(session=self.session, line__isnull=False)
            .exclude(state=LoggedSet.State.TAKEN_BACK)
            .select_related("exercise")
            .prefetch_related("parts")
            .order_by("order", "pk")
        )
        gather_merged(sets, self.lines)
        for row in sets:
            found.setdefault(row.line or 0, []).append(row)
        return found

    @cached_property
    def holds(self) -> list[dict[str, Any]]:
        return held_back(self.client)

    @cached_property
    def said(self) -> SessionNote | None:
        return SessionNote.objects.filter(session=self.session).first()

    @property
    def exercise_lines(self) -> list[dict[str, Any]]:
        return [line for line in self.lines if not line["free"]]

    def held(self, line: Mapping[str, Any]) -> bool:
        """Whether a line waits for the coach because of pain that was reported."""
        return not line["free"] and is_held(line["exercise"], self.holds)

    def state(self, line: Mapping[str, Any]) -> rows.LineState:
        return rows.line_state(line, self.logged.get(line["number"], []))

    def wants_bodyweight(self, today: date) -> bool:
        """Whether to ask for bodyweight: it moves a bodyweight exercise of this sheet, and what is known is old."""
        if not any(line["exercise"]["bodyweight_fraction"] for line in self.exercise_lines):
            return False
        last = self.client.bodyweights.values_list("measured_on", flat=True).first()
        return last is None or today - last > STALE_BODYWEIGHT


def versions_for(request: ClientRequest) -> QuerySet[SheetVersion]:
    """The sheets this browser may see: all of the client's, or those of the one session its link is for."""
    versions = SheetVersion.objects.for_client(request.client).select_related(
        "session__block__client__practice", "session__block__client__coach"
    )
    return versions if request.only_session is None else versions.filter(session_id=request.only_session)


def versions_of_sessions(block: Block) -> QuerySet[TrainingSession]:
    """The block's sessions with all their sheets, newest first: two queries."""
    versions = SheetVersion.objects.defer("document").order_by("-number")
    return block.sessions.order_by("cycle", "position").prefetch_related(Prefetch("versions", versions))
