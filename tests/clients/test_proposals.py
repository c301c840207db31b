"""What comes next: proposed from the log, decided by the coach, handed out again where it was out already."""

from datetime import timedelta
from decimal import Decimal

import pytest

from clients.models import Illness, LoggedSet, PainReport, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.proposal_words import figure
from clients.services import proposals, sheets
from clients.services.proposals import Change, Overtaken
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.clients.lifting import TODAY, dumbbell_press, five_weeks, loft_block, planned, trained
from tests.factories import (
    MONDAY,
    ExerciseFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    TrainingSessionFactory,
)


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    for module in ("clients.services.proposals", "clients.services.proposing", "clients.services.sheets"):
        monkeypatch.setattr(f"{module}.today_for", lambda client: TODAY)


@pytest.fixture
def block(ben):
    return loft_block(ben)


@pytest.fixture
def press(ana):
    return dumbbell_press(ana.practice)


@pytest.fixture
def after_five_weeks(block, press):
    return five_weeks(block, press)


def waiting(client):
    return Proposal.objects.waiting().filter(client=client)


def test_a_line_that_was_met_gets_a_proposal_with_reasons(ben, after_five_weeks):
    assert proposals.refresh(ben) == 1
    proposal = waiting(ben).get()
    assert proposal.session.cycle == 6
    assert proposal.kind == "load_up"
    assert (proposal.old["load"], proposal.new["load"], proposal.new["unit"]) == (20, 21, "kg")
    assert {"sets_used", "load_step"} <= {reason["code"] for reason in proposal.reasons}
    assert proposal.plain


def test_asking_again_with_the_same_log_changes_nothing(ben, after_five_weeks):
    proposals.refresh(ben)
    first = waiting(ben).get()
    proposals.refresh(ben)
    assert waiting(ben).get() == first


def test_a_changed_log_supersedes_what_was_proposed(ben, after_five_weeks):
    proposals.refresh(ben)
    first = waiting(ben).get()
    LoggedSet.objects.filter(performed_on=MONDAY + timedelta(weeks=4)).update(reps=6)
    proposals.refresh(ben)
    newest = waiting(ben).get()
    first.refresh_from_db()
    assert (first.kind, newest.kind) == ("load_up", "reps_up")
    assert (first.state, first.superseded_by) == (Proposal.State.SUPERSEDED, newest)


def test_the_week_after_next_waits_until_the_next_is_behind(ben, after_five_weeks):
    proposals.refresh(ben)
    assert not waiting(ben).filter(session__cycle=7).exists()
    after_five_weeks.session.state = TrainingSession.State.MISSED
    after_five_weeks.session.save()
    proposals.refresh(ben)
    assert waiting(ben).get().session.cycle == 7


def test_without_an_active_block_nothing_waits(ben, block, after_five_weeks):
    proposals.refresh(ben)
    block.state = block.State.ENDED
    block.save()
    assert proposals.refresh(ben) == 0
    assert not waiting(ben).exists()


@pytest.mark.parametrize("weeks", [2, 7])
def test_the_cost_does_not_grow_with_the_history(ben, block, press, weeks, django_assert_num_queries):
    for cycle in range(1, weeks):
        trained(block, press, cycle, reps=(8, 8, 8))
    planned(block, press, weeks)
    proposals.refresh(ben)
    with django_assert_num_queries(31):
        proposals.refresh(ben)


def spared(part):
    return {"joints": [], "patterns": [], "regions": [], "everything": False, "part": part}


def test_pain_in_what_the_exercise_loads_holds_it_back(ben, after_five_weeks):
    affected = {"joints": [], "patterns": ["horizontal_push"], "regions": [], "everything": False}
    PainReport.objects.create(
        client=ben, key="k", body_part="shoulder", score=4, action="freeze", felt_on=TODAY, affected=affected
    )
    proposals.refresh(ben)
    proposal = waiting(ben).get()
    assert proposal.kind == "freeze"
    assert not proposal.plain


def test_accepting_writes_the_new_sets(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    proposals.accept(waiting(ben).get(), ana)
    after_five_weeks.refresh_from_db()
    assert {row.load_value for row in after_five_weeks.target_sets.all()} == {Decimal(21)}
    assert after_five_weeks.reasons[0]["code"] == "sets_used"
    decided = Proposal.objects.get(session=after_five_weeks.session)
    assert (decided.state, decided.decided_by, decided.decided["load"]) == (Proposal.State.ACCEPTED, ana, 21)
    assert proposals.refresh(ben) == 0


def test_a_coachs_own_numbers_are_pinned_and_give_their_own_reason(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    proposals.accept(waiting(ben).get(), ana, change=Change(load_of("24", "kg"), sets=4, reps_low=5, reps_high=6))
    after_five_weeks.refresh_from_db()
    rows = list(after_five_weeks.target_sets.values_list("number", "load_value", "reps_low", "reps_high", "rir"))
    assert rows == [(number, Decimal(24), 5, 6, 2) for number in (1, 2, 3, 4)]
    assert after_five_weeks.pinned == ["load", "reps", "sets"]
    assert [reason["code"] for reason in after_five_weeks.reasons] == ["set_by_coach"]
    assert Proposal.objects.get(session=after_five_weeks.session).state == Proposal.State.EDITED


def test_declining_repeats_what_was_done_last(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    proposals.decline(waiting(ben).get(), ana)
    after_five_weeks.refresh_from_db()
    assert {row.load_value for row in after_five_weeks.target_sets.all()} == {Decimal(20)}
    assert [reason["code"] for reason in after_five_weeks.reasons] == ["declined_repeat"]


def test_declining_a_search_for_the_load_leaves_the_search(ana, ben, block, press):
    line = planned(block, press, 1)
    proposals.refresh(ben)
    proposal = waiting(ben).get()
    assert proposal.new["find_load"]
    proposals.decline(proposal, ana)
    line.refresh_from_db()
    assert line.finds_load


def test_one_undo_takes_a_decision_back(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    entry = proposals.accept(waiting(ben).get(), ana)
    journal.undo(entry, ana)
    after_five_weeks.refresh_from_db()
    assert after_five_weeks.reasons == []
    assert {row.load_value for row in after_five_weeks.target_sets.all()} == {None}
    assert waiting(ben).exists()


def test_a_decision_is_taken_once(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    proposal = waiting(ben).get()
    proposals.accept(proposal, ana)
    with pytest.raises(Overtaken):
        proposals.decline(proposal, ana)


def test_a_trained_session_is_never_changed(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    proposal = waiting(ben).get()
    session = after_five_weeks.session
    session.state, session.trained_on = TrainingSession.State.TRAINED, TODAY
    session.save()
    with pytest.raises(Overtaken):
        proposals.accept(proposal, ana)
    assert {row.load_value for row in after_five_weeks.target_sets.all()} == {None}


def test_plain_ones_go_together_and_come_back_together(ana, ben, block, after_five_weeks):
    proposals.refresh(ben)
    not_plain = Proposal.objects.create(
        client=ben, session=after_five_weeks.session, slot_key="other", exercise=after_five_weeks.exercise, digest="x"
    )
    count, entry = proposals.accept_plain(waiting(ben), ana)
    assert count == 1
    assert list(waiting(ben)) == [not_plain]
    journal.undo(entry, ana)
    assert waiting(ben).count() == 2


def test_pain_that_came_in_a_moment_ago_keeps_plain_ones_back(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    PainReport.objects.create(
        client=ben, key="k", body_part="knee", score=3, action="freeze", felt_on=TODAY, affected=spared("knee")
    )
    assert proposals.accept_plain(waiting(ben), ana) == (0, None)
    assert waiting(ben).exists()


@pytest.mark.parametrize("kind", ["above_neck", "whole_body", "alarm"])
def test_an_illness_noted_a_moment_ago_keeps_plain_ones_back(ana, ben, after_five_weeks, kind):
    proposals.refresh(ben)
    Illness.objects.create(client=ben, kind=kind, since=TODAY)
    assert proposals.accept_plain(waiting(ben), ana) == (0, None)
    assert waiting(ben).exists()


def test_a_clearance_that_has_run_out_keeps_plain_ones_back(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    ben.health_answers.all().delete()
    assert proposals.accept_plain(waiting(ben), ana) == (0, None)
    assert waiting(ben).exists()


@pytest.fixture
def out(ana, after_five_weeks):
    """The undecided session's sheet, sent before the guard was there to ask."""
    TargetSet.objects.filter(prescription=after_five_weeks).update(load_value=20, load_unit="kg", load_grams=20000)
    return sheets.issue_sheet(after_five_weeks.session, ana).version


def loads_of(version):
    return {target["load"]["value"] for line in version.document["lines"] for target in line["sets"]}


def test_an_accepted_change_supersedes_a_sheet_that_is_out(ana, ben, out):
    proposals.refresh(ben)
    proposals.accept(waiting(ben).get(), ana)
    out.refresh_from_db()
    newest = SheetVersion.objects.standing().get(session=out.session)
    assert out.state == SheetVersion.State.SUPERSEDED
    assert (loads_of(out), loads_of(newest)) == ({"20"}, {"21"})
    assert JournalEntry.objects.filter(act="sheet.issue").count() == 1


def test_undo_brings_the_old_sheet_back_and_keeps_the_newer_as_withdrawn(ana, ben, out):
    proposals.refresh(ben)
    entry = proposals.accept(waiting(ben).get(), ana)
    journal.undo(entry, ana)
    standing = SheetVersion.objects.standing().get(session=out.session)
    assert standing == out
    assert SheetVersion.objects.filter(session=out.session, state=SheetVersion.State.WITHDRAWN).count() == 1


def test_undo_of_a_decision_changes_a_sheet_that_was_sent_since(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    entry = proposals.accept(waiting(ben).get(), ana)
    sent = sheets.issue_sheet(after_five_weeks.session, ana).version
    journal.undo(entry, ana)
    newest = SheetVersion.objects.standing().get(session=sent.session)
    assert newest != sent
    assert {target["load"] for line in newest.document["lines"] for target in line["sets"]} == {None}


def test_undo_of_a_decision_is_refused_once_it_was_trained(ana, ben, after_five_weeks):
    proposals.refresh(ben)
    entry = proposals.accept(waiting(ben).get(), ana)
    session = after_five_weeks.session
    session.state, session.trained_on = TrainingSession.State.TRAINED, TODAY
    session.save()
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert {row.load_value for row in after_five_weeks.target_sets.all()} == {Decimal(21)}


def test_whoever_is_not_cleared_any_more_has_the_outdated_sheet_withdrawn(ana, ben, out):
    proposals.refresh(ben)
    ben.health_answers.all().delete()
    proposals.accept(waiting(ben).get(), ana)
    out.refresh_from_db()
    assert out.state == SheetVersion.State.WITHDRAWN


def test_a_sheet_with_an_undecided_load_does_not_go_out(ana, after_five_weeks):
    with pytest.raises(sheets.NotReady) as refused:
        sheets.issue_sheet(after_five_weeks.session, ana)
    assert refused.value.lines == (after_five_weeks,)
    assert not SheetVersion.objects.exists()


def test_a_week_goes_out_whole_or_not_at_all(ana, block, press, after_five_weeks):
    other = TrainingSessionFactory(block=block, cycle=6, position=1, occurrence=1)
    PrescriptionFactory(session=other, exercise=press, slot_key="other", position=0)
    with pytest.raises(sheets.NotReady):
        sheets.issue_week(block, 6, ana)
    assert not SheetVersion.objects.exists()


@pytest.mark.parametrize(
    ("exercise", "line", "ready"),
    [
        ({"load_entry": "none", "implement": "bodyweight"}, {}, True),
        ({}, {"finds_load": True}, True),
        ({}, {"reasons": [{"code": "load.by_feel", "params": {}}]}, True),
        ({}, {}, False),
    ],
    ids=["takes no load", "finds its load", "a reason why not", "nobody decided"],
)
def test_what_counts_as_decided(ana, block, exercise, line, ready):
    session = TrainingSessionFactory(block=block, cycle=6, position=0)
    row = PrescriptionFactory(
        session=session,
        exercise=ExerciseFactory(practice=ana.practice, **exercise),
        position=0,
        target_sets__load=None,
        **line,
    )
    assert sheets.is_undecided(row) is not ready


def test_a_sheet_taken_back_stays_as_withdrawn_and_comes_back_with_redo(ana, after_five_weeks, ben):
    proposals.refresh(ben)
    proposals.accept(waiting(ben).get(), ana)
    version = sheets.issue_sheet(after_five_weeks.session, ana).version
    entry = JournalEntry.objects.get(act="sheet.issue")
    back = journal.undo(entry, ana)
    version.refresh_from_db()
    assert version.state == SheetVersion.State.WITHDRAWN
    journal.undo(back, ana)
    version.refresh_from_db()
    assert version.state == SheetVersion.State.ISSUED


def test_a_sheet_that_was_trained_from_is_not_taken_back(ana, out):
    LoggedSetFactory(client=out.session.block.client, session=out.session, version=out, line=1, number=1)
    with pytest.raises(journal.CannotUndo):
        journal.undo(JournalEntry.objects.get(act="sheet.issue"), ana)
    out.refresh_from_db()
    assert out.state == SheetVersion.State.ISSUED


@pytest.mark.parametrize(
    ("entry", "on_body", "old", "new", "shown"),
    [
        ("total", False, "72.5", "75", ("72.5", "75", "kg")),
        ("assisted", True, "0", "10", ("0", "10", "kg help")),
        ("added", True, "0", "1.25", ("0", "+1.25", "kg")),
        ("added", True, "0", "0", ("", "bodyweight", "")),
    ],
)
def test_a_proposed_load_is_shown_as_it_is_meant(press, entry, on_body, old, new, shown):
    press.load_entry, press.bodyweight_fraction = entry, Decimal(1) if on_body else None
    asked = {"sets": 3, "reps_low": 6, "reps_high": 8, "unit": "kg"}
    proposal = Proposal(exercise=press, old={**asked, "load": old}, new={**asked, "load": new})
    found = figure(proposal)
    assert (found.old, found.new, found.unit) == shown
