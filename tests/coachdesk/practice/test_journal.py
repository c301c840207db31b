"""The change journal: what was done can be put back, unless later acts built on it."""

from datetime import UTC, datetime

import pytest

from clients.models import Client, Limit, LoggedSet, TargetSet, Taste
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from tests.factories import (
    DraftFactory,
    ExerciseFactory,
    LimitFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    TargetSetFactory,
    TrainingSessionFactory,
)


def rename(client, ana, name):
    with journal.act(ana.practice, ana, "client.rename", about="here", name=name) as entry:
        entry.change(client)
        client.name = name
        client.save()
    return entry.entry


def test_an_act_keeps_who_what_and_both_states(ana, ben):
    entry = rename(ben, ana, "Ben Pier")
    assert (entry.actor, entry.act, entry.params) == (ana, "client.rename", {"name": "Ben Pier"})
    (row,) = entry.rows
    assert row["before"]["name"] == "Ben Quay"
    assert row["after"]["name"] == "Ben Pier"


def test_undo_puts_back_and_undoing_that_does_it_again(ana, ben):
    entry = rename(ben, ana, "Ben Pier")
    undone = journal.undo(entry, ana)
    ben.refresh_from_db()
    assert ben.name == "Ben Quay"
    journal.undo(undone, ana)
    ben.refresh_from_db()
    assert ben.name == "Ben Pier"


@pytest.mark.parametrize("microsecond", [0, 123, 999, 1000, 123456])
def test_undo_and_redo_hold_at_any_moment(ana, ben, monkeypatch, microsecond):
    draft = DraftFactory(client=ben)
    moment = datetime(2026, 3, 2, 12, 0, 5, microsecond, tzinfo=UTC)
    monkeypatch.setattr("django.utils.timezone.now", lambda: moment)
    with journal.act(ana.practice, ana, "draft.rename") as entry:
        entry.change(draft)
        draft.weeks += 1
        draft.save()
    again = journal.undo(journal.undo(entry.entry, ana), ana)
    journal.undo(again, ana)


def test_nothing_changed_is_no_entry(ana, ben):
    with journal.act(ana.practice, ana, "client.rename") as entry:
        entry.change(ben)
    assert entry.entry is None
    assert not JournalEntry.objects.exists()


def test_undo_twice_is_refused(ana, ben):
    entry = rename(ben, ana, "Ben Pier")
    journal.undo(entry, ana)
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(entry, ana)
    assert refused.value.code == "done"


def test_undo_is_refused_when_a_later_act_built_on_it(ana, ben):
    entry = rename(ben, ana, "Ben Pier")
    rename(ben, ana, "Ben Mole")
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(entry, ana)
    assert refused.value.code == "later"
    ben.refresh_from_db()
    assert ben.name == "Ben Mole"


def test_made_and_removed_rows_come_and_go(ana, ben):
    with journal.act(ana.practice, ana, "limit.add") as entry:
        limit = LimitFactory(client=ben)
        entry.made(limit)
    journal.undo(entry.entry, ana)
    assert not Limit.objects.exists()

    kept = LimitFactory(client=ben)
    pk = kept.pk
    with journal.act(ana.practice, ana, "limit.remove") as entry:
        entry.change(kept)
        kept.delete()
    journal.undo(entry.entry, ana)
    assert Limit.objects.get(pk=pk).joint == "shoulder_overhead"


def test_a_row_that_others_hang_from_is_not_taken_away(ana, ben):
    with journal.act(ana.practice, ana, "block.assign") as entry:
        session = TrainingSessionFactory(block__client=ben)
        entry.made(session.block)
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(entry.entry, ana)
    assert refused.value.params["model"] == "clients.trainingsession"


def test_a_failed_act_leaves_nothing(ana, ben):
    def fail():
        with journal.act(ana.practice, ana, "client.rename") as entry:
            entry.change(ben)
            ben.name = "Nobody"
            ben.save()
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    assert Client.objects.get(pk=ben.pk).name == "Ben Quay"
    assert not JournalEntry.objects.exists()


# Many rows at once


def moved(ana, one, other, **wanted):
    with journal.act(ana.practice, ana, "sets.move") as entry:
        entry.move(LoggedSet.objects.filter(client__practice=ana.practice, **wanted), "exercise", one.pk, other.pk)
    return entry.entry


@pytest.fixture
def lifts(ana):
    return ExerciseFactory.create_batch(3, practice=ana.practice)


def test_many_rows_move_and_go_back_without_being_remembered_whole(ana, ben, lifts):
    one, other, _third = lifts
    LoggedSetFactory.create_batch(40, client=ben, exercise=one)
    stays = LoggedSetFactory(client=ben, exercise=other)
    before = list(LoggedSet.objects.order_by("pk").values())
    entry = moved(ana, one, other)
    assert entry.rows == [] and len(entry.moves[0]["pks"]) == 40
    assert not LoggedSet.objects.filter(exercise=one).exists()
    undone = journal.undo(entry, ana)
    assert list(LoggedSet.objects.order_by("pk").values()) == before
    journal.undo(undone, ana)
    assert LoggedSet.objects.filter(exercise=other).count() == 41 and stays.pk not in entry.moves[0]["pks"]


@pytest.mark.parametrize("count", [1, 300])
def test_moving_and_moving_back_cost_the_same_however_many(ana, ben, lifts, count, django_assert_num_queries):
    one, other, _third = lifts
    LoggedSetFactory.create_batch(count, client=ben, exercise=one)
    with django_assert_num_queries(5):  # savepoint, keys, update, the entry, savepoint
        entry = moved(ana, one, other)
    with django_assert_num_queries(9):  # savepoints, the entry, undone already, moved on since, update, the new entry
        journal.undo(entry, ana)


def test_moving_names_some_keys_at_a_time(ana, ben, lifts, monkeypatch):
    monkeypatch.setattr(journal, "KEYS_AT_ONCE", 7)
    one, other, _third = lifts
    LoggedSetFactory.create_batch(20, client=ben, exercise=one)
    journal.undo(moved(ana, one, other), ana)
    assert LoggedSet.objects.filter(exercise=one).count() == 20


def test_moving_back_leaves_alone_what_else_has_changed(ana, ben, lifts):
    one, other, _third = lifts
    LoggedSetFactory(client=ben, exercise=one, reps=8)
    entry = moved(ana, one, other)
    LoggedSet.objects.update(reps=9)
    journal.undo(entry, ana)
    assert LoggedSet.objects.values_list("exercise", "reps").get() == (one.pk, 9)


def test_what_was_moved_on_is_not_moved_back(ana, ben, lifts):
    one, other, third = lifts
    LoggedSetFactory.create_batch(3, client=ben, exercise=one)
    entry = moved(ana, one, other)
    moved(ana, other, third, pk=entry.moves[0]["pks"][1])
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(entry, ana)
    assert refused.value.params["model"] == "clients.loggedset"
    assert not LoggedSet.objects.filter(exercise=one).exists()


def test_a_row_that_is_gone_stops_nothing(ana, ben, lifts):
    one, other, _third = lifts
    LoggedSetFactory.create_batch(3, client=ben, exercise=one)
    entry = moved(ana, one, other)
    LoggedSet.objects.filter(pk=entry.moves[0]["pks"][0]).delete()
    journal.undo(entry, ana)
    assert LoggedSet.objects.filter(exercise=one).count() == 2


def test_moving_nothing_is_no_act(ana, lifts):
    assert moved(ana, lifts[0], lifts[1]) is None


def test_a_place_taken_since_is_no_accident(ana, ben, lifts):
    one, other, _third = lifts
    Taste.objects.create(client=ben, exercise=one, likes=True)
    with journal.act(ana.practice, ana, "tastes.move") as entry:
        entry.move(Taste.objects.filter(client=ben), "exercise", one.pk, other.pk)
    Taste.objects.create(client=ben, exercise=one, likes=False)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry.entry, ana)


def test_undo_is_refused_where_another_has_taken_the_place_of_what_would_come_back(ana, ben):
    """As with a set of a line, whose number another one has by now."""
    gone = TargetSetFactory(prescription=PrescriptionFactory(session__block__client=ben))
    with journal.act(ana.practice, ana, "line.cut") as entry:
        entry.change(gone)
        TargetSet.objects.all().delete()
    TargetSetFactory(prescription=gone.prescription, number=gone.number)
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(entry.entry, ana)
    assert refused.value.code == "later" and TargetSet.objects.count() == 1
