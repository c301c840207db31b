"""A full practice in little time: many clients of one room with the same small week, five weeks of it behind them.

One week is composed, and every client gets it by the services that a coach's clicks call. What they lifted is plain:
each set one repetition below the top of its range, at the load and effort asked for.
"""

from datetime import date, timedelta
from typing import Any

from clients.clock import today_for
from clients.models import Block, Client, Draft, LoggedSet, TargetSet, TrainingSession
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.services.blocks import assign_block
from clients.services.drafts import start_draft
from coachdesk.practice.models import Coach
from programs.models import Exercise
from programs.units import Load, columns, load_of
from tests.clients.weeks import SmallWeek, small_week
from tests.factories import ClientFactory, HealthAnswersFactory

FIRST = ("Ada", "Bo", "Cato", "Dorit", "Egil", "Fenna", "Goran", "Hilde", "Ivo", "Jarla")
LAST = ("Anker", "Brook", "Cove", "Dune")
WEEKS, WEEKS_BEHIND = 8, 5
WEEK_DAYS = 7
STEPS_UP = 4  # from the lightest load of a rack to the one that everybody works with


def crowd_of(coach: Coach, count: int) -> list[Client]:
    """``count`` demo clients (at most forty) in the order of their making, each cleared and logged: all that comes next
    for them is plain."""
    names = [f"{first} {last}" for last in LAST for first in FIRST][:count]
    clients: list[Client] = []
    shared: Draft | None = None
    week: SmallWeek | None = None
    for number, name in enumerate(names):
        client = ClientFactory(
            practice=coach.practice,
            coach=coach,
            name=name,
            days=[0, 3],
            sessions_per_week=2,
            is_demo=True,
            date_of_birth=date(1985 + number % 12, 1 + number % 12, 3),
        )
        today = today_for(client)
        starts_on = today - timedelta(days=today.weekday() + WEEK_DAYS * WEEKS_BEHIND)
        HealthAnswersFactory(client=client, answered_on=starts_on)
        week = week or small_week(client)
        shared = _draft(client, coach, week, starts_on, shared)
        block = assign_block(shared, shared.revision, coach)
        _train(client, block, today, STEPS_UP + number % 3)
        clients.append(client)
    return clients


def _draft(client: Client, coach: Coach, week: SmallWeek, starts_on: date, like: Draft | None) -> Draft:
    """The same week for everybody: composed once, then taken over."""
    asked: dict[str, Any] = {
        "outline": week.outline,
        "place": week.place,
        "starts_on": starts_on,
        "weeks": WEEKS,
        "deload_weeks": [],
    }
    if like is None:
        return start_draft(client, coach, **asked)
    return Draft.objects.create(client=client, document=like.document, **asked)


def _train(client: Client, block: Block, today: date, steps: int) -> None:
    """Every session before today done and logged from what it asked for, its loads decided."""
    loads = PlaceLoads(block.place, client)
    taken: dict[int, Load | None] = {}
    sets: list[LoggedSet] = []
    behind = block.sessions.filter(planned_on__lt=today).with_lines()
    for session in behind.prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints"):
        order = 0
        for line in session.prescriptions.all():
            if line.exercise is None:
                continue
            if line.exercise_id not in taken:
                taken[line.exercise_id] = _load(line.exercise, loads, steps)
            load = taken[line.exercise_id]
            for target in line.target_sets.all():
                order += 1
                sets.append(_logged(client, session, line, target, order, load))
    asked = TargetSet.objects.filter(prescription__session__in=behind)
    for key, load in taken.items():
        asked.filter(prescription__exercise=key).update(**columns(load))
    LoggedSet.objects.bulk_create(sets)
    for session in behind:
        session.state, session.trained_on = TrainingSession.State.TRAINED, session.planned_on
    TrainingSession.objects.bulk_update(behind, ["state", "trained_on"])


def _load(exercise: Exercise, loads: PlaceLoads, steps: int) -> Load | None:
    rack = loads.for_exercise(exercise_term(exercise)).rack
    return load_of(rack.loads[min(steps, len(rack.loads) - 1)], rack.unit) if rack.loads else None


def _logged(
    client: Client, session: TrainingSession, line: Any, target: TargetSet, order: int, load: Load | None
) -> LoggedSet:
    reps = None if target.reps_low is None else max(target.reps_low, (target.reps_high or target.reps_low) - 1)
    return LoggedSet(
        client=client,
        key=f"crowd-{session.pk}-{line.position}-{target.number}",
        session=session,
        line=line.position + 1,
        number=target.number,
        exercise=line.exercise,
        place=session.block.place,
        slot_key=line.slot_key,
        occurrence=session.occurrence,
        kind=target.kind,
        reps=reps,
        seconds=target.seconds,
        metres=target.metres,
        rir=target.rir,
        order=order,
        performed_on=session.planned_on,
        way="phone",
        **columns(load),
    )
