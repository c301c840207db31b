"""Six weeks of one lift, five of them done: what tests of proposals begin with."""

from datetime import timedelta

from clients.models import Block, Client, Prescription, TrainingSession
from coachdesk.practice.models import Practice
from programs.models import Exercise
from programs.units import load_of
from tests.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    StationFactory,
    TrainingSessionFactory,
)

TODAY = MONDAY + timedelta(days=39)  # a Friday in the block's sixth week


def loft_block(client: Client) -> Block:
    """Eight weeks where dumbbells of 2 to 40 kg lie, for somebody who is cleared."""
    block = BlockFactory(client=client, weeks=8)
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=client, answered_on=MONDAY)
    return block


def dumbbell_press(practice: Practice) -> Exercise:
    return ExerciseFactory(practice=practice, name="Dumbbell press", role="secondary")


def trained(block, press, cycle, reps=(8, 8, 8), load=20, **more) -> Prescription:
    """A session of that week with its sets logged."""
    session = TrainingSessionFactory(
        block=block,
        cycle=cycle,
        position=0,
        planned_on=MONDAY + timedelta(weeks=cycle - 1),
        state=TrainingSession.State.TRAINED,
        trained_on=MONDAY + timedelta(weeks=cycle - 1),
        **more,
    )
    line = PrescriptionFactory(session=session, exercise=press, slot_key="press", position=0, role="secondary")
    for number, count in enumerate(reps, start=1):
        LoggedSetFactory(
            client=block.client,
            exercise=press,
            session=session,
            line=1,
            number=number,
            order=number,
            slot_key="press",
            occurrence=0,
            place=block.place,
            reps=count,
            load=load_of(load, "kg"),
            performed_on=session.trained_on,
        )
    return line


def planned(block, press, cycle, load=None, **more) -> Prescription:
    session = TrainingSessionFactory(
        block=block, cycle=cycle, position=0, planned_on=MONDAY + timedelta(weeks=cycle - 1), **more
    )
    return PrescriptionFactory(
        session=session, exercise=press, slot_key="press", position=0, role="secondary", target_sets__load=load
    )


def five_weeks(block, press) -> Prescription:
    """Five weeks done, the last two of them at the top of the range; week six and seven are not decided."""
    for cycle in range(1, 6):
        trained(block, press, cycle, reps=(8, 8, 8) if cycle > 3 else (7, 7, 6))
    planned(block, press, 7)
    return planned(block, press, 6)
