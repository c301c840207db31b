"""The change journal: what was done can be put back, unless later acts built on it."""

import pytest

from clients.models import Client, Limit
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from tests.factories import LimitFactory, TrainingSessionFactory


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
