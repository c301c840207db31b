"""Loads and removes the demo: the same rows that real work makes, with a seeded history of twelve weeks."""

from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.demo.history import POUNDS, Rehearsal, true_maximum
from clients.demo.people import CLIENTS, GONE, PLACES, DemoClient, DemoPlace
from clients.models import (
    Bodyweight,
    Clearance,
    Client,
    GroupPriority,
    HealthAnswers,
    Limit,
    Place,
    Proposal,
    RecentSet,
    Station,
    TrainingSession,
)
from clients.models.people import ClientQuerySet
from clients.reads.leaving import KEPT_FOR, before
from clients.reads.racks import PlaceLoads
from clients.receiving import take_pain
from clients.services import leaving, proposals
from clients.services.blocks import assign_block
from clients.services.drafts import start_draft
from clients.services.links import client_link
from clients.services.sheets import issue_sheets
from coachdesk.practice.models import Coach, JournalEntry, Practice
from coachdesk.practice.models.journal import JournalQuerySet
from programs.engine import cautions
from programs.engine.strength import entered_load, load_for
from programs.models import Exercise, Outline, SlotCandidate
from programs.reads import exercise_term
from programs.seeding import seed_practice
from programs.units import Load, columns, load_of

WEEKS_BEFORE = 12
WEEKS = 14
DELOAD_WEEKS = (5, 10)
SEED = 20260302
WEEK_DAYS = 7
RECENT_REPS = 8
RECENT_RIR = 2


def present(practice: Practice) -> bool:
    return Client.objects.for_practice(practice).filter(is_demo=True).exists()


@transaction.atomic
def load_demo(coach: Coach) -> int:
    """Ten clients in the coach's practice, one of them paused and one who has left; returns how many were made.

    None are when they are there already.
    """
    practice = coach.practice
    if present(practice):
        return 0
    if not Outline.objects.for_practice(practice).exclude(seed_key="").exists():
        seed_practice(practice)
    places = {key: _place(practice, place) for key, place in PLACES.items()}
    outlines = {row.seed_key: row for row in Outline.objects.for_practice(practice).current().exclude(seed_key="")}
    people = (*CLIENTS, *GONE)
    for number, person in enumerate(people):
        client = _client(coach, person, places[person.place])
        _health(client, person, coach)
        _train(client, person, coach, outlines[person.outline], Random(SEED + number))
    # Nobody did any of this: there is nothing to take back, and one click removes it all.
    _entries(Client.objects.for_practice(practice).filter(is_demo=True)).delete()
    return len(people)


@transaction.atomic
def remove_demo(practice: Practice) -> int:
    """Takes every demo row away again, journal and all; real clients are not touched."""
    clients = Client.objects.for_practice(practice).filter(is_demo=True)
    count = clients.count()
    entries = _entries(clients)
    entries.filter(undoes__isnull=False).delete()
    entries.delete()
    clients.delete()
    for place in Place.objects.for_practice(practice).filter(is_demo=True):
        if not place.clients.exists() and not place.blocks.exists() and not place.drafts.exists():
            place.delete()
    return count


def _entries(clients: ClientQuerySet) -> JournalQuerySet:
    """What the journal holds about these clients and their drafts."""
    abouts = [f"client:{public_id}" for public_id in clients.values_list("public_id", flat=True)]
    abouts += [f"draft:{public_id}" for public_id in clients.values_list("drafts__public_id", flat=True) if public_id]
    return JournalEntry.objects.filter(about__in=abouts)


def _place(practice: Practice, wanted: DemoPlace) -> Place:
    taken = set(Place.objects.for_practice(practice).values_list("name", flat=True))
    name = wanted.name if wanted.name not in taken else f"{wanted.name} (demo)"
    place = Place.objects.create(practice=practice, name=name, unit=wanted.unit, is_demo=True)
    Station.objects.bulk_create(
        [
            *(Station(place=place, kind=kind, unit=wanted.unit, loads=loads) for kind, loads in wanted.loaded.items()),
            *(Station(place=place, kind=kind, unit=wanted.unit) for kind in wanted.has),
        ]
    )
    return place


def _client(coach: Coach, person: DemoClient, place: Place) -> Client:
    today = today_for(Client(time_zone=coach.practice.time_zone))
    client = Client.objects.create(
        practice=coach.practice,
        coach=coach,
        name=person.name,
        date_of_birth=date(*person.born),
        language=coach.practice.language,
        unit=person.unit,
        time_zone=coach.practice.time_zone,
        experience=person.experience,
        training_since=today - timedelta(days=round(365 * person.training_years) + WEEKS_BEFORE * WEEK_DAYS),
        days=list(person.days),
        sessions_per_week=len(person.days) or 3,
        minutes=person.minutes,
        order_mode=person.order_mode,
        place=place,
        goal=person.goal,
        note=person.note,
        by_paper=person.by_paper,
        large_print=person.large_print,
        rir_trusted=person.rates_effort,
        guardian_name=person.guardian,
        guardian_contact="phone kept at the desk" if person.guardian else "",
        guardian_consent_on=today - timedelta(weeks=WEEKS_BEFORE + 1) if person.guardian else None,
        is_demo=True,
    )
    since = today - timedelta(weeks=WEEKS_BEFORE + 1)
    Limit.objects.bulk_create(
        Limit(client=client, joint=joint, strict=strict, since=since) for joint, strict in person.limits
    )
    GroupPriority.objects.bulk_create(
        GroupPriority(client=client, group=group, priority="more") for group in person.more
    )
    return client


def _health(client: Client, person: DemoClient, coach: Coach) -> None:
    today = today_for(client)
    asked = today - timedelta(weeks=WEEKS_BEFORE + 1)
    answers = {code: code in person.yes for code in cautions.SCREENING}
    answers[cautions.ACTIVE] = True
    found = cautions.judge_answers(answers, answered_on=asked, today=asked)
    HealthAnswers.objects.create(
        client=client, answers=answers, result=found.result, answered_on=asked, recorded_by=coach
    )
    if person.cleared_by:
        Clearance.objects.create(
            client=client,
            given_by=person.cleared_by,
            scope=Clearance.Scope.VIGOROUS,
            given_on=asked + timedelta(days=2),
            expires_on=today + timedelta(days=25),
            note="No breath holding; stop at dizziness.",
            recorded_by=coach,
        )


def _train(client: Client, person: DemoClient, coach: Coach, outline: Outline, rng: Random) -> None:
    today = today_for(client)
    monday = today - timedelta(days=today.weekday())
    starts_on = monday - timedelta(weeks=WEEKS_BEFORE)
    _weigh(client, person, starts_on, _gone_on(person, today) or today, rng)
    place = client.place
    if place is None:
        raise ValueError("a demo client trains somewhere")
    if person.experience != "novice":
        _remember(client, person, place, outline, starts_on)
    draft = start_draft(
        client,
        coach,
        outline=outline,
        place=place,
        starts_on=starts_on,
        weeks=WEEKS,
        deload_weeks=DELOAD_WEEKS,
    )
    block = assign_block(draft, draft.revision, coach)
    gone_on = _gone_on(person, today)
    Rehearsal(client, person, block, rng).run(until=gone_on or today)
    for days_ago, part, side, score in person.pain:
        take_pain(
            client,
            key=f"demo-{part}-{days_ago}",
            score=score,
            body_part=part,
            side=side,
            felt_on=today - timedelta(days=days_ago),
        )
    client_link(client)
    if gone_on is not None:
        _go(client, person, coach, gone_on, today)
        return
    proposals.refresh(client)
    if person.sends_sheets:
        _decide_and_send(client, block.sessions.filter(cycle=WEEKS_BEFORE + 1), coach)
        proposals.refresh(client)


def _gone_on(person: DemoClient, today: date) -> date | None:
    weeks = person.paused[0] if person.paused else person.left
    return today - timedelta(weeks=weeks) if weeks else None


def _go(client: Client, person: DemoClient, coach: Coach, day: date, today: date) -> None:
    """As the coach would have done it on that day."""
    found = before(client, day)
    if person.paused:
        leaving.pause(client, coach, day, found.digest, until=today + timedelta(weeks=person.paused[1]))
    else:
        leaving.leave(client, coach, day, found.digest, keep_until=day + KEPT_FOR)


def _remember(client: Client, person: DemoClient, place: Place, outline: Outline, starts_on: date) -> None:
    """What somebody with experience tells at the start: a recent set of every exercise the template names."""
    loads = PlaceLoads(place, client)
    unit = place.unit
    weight = person.weight * (POUNDS if unit == "lb" else 1)
    rows = Exercise.objects.for_practice(client.practice).filter(pk__in=candidates_of(outline)).with_facts()
    sets = []
    for row in rows:
        term = exercise_term(row)
        rack = loads.for_exercise(term).rack
        if term.rep_unit != "reps" or rack.ordinal or not rack.loads:
            continue
        moved = load_for(true_maximum(person, term, unit, weight), RECENT_REPS, RECENT_RIR)
        entered = entered_load(moved, term.load_entry, weight, term.bodyweight_fraction)
        load = rack.at_most(max(0.0, entered or 0.0))
        if load is None:
            continue
        recent = RecentSet(
            client=client,
            exercise=row,
            reps=RECENT_REPS,
            rir=Decimal(RECENT_RIR),
            done_on=starts_on - timedelta(days=4),
            **columns(load_of(load, unit)),
        )
        sets.append(recent)
    RecentSet.objects.bulk_create(sets)


def candidates_of(outline: Outline) -> list[int]:
    rows = SlotCandidate.objects.filter(slot__day__outline=outline)
    return list(rows.values_list("exercise_id", flat=True).distinct())


def _decide_and_send(client: Client, sessions: Any, coach: Coach) -> None:
    """This week is decided and out; next week's proposals wait, so that the desk has something to decide."""
    planned = list(sessions.filter(state=TrainingSession.State.PLANNED))
    waiting = list(Proposal.objects.filter(client=client, session__in=planned).waiting().select_related("client"))
    stopped = [row for row in waiting if row.kind in ("stop", "freeze")]
    proposals.decide([row for row in waiting if row not in stopped], coach, edited={})
    held = {row.session_id for row in stopped}
    issue_sheets([session for session in planned if session.pk not in held], coach)


def _weigh(client: Client, person: DemoClient, start: date, until: date, rng: Random) -> None:
    weight = person.weight
    rows = []
    day = start
    while day <= until:
        weight += rng.gauss(0.02, 0.25)
        value = Decimal(str(round(weight if person.unit == "kg" else weight * 2.2046, 1)))
        grams = Load(value, person.unit).grams or 0
        rows.append(Bodyweight(client=client, measured_on=day, grams=grams, value=value, unit=person.unit))
        day += timedelta(days=WEEK_DAYS)
    Bodyweight.objects.bulk_create(rows)
