"""Every edit of a draft raises its revision, can be taken back, and refuses to build on what is stale."""

import math

import pytest

from clients.models import Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.differences import differences
from clients.services import drafts
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine.compose import alternatives, assess
from programs.engine.compose.solver import available
from tests.clients.weeks import draft_for, pick
from tests.factories import LimitFactory

pytestmark = pytest.mark.django_db
needs_solver = pytest.mark.skipif(not available(), reason="needs the solver")


@pytest.fixture
def draft(ana, ben, week):
    return draft_for(ben, ana, week)[0]


def ways(draft, slot, occurrence):
    inputs = draft_inputs(draft)
    return alternatives(inputs.request, picks_of(draft.document), slot, occurrence, 99).ranked


def week_of(draft):
    """What stands where: slot and occurrence to exercise and sets."""
    return {(row["slot"], row["occurrence"]): (row["exercise"], row["sets"]) for row in draft.document["picks"]}


EDITS = {
    "swap": lambda d, r, c: drafts.swap(d, r, c, "press", 0, ways(d, "press", 0)[-1].exercise),
    "sets": lambda d, r, c: drafts.set_sets(d, r, c, "press", 0, 5),
    "leave out": lambda d, r, c: drafts.set_sets(d, r, c, "press", 0, 0),
    "pin": lambda d, r, c: drafts.pin(d, r, c, "press", 0, pinned=True),
    "move": lambda d, r, c: drafts.move_slot(d, r, c, "full", "press", 1),
    "day": lambda d, r, c: drafts.set_day(d, r, c, "full", 0, 5),
}


def test_starting_composes_stores_and_lays_the_days(ana, ben, draft, week):
    assert draft.revision == 1 and draft.state == Draft.State.OPEN
    assert len(draft.document["picks"]) == 6
    assert draft.document["order"] == {"full": ["press", "row", "squat"]}
    assert [row["weekday"] for row in draft.document["days"]] == [0, 3]
    for slot in ("press", "row", "squat"):
        assert pick(draft, slot, 0)["exercise"] != pick(draft, slot, 1)["exercise"]


def test_starting_anew_drops_the_open_draft_and_undo_opens_it_again(ana, ben, draft, week):
    newer, _week = draft_for(ben, ana, week)
    draft.refresh_from_db()
    assert draft.state == Draft.State.DROPPED
    before = draft.revision
    journal.undo(JournalEntry.objects.filter(act="draft.start").latest("pk"), ana)
    draft.refresh_from_db()
    assert draft.state == Draft.State.OPEN and draft.revision > before
    assert not Draft.objects.filter(pk=newer.pk).exists()


@pytest.mark.parametrize("name", EDITS)
def test_every_edit_raises_the_revision_and_is_one_entry(ana, draft, name):
    EDITS[name](draft, 1, ana)
    assert draft.revision == 2
    assert JournalEntry.objects.filter(about=drafts.about(draft)).count() == 1


@pytest.mark.parametrize("name", EDITS)
def test_every_edit_refuses_what_is_stale_and_changes_nothing(ana, draft, name):
    drafts.pin(Draft.objects.get(pk=draft.pk), 1, ana, "row", 1, pinned=True)
    before = Draft.objects.get(pk=draft.pk).document
    with pytest.raises(drafts.StaleDraft) as stale:
        EDITS[name](draft, 1, ana)
    assert stale.value.draft.revision == 2
    assert Draft.objects.get(pk=draft.pk).document == before


@pytest.mark.parametrize("state", [Draft.State.ASSIGNED, Draft.State.DROPPED])
def test_a_draft_that_is_not_open_takes_no_edit(ana, draft, state):
    Draft.objects.filter(pk=draft.pk).update(state=state)
    with pytest.raises(drafts.StaleDraft):
        drafts.set_sets(draft, 1, ana, "press", 0, 5)
    with pytest.raises(drafts.StaleDraft):
        drafts.undo(draft, ana)


def test_an_edit_that_changes_nothing_leaves_revision_and_journal_alone(ana, draft):
    drafts.set_day(draft, 1, ana, "full", 0, 0)
    drafts.pin(draft, 1, ana, "press", 0, pinned=False)
    drafts.move_slot(draft, 1, ana, "full", "press", -1)
    assert draft.revision == 1
    assert not JournalEntry.objects.filter(about=drafts.about(draft)).exists()


def test_a_swap_is_what_the_alternative_showed(ana, draft):
    shown = next(way for way in ways(draft, "press", 0) if way.swaps_with is None)
    drafts.swap(draft, 1, ana, "press", 0, shown.exercise)
    held = pick(draft, "press", 0)
    assert (held["exercise"], held["sets"], held["pinned"]) == (shown.exercise, shown.sets, True)


def test_a_swap_exchanges_with_the_sibling_that_has_it(ana, draft):
    mine, theirs = pick(draft, "press", 0)["exercise"], pick(draft, "press", 1)["exercise"]
    shown = next(way for way in ways(draft, "press", 0) if way.exercise == theirs)
    assert shown.swaps_with == 1
    drafts.swap(draft, 1, ana, "press", 0, theirs)
    assert pick(draft, "press", 0)["exercise"] == theirs
    assert pick(draft, "press", 1)["exercise"] == mine
    assert pick(draft, "press", 0)["pinned"] and not pick(draft, "press", 1)["pinned"]


def test_a_pinned_sibling_keeps_its_exercise(ana, draft):
    theirs = pick(draft, "press", 1)["exercise"]
    drafts.pin(draft, 1, ana, "press", 1, pinned=True)
    drafts.swap(draft, 2, ana, "press", 0, theirs)
    assert pick(draft, "press", 0)["exercise"] == theirs == pick(draft, "press", 1)["exercise"]


def test_what_the_client_must_spare_cannot_be_chosen(ana, ben, draft, week):
    ways_before = {way.exercise for way in ways(draft, "press", 0)}
    hard = week.exercises["press 3"]
    hard.joints.create(joint="shoulder_overhead", severity=2)
    LimitFactory(client=ben)
    assert hard.key in ways_before | {pick(draft, "press", 0)["exercise"], pick(draft, "press", 1)["exercise"]}
    with pytest.raises(drafts.NotPossible) as refused:
        drafts.swap(draft, 1, ana, "press", 0, hard.key)
    assert [why.code for why in refused.value.reasons] == ["exercise.spared_joint"]
    draft.refresh_from_db()
    assert draft.revision == 1


def test_an_exercise_of_another_practice_or_none_at_all_is_refused(ana, cleo, draft):
    with pytest.raises(drafts.NotPossible):
        drafts.swap(draft, 1, ana, "press", 0, "00000000-0000-0000-0000-000000000000")


def test_the_same_exercise_twice_in_a_session_is_refused(ana, draft, week):
    wide = week.exercises["press 0"]
    wide.regions.create(region="rhomb", quarters=4)
    drafts.swap(draft, 1, ana, "press", 0, wide.key)
    with pytest.raises(drafts.NotPossible) as refused:
        drafts.swap(draft, draft.revision, ana, "row", 0, wide.key)
    assert "session.already_there" in {why.code for why in refused.value.reasons}


def test_the_coach_may_choose_what_asks_for_more_skill(ana, draft, week):
    row = week.exercises["press 2"]
    row.skill = "advanced"
    row.save()
    assert row.key not in {way.exercise for way in ways(draft, "press", 0)}
    drafts.swap(draft, 1, ana, "press", 0, row.key)
    assert pick(draft, "press", 0)["exercise"] == row.key


def test_what_is_left_out_stays_out_until_it_is_put_back(ana, draft):
    drafts.set_sets(draft, 1, ana, "press", 0, 0)
    assert draft.document["left_out"] == [["press", 0]]
    drafts.recompose(draft, 2, ana)
    with pytest.raises(StopIteration):
        pick(draft, "press", 0)
    drafts.put_back(draft, draft.revision, ana, "press", 0)
    assert pick(draft, "press", 0)["sets"] >= 3
    assert draft.document["left_out"] == []


def test_composing_again_keeps_pinned_picks_and_their_sets(ana, draft):
    chosen = ways(draft, "row", 0)[-1].exercise
    drafts.swap(draft, 1, ana, "row", 0, chosen)
    drafts.set_sets(draft, 2, ana, "squat", 1, 6)
    squat = pick(draft, "squat", 1)["exercise"]
    drafts.recompose(draft, 3, ana)
    assert pick(draft, "row", 0)["exercise"] == chosen
    assert pick(draft, "row", 0)["pinned"] and not pick(draft, "row", 0)["pinned_sets"]
    held = pick(draft, "squat", 1)
    assert (held["exercise"], held["sets"], held["pinned_sets"]) == (squat, 6, True)


def test_a_released_pick_is_chosen_anew_and_the_others_stay(ana, draft):
    composed = week_of(draft)
    drafts.swap(draft, 1, ana, "row", 0, ways(draft, "row", 0)[-1].exercise)
    drafts.pin(draft, 2, ana, "row", 0, pinned=False)
    assert week_of(draft) == composed
    assert not pick(draft, "row", 0)["pinned"]


@needs_solver
def test_a_composed_week_keeps_its_proof_until_it_is_edited(ana, draft):
    assert draft.document["proof"]["kind"] == "proven" and not draft.document["proof"]["edited"]
    drafts.set_day(draft, 1, ana, "full", 0, 5)
    drafts.pin(draft, 2, ana, "press", 0, pinned=True)
    assert not draft.document["proof"]["edited"]  # the same week still
    drafts.set_sets(draft, 3, ana, "press", 0, 6)
    assert draft.document["proof"]["edited"]
    drafts.undo(draft, ana)
    assert not draft.document["proof"]["edited"]
    drafts.redo(draft, ana)
    drafts.recompose(draft, draft.revision, ana)
    assert draft.document["proof"] == {**draft.document["proof"], "kind": "proven", "edited": False}


def test_without_the_solver_weeks_are_searched_and_edits_move_nothing_else(ana, ben, week, monkeypatch):
    monkeypatch.setattr("programs.engine.compose.solver.available", lambda: False)
    draft, _week = draft_for(ben, ana, week)
    assert draft.document["proof"] == {"kind": "searched", "off_by": None, "solver": "", "edited": False}
    before = week_of(draft)
    drafts.set_sets(draft, 1, ana, "press", 0, 6)
    after = week_of(draft)
    assert {place for place in before if before[place] != after[place]} == {("press", 0)}


@needs_solver
def test_what_the_coach_set_stands_and_a_session_keeps_its_minutes(ana, ben, draft):
    def minutes():
        inputs = draft_inputs(draft)
        return max(entry.minutes for entry in assess(inputs.request, picks_of(draft.document)).minutes)

    ben.minutes = math.ceil(minutes())
    ben.save()
    draft.refresh_from_db()
    before = week_of(draft)
    drafts.set_sets(draft, 1, ana, "press", 0, pick(draft, "press", 0)["sets"] + 1)
    after = week_of(draft)
    changed = {place for place in before if before[place] != after[place]}
    assert ("press", 0) in changed and {occurrence for _slot, occurrence in changed} == {0}
    assert pick(draft, "press", 0)["sets"] == before["press", 0][1] + 1
    assert minutes() <= ben.minutes
    assert JournalEntry.objects.filter(about=drafts.about(draft)).count() == 1
    drafts.undo(draft, ana)
    assert week_of(draft) == before


def test_composing_again_keeps_days_that_the_coach_chose(ana, draft):
    drafts.set_day(draft, 1, ana, "full", 0, 5)
    drafts.recompose(draft, 2, ana)
    assert {row["weekday"] for row in draft.document["days"]} == {3, 5}


def test_composing_again_does_what_its_preview_showed_or_nothing(ana, draft, week):
    inputs = draft_inputs(draft)
    pick(draft, "press", 0)["sets"] = 6
    draft.save()
    preview = drafts.recomposed(draft, inputs)
    assert differences(draft.document, preview, inputs)
    with pytest.raises(drafts.StalePreview):
        drafts.recompose(draft, 1, ana, "0" * 64)
    drafts.recompose(draft, 1, ana, drafts.digest_of(preview))
    assert draft.document["picks"] == preview["picks"]


def test_a_session_takes_the_day_of_another_in_exchange(ana, draft):
    drafts.set_day(draft, 1, ana, "full", 0, 3)
    assert {(row["occurrence"], row["weekday"]) for row in draft.document["days"]} == {(0, 3), (1, 0)}
    assert [row["weekday"] for row in draft.document["days"]] == [0, 3]


def test_the_order_of_slots_is_the_coach_s_and_the_engine_follows_it(ana, draft):
    drafts.move_slot(draft, 1, ana, "full", "squat", -1)
    drafts.move_slot(draft, 2, ana, "full", "squat", -1)
    assert draft.document["order"]["full"] == ["squat", "press", "row"]
    assert [slot.key for slot in draft_inputs(draft).request.day_types[0].slots] == ["squat", "press", "row"]


def test_fifty_edits_go_back_and_forth(ana, draft):
    stages = [draft.document]
    for number in range(50):
        drafts.set_sets(draft, draft.revision, ana, "press", number % 2, 3 + number % 4 + number % 2)
        if draft.document != stages[-1]:
            stages.append(draft.document)
    edits = len(stages) - 1
    assert edits >= 40
    for stage in reversed(stages[:-1]):
        assert drafts.undo(draft, ana)
        assert draft.document == stage
    assert not drafts.undo(draft, ana)
    for stage in stages[1:]:
        assert drafts.redo(draft, ana)
        assert draft.document == stage
    assert not drafts.redo(draft, ana)
    assert draft.revision == 1 + 3 * edits


def test_a_new_edit_forgets_what_could_be_done_again(ana, draft):
    drafts.set_sets(draft, 1, ana, "press", 0, 5)
    drafts.undo(draft, ana)
    drafts.set_sets(draft, draft.revision, ana, "row", 0, 5)
    assert drafts.steps(draft)[1] == []
    assert not drafts.redo(draft, ana)


def test_undo_names_the_revision_it_saw(ana, draft):
    drafts.set_sets(draft, 1, ana, "press", 0, 5)
    with pytest.raises(drafts.StaleDraft):
        drafts.undo(draft, ana, 1)
    assert drafts.undo(draft, ana, 2)
    assert draft.revision == 3


def test_undo_from_elsewhere_raises_the_revision_too(ana, draft):
    drafts.set_sets(draft, 1, ana, "press", 0, 5)
    journal.undo(JournalEntry.objects.get(about=drafts.about(draft)), ana)
    draft.refresh_from_db()
    assert draft.revision == 3


def test_an_earlier_revision_can_be_compared_with(ana, draft):
    first = draft.document
    drafts.set_sets(draft, 1, ana, "press", 0, 6)
    drafts.move_slot(draft, 2, ana, "full", "press", 1)
    assert drafts.document_at(draft, 1) == first
    codes = [why.code for why in differences(first, draft.document, draft_inputs(draft))]
    assert codes == ["change.sets", "change.order"]
    assert drafts.document_at(draft, 3) is None
