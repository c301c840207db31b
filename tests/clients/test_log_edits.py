"""A corrected log, or one that arrives late: what depended on it is reckoned again, what was handed out stays."""

import re
import uuid
from datetime import timedelta
from itertools import permutations
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.models import LoggedSet, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads.review import Review
from clients.reads.since_decided import changed_since
from clients.services import proposals, sheets
from clients.services.proposals import Change
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.units import columns, load_of
from tests.clients.trained import line_in, slot_in
from tests.factories import BlockFactory, ExerciseFactory, HealthAnswersFactory, StationFactory, TrainingSessionFactory

TODAY = timezone.localdate(timezone=ZoneInfo("Europe/Helsinki"))
YESTERDAY = TODAY - timedelta(days=1)


@pytest.fixture
def press(ana):
    return ExerciseFactory(practice=ana.practice, name="Dumbbell press", role="secondary")


@pytest.fixture
def block(ben):
    block = BlockFactory(client=ben, starts_on=YESTERDAY - timedelta(weeks=5), weeks=8)
    StationFactory(place=block.place, loads={"list": [str(load) for load in range(2, 41)]})
    HealthAnswersFactory(client=ben, answered_on=block.starts_on)
    slot_in(block)
    return block


def session_in(block, cycle, press):
    session = TrainingSessionFactory(
        block=block,
        cycle=cycle,
        position=0,
        name="Full body A",
        planned_on=YESTERDAY + timedelta(weeks=cycle - 6),
    )
    line_in(session, press, load=load_of(20, "kg") if cycle < 7 else None)
    return session


def log(session, press, reps, load=20, on=None):
    day = on or session.planned_on
    session.state, session.trained_on = TrainingSession.State.TRAINED, day
    session.save()
    for number, count in enumerate(reps, start=1):
        LoggedSet.objects.create(
            client=session.block.client,
            key=uuid.uuid4().hex,
            exercise=press,
            session=session,
            line=1,
            number=number,
            order=number,
            slot_key="press",
            occurrence=0,
            place=session.place,
            reps=count,
            rir=2,
            performed_on=day,
            way="phone",
            **columns(load_of(load, "kg")),
        )


@pytest.fixture
def done(block, press):
    """Six weeks trained, the last two at the top of the range; the session of week six is yesterday's."""
    sessions = [session_in(block, cycle, press) for cycle in range(1, 7)]
    for session in sessions:
        log(session, press, (8, 8, 8) if session.cycle > 4 else (7, 7, 6))
    return sessions


@pytest.fixture
def ahead(block, press, done):
    return session_in(block, 7, press)


def waiting(ben):
    return Proposal.objects.waiting().get(client=ben)


def cells(session, *texts, day=None):
    """What the page would send with these texts in the cells of the first line."""
    data = {"form_key": uuid.uuid4().hex, "extra": "0", "day": (day or session.trained_on).isoformat(), "go": "save"}
    for row in session.logged_sets.order_by("number"):
        shown = f"20x{row.reps}@2"
        data |= {
            f"c-1-{row.number}": texts[row.number - 1] if row.number <= len(texts) else shown,
            f"o-1-{row.number}": shown,
            f"s-1-{row.number}": f"{row.public_id}.{row.revision}",
        }
    return data


def type_in(browser, session, *texts, day=None):
    answer = browser.post(
        reverse("session-log", args=[session.public_id]), cells(session, *texts, day=day), follow=True
    )
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())).replace("\u00a0", " ")


def test_what_waits_is_reckoned_again_and_the_answer_says_so(as_ana, ben, done, ahead):
    proposals.refresh(ben)
    first = waiting(ben)
    assert (first.kind, first.new["load"]) == ("load_up", 21)
    said = type_in(as_ana, done[-1], "20x6@2", "20x6@2", "20x5@0")
    newest = waiting(ben)
    first.refresh_from_db()
    assert (first.state, first.superseded_by) == (Proposal.State.SUPERSEDED, newest)
    assert newest.new["load"] == 20
    assert "3 sets corrected, 1 proposal reckoned anew." in said


def test_a_correction_that_changes_nothing_that_comes_says_nothing_of_it(as_ana, ben, done, ahead):
    proposals.refresh(ben)
    assert "reckoned anew" not in type_in(as_ana, done[0], "20x6@2")
    assert waiting(ben).new["load"] == 21


def decided(ben, ana, ahead, **how):
    proposals.refresh(ben)
    proposals.accept(waiting(ben), ana, **how)
    return sheets.issue_sheet(ahead, ana).version


def test_what_was_decided_and_handed_out_stays_and_is_said_to_be_different_now(as_ana, ana, ben, done, ahead):
    version = decided(ben, ana, ahead)
    document, targets = version.document, list(TargetSet.objects.filter(prescription__session=ahead).values())
    assert changed_since(ben) == []
    said = type_in(as_ana, done[-1], "20x6@2", "20x6@2", "20x5@0")
    words = "would now be 20 kg, 3 × 6–8 instead of 21 kg, 3 × 6–8"
    assert words in said
    page = as_ana.get(reverse("client-progress", args=[ben.public_id])).content.decode()
    assert words in re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").replace("  ", " ")
    version.refresh_from_db()
    assert (version.state, version.document) == (SheetVersion.State.ISSUED, document)
    assert SheetVersion.objects.filter(session=ahead).count() == 1
    assert list(TargetSet.objects.filter(prescription__session=ahead).values()) == targets
    assert Proposal.objects.get(session=ahead).state == Proposal.State.ACCEPTED


def test_a_coachs_own_numbers_stay_and_the_coach_is_told(as_ana, ana, ben, done, ahead):
    decided(ben, ana, ahead, change=Change(load_of("22", "kg"), sets=3, reps_low=6, reps_high=8))
    assert changed_since(ben) == []
    said = type_in(as_ana, done[-1], "20x6@2", "20x6@2", "20x5@0")
    assert "would now be 20 kg, 3 × 6–8" in said
    assert {row.load_value for row in TargetSet.objects.filter(prescription__session=ahead)} == {22}


def test_a_decision_for_what_it_would_be_now_anyway_is_not_brought_up(ana, ben, press, done, ahead):
    decided(ben, ana, ahead, change=Change(load_of("20", "kg"), sets=3, reps_low=6, reps_high=8))
    done[-1].logged_sets.update(reps=6)
    proposals.refresh(ben)
    assert changed_since(ben) == []


def test_taking_a_set_back_and_undoing_it_goes_there_and_back(as_ana, ana, ben, done, ahead):
    proposals.refresh(ben)
    assert waiting(ben).new["load"] == 21
    said = type_in(as_ana, done[-1], "", "")
    assert "2 sets taken back, 1 proposal reckoned anew." in said
    assert waiting(ben).new["load"] == 20
    journal.undo(JournalEntry.objects.filter(act="log.enter").latest("pk"), ana)
    proposals.refresh(ben)
    assert waiting(ben).new["load"] == 21


def test_moving_a_log_to_another_day_moves_what_it_means(as_ana, ben, done, ahead):
    """The last session was really three weeks before: the client has been away since the one before it."""
    for session in done[2:5]:
        session.logged_sets.all().delete()
        TrainingSession.objects.filter(pk=session.pk).update(state=TrainingSession.State.MISSED, trained_on=None)
    proposals.refresh(ben)
    before = waiting(ben)
    said = type_in(as_ana, done[-1], day=YESTERDAY - timedelta(days=20))
    assert "Moved to" in said and "1 proposal reckoned anew." in said
    done[-1].refresh_from_db()
    assert done[-1].trained_on == YESTERDAY - timedelta(days=20)
    after = waiting(ben)
    assert after.kind == "return" and after.new["load"] < 20 <= before.new["load"]


def test_a_false_record_goes_with_the_slip_that_made_it(as_ana, ben, block, press):
    session = session_in(block, 5, press)
    log(session, press, (8,), load=30)
    slip = session_in(block, 6, press)
    log(slip, press, (18,), load=30)
    assert {record.day for record in Review(ben).lifts[0].trend.records} >= {YESTERDAY}
    type_in(as_ana, slip, "30x8@2")
    row = slip.logged_sets.get()
    assert (row.reps, row.revisions.get().values["reps"]) == (8, 18)
    assert YESTERDAY not in {record.day for record in Review(ben).lifts[0].trend.records}


def test_logs_that_arrive_in_another_order_give_the_same_proposals(ben, block, press):
    sessions = [session_in(block, cycle, press) for cycle in range(3, 7)]
    ahead = session_in(block, 7, press)
    reps = {3: (7, 7, 6), 4: (8, 7, 7), 5: (8, 8, 8), 6: (8, 8, 8)}
    found = set()
    for order in list(permutations(sessions))[::5]:
        LoggedSet.objects.all().delete()
        Proposal.objects.all().delete()
        TrainingSession.objects.filter(cycle__lt=7).update(state=TrainingSession.State.PLANNED, trained_on=None)
        for session in order:
            session.refresh_from_db()
            log(session, press, reps[session.cycle])
            proposals.refresh(ben)
        last = waiting(ben)
        assert last.session == ahead
        found.add((repr(last.new), repr(last.reasons), last.digest))
    assert len(found) == 1


def test_it_costs_nothing_where_nothing_was_decided(ben, done, ahead, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert changed_since(ben) == []


@pytest.mark.parametrize("lines", [1, 8])
def test_the_question_costs_the_same_however_much_was_decided(
    ana, ben, block, done, ahead, lines, django_assert_num_queries, django_assert_max_num_queries
):
    for number in range(1, lines):
        other = ExerciseFactory(practice=ana.practice, name=f"Press {number}")
        slot_in(block, key=f"press-{number}")
        line_in(ahead, other, slot=f"press-{number}", load=load_of(20, "kg"))
    proposals.refresh(ben)
    proposals.decide(list(Proposal.objects.waiting()), ana)
    LoggedSet.objects.update(reps=5)
    with django_assert_max_num_queries(40):
        proposals.refresh(ben)
    with django_assert_num_queries(1):
        assert changed_since(ben)


def test_it_is_said_no_more_once_the_figures_are_as_they_were(ana, ben, done, ahead):
    decided(ben, ana, ahead)
    done[-1].logged_sets.update(reps=5)
    proposals.refresh(ben)
    assert [row.changed_to["load"] for row in changed_since(ben)] == [20]
    done[-1].logged_sets.update(reps=8)
    proposals.refresh(ben)
    assert changed_since(ben) == []


def test_a_decision_can_be_taken_back_after_figures_changed(ana, ben, done, ahead):
    proposals.refresh(ben)
    entry = proposals.accept(waiting(ben), ana)
    done[-1].logged_sets.update(reps=5)
    proposals.refresh(ben)
    journal.undo(entry, ana)
    assert changed_since(ben) == []
    proposals.refresh(ben)
    assert waiting(ben).new["load"] == 20
