"""The sets over a block's weeks: what assigning writes of a ramp, and the weeks before that it rises from."""

from datetime import timedelta

import pytest

from clients.models import TrainingSession
from clients.reads.before import weeks_before
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.course import course_of, plan_of, stored_plan
from clients.reads.history import history_of
from clients.reads.starting import Starting
from clients.services import blocks, drafts
from programs.engine.compose.course import FLAT, SetsPlan
from tests.clients.weeks import draft_for
from tests.factories import (
    MONDAY,
    LoggedSetFactory,
    PrescriptionFactory,
    TrainingSessionFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(ben, week):
    LoggedSetFactory(client=ben, exercise=week.exercises["squat 3"], performed_on=MONDAY - timedelta(days=60), rir=None)


def ramped(draft, **changes):
    draft.document["course"] = stored_plan(SetsPlan("ramp", **changes))
    draft.save()
    return draft


def course_for(draft):
    inputs = draft_inputs(draft)
    starting = Starting.gather(draft.client, draft.place, draft.starts_on, inputs.ids)
    return course_of(draft, inputs, picks_of(draft.document, inputs.merged), starting)


def written(block):
    """{(round, slot, occurrence): (sets, lowest RIR)}"""
    found = {}
    for session in block.sessions.prefetch_related("prescriptions__target_sets"):
        for line in session.prescriptions.all():
            targets = list(line.target_sets.all())
            key = (session.cycle, line.slot_key, session.occurrence)
            found[key] = (len(targets), min(target.rir for target in targets))
    return found


def test_a_plan_is_kept_as_it_is_and_none_is_flat():
    plan = SetsPlan("ramp", 2, below=True, last_harder=True)
    assert plan_of({"course": stored_plan(plan)}) == plan
    assert plan_of({}) == FLAT


def test_assigning_writes_the_weeks_of_the_ramp(ana, ben, week):
    draft = ramped(draft_for(ben, ana, week, weeks=6, deload_weeks=[4])[0], below=True, last_harder=True)
    found = course_for(draft)
    got = written(blocks.assign_block(draft, draft.revision, ana))
    assert {key: sets for key, (sets, _rir) in got.items()} == {
        (one.number, pick.slot, pick.occurrence): pick.sets for one in found.rounds for pick in one.picks
    }
    second = [sum(got[cycle, slot, 1][0] for slot in ("press", "row", "squat")) for cycle in range(1, 7)]
    assert second[0] < second[1] <= second[2] <= second[4] <= second[5]
    assert second[3] < second[2]
    assert {rir for (cycle, *_place), (_sets, rir) in got.items() if cycle == 6} == {1}
    assert {rir for (cycle, *_place), (_sets, rir) in got.items() if cycle == 5} == {2}
    assert {rir for (cycle, *_place), (_sets, rir) in got.items() if cycle == 4} == {4}


def test_the_minutes_of_a_session_are_those_of_its_week(ana, ben, week):
    block = blocks.assign_block(draft_for(ben, ana, week)[0], 1, ana)
    minutes = {(one.cycle, one.occurrence): one.minutes for one in block.sessions.all()}
    assert minutes[1, 0] < minutes[2, 0] == minutes[3, 0]  # the first session ever has fewer sets
    assert minutes[4, 0] < minutes[3, 0]  # and so has the easier week


def test_pinned_sets_stay_over_the_ramp(ana, ben, week, trained):
    draft, _week = draft_for(ben, ana, week)
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    draft = ramped(draft)
    got = written(blocks.assign_block(draft, draft.revision, ana))
    assert [got[cycle, "row", 1][0] for cycle in (1, 2, 3, 4)] == [5, 5, 5, 3]


def test_the_weeks_before_hold_what_was_logged_and_what_is_still_planned(ben, week):
    press, row = week.exercises["press 0"], week.exercises["row 0"]
    for back in (27, 27, 27, 14):
        LoggedSetFactory(client=ben, exercise=press, performed_on=MONDAY - timedelta(days=back), reps=8, rir=2)
    LoggedSetFactory(client=ben, exercise=press, performed_on=MONDAY - timedelta(days=40), reps=8, rir=2)
    LoggedSetFactory(client=ben, exercise=press, performed_on=MONDAY, reps=8, rir=2)
    for state, days in (("planned", 3), ("missed", 3), ("dropped", 2), ("planned", 0)):
        session = TrainingSessionFactory(block__client=ben, block__state="ended", state=state)
        TrainingSession.objects.filter(pk=session.pk).update(planned_on=MONDAY - timedelta(days=days))
        line = PrescriptionFactory(session=session, exercise=row)
        line.target_sets.filter(number=line.target_sets.first().number).update(kind="warm_up")
    found = weeks_before(ben, MONDAY, history_of(ben, "kg"))
    assert [one.get("chest", 0) for one in found] == [3, 0, 1, 0]
    assert [one.get("shoulders", 0) for one in found] == [1.5, 0, 0.5, 0]
    assert [one.get("upper_back", 0) for one in found] == [0, 0, 0, 2]


def test_a_clients_first_weeks_are_what_was_planned_for_the_first(ana, ben, week):
    assert weeks_before(ben, MONDAY, history_of(ben, "kg")) == ()
    for back in (10, 3):
        day = MONDAY - timedelta(days=back)
        LoggedSetFactory(client=ben, exercise=week.exercises["press 0"], performed_on=day, reps=8, rir=2)
    assert weeks_before(ben, MONDAY, history_of(ben, "kg")) == ()
    draft, _week = draft_for(ben, ana, week, starts_on=MONDAY - timedelta(days=14), weeks=2, deload_weeks=[])
    block = blocks.assign_block(draft, draft.revision, ana)
    planned = course_for(draft).rounds[0].dose
    (found,) = weeks_before(ben, MONDAY, history_of(ben, "kg"))
    assert found == {group: one.dose.counted for group, one in planned.items() if one.dose.counted}
    assert block.sessions.filter(cycle=1).exists()
    LoggedSetFactory(client=ben, exercise=week.exercises["press 0"], performed_on=MONDAY - timedelta(days=28))
    assert len(weeks_before(ben, MONDAY, history_of(ben, "kg"))) == 4


def test_a_steep_first_week_is_told(ana, ben, week, trained):
    draft, _week = draft_for(ben, ana, week)
    assert [why.code for why in course_for(draft).cautions] == ["course.rise_from_nothing"]


def test_a_ramp_of_a_rolling_cycle_goes_by_cycles(ana, ben, week, trained):
    week.outline.cycle_days = 4
    week.outline.save()
    draft = ramped(draft_for(ben, ana, week, weeks=4, deload_weeks=[6, 7])[0])
    found = course_for(draft)
    got = written(blocks.assign_block(draft, draft.revision, ana))
    assert len(found.rounds) == 7
    assert {key: sets for key, (sets, _rir) in got.items()} == {
        (one.number, pick.slot, pick.occurrence): pick.sets for one in found.rounds for pick in one.picks
    }
    assert [one.deload for one in found.rounds] == [False] * 5 + [True] * 2
