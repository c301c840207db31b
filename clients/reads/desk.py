"""Everything the Desk shows, at a fixed number of queries however many clients: rows in, facts out.

The engine ranks; nothing here decides what is more pressing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Count, Exists, Max, OuterRef, Q
from django.db.models.fields.json import KT
from django.utils import timezone

from clients.clock import today_for
from clients.models import (
    Block,
    Clearance,
    Client,
    Draft,
    HealthAnswers,
    LoggedSet,
    PainReport,
    Proposal,
    SessionNote,
    SheetVersion,
    TrainingSession,
)
from clients.reads.decisions import WENT_OUT
from clients.reads.desk_people import AHEAD, BACK, Asked, Near, Note, Open, Person, Report, Running, State, Today
from clients.reads.health import standing_from
from clients.reads.leaving import reminders_of
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import attention
from programs.engine.attention import Flag, Matter, Pain, Waiting

TURN = timedelta(days=6)  # the weekly turn looks at seven days, today among them
FLAG_DAYS = timedelta(days=14)
LAST_LOOKED_FOR = timedelta(days=200)  # who has not trained for longer is not missed day by day
ACTS_SHOWN, ACTS_SINCE = 8, timedelta(hours=24)

# What a row says of a client, of a proposal, and of a set that is asked about.
NAMED = (
    "public_id",
    "name",
    "time_zone",
    "date_of_birth",
    "training_since",
    "guardian_consent_on",
    "answers_from",
    "order_mode",
    "week_minimum",
)
SHOWN = (
    "public_id",
    "kind",
    "old",
    "new",
    "reasons",
    "exercise__name",
    "exercise__load_entry",
    "exercise__bodyweight_fraction",
    "session__name",
    "session__cycle",
    "session__planned_on",
    "session__block__cycle_days",
)
ASKED = (
    "public_id",
    "client_id",
    "number",
    "load_value",
    "load_unit",
    "load_text",
    "reps",
    "seconds",
    "metres",
    "rir",
    "performed_on",
    "doubts",
    "kind",
    "note",
    "as_planned",
    "stopped_for_pain",
    "exercise__name",
    "exercise__load_entry",
    "exercise__limbs",
    "exercise__pattern",
    "exercise__implement",
    "exercise__bodyweight_fraction",
    "session__name",
    "session__public_id",
)


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
    room: tuple[tuple[Person, Near, Today], ...]
    turn: Turn
    acts: tuple[JournalEntry, ...]
    any_client: bool
    due_back: Sequence[Client] = ()  # paused, and meant to be back by now

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
    active = Client.objects.for_practice(practice).filter(status=Client.Status.ACTIVE, intake_step=0)
    clients = list(active.only(*NAMED))
    people = _people(clients)
    ids = list(people)
    today = timezone.localdate()
    _give_sessions(people, ids, today)
    _give_blocks(people, ids)
    decided = _give_proposals(people, ids, today)
    _give_pain(people, ids, today)
    _give_asked(people, ids)
    _give_notes(people, ids, today)
    by_key = {person.key: person for person in people.values()}
    matters = attention.ranked([_standing(person) for person in people.values()], today)
    return Desk(
        people=by_key,
        matters=matters,
        room=_room(people.values()),
        turn=_turn(people.values(), decided, today),
        acts=_acts(coach),
        any_client=bool(clients) or Client.objects.for_practice(practice).exists(),
        due_back=reminders_of(practice, today).due_back,
    )


def _people(clients: Sequence[Client]) -> dict[int, Person]:
    """Each with what follows from their health answers: two queries."""
    ids = [client.pk for client in clients]
    answers: dict[int, HealthAnswers] = {}
    for row in HealthAnswers.objects.filter(client__in=ids).order_by("answered_on", "pk").defer("details"):
        answers[row.client_id] = row  # the newest stays
    clearances: dict[int, list[Clearance]] = {}
    for clearance in Clearance.objects.filter(client__in=ids).order_by("-given_on", "-pk").defer("note"):
        clearances.setdefault(clearance.client_id, []).append(clearance)
    people = {}
    for client in clients:
        today = today_for(client)
        given = (row for row in clearances.get(client.pk, ()) if row.given_on <= today <= row.expires_on)
        # Conditions bound the effort, which is not the Desk's affair; cleared or not does not hang on them.
        standing = standing_from(client, today, answers.get(client.pk), [], next(given, None))
        people[client.pk] = Person(client, today, standing)
    return people


def _give_asked(people: Mapping[int, Person], ids: Sequence[int]) -> None:
    rows = LoggedSet.objects.filter(client__in=ids, state=LoggedSet.State.ASKED).order_by("performed_on", "order")
    for row in rows.values_list("client_id", "pk", "session_id", "performed_on"):
        people[row[0]].asked.append(Asked(*row))


def _give_proposals(people: Mapping[int, Person], ids: Sequence[int], today: date) -> int:
    """Those that wait; and how many were decided in the last seven days."""
    since = timezone.make_aware(datetime.combine(today - TURN, time.min))
    rows = Proposal.objects.filter(Q(state=Proposal.State.WAITING) | Q(decided_at__gte=since), client__in=ids)
    decided = 0
    waiting = Proposal.State.WAITING.value
    for client_id, state, pk, session_id, kind, plain, made_at, not_plain in rows.order_by("pk").values_list(
        "client_id", "state", "pk", "session_id", "kind", "plain", "made_at", KT("new__not_plain")
    ):
        if state == waiting:
            people[client_id].proposals.append(Open(pk, session_id, kind, plain, made_at, not_plain or "[]"))
        else:
            decided += 1
    for person in people.values():
        person.proposals.sort(key=lambda one: one.order)
    return decided


def shown_proposals(keys: Iterable[int]) -> dict[int, Proposal]:
    """The contents of those that are shown: one query, also for none."""
    rows = Proposal.objects.filter(pk__in=[*keys, 0]).select_related("exercise", "session__block")
    return {row.pk: row for row in rows.only(*SHOWN)}


def shown_doubts(keys: Sequence[int]) -> dict[int, LoggedSet]:
    """The same for sets that are asked about: two queries, none when nothing is."""
    if not keys:
        return {}
    rows = LoggedSet.objects.filter(pk__in=keys).select_related("exercise", "session").prefetch_related("parts")
    return {row.pk: row for row in rows.only(*ASKED)}


def _give_sessions(people: Mapping[int, Person], ids: Sequence[int], today: date) -> None:
    """Sessions near today, whether a sheet of theirs is out, and when each client trained last: plain values."""
    # A day more on both sides: the client's day may not be the practice's.
    span = (today - BACK - timedelta(days=1), today + AHEAD + timedelta(days=1))
    active = Q(block__state=Block.State.ACTIVE)
    rows = (
        TrainingSession.objects.filter(block__client__in=ids)
        .filter(active | Q(state=State.TRAINED))
        .filter(
            Q(planned_on__range=span) | Q(trained_on__range=span) | active & Q(planned_on=None, state=State.PLANNED)
        )
        .annotate(sent=Exists(SheetVersion.objects.standing().filter(session=OuterRef("pk"))))
        .order_by("planned_on", "start_time", "position")
        .values_list(
            "pk",
            "block__client_id",
            "name",
            "planned_on",
            "state",
            "trained_on",
            "cycle",
            "sent",
        )
    )
    for row in rows:
        people[row[1]].sessions.append(Near(*row))
    trained = TrainingSession.objects.filter(block__client__in=ids, trained_on__gte=today - LAST_LOOKED_FOR).order_by()
    for client_id, last in trained.values_list("block__client").annotate(Max("trained_on")):
        people[client_id].last_session = last


def _give_blocks(people: Mapping[int, Person], ids: Sequence[int]) -> None:
    """Blocks that run, and whether the next one is being composed."""
    blocks = Block.objects.active().filter(client__in=ids).order_by()
    for row in blocks.values_list("client_id", "number", "starts_on", "weeks", "cycle_days"):
        people[row[0]].block = Running(*row)
    started = Draft.objects.filter(client__in=ids, state=Draft.State.OPEN).values_list("client_id", "starts_on")
    for client_id, starts_on in started:
        ends = people[client_id].block_ends
        people[client_id].next_ready |= ends is None or starts_on >= ends - timedelta(days=BACK.days)


def _give_pain(people: Mapping[int, Person], ids: Sequence[int], today: date) -> None:
    """Open reports, and those of the last weeks beside them."""
    still = Q(state=PainReport.State.OPEN)
    reports = PainReport.objects.filter(Q(felt_on__gt=today - BACK) | still, client__in=ids).order_by("felt_on", "pk")
    for row in reports.values_list(
        "client_id",
        "body_part",
        "side",
        "score",
        "action",
        "note",
        "felt_on",
        "state",
        "pk",
        "exercise__name",
        "session__name",
    ):
        report = Report(*row)
        people[report.client_id].earlier_pains.append(report)
        if report.state == PainReport.State.OPEN:
            people[report.client_id].pains.append(report)


def _give_notes(people: Mapping[int, Person], ids: Sequence[int], today: date) -> None:
    """Notes of the last weeks with words that must be seen and that nobody has marked as seen."""
    rows = (
        SessionNote.objects.filter(session__block__client__in=ids)
        .exclude(flags=[])
        .filter(Q(session__trained_on__gt=today - FLAG_DAYS) | Q(session__planned_on__gt=today - FLAG_DAYS))
        .values_list(
            "session__block__client_id",
            "public_id",
            "text",
            "flags",
            "session__public_id",
            "session__name",
            "session__planned_on",
            "session__trained_on",
        )
    )
    for row in rows:
        note = Note(*row)
        if any(not flag.get("seen") for flag in note.flags):
            people[note.client_id].notes.append(note)


def _standing(person: Person) -> attention.Standing:
    return attention.Standing(
        client=person.key,
        pains=[Pain(row.felt_on, row.score, row.action, row.body_part, row.side) for row in person.pains],
        flags=[
            Flag(note.day or person.today, flag["code"], flag["urgency"])
            for note in person.notes
            for flag in note.flags
            if not flag.get("seen") and not flag.get("denied")
        ],
        proposals=[Waiting(row.made_at.date(), row.plain) for row in person.proposals],
        unsent=[day for one in person.unsent if (day := person.day_of(one)) is not None],
        doubts=[row.performed_on for row in person.asked],
        missed=[day for one in person.overdue if (day := person.day_of(one)) is not None],
        last_session=person.last_session if person.awaited else None,
        block_ends=person.block_ends,
        next_ready=person.next_ready,
        cleared=person.standing.cleared,
        cleared_until=person.standing.expires_on,
    )


def _room(people: Iterable[Person]) -> tuple[tuple[Person, Near, Today], ...]:
    """Who trains today, by the time of day."""
    near_today = [
        (person, near)
        for person in people
        for near in person.sessions
        if person.today in (near.planned_on, near.trained_on) and near.state in (State.PLANNED, State.TRAINED)
    ]
    kept = Count("logged_sets", filter=~Q(logged_sets__state=LoggedSet.State.TAKEN_BACK))
    rows = (
        TrainingSession.objects.filter(pk__in=[near.pk for _person, near in near_today]).order_by().annotate(kept=kept)
    )
    more = {row[0]: Today(*row[1:]) for row in rows.values_list("pk", "public_id", "start_time", "kept")}
    # A session that went away between the two queries is in no room any more.
    room = [(person, near, more[near.pk]) for person, near in near_today if near.pk in more]
    return tuple(sorted(room, key=lambda one: (one[2].start is None, one[2].start or time.min, one[0].client.name)))


def _turn(people: Iterable[Person], decided: int, today: date) -> Turn:
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
    return Turn((read, came), (decided, decided + waiting), (sent, due))


def _acts(coach: Coach) -> tuple[JournalEntry, ...]:
    """The coach's own acts of the last day that can be taken back, and what went out by itself, newest first."""
    own = Q(actor=coach) | Q(actor=None, act=WENT_OUT)
    rows = JournalEntry.objects.for_practice(coach.practice).undoable().filter(own)
    return tuple(rows.filter(at__gte=timezone.now() - ACTS_SINCE).defer("rows", "moves").order_by("-pk")[:ACTS_SHOWN])
