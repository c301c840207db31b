"""A session cut for time: shown first, the least important goes, one undo, and nothing that comes is changed by it."""

from datetime import timedelta

import pytest
from django.urls import reverse

from clients.clock import today_for
from clients.models import LoggedSet, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads.lengths import length_of
from clients.services import proposals, shorter
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.models import OutlineSlot
from programs.units import load_of
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import ExerciseFactory, LoggedSetFactory


@pytest.fixture
def session(ben):
    """Five exercises of three sets; the last two matter least."""
    session = session_for(ben)
    for number, priority in enumerate((1, 1, 2, 3, 3), start=1):
        exercise = ExerciseFactory(practice=ben.practice, name=f"Lift {number}", role="isolation")
        line = add_line(session, exercise, load=("20", "kg"), rest_s=120)
        OutlineSlot.objects.filter(key=line.slot_key).update(priority=priority)
    return session


def sets_of(session):
    rows = TrainingSession.objects.with_lines().get(pk=session.pk).prescriptions.all()
    return [len(row.target_sets.all()) for row in rows]


def at(session):
    return reverse("session-shorten", args=[session.public_id])


def cut(as_coach, session, minutes):
    """Looks at what would go, and lets it go."""
    digest = as_coach.get(at(session), {"minutes": minutes}).context["digest"]
    return as_coach.post(at(session), {"minutes": minutes, "digest": digest})


def length(session):
    return length_of(TrainingSession.objects.with_lines().get(pk=session.pk))


def test_what_would_go_is_shown_and_nothing_is_written(as_ana, session):
    page = as_ana.get(at(session), {"minutes": "30"}).content.decode()
    assert "Lift 5" in page and "Lift 1</span>" not in page and "Cut to 30 minutes" in page
    assert sets_of(session) == [3, 3, 3, 3, 3]


def test_the_least_important_goes_and_the_rest_fits(as_ana, session):
    assert length(session) > 30
    cut(as_ana, session, "30")
    left = sets_of(session)
    assert left[:2] == [3, 3] and sum(left) < 15 and left == sorted(left, reverse=True)
    assert length(session) <= 30


def test_a_sheet_that_is_out_is_superseded_and_one_undo_puts_all_back(as_ana, ana, session):
    version = handed_out(session)
    cut(as_ana, session, "25")
    version.refresh_from_db()
    assert version.state == SheetVersion.State.SUPERSEDED
    newest = SheetVersion.objects.latest("pk")
    assert len(newest.document["lines"]) == sum(1 for count in sets_of(session) if count)
    journal.undo(JournalEntry.objects.get(act="session.shorten"), ana)
    version.refresh_from_db()
    assert sets_of(session) == [3, 3, 3, 3, 3] and version.state == SheetVersion.State.ISSUED


def test_what_is_left_out_says_why_and_waits_for_nothing(as_ana, ben, session):
    cut(as_ana, session, "25")
    proposals.refresh(ben)
    gone = [line.slot_key for line in session.prescriptions.all() if not line.target_sets.exists()]
    assert gone
    assert not Proposal.objects.waiting().filter(slot_key__in=gone).exists()
    assert (
        "Left out for time: there were 25 minutes."
        in as_ana.get(reverse("session", args=[session.public_id])).content.decode()
    )


def test_cut_sets_change_nothing_that_comes_next(as_ana, ben, session):
    """The next session of the day asks for what it asked for anyway, and a cut line is no failure."""
    line = session.prescriptions.all()[2]
    ahead = session_for(ben, planned_on=today_for(ben) + timedelta(days=7), cycle=2)
    add_line(ahead, line.exercise, load=("20", "kg"))
    type(line).objects.filter(session=ahead).update(slot_key=line.slot_key)
    cut(as_ana, session, "24")
    left = TargetSet.objects.filter(prescription=line).count()
    for number in range(1, left + 1):
        LoggedSetFactory(
            client=ben,
            exercise=line.exercise,
            session=session,
            slot_key=line.slot_key,
            occurrence=0,
            line=3,
            number=number,
            place=session.place,
            reps=7,
            load=load_of(20, "kg"),
            performed_on=today_for(ben),
        )
    TrainingSession.objects.filter(pk=session.pk).update(state="trained", trained_on=today_for(ben))
    proposals.refresh(ben)
    found = Proposal.objects.waiting().get(session=ahead)
    assert 0 < left < 3 and LoggedSet.objects.count() == left
    assert (found.new["load"], found.new["sets"]) == (20, 3)


def test_all_that_fits_stays(as_ana, session):
    cut(as_ana, session, "200")
    assert sets_of(session) == [3, 3, 3, 3, 3] and not JournalEntry.objects.filter(act="session.shorten").exists()


@pytest.mark.parametrize("minutes", ["5", "", "no", "900"])
def test_too_little_or_no_number_is_said_beside_the_field(as_ana, session, minutes):
    answer = as_ana.post(at(session), {"minutes": minutes})
    assert answer.status_code == 422 and 'id="id_minutes"' in answer.content.decode()


def test_a_session_that_is_over_stays(ana, session):
    TrainingSession.objects.filter(pk=session.pk).update(state="trained", trained_on=session.planned_on)
    with pytest.raises(shorter.CannotShorten):
        shorter.shorten(session, 30, ana, "")


def test_another_practices_session_is_not_found(as_cleo, session):
    assert as_cleo.get(at(session)).status_code == as_cleo.post(at(session), {"minutes": "30"}).status_code == 404


def test_what_waited_for_the_longer_session_brings_no_set_back(as_ana, ana, ben, session):
    proposals.refresh(ben)
    seen = list(Proposal.objects.waiting())
    cut(as_ana, session, "30")
    left = sets_of(session)
    assert seen and 0 in left
    assert proposals.decide(seen, ana) == (0, None)
    assert sets_of(session) == left


def test_the_cut_is_not_taken_back_in_part(as_ana, ana, ben, session):
    """Once a line that was cut has been decided anew, its other sets don't come back among the new ones."""
    cut(as_ana, session, "40")
    entry = JournalEntry.objects.get(act="session.shorten")
    proposals.refresh(ben)
    for row in Proposal.objects.waiting():
        proposals.accept(row, ana)
    decided = sets_of(session)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert sets_of(session) == decided


def test_of_two_cuts_the_later_one_is_taken_back_first(as_ana, ana, session):
    cut(as_ana, session, "40")
    once = sets_of(session)
    cut(as_ana, session, "30")
    first, second = JournalEntry.objects.filter(act="session.shorten").order_by("pk")
    with pytest.raises(journal.CannotUndo):
        journal.undo(first, ana)
    journal.undo(second, ana)
    assert sets_of(session) == once
    journal.undo(first, ana)
    assert sets_of(session) == [3, 3, 3, 3, 3]


def test_what_was_reckoned_for_the_cut_session_is_not_accepted_once_it_is_whole_again(as_ana, ana, ben, session):
    cut(as_ana, session, "30")
    proposals.refresh(ben)
    seen = list(Proposal.objects.waiting())
    journal.undo(JournalEntry.objects.get(act="session.shorten"), ana)
    assert seen and proposals.decide(seen, ana) == (0, None)
    assert sets_of(session) == [3, 3, 3, 3, 3]


def test_of_a_session_that_is_over_nothing_is_offered_to_be_cut(as_ana, session):
    TrainingSession.objects.filter(pk=session.pk).update(state="trained", trained_on=session.planned_on)
    answer = as_ana.get(at(session), {"minutes": "30"})
    assert answer.status_code == 422 and "Cut to 30 minutes" not in answer.content.decode()


def test_what_changed_since_it_was_shown_is_shown_anew_and_not_done(as_ana, session):
    digest = as_ana.get(at(session), {"minutes": "20"}).context["digest"]
    TargetSet.objects.filter(prescription__session=session, number=3).delete()
    answer = as_ana.post(at(session), {"minutes": "20", "digest": digest})
    assert answer.status_code == 200 and "Something changed in between" in answer.content.decode()
    assert sets_of(session) == [2, 2, 2, 2, 2]
    now = answer.context["digest"]
    assert now != digest
    assert as_ana.post(at(session), {"minutes": "20", "digest": now}).status_code == 302
    assert sum(sets_of(session)) < 10


def test_the_same_cut_sent_twice_is_one(as_ana, session):
    digest = as_ana.get(at(session), {"minutes": "30"}).context["digest"]
    for _time in range(2):
        assert as_ana.post(at(session), {"minutes": "30", "digest": digest}).status_code == 302
    assert JournalEntry.objects.filter(act="session.shorten").count() == 1


def test_a_cut_is_not_taken_back_once_the_session_was_trained(as_ana, ana, session):
    cut(as_ana, session, "30")
    TrainingSession.objects.filter(pk=session.pk).update(state="trained", trained_on=session.planned_on)
    with pytest.raises(journal.CannotUndo):
        journal.undo(JournalEntry.objects.get(act="session.shorten"), ana)


def test_an_easier_week_halves_what_was_planned_and_not_what_there_was_time_for(as_ana, ben, session):
    line = session.prescriptions.all()[2]
    today = today_for(ben)
    TrainingSession.objects.filter(pk=session.pk).update(cycle=2)
    earlier = session_for(ben, planned_on=today - timedelta(days=7), cycle=1, state="trained", trained_on=today)
    ahead = session_for(ben, planned_on=today + timedelta(days=7), cycle=3, deload=True)
    for other in (earlier, ahead):
        add_line(other, line.exercise, load=("20", "kg"))
        type(line).objects.filter(session=other).update(slot_key=line.slot_key)
    for minutes in range(40, 5, -1):
        if TargetSet.objects.filter(prescription=line).count() > 1:
            cut(as_ana, session, str(minutes))
    assert TargetSet.objects.filter(prescription=line).count() == 1
    TrainingSession.objects.filter(pk=session.pk).update(state="trained", trained_on=session.planned_on)
    proposals.refresh(ben)
    assert Proposal.objects.waiting().get(session=ahead).new["sets"] == 2
