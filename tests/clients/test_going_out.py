"""Plain changes that go out by themselves, only for clients whose coach has said so; and pins that are released."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import transaction

from clients.models import PainReport, Proposal, SheetVersion, TrainingSession
from clients.services import going_out, proposals, sheets
from clients.services.going_out import NeverPlain, TooLate
from clients.services.proposals import Change
from clients.tasks import review_logs
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.clients.desk_work import ahead, proposed, settled
from tests.clients.lifting import TODAY, dumbbell_press, five_weeks, loft_block, planned
from tests.factories import (
    MONDAY,
    ClientFactory,
    ExerciseFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    ProposalFactory,
)


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("proposals", "proposing", "sheets", "going_out"):
        monkeypatch.setattr(f"clients.services.{module}.today_for", lambda client: TODAY - timedelta(days=4))


@pytest.fixture
def line(ben, ana):
    """The press of week six, five weeks done; its session is today, Monday."""
    return five_weeks(loft_block(ben), dumbbell_press(ana.practice))


@pytest.fixture
def trusted(ben):
    ben.plain_goes_out = True
    ben.save()
    return ben


def only(client):
    return Proposal.objects.exclude(state=Proposal.State.SUPERSEDED).get(client=client)


def went_out():
    return JournalEntry.objects.get(act=going_out.WENT_OUT, undoes=None)


def test_plain_changes_go_out_with_their_sheet_in_the_programs_own_name(trusted, line):
    assert going_out.review(trusted) == 0
    decided = only(trusted)
    assert (decided.state, decided.decided_by, decided.by_itself) == (Proposal.State.ACCEPTED, None, True)
    assert {row.load_value for row in line.target_sets.all()} == {Decimal(21)}
    version = SheetVersion.objects.standing().get()
    assert (version.session, version.issued_by) == (line.session, None)
    assert went_out().actor is None
    assert went_out().params == {"exercise": "Dumbbell press", "count": 1, "sheets": 1}


def test_a_sheet_that_is_out_is_superseded(ana, trusted, line):
    line.target_sets.update(load_value=20, load_unit="kg", load_grams=20000)
    first = sheets.issue_sheet(line.session, ana).version
    going_out.review(trusted)
    first.refresh_from_db()
    assert first.state == SheetVersion.State.SUPERSEDED
    newest = SheetVersion.objects.standing().get()
    assert {target["load"]["value"] for target in newest.document["lines"][0]["sets"]} == {"21"}


def test_one_undo_takes_all_of_it_back_and_it_does_not_go_out_again(ana, trusted, line):
    going_out.review(trusted)
    journal.undo(went_out(), ana)
    assert only(trusted).state == Proposal.State.WAITING
    assert not SheetVersion.objects.standing().exists()
    assert going_out.review(trusted) == 1
    assert only(trusted).state == Proposal.State.WAITING


def test_no_undo_once_sets_were_logged_from_the_sheet(ana, trusted, line):
    going_out.review(trusted)
    LoggedSetFactory(
        client=trusted,
        session=line.session,
        exercise=line.exercise,
        version=SheetVersion.objects.get(),
        line=1,
        number=1,
    )
    with pytest.raises(journal.CannotUndo):
        journal.undo(went_out(), ana)


def test_nothing_reaches_anybody_else_before_the_coach_has_accepted_it(ana, ben, line):
    other = ClientFactory(practice=ana.practice, coach=ana, plain_goes_out=True)
    review_logs.func(ben.pk)
    going_out.let_out(ben)
    assert only(ben).state == Proposal.State.WAITING
    assert only(ben).plain
    assert {row.load_value for row in line.target_sets.all()} == {None}
    assert not SheetVersion.objects.exists()
    assert not Proposal.objects.filter(client=other).exists()


def test_what_is_not_plain_waits_though_the_rest_goes_out(trusted, line):
    session = line.session
    PrescriptionFactory(
        session=session,
        exercise=ExerciseFactory(practice=trusted.practice, name="Row"),
        slot_key="row",
        position=1,
        target_sets__load=None,
    )
    ProposalFactory(client=trusted, session=session, slot_key="row", new={"unit": "kg", "work": []}, plain=False)
    proposals.refresh(trusted)
    Proposal.objects.filter(slot_key="row").update(plain=False)
    assert going_out.let_out(trusted) == 1
    assert Proposal.objects.waiting().get().slot_key == "row"
    # The sheet waits with it.
    assert not SheetVersion.objects.exists()


def test_pain_that_came_in_a_moment_ago_keeps_it(trusted, line):
    proposals.refresh(trusted)
    PainReport.objects.create(
        client=trusted,
        key="k",
        body_part="knee",
        score=3,
        action="freeze",
        felt_on=TODAY,
        affected={"joints": [], "patterns": [], "regions": [], "everything": False},
    )
    assert going_out.let_out(trusted) == 0
    assert only(trusted).state == Proposal.State.WAITING


def test_nothing_goes_out_to_whoever_is_paused(trusted, line):
    proposals.refresh(trusted)
    trusted.status = trusted.Status.PAUSED
    trusted.save()
    assert going_out.let_out(trusted) == 0


@pytest.mark.parametrize(
    ("days", "due"), [(-1, False), (0, True), (7, True), (8, False)], ids=["past", "today", "in a week", "later"]
)
def test_a_sheet_is_due_a_week_ahead(ben, line, days, due):
    session = line.session
    session.planned_on = TODAY + timedelta(days=days)
    assert going_out.is_due(session, TODAY) == due


def test_without_a_date_its_round_counts(ben, line):
    session = line.session
    session.planned_on = None
    assert going_out.is_due(session, TODAY)  # of week six, which runs
    session.cycle = 7
    assert going_out.is_due(session, TODAY)  # begins within a week
    session.cycle = 8
    assert not going_out.is_due(session, TODAY)
    session.cycle = 5
    assert not going_out.is_due(session, TODAY)


def test_it_is_off_and_each_switch_is_an_act(ana, ben):
    loft_block(ben)
    assert not ben.plain_goes_out
    entry = going_out.switch(ben, ana, on=True)
    ben.refresh_from_db()
    assert ben.plain_goes_out
    assert (entry.act, entry.actor, entry.params) == (going_out.SWITCH, ana, {"on": True})
    journal.undo(entry, ana)
    ben.refresh_from_db()
    assert not ben.plain_goes_out


def test_switching_on_asks_for_a_reckoning_at_once(ana, ben, line, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        going_out.switch(ben, ana, on=True)
    assert only(ben).by_itself


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"date_of_birth": date(2012, 1, 1), "guardian_consent_on": MONDAY}, "plain.minor"),
        ({"date_of_birth": date(1950, 1, 1)}, "plain.older"),
        ({"date_of_birth": None}, "plain.age_unknown"),
    ],
)
def test_it_is_refused_for_whoever_is_never_plain(ana, ben, change, code):
    loft_block(ben)
    for name, value in change.items():
        setattr(ben, name, value)
    ben.save()
    with pytest.raises(NeverPlain) as refused:
        going_out.switch(ben, ana, on=True)
    assert [reason.code for reason in refused.value.reasons] == [code]
    ben.refresh_from_db()
    assert not ben.plain_goes_out
    assert not JournalEntry.objects.exists()


def test_it_is_refused_without_health_answers_and_in_pregnancy(ana, ben):
    with pytest.raises(NeverPlain):
        going_out.switch(ben, ana, on=True)
    loft_block(ben)
    ben.conditions.create(code="pregnant", since=MONDAY)
    with pytest.raises(NeverPlain) as refused:
        going_out.switch(ben, ana, on=True)
    assert [reason.code for reason in refused.value.reasons] == ["plain.health"]


def test_it_can_always_be_switched_off(ana, trusted):
    trusted.date_of_birth = date(1950, 1, 1)
    trusted.save()
    going_out.switch(trusted, ana, on=False)
    trusted.refresh_from_db()
    assert not trusted.plain_goes_out


@pytest.fixture
def pinned(ana, ben, line):
    """The press with the coach's own numbers."""
    proposals.refresh(ben)
    proposals.accept(only(ben), ana, change=Change(load_of("24", "kg"), sets=4, reps_low=5, reps_high=6))
    line.refresh_from_db()
    return line


def test_a_pin_holds_whatever_is_logged(ben, pinned):
    LoggedSetFactory(client=ben, exercise=pinned.exercise, performed_on=TODAY, slot_key="press", occurrence=0)
    assert proposals.refresh(ben) == 0
    assert {row.load_value for row in pinned.target_sets.all()} == {Decimal(24)}


def test_a_released_pin_is_reckoned_again_at_once(ana, ben, pinned):
    entry = going_out.release(pinned, ana)
    proposal = Proposal.objects.waiting().get(client=ben)
    assert (proposal.session, proposal.slot_key) == (pinned.session, "press")
    pinned.refresh_from_db()
    assert (pinned.pinned, pinned.reasons) == ([], [])
    # The numbers stay until that is decided.
    assert {row.load_value for row in pinned.target_sets.all()} == {Decimal(24)}
    assert entry.params == {"exercise": "Dumbbell press"}


def test_a_pin_put_back_takes_its_proposal_away(ana, ben, pinned, django_capture_on_commit_callbacks):
    entry = going_out.release(pinned, ana)
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        journal.undo(entry, ana)
    pinned.refresh_from_db()
    assert pinned.pinned == ["load", "reps", "sets"]
    assert not Proposal.objects.waiting().exists()


def test_a_pinned_exercise_stays(ana, ben, line):
    line.pinned = ["exercise", "sets"]
    line.save()
    going_out.release(line, ana)
    line.refresh_from_db()
    assert line.pinned == ["exercise"]


def test_what_was_trained_is_released_no_more(ana, ben, pinned):
    pinned.session.state, pinned.session.trained_on = TrainingSession.State.TRAINED, TODAY
    pinned.session.save()
    with pytest.raises(TooLate):
        going_out.release(pinned, ana)


def test_a_released_line_of_a_later_week_waits_for_its_turn(ana, ben, line):
    later = planned(line.session.block, line.exercise, 8, load=load_of(30, "kg"))
    later.pinned = ["load"]
    later.save()
    going_out.release(later, ana)
    assert not Proposal.objects.waiting().filter(session=later.session).exists()


@pytest.mark.parametrize("count", [1, 30])
def test_many_decisions_take_as_many_statements_as_one(ana, ben, count, django_assert_max_num_queries):
    session = ahead(settled(ben))
    rows = [proposed(session, f"Lift {number}", plain=True) for number in range(count)]
    with django_assert_max_num_queries(17):  # rows, lines and sets, writes, and the journal’s reading back
        proposals.decide(rows, ana)
    assert not Proposal.objects.waiting().exists()
