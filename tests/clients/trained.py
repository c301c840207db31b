"""A block with its past for tests of what comes next: sessions, lines, targets and logged sets, week by week."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from clients.models import Block, LoggedSet, Place, Prescription, Proposal, TargetSet, TrainingSession
from clients.services import proposals
from programs.models import Exercise
from programs.units import Load, columns, load_of
from tests.factories import MONDAY, LoggedSetFactory, OutlineDayFactory, OutlineSlotFactory

TODAY = MONDAY + timedelta(days=39)  # a Friday in the block's sixth week


def session_of(block: Block, cycle: int, *, day: str = "full", occurrence: int = 0, **more: Any) -> TrainingSession:
    """The session of a week: A on its Monday, B on its Thursday."""
    planned = MONDAY + timedelta(weeks=cycle - 1, days=3 * occurrence)
    found = block.sessions.filter(cycle=cycle, day_key=day, occurrence=occurrence).first()
    if found is not None:
        return found
    return TrainingSession.objects.create(
        block=block,
        cycle=cycle,
        position=block.sessions.filter(cycle=cycle).count(),
        day_key=day,
        occurrence=occurrence,
        name=f"Full body {'AB'[occurrence]}",
        planned_on=planned,
        **more,
    )


def line_in(
    session: TrainingSession,
    exercise: Exercise,
    *,
    slot: str = "press",
    role: str = "secondary",
    sets: int = 3,
    reps: tuple[int, int] = (6, 8),
    seconds: int | None = None,
    load: Load | None = None,
    rir: float | None = 2,
    **more: Any,
) -> Prescription:
    line = Prescription.objects.create(
        session=session,
        exercise=exercise,
        slot_key=slot,
        role=role,
        position=session.prescriptions.count(),
        **more,
    )
    amounts: dict[str, Any] = {"reps_low": reps[0], "reps_high": reps[1]}
    if seconds is not None:
        amounts = {"seconds": seconds}
    for number in range(1, sets + 1):
        TargetSet.objects.create(prescription=line, number=number, rir=rir, rest_s=150, **amounts, **columns(load))
    return line


def log(
    session: TrainingSession,
    exercise: Exercise,
    sets: Sequence[tuple[Any, ...]],
    *,
    slot: str = "press",
    line: int = 1,
    on: date | None = None,
    unit: str = "kg",
    **more: Any,
) -> list[LoggedSet]:
    """Sets of (load, reps, reps in reserve); the session is trained by them."""
    day = on or session.planned_on
    if session.state == TrainingSession.State.PLANNED:
        session.state, session.trained_on = TrainingSession.State.TRAINED, day
        session.save()
    return [
        LoggedSetFactory(
            client=session.block.client,
            exercise=exercise,
            session=session,
            line=line,
            number=number,
            order=number,
            slot_key=slot,
            occurrence=session.occurrence,
            place=session.place,
            performed_on=day,
            load=None if load is None else load_of(load, unit),
            reps=count,
            rir=rir,
            **more,
        )
        for number, (load, count, rir) in enumerate(sets, start=1)
    ]


def weeks_of(
    block: Block, exercise: Exercise, upto: int, load: float = 20, reps: int = 7, rir: float | None = 2, **more: Any
) -> None:
    """Every week up to ``upto`` trained alike: three sets below the top of the range."""
    for cycle in range(1, upto + 1):
        session = session_of(block, cycle, occurrence=more.get("occurrence", 0))
        line_in(session, exercise, slot=more.get("slot", "press"), role=more.get("role", "secondary"))
        log(session, exercise, [(load, reps, rir)] * 3, slot=more.get("slot", "press"))


def slot_in(block: Block, key: str = "press", reps: Sequence[Sequence[int]] = ((6, 8),), day: str = "full") -> None:
    """The template's own slot, which says what its range is."""
    row = block.outline.days.filter(key=day).first() or OutlineDayFactory(outline=block.outline, key=day)
    OutlineSlotFactory(day=row, key=key, reps=[list(pair) for pair in reps])


def proposed(client: Any, slot: str = "press", **which: Any) -> Proposal:
    """The proposal that waits for the slot, reckoned anew."""
    proposals.refresh(client)
    return Proposal.objects.waiting().get(client=client, slot_key=slot, **which)


def codes(proposal: Proposal) -> set[str]:
    return {reason["code"] for reason in proposal.reasons}


def another_place(block: Block, **more: Any) -> Place:
    return Place.objects.create(practice=block.client.practice, name="Harbour shed", **more)
