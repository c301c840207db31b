"""Splitting an exercise in two: which part of its history goes along, what stays, what is put back."""

from datetime import timedelta

import pytest

from clients import receiving
from clients.models import Limit, LoggedSet, Prescription, Progression, Proposal, RecentSet, Taste
from clients.reads.history import history_of
from clients.reads.splitting import Part, portion_of, whole_of
from clients.services.merging import merge
from clients.services.splitting import CannotSplit, split
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.models import Exercise, ExerciseText, Outline
from programs.services.outline_work import WEEK
from tests.clients.test_merging import DAY, dump, version_of
from tests.factories import (
    MONDAY,
    BlockFactory,
    ClientFactory,
    ExerciseFactory,
    LimitFactory,
    LoggedSetFactory,
    OutlineSlotFactory,
    PlaceFactory,
    PrescriptionFactory,
    ProposalFactory,
    RecentSetFactory,
    SlotCandidateFactory,
    TrainingSessionFactory,
)


@pytest.fixture
def one(ana):
    row = ExerciseFactory(
        practice=ana.practice,
        name="Cable row",
        aliases=["low row", "seated row"],
        implement="cable",
        load_entry="stack",
        regions={"lat": 4},
        joints={"grip": 1},
    )
    ExerciseText.objects.create(exercise=row, language="de", name="Rudern am Zug", set_up=["Hinsetzen."])
    return row


@pytest.fixture
def mia(ana):
    return ClientFactory(practice=ana.practice, coach=ana, name="Mia Rigg")


@pytest.fixture
def rooms(ana):
    return PlaceFactory(practice=ana.practice, name="Net Loft"), PlaceFactory(practice=ana.practice, name="Boat shed")


@pytest.fixture
def past(ben, mia, one, rooms):
    """Ben trains in both rooms, one after the other; Mia only in the first."""
    loft, shed = rooms
    done = {}
    for client, place, week in ((ben, loft, 0), (ben, shed, 1), (mia, loft, 0)):
        state = "ended" if (client, week) == (ben, 0) else "active"
        block = BlockFactory(client=client, place=place, state=state)
        day = MONDAY + 7 * week * DAY
        session = TrainingSessionFactory(block=block, state="trained", planned_on=day, trained_on=day)
        PrescriptionFactory(session=session, exercise=one, slot_key="row")
        LoggedSetFactory.create_batch(
            2, client=client, exercise=one, session=session, place=place, performed_on=day, slot_key="row", occurrence=0
        )
        done[client.name, week] = session
    ahead = TrainingSessionFactory(block=block_of(ben, shed), cycle=3, planned_on=MONDAY + 21 * DAY)
    PrescriptionFactory(session=ahead, exercise=one, slot_key="row")
    done["ahead"] = ahead
    return done


def block_of(client, place):
    return client.blocks.get(place=place)


def where(exercise):
    rows = LoggedSet.objects.filter(exercise=exercise).order_by("client__name", "place__name")
    return list(rows.values_list("client__name", "place__name").distinct())


# Which part


def test_by_place(ana, one, past, rooms):
    done = split(one, "Cable row, shed", Part(places=(rooms[1].pk,)), ana)
    assert done.sets == 2 and where(done.exercise) == [("Ben Quay", "Boat shed")]
    assert where(one) == [("Ben Quay", "Net Loft"), ("Mia Rigg", "Net Loft")]
    moved = Prescription.objects.filter(exercise=done.exercise)
    assert {row.session for row in moved} == {past["Ben Quay", 1], past["ahead"]}


def test_by_client(ana, ben, one, past):
    done = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana)
    assert where(done.exercise) == [("Ben Quay", "Boat shed"), ("Ben Quay", "Net Loft")]
    assert where(one) == [("Mia Rigg", "Net Loft")]


@pytest.mark.parametrize(
    "since, until, sets, lines",
    [
        (MONDAY + DAY, None, 2, 2),
        (MONDAY + DAY, MONDAY + 8 * DAY, 2, 1),
        (None, MONDAY, 4, 2),
        (MONDAY + 8 * DAY, None, 0, 1),
    ],
)
def test_by_days(one, past, since, until, sets, lines):
    portion = portion_of(one, Part(since=since, until=until))
    assert (portion.sets, portion.planned + portion.past) == (sets, lines)


def test_by_all_of_it_together(ana, ben, mia, one, past, rooms):
    part = Part((ben.pk, mia.pk), MONDAY, MONDAY + 2 * DAY, (rooms[0].pk,))
    done = split(one, "Old row", part, ana)
    assert where(done.exercise) == [("Ben Quay", "Net Loft"), ("Mia Rigg", "Net Loft")]
    assert where(one) == [("Ben Quay", "Boat shed")]


def test_a_session_without_a_day_is_still_to_come(ana, ben, one, rooms):
    session = TrainingSessionFactory(block__client=ben, planned_on=None)
    PrescriptionFactory(session=session, exercise=one)
    assert portion_of(one, Part(since=MONDAY)).planned == 1
    assert portion_of(one, Part(until=MONDAY)).planned == 0


def test_lines_go_where_their_sets_go(ana, ben, one, past):
    """A session trained later than planned belongs to the day on which its sets were done."""
    session = past["Ben Quay", 0]
    LoggedSet.objects.filter(session=session).update(performed_on=MONDAY + 3 * DAY)
    session.trained_on = MONDAY
    session.save()
    portion = portion_of(one, Part(clients=(ben.pk,), since=MONDAY + 3 * DAY, until=MONDAY + 3 * DAY))
    assert (portion.sets, portion.past) == (2, 1)
    assert portion_of(one, Part(clients=(ben.pk,), until=MONDAY)).past == 0


def test_a_line_whose_sheet_is_out_stays(ana, ben, one, past, rooms):
    ahead = past["ahead"]
    version = version_of(ahead, ahead.prescriptions.get(), one)
    part = Part(places=(rooms[1].pk,))
    portion = portion_of(one, part)
    assert (portion.planned, portion.sheets_out) == (0, 1)
    done = split(one, "Shed row", part, ana)
    assert ahead.prescriptions.get().exercise == one
    version.refresh_from_db()
    arrival = receiving.Arrival(way="phone", performed_on=MONDAY)
    received = receiving.take_set(ben, version, 1, 1, receiving.SetValues(reps=8), key="a", arrival=arrival)
    assert received.logged.exercise == one and done.sets == 2


@pytest.mark.parametrize("swapped", [True, False])
def test_a_late_set_goes_where_the_others_of_its_line_went(ana, ben, one, past, rooms, swapped):
    """Unless it was done with something else, and that was said."""
    session = past["Ben Quay", 1]
    version = version_of(session, session.prescriptions.get(), one)
    for number, row in enumerate(LoggedSet.objects.filter(session=session), start=1):
        LoggedSet.objects.filter(pk=row.pk).update(line=1, number=number, version=version)
    new = split(one, "Shed row", Part(places=(rooms[1].pk,)), ana).exercise
    stand_in = ExerciseFactory(practice=ana.practice) if swapped else None
    arrival = receiving.Arrival(way="phone", performed_on=MONDAY, exercise=stand_in)
    received = receiving.take_set(ben, version, 1, 3, receiving.SetValues(reps=8), key="a", arrival=arrival)
    assert received.logged.exercise == (stand_in or new)


def test_a_stand_in_of_earlier_sets_says_nothing_of_later_ones(ben, one, past):
    session = past["Ben Quay", 1]
    version = version_of(session, session.prescriptions.get(), one)
    stand_in = ExerciseFactory(practice=one.practice)
    values = receiving.SetValues(reps=8)
    swapped = receiving.Arrival(way="phone", performed_on=MONDAY, exercise=stand_in)
    receiving.take_set(ben, version, 1, 3, values, key="a", arrival=swapped)
    arrival = receiving.Arrival(way="phone", performed_on=MONDAY)
    assert receiving.take_set(ben, version, 1, 4, values, key="b", arrival=arrival).logged.exercise == one


def test_sets_from_before_know_no_place(ana, ben, one, past, rooms):
    RecentSetFactory(client=ben, exercise=one)
    assert portion_of(one, Part(places=(rooms[0].pk,))).recent == 0
    assert portion_of(one, Part(clients=(ben.pk,))).recent == 1
    new = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana).exercise
    assert RecentSet.objects.get().exercise == new


# What the new one gets


def test_the_new_one_has_all_facts_and_takes_names_along(ana, one, past, ben):
    new = split(one, "low row", Part(clients=(ben.pk,)), ana, aliases=["seated row"]).exercise
    one.refresh_from_db()
    assert (new.aliases, one.aliases, one.edited_fields) == (["seated row"], [], ["aliases"])
    assert (new.implement, new.load_entry, new.seed_key) == ("cable", "stack", "")
    assert new.regions.get().region == "lat" and new.joints.get().joint == "grip"
    text = new.texts.get()
    assert (text.language, text.name, text.set_up) == ("de", "", ["Hinsetzen."])
    assert one.texts.get().name == "Rudern am Zug"


def test_limits_and_likes_hold_for_both(ana, ben, mia, one, past):
    LimitFactory(client=ben, joint="", exercise=one, strict=False)
    Taste.objects.create(client=mia, exercise=one, likes=False)
    Progression.objects.create(client=ben, exercise=one, policy="effort_led")
    new = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana).exercise
    assert set(Progression.objects.values_list("exercise", "policy")) == {
        (one.pk, "effort_led"),
        (new.pk, "effort_led"),
    }
    assert set(Limit.objects.values_list("client", "exercise", "strict")) == {
        (ben.pk, one.pk, False),
        (ben.pk, new.pk, False),
    }
    assert set(Taste.objects.values_list("client", "exercise", "likes")) == {
        (mia.pk, one.pk, False),
        (mia.pk, new.pk, False),
    }


@pytest.mark.parametrize("ticked", [True, False])
def test_templates_keep_the_old_one_unless_ticked(ana, ben, one, past, ticked):
    slot = OutlineSlotFactory(day__outline__practice=ana.practice)
    other = OutlineSlotFactory(day__outline__practice=ana.practice)
    for each in (slot, other):
        SlotCandidateFactory(slot=each, exercise=one)
    outline = slot.day.outline
    new = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana, outlines=[outline.pk] if ticked else []).exercise
    outline.refresh_from_db()
    assert slot.candidates.get().exercise == (new if ticked else one)
    assert outline.edited_fields == ([WEEK] if ticked else [])
    assert other.candidates.get().exercise == one


def test_proposals_go_with_their_line(ana, ben, one, past, rooms):
    mine = ProposalFactory(client=ben, session=past["ahead"], slot_key="row", exercise=one)
    kept = ProposalFactory(client=ben, session=past["Ben Quay", 0], slot_key="row", exercise=one, state="accepted")
    new = split(one, "Shed row", Part(places=(rooms[1].pk,)), ana).exercise
    assert Proposal.objects.get(pk=mine.pk).exercise == new and Proposal.objects.get(pk=kept.pk).exercise == one


def test_each_has_its_own_history(ana, ben, one, past, rooms):
    new = split(one, "Shed row", Part(places=(rooms[1].pk,)), ana).exercise
    history = history_of(ben, "kg")
    assert [exposure.place for exposure in history.of(one.pk)] == [str(rooms[0].pk)]
    (exposure,) = history.of(new.pk)
    assert exposure.place == str(rooms[1].pk) and len(exposure.asked) == 3


# Undo and refusals


def test_undo_puts_every_row_of_every_table_back_and_undoing_that_splits_again(ana, ben, mia, one, past):
    LimitFactory(client=ben, joint="", exercise=one)
    Taste.objects.create(client=mia, exercise=one, likes=True)
    slot = OutlineSlotFactory(day__outline__practice=ana.practice)
    SlotCandidateFactory(slot=slot, exercise=one)
    before = dump()
    done = split(one, "low row", Part(clients=(ben.pk,)), ana, outlines=[slot.day.outline.pk])
    after = dump()
    undone = journal.undo(done.entry, ana)
    assert dump() == before
    journal.undo(undone, ana)
    assert dump() == after


def test_undo_is_refused_once_sets_came_in_for_the_new_one(ana, ben, one, past):
    done = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana)
    LoggedSetFactory(client=ben, exercise=done.exercise)
    before = dump()
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(done.entry, ana)
    assert refused.value.code == "later" and dump() == before


def test_what_was_split_off_can_be_merged_again(ana, ben, one, past):
    done = split(one, "Ben’s row", Part(clients=(ben.pk,)), ana)
    merge(done.exercise, one, ana)
    assert LoggedSet.objects.filter(exercise=one).count() == 6
    one.refresh_from_db()
    assert one.aliases == ["low row", "seated row", "Ben’s row"]


def test_nothing_in_the_part_is_no_split(ana, one, past, rooms):
    stranger = ClientFactory(practice=ana.practice, coach=ana)
    with pytest.raises(CannotSplit):
        split(one, "Other row", Part(clients=(stranger.pk,)), ana)
    assert Exercise.objects.count() == 1 and not JournalEntry.objects.exists()


def test_a_merged_exercise_has_nothing_to_split_off(ana, ben, one, past):
    other = ExerciseFactory(practice=ana.practice, load_entry="stack", implement="cable")
    merge(one, other, ana)
    with pytest.raises(CannotSplit):
        split(one, "Other row", Part(clients=(ben.pk,)), ana)


# What it costs, and what there is to choose from


@pytest.mark.parametrize("sets", [1, 300])
def test_splitting_costs_the_same_however_long_the_history(ana, ben, one, sets, django_assert_num_queries):
    session = TrainingSessionFactory(block__client=ben)
    PrescriptionFactory(session=session, exercise=one)
    LoggedSetFactory.create_batch(sets, client=ben, exercise=one, session=session)
    part = Part(clients=(ben.pk,))
    with django_assert_num_queries(6):
        assert portion_of(one, part).sets == sets
    with django_assert_num_queries(37):
        done = split(one, "Ben’s row", part, ana)
    with django_assert_num_queries(50):
        journal.undo(done.entry, ana)


def test_what_there_is_to_choose_from(ben, mia, one, past, rooms, django_assert_num_queries):
    slot = OutlineSlotFactory(day__outline__practice=one.practice)
    SlotCandidateFactory(slot=slot, exercise=one)
    SlotCandidateFactory(slot=slot, exercise=one, occurrence=1)
    archived = OutlineSlotFactory(day__outline__practice=one.practice, day__outline__archived_at="2026-01-01T00:00Z")
    SlotCandidateFactory(slot=archived, exercise=one)
    zoe = ClientFactory(practice=one.practice, coach=ben.coach, name="Zoe Sail")
    RecentSetFactory(client=zoe, exercise=one)
    with django_assert_num_queries(6):
        whole = whole_of(one)
    assert whole.clients == [(ben.pk, "Ben Quay", 4), (mia.pk, "Mia Rigg", 2), (zoe.pk, "Zoe Sail", 0)]
    assert whole.places == [(rooms[1].pk, "Boat shed", 2), (rooms[0].pk, "Net Loft", 4)]
    assert (whole.first, whole.last) == (MONDAY, MONDAY + timedelta(days=7))
    assert whole.outlines == [(slot.day.outline.pk, slot.day.outline.name)]
    assert Outline.objects.count() > 1
