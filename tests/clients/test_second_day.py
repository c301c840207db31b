"""The second day of a type has a history of its own, with the same exercise and with another one."""

import pytest

from clients.models import TrainingSession
from clients.services import blocks, logs
from clients.services.proposing import refresh
from clients.services.sheets import last_by_slot
from programs.units import load_of
from tests.clients.weeks import draft_for
from tests.factories import HealthAnswersFactory, LoggedSetFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def block(ana, ben, week):
    """Both days press with the same exercise: heavy on the first, light on the second."""
    HealthAnswersFactory(client=ben)
    draft, _week = draft_for(ben, ana, week, deload_weeks=[])
    made = blocks.assign_block(draft, draft.revision, ana)
    for session in made.sessions.all():
        session.prescriptions.filter(slot_key="press").update(exercise=week.exercises["press 1"])
    return made


def done(ben, week, session, load, reps, exercise="press 1"):
    LoggedSetFactory(
        client=ben,
        session=session,
        exercise=week.exercises[exercise],
        place=week.place,
        slot_key="press",
        occurrence=session.occurrence,
        performed_on=session.planned_on,
        load=load_of(load, "kg"),
        reps=reps,
    )
    session.state, session.trained_on = "trained", session.planned_on
    session.save()


def of(block, cycle, occurrence):
    return TrainingSession.objects.with_lines().get(block=block, cycle=cycle, occurrence=occurrence)


def test_last_time_on_the_second_day_is_the_last_second_day(ben, week, block):
    done(ben, week, of(block, 1, 0), 60, 5)
    done(ben, week, of(block, 1, 1), 45, 10)
    done(ben, week, of(block, 2, 0), 62.5, 5)
    assert [float(row.load_value) for row in last_by_slot(ben, of(block, 3, 0))["press"]] == [62.5]
    assert [(float(row.load_value), row.reps) for row in last_by_slot(ben, of(block, 2, 1))["press"]] == [(45, 10)]


def test_a_swapped_exercise_keeps_a_line_of_its_own(ben, week, block):
    done(ben, week, of(block, 1, 1), 20, 10, exercise="press 3")
    assert "press" not in last_by_slot(ben, of(block, 2, 1))


def test_the_same_exercise_on_two_days_has_two_targets(ben, week, block):
    done(ben, week, of(block, 1, 0), 60, 6)
    done(ben, week, of(block, 1, 1), 40, 10)
    refresh(ben)
    found = {row.session.occurrence: row.new["load"] for row in ben.proposals.filter(slot_key="press", state="waiting")}
    assert found[0] >= 55 and found[1] <= 45


def test_a_session_that_was_missed_is_no_failed_set_and_changes_no_load(ana, ben, week, block):
    done(ben, week, of(block, 1, 0), 60, 6)
    refresh(ben)
    before = ben.proposals.get(slot_key="press", session__occurrence=0, state="waiting").new
    second = of(block, 1, 1)
    logs.set_state(second, TrainingSession.State.MISSED, ana)
    refresh(ben)
    after = ben.proposals.filter(slot_key="press", session__occurrence=0, state="waiting").order_by("-pk").first()
    assert after is not None and (after.new["load"], after.new["work"]) == (before["load"], before["work"])
    second.refresh_from_db()
    assert second.state == TrainingSession.State.MISSED and not second.logged_sets.exists()
