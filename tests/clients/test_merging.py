"""Merging one exercise into another: what moves, what is refused, what is put back, what still comes in."""

from datetime import timedelta

import pytest
from django.apps import apps
from django.core import serializers
from django.db import models

from clients import receiving
from clients.models import (
    Limit,
    LoggedSet,
    PainReport,
    Prescription,
    Progression,
    Proposal,
    RecentSet,
    SheetVersion,
    Taste,
)
from clients.pasted import hear, names_of
from clients.reads.composing import compose_inputs, draft_inputs, picks_of
from clients.reads.history import history_of
from clients.reads.log_grid import grid_of
from clients.reads.merging import both_have, differences, held_by
from clients.reads.phone import Sheet
from clients.receiving import Arrival, SetValues
from clients.services import drafts, merging
from clients.services.merging import CannotMerge, merge
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.drawings.figures import keys
from programs.merged import ends, received_as, standing
from programs.models import Exercise, FavouriteExercise, Outline, OutlineSlot, SlotCandidate
from programs.models.stamps import LibraryStamp
from programs.seeding import seed_practice
from programs.units import load_of
from tests.factories import (
    MONDAY,
    BlockFactory,
    ClientFactory,
    DraftFactory,
    ExerciseFactory,
    HealthAnswersFactory,
    LimitFactory,
    LoggedSetFactory,
    OutlineSlotFactory,
    PhotoFactory,
    PrescriptionFactory,
    ProposalFactory,
    RecentSetFactory,
    SlotCandidateFactory,
    TrainingSessionFactory,
)

DAY = timedelta(days=1)
TARGET = {
    "kind": "work",
    "load": {"value": "20", "unit": "kg"},
    "reps": [6, 8],
    "open": False,
    "seconds": None,
    "metres": None,
    "rir": 2.0,
}
# What stays with an exercise and does not move with a merge: its own facts, and the chain of merges.
ITS_OWN = {"programs.ExerciseRegion", "programs.ExerciseJoint", "programs.ExerciseText", "programs.Exercise"}


@pytest.fixture
def one(ana):
    return ExerciseFactory(practice=ana.practice, name="Bench press (copy)", aliases=["flat press"])


@pytest.fixture
def other(ana):
    return ExerciseFactory(practice=ana.practice, name="Dumbbell bench press", aliases=["DB bench"])


def version_of(session, line, exercise, **more):
    """A sheet that is out and names an exercise."""
    document = {
        "lines": [
            {
                "number": 1,
                "free": False,
                "slot": line.slot_key,
                "unit": "kg",
                "last": None,
                "load_names": [],
                "swaps": [],
                "exercise": {
                    "id": exercise.key,
                    "name": exercise.name,
                    "load_entry": exercise.load_entry,
                    "rep_unit": exercise.rep_unit,
                    "limbs": exercise.limbs,
                    "implement": exercise.implement,
                    "pattern": exercise.pattern,
                    "bodyweight_fraction": 0,
                },
                "sets": [{"number": n, **TARGET} for n in (1, 2)],
                **more,
            }
        ]
    }
    return SheetVersion.objects.create(session=session, number=1, document=document, digest="d" * 64)


def dump():
    """Every row of every table of ours as text, but for the journal itself."""
    tables = [model for model in apps.get_models() if model._meta.app_label in ("clients", "programs", "practice")]
    return {
        model._meta.label: serializers.serialize("json", model._base_manager.order_by("pk"))
        for model in tables
        if model not in (JournalEntry, LibraryStamp)  # a stamp says that something changed: undo changes it too
    }


@pytest.fixture
def much(ana, ben, one, other):
    """One of everything that can hang on an exercise, with every clash there is."""
    mia = ClientFactory(practice=ana.practice, coach=ana, name="Mia Rigg")
    block = BlockFactory(client=ben)
    done = TrainingSessionFactory(block=block, cycle=1, state="trained", trained_on=MONDAY)
    ahead = TrainingSessionFactory(block=block, cycle=2, planned_on=MONDAY + 7 * DAY)
    for session in (done, ahead):
        PrescriptionFactory(session=session, exercise=one, slot_key="press")
    PrescriptionFactory(session=ahead, exercise=other, slot_key="press-2")
    LoggedSetFactory.create_batch(3, client=ben, exercise=one, session=done, slot_key="press", occurrence=0)
    LoggedSetFactory.create_batch(2, client=mia, exercise=one)
    LoggedSetFactory(client=ben, exercise=other)
    RecentSetFactory(client=ben, exercise=one)
    ProposalFactory(client=ben, session=ahead, slot_key="press", exercise=one)
    receiving.take_pain(
        ben, key="p", score=2, body_part="knee", side="left", felt_on=MONDAY, session=done, exercise=one
    )
    Taste.objects.create(client=ben, exercise=one, likes=False)
    Taste.objects.create(client=ben, exercise=other, likes=True)
    Taste.objects.create(client=mia, exercise=one, likes=True)
    LimitFactory(client=ben, joint="", exercise=one)
    LimitFactory(client=mia, joint="", exercise=one)
    LimitFactory(client=mia, joint="", exercise=other)
    FavouriteExercise.objects.create(coach=ana, exercise=one)
    FavouriteExercise.objects.create(coach=ana, exercise=other)
    slot = OutlineSlotFactory(day__outline__practice=ana.practice, title="Chest, press")
    SlotCandidateFactory(slot=slot, exercise=one, rank=0)
    SlotCandidateFactory(slot=slot, exercise=other, rank=3)
    SlotCandidateFactory(slot=slot, exercise=one, rank=1, occurrence=1)
    DraftFactory(client=mia, document={"picks": [], "order": {}, "days": []})
    return {"mia": mia, "slot": slot, "ahead": ahead, "done": done}


# What moves


def test_all_that_hangs_on_the_one_hangs_on_the_other(ana, ben, one, other, much):
    merged = merge(one, other, ana)
    assert merged.sets == 5
    assert merged.entry.params == {
        "name": one.name,
        "into": other.name,
        "sets": 5,
        "clients": [ben.pk],
    }
    for model in (LoggedSet, Prescription, Proposal, RecentSet, PainReport, Taste, Limit, SlotCandidate):
        assert not model.objects.filter(exercise=one).exists(), model
    assert LoggedSet.objects.filter(exercise=other).count() == 6
    one.refresh_from_db()
    assert one.merged_into == other and one.hidden_at is not None and one.aliases == ["flat press"]
    other.refresh_from_db()
    assert other.aliases == ["DB bench", "Bench press (copy)", "flat press"] and other.edited_fields == ["aliases"]


def test_nothing_that_names_an_exercise_is_forgotten():
    """A new table with a foreign key to an exercise has to say what merging means for it."""
    naming = {
        field.related_model._meta.label
        for field in Exercise._meta.get_fields(include_hidden=True)
        if field.auto_created and not field.concrete and isinstance(field.field, models.ForeignKey)
    }
    moved = {
        model._meta.label for model in (*merging.FREE, Taste, Limit, Progression, FavouriteExercise, SlotCandidate)
    }
    assert naming == moved | ITS_OWN


def test_a_dislike_outweighs_a_like(ana, ben, one, other, much):
    merge(one, other, ana)
    assert dict(Taste.objects.values_list("client__name", "likes")) == {"Ben Quay": False, "Mia Rigg": True}


def test_a_slot_keeps_the_better_rank_and_each_other_place_its_own(ana, one, other, much):
    merge(one, other, ana)
    assert list(much["slot"].candidates.values_list("occurrence", "rank", "exercise")) == [
        (0, 0, other.pk),
        (1, 1, other.pk),
    ]


def test_the_same_limit_and_the_same_favourite_stand_once(ana, one, other, much):
    merge(one, other, ana)
    assert list(Limit.objects.order_by("client").values_list("client__name", "exercise")) == [
        ("Ben Quay", other.pk),
        ("Mia Rigg", other.pk),
    ]
    assert FavouriteExercise.objects.get().exercise == other


def test_limits_that_differ_are_both_kept(ana, ben, one, other):
    LimitFactory(client=ben, joint="", exercise=one, strict=True)
    LimitFactory(client=ben, joint="", exercise=other, strict=False)
    merge(one, other, ana)
    assert sorted(Limit.objects.filter(exercise=other).values_list("strict", flat=True)) == [False, True]


def test_undo_puts_every_row_of_every_table_back_and_undoing_that_merges_again(ana, one, other, much):
    before = dump()
    entry = merge(one, other, ana).entry
    after = dump()
    assert before != after
    undone = journal.undo(entry, ana)
    assert dump() == before
    journal.undo(undone, ana)
    assert dump() == after


def test_undo_is_refused_when_sets_were_moved_on_since(ana, ben, one, other, much):
    third = ExerciseFactory(practice=ana.practice)
    first = merge(one, other, ana).entry
    second = merge(other, third, ana).entry
    with pytest.raises(journal.CannotUndo) as refused:
        journal.undo(first, ana)
    assert refused.value.code == "later"
    journal.undo(second, ana)
    journal.undo(first, ana)
    assert LoggedSet.objects.filter(exercise=one).count() == 5


def test_sets_that_came_in_since_stay_with_the_other(ana, ben, one, other, much):
    entry = merge(one, other, ana).entry
    LoggedSetFactory(client=ben, exercise=other)
    journal.undo(entry, ana)
    assert (LoggedSet.objects.filter(exercise=one).count(), LoggedSet.objects.filter(exercise=other).count()) == (5, 2)


def test_what_is_shown_goes_along_where_the_other_shows_nothing(ana, one, other):
    clip, drawn = "https://clips.example/one", next(iter(keys()))
    photo = PhotoFactory(practice=ana.practice)
    Exercise.objects.filter(pk=one.pk).update(photo=photo, clip_url=clip, figure=drawn)
    Exercise.objects.filter(pk=other.pk).update(clip_url="https://clips.example/other")
    before = dump()
    merged = merge(one, other, ana)
    other.refresh_from_db()
    assert (other.photo, other.clip_url, other.figure) == (photo, "https://clips.example/other", drawn)
    assert other.edited_fields == ["aliases", "figure"]
    journal.undo(merged.entry, ana)
    assert dump() == before


@pytest.mark.parametrize("keep", [True, False])
def test_the_names_are_kept_or_given_up(ana, one, other, keep):
    merge(one, other, ana, keep_names=keep)
    other.refresh_from_db()
    assert other.aliases == (["DB bench", "Bench press (copy)", "flat press"] if keep else ["DB bench"])


def test_a_name_that_means_a_third_is_not_taken_over(ana, one, other):
    ExerciseFactory(practice=ana.practice, name="Floor press", aliases=["Flat Press"])
    assert merging.names_after(one, other) == (["DB bench", "Bench press (copy)"], ["flat press"])
    merge(one, other, ana)
    other.refresh_from_db()
    assert other.aliases == ["DB bench", "Bench press (copy)"]


def test_no_more_names_than_are_useful(ana, one, other):
    one.aliases = [f"press {n}" for n in range(30)]
    kept, left = merging.names_after(one, other)
    assert len(kept) == 20 and len(left) == 12 and not set(kept) & set(left)


# What it costs


def clash(ana, one, other, count):
    """Clients with a like, a dislike and twice the same limit."""
    for n in range(count):
        client = ClientFactory(practice=ana.practice, coach=ana)
        Taste.objects.create(client=client, exercise=one, likes=False)
        Taste.objects.create(client=client, exercise=other, likes=True)
        LimitFactory(client=client, joint="", exercise=one, since=MONDAY + n * DAY)
        LimitFactory(client=client, joint="", exercise=other, since=MONDAY + n * DAY)


@pytest.mark.parametrize("rows", [1, 400])
def test_merging_and_undoing_cost_the_same_however_long_the_history(
    ana, ben, one, other, rows, django_assert_num_queries
):
    clash(ana, one, other, 1)
    session = TrainingSessionFactory(block__client=ben)
    LoggedSetFactory.create_batch(rows, client=ben, exercise=one, session=session)
    PrescriptionFactory.create_batch(min(rows, 60), session=session, exercise=one)
    with django_assert_num_queries(52):
        entry = merge(one, other, ana).entry
    with django_assert_num_queries(28):
        journal.undo(entry, ana)
    sets = next(move for move in entry.moves if move["model"] == "clients.loggedset")
    assert len(sets["pks"]) == rows and len(str(sets)) < 8 * rows + 120


def test_what_was_decided_of_the_other_outweighs_what_was_of_the_one(ana, ben, one, other):
    mia = ClientFactory(practice=ana.practice, coach=ana, name="Mia Rigg")
    Progression.objects.create(client=ben, exercise=one, policy="fixed_steps")
    Progression.objects.create(client=ben, exercise=other, policy="effort_led")
    Progression.objects.create(client=mia, exercise=one, policy="fixed_steps")
    assert both_have(one, other).steered == ("Ben Quay",)
    entry = merge(one, other, ana).entry
    assert dict(Progression.objects.filter(exercise=other).values_list("client__name", "policy")) == {
        "Ben Quay": "effort_led",
        "Mia Rigg": "fixed_steps",
    }
    journal.undo(entry, ana)
    assert Progression.objects.filter(exercise=one).count() == 2


@pytest.mark.parametrize("clients", [1, 20])
def test_merging_costs_the_same_however_many_clients_have_both(ana, one, other, clients, django_assert_num_queries):
    clash(ana, one, other, clients)
    with django_assert_num_queries(50):
        merge(one, other, ana)


# What is refused


@pytest.mark.parametrize(
    "changes, name",
    [
        ({"load_entry": "total"}, "load_entry"),
        ({"rep_unit": "seconds"}, "rep_unit"),
        ({"limbs": "one"}, "limbs"),
        ({"load_entry": "none"}, "load_entry"),
    ],
)
def test_what_would_falsify_the_history_is_refused(ana, ben, one, other, changes, name):
    LoggedSetFactory(client=ben, exercise=one)
    Exercise.objects.filter(pk=other.pk).update(**changes)
    before = dump()
    found = differences(one, Exercise.objects.get(pk=other.pk), held_by(one))
    assert [(each.name, each.weight) for each in found] == [(name, "refused")]
    with pytest.raises(CannotMerge):
        merge(one, other, ana)
    assert dump() == before and not JournalEntry.objects.exists()


@pytest.mark.parametrize("make", [LoggedSetFactory, RecentSetFactory, None])
def test_planned_and_earlier_sets_count_as_history_too(ana, ben, one, other, make):
    Exercise.objects.filter(pk=other.pk).update(load_entry="total")
    if make:
        make(client=ben, exercise=one)
    else:
        PrescriptionFactory(session__block__client=ben, exercise=one)
    with pytest.raises(CannotMerge):
        merge(one, other, ana)


def test_what_was_never_done_nor_planned_can_be_merged_into_anything(ana, ben, one, other):
    Exercise.objects.filter(pk=other.pk).update(load_entry="total", limbs="one", rep_unit="seconds")
    Taste.objects.create(client=ben, exercise=one, likes=True)
    merge(one, other, ana)
    assert Taste.objects.get().exercise == other


def test_sets_without_a_load_may_go_where_loads_are_given(ana, ben, one, other):
    Exercise.objects.filter(pk=one.pk).update(load_entry="none")
    LoggedSetFactory(client=ben, exercise=one, load=None)
    merge(one, other, ana)
    assert LoggedSet.objects.get().load is None


def test_a_load_on_the_body_is_no_load_on_a_sled(ana, ben, one, other):
    Exercise.objects.filter(pk__in=[one.pk, other.pk]).update(load_entry="added")
    Exercise.objects.filter(pk=other.pk).update(bodyweight_fraction="0.95")
    LoggedSetFactory(client=ben, exercise=one)
    with pytest.raises(CannotMerge):
        merge(one, other, ana)


def test_an_exercise_that_was_merged_or_hidden_is_not_chosen(ana, one, other):
    third = ExerciseFactory(practice=ana.practice)
    merge(one, other, ana)
    for pair in ((one, third), (third, one), (other, one), (third, third)):
        with pytest.raises(CannotMerge):
            merge(*pair, ana)


def test_another_practice_s_exercise_is_out_of_reach(ana, one, cleo):
    foreign = ExerciseFactory(practice=cleo.practice)
    for pair in ((one, foreign), (foreign, one)):
        with pytest.raises(CannotMerge):
            merge(*pair, ana)


# What is told before


def test_what_hangs_on_it_is_counted(one, other, much):
    version_of(much["ahead"], much["ahead"].prescriptions.first(), one)
    held = held_by(one)
    assert (held.sets, held.clients, held.recent, held.planned, held.past) == (5, 2, 1, 1, 1)
    assert (held.waiting, held.pain, held.likes, held.dislikes, held.limits) == (1, 1, 1, 1, 2)
    assert (held.favourites, held.candidates, held.templates, held.sheets_out) == (
        1,
        2,
        (much["slot"].day.outline.name,),
        1,
    )
    assert held.counted == 8 and not held.nothing and held_by(ExerciseFactory(practice=one.practice)).nothing


def test_where_both_have_something_is_told(one, other, much):
    both = both_have(one, other)
    assert both.tastes == (("Ben Quay", True),)
    assert (both.limits, both.newly_spared, both.favourites) == (("Mia Rigg",), ("Ben Quay",), 1)
    assert both.slots == ((much["slot"].day.outline.name, "Chest, press"),) and both.sessions == 1


@pytest.mark.parametrize("rows", [1, 30])
def test_counting_costs_the_same_however_much(ana, ben, one, other, rows, django_assert_num_queries):
    LoggedSetFactory.create_batch(rows, client=ben, exercise=one)
    for _n in range(rows):
        client = ClientFactory(practice=ana.practice, coach=ana)
        Taste.objects.create(client=client, exercise=one, likes=True)
        Taste.objects.create(client=client, exercise=other, likes=True)
        DraftFactory(client=client, document={"picks": [{"exercise": one.key}]})
    with django_assert_num_queries(13):
        assert held_by(one).drafts == rows
    with django_assert_num_queries(7):
        assert len(both_have(one, other).tastes) == rows


# What still comes in


ON_PAPER = Arrival(way="paper", performed_on=MONDAY)


@pytest.fixture
def old_sheet(ana, ben, one, other):
    """A sheet that names the one, handed out before it was merged into the other."""
    HealthAnswersFactory(client=ben)
    session = TrainingSessionFactory(block__client=ben)
    line = PrescriptionFactory(session=session, exercise=one)
    version = version_of(session, line, one)
    document = version.document
    merge(one, other, ana)
    version.refresh_from_db()
    assert version.document == document
    return version


def take(ben, version, **more):
    return receiving.take_set(
        ben, version, 1, more.pop("number", 1), SetValues(reps=8, load=load_of(20, "kg")), arrival=ON_PAPER, **more
    ).logged


def test_a_set_for_an_old_sheet_lands_on_the_other(ben, old_sheet, other):
    assert take(ben, old_sheet, key="a").exercise == other


def test_the_same_set_by_another_way_is_known_after_a_merge_too(ana, ben, one, other):
    session = TrainingSessionFactory(block__client=ben)
    version = version_of(session, PrescriptionFactory(session=session, exercise=one), one)
    first = take(ben, version, key="phone")
    merge(one, other, ana)
    again = take(ben, version, key="paper")
    assert again.pk == first.pk and LoggedSet.objects.count() == 1


def test_a_stand_in_and_a_loose_set_land_on_the_other_too(ben, one, other, old_sheet):
    one.refresh_from_db()
    swapped = Arrival(way="paper", performed_on=MONDAY, exercise=one)
    values = SetValues(reps=8, load=load_of(20, "kg"))
    assert receiving.take_set(ben, old_sheet, 1, 1, values, key="a", arrival=swapped).logged.exercise == other
    assert receiving.take_loose_set(ben, one, values, key="b", arrival=ON_PAPER).logged.exercise == other
    pain = receiving.take_pain(ben, key="p", score=1, body_part="knee", side="left", felt_on=MONDAY, exercise=one)
    assert pain.report.exercise == other


def test_an_old_sheet_s_own_exercise_is_no_swap(ben, one, other, old_sheet):
    take(ben, old_sheet, key="a")
    third = ExerciseFactory(practice=ben.practice, name="Press-up")
    arrival = Arrival(way="paper", performed_on=MONDAY, exercise=third)
    receiving.take_set(ben, old_sheet, 1, 2, SetValues(reps=8), key="b", arrival=arrival)
    assert grid_of(old_sheet.session).lines[0].swapped == "Press-up"
    sheet = Sheet(old_sheet)
    assert [row.is_of(old_sheet.line(1)) for row in sheet.logged[1]] == [True, False]


def test_a_message_under_any_of_the_names_is_understood_for_an_old_sheet(ben, old_sheet):
    grid = grid_of(old_sheet.session)
    text = "bench press (copy) 20x8\nflat press 20x8\ndumbbell bench press 20x8\nDB bench 20x8"
    heard = hear(grid, text, names_of(grid), "en", {})
    assert [(line.line, line.questions) for line in heard] == [(1, ())] * 4


def test_a_message_under_the_old_name_is_understood_for_a_new_sheet(ana, ben, one, other):
    HealthAnswersFactory(client=ben)
    session = TrainingSessionFactory(block__client=ben)
    PrescriptionFactory(session=session, exercise=other)
    merge(one, other, ana)
    grid = grid_of(session)
    assert [line.line for line in hear(grid, "flat press 20x8", names_of(grid), "en", {})] == [1]


def test_merges_are_followed_as_far_as_they_go_and_never_in_circles(ana, one, other):
    third = ExerciseFactory(practice=ana.practice)
    merge(one, other, ana)
    merge(other, third, ana)
    one.refresh_from_db()
    assert standing(one) == third == received_as(one)
    assert ends({one.key: other.key, other.key: third.key}) == {one.key: third.key, other.key: third.key}
    Exercise.objects.filter(pk=third.pk).update(merged_into=one)
    one.refresh_from_db()
    assert standing(one).pk == third.pk
    assert ends({1: 2, 2: 3, 3: 1}) == {1: 3, 2: 1, 3: 2}


def test_a_set_that_would_mean_something_else_stays_with_the_exercise_it_names(ana, ben, one, other):
    """Nothing was logged with it when it was merged, but an old sheet names it as a stand-in."""
    Exercise.objects.filter(pk=other.pk).update(load_entry="total")
    merge(one, other, ana)
    one.refresh_from_db()
    assert standing(one) == other and received_as(one) == one


# What follows from it


def test_the_history_is_one_and_what_waits_is_reckoned_again(ana, ben, one, other, django_capture_on_commit_callbacks):
    block = BlockFactory(client=ben)
    session = TrainingSessionFactory(block=block, cycle=2, occurrence=0)
    line = PrescriptionFactory(session=session, exercise=one, slot_key="press")
    decided = ProposalFactory(client=ben, session=session, exercise=one, slot_key="press", state="accepted")
    waiting = ProposalFactory(client=ben, session=session, exercise=one, slot_key="press")
    version = version_of(session, line, one)
    for day, exercise in enumerate((one, other)):
        LoggedSetFactory(client=ben, exercise=exercise, performed_on=MONDAY + day * DAY)
    with django_capture_on_commit_callbacks(execute=True):
        entry = merge(one, other, ana).entry
    assert len(history_of(ben, "kg").of(other.pk)) == 2
    waiting.refresh_from_db()
    assert waiting.state == "superseded" and waiting.superseded_by.exercise == other
    decided.refresh_from_db()
    assert decided.state == "accepted" and decided.exercise == other
    version.refresh_from_db()
    assert version.state == "issued" and version.document["lines"][0]["exercise"]["id"] == one.key
    with django_capture_on_commit_callbacks(execute=True):
        journal.undo(entry, ana)
    assert Proposal.objects.waiting().get().exercise == one


def test_a_week_in_hand_and_the_last_block_hold_the_other_from_then_on(ana, ben, one, other):
    slot = OutlineSlotFactory(day__outline__practice=ana.practice)
    pick = {"slot": slot.key, "occurrence": 0, "exercise": one.key, "sets": 3, "pinned": True, "pinned_sets": True}
    document = {
        "picks": [pick],
        "order": {"full": [slot.key]},
        "days": [{"day": "full", "occurrence": 0, "weekday": 0}],
    }
    outline = slot.day.outline
    BlockFactory(client=ben, outline=outline, document=document)
    draft = DraftFactory(client=ben, outline=outline, document=document)
    merge(one, other, ana)
    inputs = draft_inputs(draft)
    assert [pick.exercise for pick in inputs.request.pins] == [other.key]
    assert [pick.exercise for pick in picks_of(draft.document, inputs.merged)] == [other.key]
    assert compose_inputs(ben, outline, draft.place, on=MONDAY).request.previous == {other.key}
    assert held_by(one).drafts == 1
    drafts.set_sets(draft, draft.revision, ana, slot.key, 0, 4)


def test_seeding_follows_merges_and_does_not_undo_them(ana):
    seed_practice(ana.practice)
    slot = next(
        slot
        for slot in OutlineSlot.objects.filter(day__outline__practice=ana.practice)
        if slot.candidates.filter(occurrence=0).count() > 1
    )
    first, second = [row.exercise for row in slot.candidates.filter(occurrence=0)[:2]]
    others = slot.candidates.filter(occurrence=0).count() - 1
    Exercise.objects.filter(pk=second.pk).update(load_entry=first.load_entry, limbs=first.limbs)
    merge(second, first, ana)
    outline = slot.day.outline
    Outline.objects.filter(pk=outline.pk).update(seed_version=1)
    Exercise.objects.filter(pk__in=[first.pk, second.pk]).update(seed_version=1)
    seed_practice(ana.practice)
    newer = Outline.objects.get(seed_key=outline.seed_key, version=outline.version + 1)
    ranked = newer.days.get(key=slot.day.key).slots.get(key=slot.key).candidates.filter(occurrence=0)
    assert ranked.count() == others and ranked[0].exercise == first
    assert not SlotCandidate.objects.filter(exercise=second).exists()
    first.refresh_from_db()
    second.refresh_from_db()
    assert second.merged_into == first and second.hidden_at is not None and second.name in first.aliases
