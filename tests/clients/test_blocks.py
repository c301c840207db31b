"""Assigning writes what was on screen: dates, easier weeks, the careful first session, loads from what was done."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from clients.models import Block, Draft, LoggedSet, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads.composing import draft_inputs, picks_of
from clients.services import blocks, drafts
from clients.services.calendar import AlreadyOver, gaps_of, move_session
from clients.services.sheets import issue_sheet
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.units import load_of
from tests.clients.weeks import NEXT_MONDAY, draft_for, pick, small_week
from tests.factories import (
    MONDAY,
    HealthAnswersFactory,
    LoggedSetFactory,
    ProposalFactory,
    RecentSetFactory,
    TrainingSessionFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


@pytest.fixture
def trained(ben, week):
    """Ben has trained here before, though not what the tests ask for: no first session ever lies ahead."""
    LoggedSetFactory(client=ben, exercise=week.exercises["squat 3"], performed_on=MONDAY - timedelta(days=3), rir=None)


def lines(session):
    return {line.slot_key: line for line in session.prescriptions.all()}


def targets(session, slot):
    return list(lines(session)[slot].target_sets.all())


def assigned(draft, coach):
    return blocks.assign_block(draft, draft.revision, coach)


def test_it_writes_exactly_what_was_on_screen(ana, draft, trained):
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    drafts.set_sets(draft, 2, ana, "press", 1, 0)
    drafts.move_slot(draft, 3, ana, "full", "squat", -1)
    block = assigned(draft, ana)
    first, second = block.sessions.filter(cycle=1)
    for session in (first, second):
        for slot, line in lines(session).items():
            shown = pick(draft, slot, session.occurrence)
            assert (line.exercise.key, line.target_sets.count()) == (shown["exercise"], shown["sets"])
    assert list(lines(first)) == ["press", "squat", "row"]
    assert list(lines(second)) == ["squat", "row"]
    assert lines(second)["row"].pinned == ["exercise", "sets"]
    assert lines(first)["row"].pinned == []
    assert block.document == draft.document


def test_a_stale_revision_writes_nothing(ana, draft):
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    with pytest.raises(drafts.StaleDraft):
        blocks.assign_block(draft, 1, ana)
    assert not Block.objects.exists()
    assert Draft.objects.get().state == Draft.State.OPEN


def test_a_draft_is_assigned_once(ana, draft):
    assigned(draft, ana)
    with pytest.raises(drafts.StaleDraft):
        assigned(draft, ana)
    assert Block.objects.count() == 1


def test_sessions_fall_on_their_days_week_after_week(ana, draft):
    block = assigned(draft, ana)
    sessions = list(block.sessions.all())
    assert len(sessions) == 8
    assert [session.planned_on for session in sessions[:4]] == [
        MONDAY,
        MONDAY + timedelta(days=3),
        MONDAY + timedelta(days=7),
        MONDAY + timedelta(days=10),
    ]
    assert [(session.cycle, session.position, session.name) for session in sessions[:3]] == [
        (1, 0, "Full body A"),
        (1, 1, "Full body B"),
        (2, 0, "Full body A"),
    ]
    assert all(session.minutes and session.minutes <= 60 for session in sessions)


def test_a_start_within_the_week_begins_with_the_next_session_that_comes(ana, ben, week):
    wednesday = MONDAY + timedelta(days=2)
    draft, _week = draft_for(ben, ana, week, starts_on=wednesday)
    first, second, third = list(assigned(draft, ana).sessions.all())[:3]
    assert [(first.name, first.planned_on.weekday()), (second.name, second.planned_on.weekday())] == [
        ("Full body B", 3),
        ("Full body A", 0),
    ]
    assert third.planned_on == first.planned_on + timedelta(days=7)


def test_a_client_without_fixed_days_gets_sessions_without_dates(ana, ben, week):
    ben.order_mode = "list"
    ben.save()
    draft, _week = draft_for(ben, ana, week)
    sessions = list(assigned(draft, ana).sessions.all())
    assert {session.planned_on for session in sessions} == {None}
    assert [session.name for session in sessions[:2]] == ["Full body A", "Full body B"]


def test_a_deload_week_halves_the_sets_and_leaves_two_more_in_reserve(ana, draft, trained):
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    block = assigned(draft, ana)
    usual, easy = block.sessions.get(cycle=3, occurrence=1), block.sessions.get(cycle=4, occurrence=1)
    assert easy.deload and not usual.deload
    for slot in ("press", "row", "squat"):
        full, half = targets(usual, slot), targets(easy, slot)
        assert len(half) == -(-len(full) // 2)
        assert {target.rir for target in half} == {full[0].rir + 2}


def test_the_first_session_ever_has_fewer_sets_and_stays_far_from_failure(ana, draft):
    block = assigned(draft, ana)
    first, *others = block.sessions.filter(cycle__lte=2)
    for slot, line in lines(first).items():
        planned = pick(draft, slot, first.occurrence)["sets"]
        assert 0.6 * planned - 0.5 <= line.target_sets.count() <= 0.7 * planned + 0.5
        assert all(target.rir >= 3 for target in line.target_sets.all())
        assert line.reasons[0] == {"code": "first_session_fewer_sets", "params": {"percent": 65}}
    for session in others:
        for slot, line in lines(session).items():
            assert line.target_sets.count() == pick(draft, slot, session.occurrence)["sets"]
            assert {target.rir for target in line.target_sets.all()} == {2}


def test_who_has_trained_before_starts_with_all_sets(ana, draft, trained):
    first = assigned(draft, ana).sessions.first()
    for slot, line in lines(first).items():
        assert line.target_sets.count() == pick(draft, slot, 0)["sets"]


def test_a_load_comes_from_a_recent_set_rounded_down_to_what_is_there(ana, ben, week, draft, trained):
    row = week.exercises["press 0"]
    drafts.swap(draft, 1, ana, "press", 0, row.key)
    assert row.load_entry == "per_hand"  # dumbbells from 2 to 40 kg in steps of 2
    done = MONDAY - timedelta(days=4)
    RecentSetFactory(client=ben, exercise=row, reps=7, rir=2, done_on=done, load=load_of("23", "kg"))
    line = lines(assigned(draft, ana).sessions.first())["press"]
    assert not line.finds_load
    assert {target.load_value for target in line.target_sets.all()} == {Decimal("22")}
    assert {target.load_unit for target in line.target_sets.all()} == {"kg"}
    assert line.reasons[-1]["code"] == "load.from_before"
    assert line.reasons[-1]["params"]["load"] == 23.0


def test_time_away_takes_off_the_load(ana, ben, week, draft, trained):
    row = next(row for row in week.exercises.values() if row.key == pick(draft, "press", 0)["exercise"])
    long_ago = MONDAY - timedelta(days=40)
    RecentSetFactory(client=ben, exercise=row, reps=7, rir=2, done_on=long_ago, load=load_of("24", "kg"))
    line = lines(assigned(draft, ana).sessions.first())["press"]
    assert {target.load_value for target in line.target_sets.all()} == {Decimal("20")}  # 85 % of 24, rounded down
    assert "load.after_absence" in [reason["code"] for reason in line.reasons]


def test_without_anything_known_the_load_is_to_be_found(ana, draft):
    block = assigned(draft, ana)
    for line in lines(block.sessions.first()).values():
        assert line.finds_load
        assert {target.load_value for target in line.target_sets.all()} == {None}
        assert line.reasons[-1]["code"] == "load.find"
    later = lines(block.sessions.get(cycle=2, position=0))
    assert not any(line.finds_load for line in later.values())


def test_free_lines_stand_before_and_after(ana, ben, week):
    day = week.outline.days.get()
    day.lines.create(text="Walk", minutes=5, at_start=True)
    day.lines.create(text="Breathe", minutes=2, at_start=False)
    draft, _week = draft_for(ben, ana, week)
    rows = list(assigned(draft, ana).sessions.first().prescriptions.all())
    assert [row.text for row in rows] == ["Walk", "", "", "", "Breathe"]
    assert [row.position for row in rows] == [0, 1, 2, 3, 4]


def test_the_active_block_ends_and_one_undo_puts_all_back(ana, ben, week, draft):
    old = assigned(draft, ana)
    newer, _week = draft_for(ben, ana, week, starts_on=NEXT_MONDAY)
    block, entry = blocks.assign(newer, 1, ana)
    old.refresh_from_db()
    assert (old.state, block.state, block.number) == (Block.State.ENDED, Block.State.ACTIVE, old.number + 1)
    journal.undo(entry, ana)
    old.refresh_from_db()
    newer.refresh_from_db()
    assert old.state == Block.State.ACTIVE
    assert (newer.state, newer.revision) == (Draft.State.OPEN, 2)
    assert not Block.objects.filter(pk=block.pk).exists()
    assert not TrainingSession.objects.exclude(block=old).exists()
    assert not TargetSet.objects.exclude(prescription__session__block=old).exists()


def test_what_the_old_block_had_left_makes_way_for_the_new_one_and_undo_puts_it_back(ana, ben, week, draft):
    old = assigned(draft, ana)
    before, trained, started, *rest = old.sessions.all()
    trained.state, trained.trained_on = "trained", NEXT_MONDAY
    trained.planned_on = NEXT_MONDAY
    trained.save()
    LoggedSetFactory(client=ben, session=started)
    sheet = SheetVersion.objects.create(session=rest[0], number=1, document={}, digest="0" * 64, issued_by=ana)
    proposal = ProposalFactory(client=ben, session=rest[0])
    newer, _week = draft_for(ben, ana, week, starts_on=NEXT_MONDAY)
    _block, entry = blocks.assign(newer, 1, ana)

    def states():
        for row in (sheet, proposal):
            row.refresh_from_db()
        kept = [old.sessions.get(pk=row.pk).state for row in (before, trained, started)]
        return kept, {row.state for row in old.sessions.filter(pk__in=[row.pk for row in rest])}, sheet.state

    assert states() == (["planned", "trained", "planned"], {"dropped"}, "withdrawn")
    assert proposal.state == "superseded"
    journal.undo(entry, ana)
    assert states() == (["planned", "trained", "planned"], {"planned"}, "issued")
    assert proposal.state == "waiting"


def test_a_list_without_dates_makes_way_as_a_whole(ana, ben, week):
    ben.order_mode = "list"
    ben.save()
    old = assigned(draft_for(ben, ana, week)[0], ana)
    assigned(draft_for(ben, ana, week, starts_on=NEXT_MONDAY)[0], ana)
    assert set(old.sessions.values_list("state", flat=True)) == {"dropped"}


def test_undo_is_refused_once_the_block_was_trained_from(ana, ben, draft):
    block, entry = blocks.assign(draft, 1, ana)
    LoggedSetFactory(client=ben, session=block.sessions.first())
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert Block.objects.filter(pk=block.pk).exists() and LoggedSet.objects.exists()


def test_what_was_only_reckoned_for_the_block_holds_no_undo_up_and_what_was_decided_does(ana, ben, draft):
    block, entry = blocks.assign(draft, 1, ana)
    session = block.sessions.first()
    ProposalFactory(client=ben, session=session, state="superseded")
    ProposalFactory(client=ben, session=session)
    undone = journal.undo(entry, ana)
    assert not Block.objects.exists() and not Proposal.objects.exists()
    journal.undo(undone, ana)
    decided = ProposalFactory(client=ben, session=TrainingSession.objects.earliest("planned_on"), state="accepted")
    with pytest.raises(journal.CannotUndo):
        journal.undo(JournalEntry.objects.latest("pk"), ana)
    assert Proposal.objects.get() == decided


def test_the_client_trains_there_from_now_on(ana, ben, week, draft):
    assigned(draft, ana)
    ben.refresh_from_db()
    assert (ben.outline, ben.place) == (week.outline, week.place)


def test_an_exercise_hidden_since_it_was_picked_is_still_written(ana, draft, week):
    key = pick(draft, "press", 0)["exercise"]
    row = next(row for row in week.exercises.values() if row.key == key)
    row.hidden_at = timezone.now()
    row.save()
    line = lines(assigned(draft, ana).sessions.first())["press"]
    assert line.exercise == row and line.target_sets.count() > 0


@pytest.mark.parametrize("slots", [1, 8])
def test_assigning_writes_in_bulk_however_much(ana, ben, slots, django_assert_max_num_queries):
    ben.minutes = 180
    ben.save()
    draft, _week = draft_for(ben, ana, small_week(ben, slots=slots))
    draft = Draft.objects.select_related("client__practice").get(pk=draft.pk)
    with django_assert_max_num_queries(55):  # the database may take a great many rows in several statements
        blocks.assign_block(draft, 1, ana)


def test_recovery_is_reckoned_between_sessions_that_share_groups(ana, draft):
    inputs = draft_inputs(draft)
    gaps = gaps_of(inputs, picks_of(draft.document), draft.document["days"])
    assert [(gap.earlier, gap.later, gap.wraps) for gap in gaps] == [
        ("full:0", "full:1", False),
        ("full:1", "full:0", True),
    ]
    assert 70 <= gaps[0].hours <= 72 and 94 <= gaps[1].hours <= 96


def test_a_session_moves_to_another_date_and_back(ana, draft):
    block = assigned(draft, ana)
    session = block.sessions.first()
    entry = move_session(session, ana, MONDAY + timedelta(days=1))
    assert TrainingSession.objects.get(pk=session.pk).planned_on == MONDAY + timedelta(days=1)
    journal.undo(entry, ana)
    assert TrainingSession.objects.get(pk=session.pk).planned_on == MONDAY


def test_a_move_to_the_same_date_is_no_act(ana, draft):
    session = assigned(draft, ana).sessions.first()
    acts = JournalEntry.objects.count()
    assert move_session(session, ana, session.planned_on) is None
    assert JournalEntry.objects.count() == acts


@pytest.mark.parametrize("state", ["trained", "missed", "dropped"])
def test_what_is_over_keeps_its_date(ana, ben, state):
    session = TrainingSessionFactory(block__client=ben, state=state, trained_on=MONDAY)
    with pytest.raises(AlreadyOver):
        move_session(session, ana, NEXT_MONDAY)


@pytest.mark.parametrize(
    ("experience", "weeks", "easier"),
    [("novice", 12, []), ("intermediate", 6, [6]), ("advanced", 13, [6, 12]), ("intermediate", 4, [])],
)
def test_easier_weeks_come_every_sixth_week_and_for_novices_when_needed(experience, weeks, easier):
    assert blocks.usual_deloads(experience, weeks) == easier


def test_a_sheet_that_is_out_says_the_new_date(ana, ben, draft):
    HealthAnswersFactory(client=ben, answered_on=timezone.localdate())
    session = assigned(draft, ana).sessions.first()
    first = issue_sheet(session, ana).version
    entry = move_session(session, ana, session.planned_on + timedelta(days=1))
    newest = session.versions.get(state="issued")
    assert (
        newest.document["session"]["planned_on"]
        == session.planned_on.isoformat()
        != first.document["session"]["planned_on"]
    )
    first.refresh_from_db()
    assert first.state == "superseded"
    journal.undo(entry, ana)
    assert session.versions.get(state="issued") == first
