"""Clients with something to decide, as the Desk and the pages of proposals find them."""

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from clients.models import PainReport, TrainingSession
from tests.factories import (
    BlockFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    PrescriptionFactory,
    ProposalFactory,
    TrainingSessionFactory,
)

TODAY = timezone.localdate(timezone=ZoneInfo("Europe/Helsinki"))  # where everybody in these tests lives
SPARED = {"joints": [], "patterns": [], "regions": [], "everything": False}
NEW = {"load": 75, "unit": "kg", "sets": 4, "reps_low": 6, "reps_high": 8, "find_load": False, "offers": []}


def settled(client, weeks=12):
    """Cleared, in the middle of a block, trained yesterday."""
    HealthAnswersFactory(client=client, answered_on=TODAY - timedelta(days=10))
    block = BlockFactory(client=client, starts_on=TODAY - timedelta(days=14), weeks=weeks)
    TrainingSessionFactory(
        block=block,
        planned_on=TODAY - timedelta(days=1),
        state=TrainingSession.State.TRAINED,
        trained_on=TODAY - timedelta(days=1),
    )
    return block


def ahead(block, days=1, **more):
    """A session to come, tomorrow or so many days from now."""
    asked = {"cycle": 3, "name": "Lower A", "planned_on": TODAY + timedelta(days=days), **more}
    return TrainingSessionFactory(block=block, **asked)


def proposed(session, name="Back squat", **more):
    """A proposal with the line it is about."""
    line = PrescriptionFactory(
        session=session,
        exercise=ExerciseFactory(practice=session.block.client.practice, name=name),
        target_sets__load=None,
    )
    work = {
        "kind": "work",
        "reps_low": 6,
        "reps_high": 8,
        "open_ended": False,
        "seconds": None,
        "metres": None,
        "load": 75,
        "rir": 2,
        "rest_s": 150,
        "tempo": "",
    }
    return ProposalFactory(
        client=session.block.client,
        session=session,
        slot_key=line.slot_key,
        exercise=line.exercise,
        old={"load": 72.5, "unit": "kg", "sets": 4, "reps_low": 6, "reps_high": 8},
        new={**NEW, "work": [work] * 4},
        reasons=[
            {
                "code": "sets_used",
                "params": {"day": TODAY.isoformat(), "load": 72.5, "reps": "8/8/8/8", "rir": "2/2/2/2"},
            },
            {"code": "all_sets_at_top", "params": {"high": 8}},
        ],
        kind="load_up",
        **more,
    )


def hurt(client, score=5, **more):
    return PainReport.objects.create(
        client=client,
        key=more.pop("key", "pain"),
        body_part="knee",
        side="right",
        score=score,
        action="stop",
        affected=SPARED,
        felt_on=TODAY,
        **more,
    )
