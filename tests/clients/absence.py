"""A client who pauses, leaves or comes back, as the tests of it need it."""

from datetime import timedelta

from django.urls import reverse

from clients.models import TrainingSession
from clients.reads import leaving as reads
from clients.services import blocks, leaving
from programs.units import load_of
from tests.clients.weeks import SmallWeek, draft_for, small_week
from tests.factories import HealthAnswersFactory, LoggedSetFactory

State = TrainingSession.State


def page_of(name, client):
    return reverse(f"client-{name}", args=[client.public_id])


def fresh(row):
    return type(row).objects.get(pk=row.pk)


def state_of(*rows):
    return [fresh(row).state for row in rows]


def act(name, client, coach, day, **more):
    """The act as its page would do it: what stands before it is agreed to."""
    found = reads.before_return(client, day) if name == "come_back" else reads.before(client, day)
    return getattr(leaving, name)(client, coach, day, found.digest, **more)


def paused_block(ben, ana, today, *, weeks_ago=5, order_mode="fixed"):
    """A block of four weeks begun so long ago; its first week was trained, then the client paused."""
    ben.order_mode = order_mode
    ben.save()
    start = today - timedelta(weeks=weeks_ago)
    week = small_week(ben)
    HealthAnswersFactory(client=ben, answered_on=start)
    draft, _week = draft_for(ben, ana, week, starts_on=start, weeks=4, deload_weeks=[4])
    block = blocks.assign_block(draft, draft.revision, ana)
    for session in block.sessions.filter(cycle=1):
        day = session.planned_on or start
        session.state, session.trained_on = State.TRAINED, day
        session.save()
        for line in session.prescriptions.all():
            for number in range(1, 4):
                LoggedSetFactory(
                    client=ben,
                    session=session,
                    exercise=line.exercise,
                    slot_key=line.slot_key,
                    occurrence=session.occurrence,
                    place=block.place,
                    line=line.position + 1,
                    number=number,
                    load=load_of(40, "kg"),
                    performed_on=day,
                )
    act("pause", ben, ana, start + timedelta(weeks=1))
    return block


def week_again(ben):
    block = ben.blocks.first()
    return SmallWeek(block.outline, block.place, {})
