"""Everything the Desk shows, at a fixed number of queries however many clients: rows in, facts out.

The engine ranks; nothing here decides what is more pressing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, Max, Q
from django.utils import timezone

from clients.clock import today_for
from clients.models import (
    Block,
    Clearance,
    Client,
    Condition,
    Draft,
    HealthAnswers,
    LoggedSet,
    PainReport,
    Proposal,
    SessionNote,
    SheetVersion,
    TrainingSession,
)
from clients.reads.health import Standing, standing_from
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import attention
from programs.engine.attention import Flag, Matter, Pain, Waiting

BACK, AHEAD = timedelta(days=27), timedelta(days=7)
TURN = timedelta(days=6)  # the weekly turn looks at seven days, today among them
FLAG_DAYS = timedelta(days=14)
ACTS_SHOWN, ACTS_SINCE = 8, timedelta(hours=24)

State = TrainingSession.State
PRESSING = ("stop", "freeze", "return", "stall_check", "deload", "find_load")


@dataclass(frozen=True, slots=True)
class Near:
    """A session close to today, without its lines."""

    pk: int
    public_id: Any
    client_id: int
    name: str
    planned_on: date | None
    start: time | None
    state: str
    trained_on: date | None
    week: int
    deload: bool
    sent: bool

    @property
    def open(self) -> bool:
        return self.state == State.PLANNED


@dataclass(frozen=True, slots=True)
class Open:
    """A proposal that waits, without its contents: those are read for what is shown."""

    pk: int
    session_id: int
    kind: str
    plain: bool
    made_on: date

    @property
    def order(self) -> tuple[bool, int, int]:
        """What pain or absence brought first, then as they were made."""
        return self.plain, PRESSING.index(self.kind) if self.kind in PRESSING else len(PRESSING), self.pk


@dataclass(slots=True)
class Person:
    """A client with all that may need the coach."""

    client: Client
    today: date
    standing: Standing
    sessions: list[Near] = field(default_factory=list)
    proposals: list[Open] = field(default_factory=list)
    pains: list[PainReport] = field(default_factory=list)
    earlier_pains: list[PainReport] = field(default_factory=list)
    notes: list[SessionNote] = field(default_factory=list)
    asked: list[LoggedSet] = field(default_factory=list)
    block: Block | None = None
    next_ready: bool = False
    last_session: date | None = None

    @property
    def key(self) -> str:
        """The engine's key: ties are broken by name."""
        return f"{self.client.name}\n{self.client.pk}"

    def day_of(self, near: Near) -> date | None:
        """The session's date; without one its week's first day, or today while that week runs."""
        if near.planned_on is not None or self.block is None:
            return near.planned_on
        first = self.block.starts_on + timedelta(weeks=near.week - 1)
        return self.today if first <= self.today < first + timedelta(weeks=1) else first

    @property
    def overdue(self) -> list[Near]:
        """Planned for a day, or a week, that is over."""
        return [one for one in self.sessions if one.open and self._over(one)]

    def _over(self, near: Near) -> bool:
        day = self.day_of(near)
        return day is not None and day < self.today and (self.today - day) <= BACK

    @property
    def due(self) -> list[Near]:
        """Sessions of the week ahead: a sheet belongs to each."""
        until = self.today + AHEAD
        return [
            one
            for one in self.sessions
            if one.open and (day := self.day_of(one)) is not None and self.today <= day <= until
        ]

    @property
    def unsent(self) -> list[Near]:
        return [one for one in self.due if not one.sent]

    @property
    def block_ends(self) -> date | None:
        return self.block.starts_on + timedelta(weeks=self.block.weeks, days=-1) if self.block else None

    def attended(self) -> tuple[int, int]:
        """Sessions done and due in the last four weeks."""
        first = self.today - BACK
        window = [one for one in self.sessions if one.planned_on and first <= one.planned_on <= self.today]
        done = sum(one.state == State.TRAINED for one in window)
        missed = sum(
            one.state == State.MISSED or (one.open and one.planned_on is not None and one.planned_on < self.today)
            for one in window
        )
        return done, done + missed


@dataclass(frozen=True, slots=True)
class Turn:
    """The weekly turn: (done, of) each."""

    read: tuple[int, int]
    decided: tuple[int, int]
    sent: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Desk:
    people: Mapping[str, Person]
    matters: tuple[Matter, ...]
    room: tuple[tuple[Person, Near], ...]
    sets_today: Mapping[int, int]
    turn: Turn
    acts: tuple[JournalEntry, ...]
    any_client: bool

    @property
    def in_order(self) -> list[Person]:
        pressing = {matter.client for matter in self.matters}
        return [person for key, person in self.people.items() if key not in pressing]

    @property
    def plain_count(self) -> int:
        return sum(row.plain for person in self.people.values() for row in person.proposals)

    @property
    def proposal_count(self) -> int:
        return sum(len(person.proposals) for person in self.people.values())


def desk_of(coach: Coach) -> Desk:
    """The practice's desk: a fixed number of queries, however many clients and logs."""
    practice = coach.practice
    clients = list(
        Client.objects.for_practice(practice)
        .filter(status=Client.Status.ACTIVE, intake_step=0)
    )
    people = _people(clients)
    ids = list(people)
    today = timezone.localdate()
    _give_sessions(people, ids, today)
    _give_blocks(people, ids)
    _give_proposals(people, ids)
    _give_pain(people, ids, today)
    asked = LoggedSet.objects.filter(client__in=ids, state=LoggedSet.State.ASKED)
    _give(people, "asked", asked.select_related("exercise", "session", "original").order_by("performed_on", "order"))
    for note in _flagged(ids, today):
        people[note.session.block.client_id].notes.append(note)
    by_key = {person.key: person for person in people.values()}
    matters = attention.ranked([_standing(person) for person in people.values()], today)
    room = _room(people.values())
    sets_today = dict(
        LoggedSet.objects.filter(session__in=[near.pk for _person, near in room])
        .exclude(state=LoggedSet.State.TAKEN_BACK)
        .order_by()
        .values_list("session")
        .annotate(Count("pk"))
    )
    return Desk(
        people=by_key,
        matters=matters,
        room=room,
        sets_today=sets_today,
        turn=_turn(people.values(), ids, today),
        acts=_acts(coach),
        any_client=bool(clients) or Client.objects.for_practice(practice).exists(),
    )


def _people(clients: Sequence[Client]) -> dict[int, Person]:
    """Each with what follows from their health answers: three queries."""
    ids = [client.pk for client in clients]
    answers: dict[int, HealthAnswers] = {}
    for row in HealthAnswers.objects.filter(client__in=ids).order_by("answered_on", "pk").defer("details"):
        answers[row.client_id] = row  # the newest stays
    conditions: dict[int, list[Condition]] = {}
    for condition in Condition.objects.filter(client__in=ids).defer("details"):
        conditions.setdefault(condition.client_id, []).append(condition)
    clearances: dict[int, list[Clearance]] = {}
    for clearance in Clearance.objects.filter(client__in=ids).order_by("-given_on", "-pk").defer("note"):
        clearances.setdefault(clearance.client_id, []).append(clearance)
    people = {}
    for client in clients:
        today = today_for(client)
        given = (row for row in clearances.get(client.pk, ()) if row.given_on <= today <= row.expires_on)
        known = [row.code for row in conditions.get(client.pk, ()) if row.holds_on(today)]
        standing = standing_from(client, today, answers.get(client.pk), known, next(given, None))
        people[client.pk] = Person(client, today, standing)
    return people


def _give(people: Mapping[int, Person], name: str, rows: Iterable[Any]) -> None:
    for row in rows:
        getattr(people[row.client_id], name).append(row)


def _give_proposals(people: Mapping[int, Person], ids: Sequence[int]) -> None:
    rows = Proposal.objects.waiting().filter(client__in=ids).order_by("pk")
    for client_id, pk, session_id, kind, plain, made_at in rows.values_list(
        "client_id", "pk", "session_id", "kind", "plain", "made_at"
    ):
        people[client_id].proposals.append(Open(pk, session_id, kind, plain, made_at.date()))
    for person in people.values():
        person.proposals.sort(key=lambda one: one.order)


def shown_proposals(keys: Iterable[int]) -> dict[int, Proposal]:
    """The contents of those that are shown: one query, also for none."""
    rows = Proposal.objects.filter(pk__in=[*keys, 0]).select_related("exercise", "session")
    return {row.pk: row for row in rows}


def _give_sessions(people: Mapping[int, Person], ids: Sequence[int], today: date) -> None:
    """Sessions near today and whether a sheet of theirs is out: two queries, no rows made into models."""
    # A day more on both sides: the client's day may not be the practice's.
    span = (today - BACK - timedelta(days=1), today + AHEAD + timedelta(days=1))
    active = Q(block__state=Block.State.ACTIVE)
    rows = (
        TrainingSession.objects.filter(block__client__in=ids)
        .filter(active | Q(state=State.TRAINED))
        .filter(
            Q(planned_on__range=span) | Q(trained_on__range=span) | active & Q(planned_on=None, state=State.PLANNED)
        )
        .order_by("planned_on", "start_time", "position")
        .values_list(
            "pk",
            "public_id",
            "block__client_id",
            "name",
            "planned_on",
            "start_time",
            "state",
            "trained_on",
            "cycle",
            "deload",
        )
    )
    out = set(
        SheetVersion.objects.standing()
        .filter(session__block__client__in=ids, session__state=State.PLANNED)
        .filter(Q(session__planned_on__range=(today - timedelta(days=1), span[1])) | Q(session__planned_on=None))
        .values_list("session_id", flat=True)
    )
    for row in rows:
        people[row[2]].sessions.append(Near(*row, sent=row[0] in out))
    trained = TrainingSession.objects.filter(block__client__in=ids, trained_on__isnull=False).order_by()
    for client_id, last in trained.values_list("block__client").annotate(Max("trained_on")):
        people[client_id].last_session = last


def _give_blocks(people: Mapping[int, Person], ids: Sequence[int]) -> None:
    """Blocks that run, and whether the next one is being composed."""
    for block in Block.objects.active().filter(client__in=ids).defer("document"):
        people[block.client_id].block = block
    started = Draft.objects.filter(client__in=ids, state=Draft.State.OPEN).values_list("client_id", "starts_on")
    for client_id, starts_on in started:
        ends = people[client_id].block_ends
        people[client_id].next_ready |= ends is None or starts_on >= ends - timedelta(days=BACK.days)


def _give_pain(people: Mapping[int, Person], ids: Sequence[int], today: date) -> None:
    """Open reports, and those of the last weeks beside them."""
    recent = Q(felt_on__gt=today - BACK)
    reports = PainReport.objects.filter(recent | Q(state=PainReport.State.OPEN), client__in=ids)
    for report in reports.select_related("exercise", "session").order_by("felt_on", "pk"):
        person = people[report.client_id]
        person.earlier_pains.append(report)
        if report.state == PainReport.State.OPEN:
            person.pains.append(report)


def _flagged(ids: Sequence[int], today: date) -> list[SessionNote]:
    """Notes of the last weeks with words that must be seen and that nobody has marked as seen."""
    rows = (
        SessionNote.objects.filter(session__block__client__in=ids)
        .exclude(flags=[])
        .filter(Q(session__trained_on__gt=today - FLAG_DAYS) | Q(session__planned_on__gt=today - FLAG_DAYS))
        .select_related("session__block")
    )
    return [row for row in rows if any(not flag.get("seen") for flag in row.flags)]


def _standing(person: Person) -> attention.Standing:
    return attention.Standing(
        client=person.key,
        pains=[Pain(row.felt_on, row.score, row.action, row.body_part, row.side) for row in person.pains],
        flags=[
            Flag(note.session.trained_on or note.session.planned_on or person.today, flag["code"], flag["urgency"])
            for note in person.notes
            for flag in note.flags
            if not flag.get("seen") and not flag.get("denied")
        ],
        proposals=[Waiting(row.made_on, row.plain) for row in person.proposals],
        unsent=[day for one in person.unsent if (day := person.day_of(one)) is not None],
        doubts=[row.performed_on for row in person.asked],
        missed=[day for one in person.overdue if (day := person.day_of(one)) is not None],
        last_session=person.last_session if person.due or person.overdue else None,
        block_ends=person.block_ends,
        next_ready=person.next_ready,
        cleared=person.standing.cleared,
        cleared_until=person.standing.expires_on,
    )


def _room(people: Iterable[Person]) -> tuple[tuple[Person, Near], ...]:
    """Who trains today, by the time of day."""
    today = [
        (person, near)
        for person in people
        for near in person.sessions
        if person.today in (near.planned_on, near.trained_on) and near.state in (State.PLANNED, State.TRAINED)
    ]
    return tuple(
        sorted(today, key=lambda pair: (pair[1].start is None, pair[1].start or time.min, pair[0].client.name))
    )


def _turn(people: Iterable[Person], ids: Sequence[int], today: date) -> Turn:
    """How far the week's turn has come: logs read, decisions taken, sheets sent for the week ahead."""
    since = today - TURN
    came = read = due = sent = 0
    waiting = 0
    for person in people:
        doubtful = {row.session_id for row in person.asked}
        back = [one for one in person.sessions if one.trained_on is not None and one.trained_on >= since]
        came += len(back)
        read += sum(one.pk not in doubtful for one in back)
        due += len(person.due)
        sent += sum(one.sent for one in person.due)
        waiting += len(person.proposals)
    start = timezone.make_aware(datetime.combine(since, time.min))
    decided = Proposal.objects.filter(client__in=ids, decided_at__gte=start).count()
    return Turn((read, came), (decided, decided + waiting), (sent, due))


def _acts(coach: Coach) -> tuple[JournalEntry, ...]:
    """The coach's own acts of the last day that can be taken back, newest first."""
    rows = JournalEntry.objects.for_practice(coach.practice).undoable().filter(actor=coach)
    return tuple(rows.filter(at__gte=timezone.now() - ACTS_SINCE).defer("rows").order_by("-pk")[:ACTS_SHOWN])
