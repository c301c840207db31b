"""A client's block made into a template: what was trained goes along, the person does not."""

import json
import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.core import serializers
from django.urls import reverse

from clients.models import Block, Prescription, TrainingSession
from clients.services import blocks, drafts
from clients.services.drafts import start_draft
from clients.services.templating import make_template, shape_of
from programs.models import Exercise, Outline, OutlineLine
from programs.reads import day_types_of
from tests.clients.weeks import draft_for
from tests.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    LimitFactory,
    LoggedSetFactory,
    PrescriptionFactory,
    TrainingSessionFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def block(ana, ben, week):
    """Four weeks, the last one easier; row has five sets on B, squat comes first."""
    LoggedSetFactory(client=ben, exercise=week.exercises["squat 3"], performed_on=MONDAY - timedelta(days=3), rir=None)
    draft, _week = draft_for(ben, ana, week)
    drafts.set_sets(draft, 1, ana, "row", 1, 5)
    drafts.move_slot(draft, 2, ana, "full", "squat", -1)
    draft.refresh_from_db()
    return blocks.assign_block(draft, draft.revision, ana)


def made_of(block, coach, **changes):
    asked = {"name": "Ours", "summary": "", "serves": ["intermediate"], **changes}
    outline, _entry = make_template(block, coach, **asked)
    return Outline.objects.with_preview().get(pk=outline.pk)


def slots(outline):
    return {slot.key: slot for day in outline.days.all() for slot in day.slots.all()}


def firsts(outline):
    """(slot, occurrence) to the first candidate."""
    found = {}
    for key, slot in slots(outline).items():
        for candidate in slot.candidates.all():
            found.setdefault((key, candidate.occurrence), candidate.exercise.key)
    return found


def picked(document):
    return {(row["slot"], row["occurrence"]): row["exercise"] for row in document["picks"]}


def test_what_was_picked_comes_first_and_the_former_candidates_follow(ana, block, week):
    outline = made_of(block, ana)
    assert firsts(outline) == picked(block.document)
    for slot in slots(outline).values():
        for occurrence in range(2):
            keys = [each.exercise.key for each in slot.candidates.all() if each.occurrence == occurrence]
            former = week.outline.days.get().slots.get(key=slot.key).candidates.filter(occurrence=occurrence)
            rest = [each.exercise.key for each in former if each.exercise.key != keys[0]]
            assert keys[1:] == rest and len(set(keys)) == len(keys)


def test_sets_reps_reserve_and_rest_are_those_trained(ana, block, week):
    outline = made_of(block, ana)
    row = slots(outline)["row"]
    sets = {entry["occurrence"]: entry["sets"] for entry in block.document["picks"] if entry["slot"] == "row"}
    assert row.sets["intermediate"] == sorted(sets.values()) and max(sets.values()) == 5
    former = week.outline.days.get().slots.get(key="row")
    assert row.sets["novice"] == former.sets["novice"] and row.sets["advanced"] == former.sets["advanced"]
    assert (row.reps, row.rir, row.rest_s) == ([[6, 8], [8, 12]], Decimal("2.0"), 150)
    assert [slot.key for slot in outline.days.get().slots.all()] == ["press", "squat", "row"]
    assert outline.order == ["full", "full"] and outline.cycle_days == 7


def test_composed_again_for_the_same_client_it_gives_the_blocks_exercises(ana, ben, block, week):
    drafts_before = picked(block.document)
    outline = made_of(block, ana)
    again = start_draft(ben, ana, outline=outline, place=week.place, starts_on=MONDAY, weeks=4, deload_weeks=[])
    assert picked(again.document) == drafts_before


def test_easier_weeks_and_careful_first_sessions_do_not_count(ana, ben, week):
    draft, _week = draft_for(ben, ana, week, weeks=1, deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    first = block.sessions.get(position=0).prescriptions.get(slot_key="press")
    planned = next(row for row in draft.document["picks"] if (row["slot"], row["occurrence"]) == ("press", 0))["sets"]
    assert first.target_sets.count() < planned  # a new client's first session
    shape = shape_of(block)
    press = next(slot for slot in shape.days[0].slots if slot.values["key"] == "press")
    assert press.values["sets"]["intermediate"][0] == planned


def test_what_was_trained_last_counts_more_than_what_is_planned(ana, block):
    second = block.sessions.get(cycle=2, occurrence=0)
    second.state, second.trained_on = TrainingSession.State.TRAINED, MONDAY
    second.save()
    line = second.prescriptions.get(slot_key="press")
    line.exercise = ExerciseFactory(practice=ana.practice, name="Instead")
    line.save()
    line.target_sets.update(reps_low=4, reps_high=6, rir=1)
    line.target_sets.last().delete()
    outline = made_of(block, ana)
    press = slots(outline)["press"]
    assert press.candidates.filter(occurrence=0).first().exercise.name == "Instead"
    assert press.reps[0] == [4, 6] and press.rir == 1
    assert press.sets["intermediate"][0] == line.target_sets.count()


def test_rep_ranges_are_those_the_exercise_began_with(ana, block):
    last = block.sessions.get(cycle=3, occurrence=0)
    last.state, last.trained_on = TrainingSession.State.TRAINED, MONDAY
    last.save()
    last.prescriptions.get(slot_key="press").target_sets.update(reps_low=9, reps_high=11)
    assert slots(made_of(block, ana))["press"].reps[0] == [6, 8]


def test_nothing_of_the_person_goes_along(ana, ben, block):
    ben.goal = "row the sound"
    ben.save()
    LimitFactory(client=ben)
    note = "Ben’s left knee: stop at the box"
    lines = Prescription.objects.filter(session__block=block)
    lines.update(technique=note, reason_text=note)
    PrescriptionFactory(session=block.sessions.first(), exercise=None, text=note, position=90, slot_key="")
    made_of(block, ana)
    outline = Outline.objects.get(name="Ours")
    rows = [outline]
    for day in outline.days.all():
        rows += [day, *day.lines.all(), *day.slots.all()]
        for slot in day.slots.all():
            rows += slot.candidates.all()
    written = serializers.serialize("json", rows)
    for word in ("Ben", "knee", "sound", "shoulder_overhead", str(ben.public_id)):
        assert word not in written, word
    assert {field for row in json.loads(written) for field in row["fields"]}.isdisjoint({"load", "client", "grams"})


def test_care_for_the_persons_health_stays_with_them(ana, block):
    for line in Prescription.objects.filter(session__block=block, slot_key="press"):
        line.target_sets.update(rir=4, rest_s=240)
    press = slots(made_of(block, ana))["press"]
    assert (press.rir, press.rest_s) == (2, 150)  # as the template has it


def test_free_lines_are_the_templates_own(ana, ben, week):
    OutlineLine.objects.create(day=week.outline.days.get(), text="Walk easily.", minutes=5)
    draft, _week = draft_for(ben, ana, week)
    outline = made_of(blocks.assign_block(draft, 1, ana), ana)
    assert [(line.text, line.minutes) for line in outline.days.get().lines.all()] == [("Walk easily.", 5)]


def test_a_slot_left_out_once_keeps_its_candidates_and_one_never_filled_goes(ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    drafts.set_sets(draft, 1, ana, "press", 1, 0)
    drafts.set_sets(draft, 2, ana, "row", 0, 0)
    drafts.set_sets(draft, 3, ana, "row", 1, 0)
    draft.refresh_from_db()
    block = blocks.assign_block(draft, draft.revision, ana)
    shape = shape_of(block)
    assert shape.dropped == ["Row"]
    assert {slot.values["key"]: slot.left_out for slot in shape.days[0].slots} == {"press": ["B"], "squat": []}
    outline = made_of(block, ana)
    assert slots(outline).keys() == {"press", "squat"}
    assert slots(outline)["press"].candidates.filter(occurrence=1).count() == 4


def test_sessions_in_another_order_become_a_and_b_as_they_came(ana, ben, week):
    draft, _week = draft_for(ben, ana, week)
    for row in draft.document["days"]:
        row["weekday"] = {0: 3, 1: 0}[row["occurrence"]]
    draft.save()
    block = blocks.assign_block(draft, 1, ana)
    of = picked(block.document)
    outline = made_of(block, ana)
    assert firsts(outline) == {(slot, 1 - occurrence): key for (slot, occurrence), key in of.items()}
    assert slots(outline)["press"].reps == [[8, 12], [6, 8]]


def test_a_rolling_block_gives_a_rolling_template(ana, ben, week):
    Outline.objects.filter(pk=week.outline.pk).update(cycle_days=5, offsets=[0, 2])
    week.outline.refresh_from_db()
    draft, _week = draft_for(ben, ana, week, deload_weeks=[])
    outline = made_of(blocks.assign_block(draft, 1, ana), ana)
    assert (outline.cycle_days, len(outline.offsets), outline.order) == (5, 2, ["full", "full"])


def test_an_exercise_that_was_merged_is_named_by_what_it_became(ana, block):
    key = picked(block.document)["press", 0]
    kept = ExerciseFactory(practice=ana.practice, name="Kept")
    Exercise.objects.filter(public_id=key).update(merged_into=kept, hidden_at="2026-03-02T08:00Z")
    assert firsts(made_of(block, ana))["press", 0] == kept.key


def test_lines_of_slots_that_the_template_never_had_make_slots_of_their_own(ana, ben):
    block = BlockFactory(client=ben)
    session = TrainingSessionFactory(block=block, day_key="whole", name="Whole", position=0)
    line = PrescriptionFactory(session=session, slot_key="extra", slot_title="Extra press")
    outline = made_of(block, ana)
    extra = slots(outline)["extra"]
    assert (extra.title, extra.region, extra.role, extra.reps) == ("Extra press", "pec_stern", "main", [[6, 8]])
    assert set(map(tuple, extra.sets.values())) == {(3, 3)} and outline.order == ["whole"]
    assert extra.candidates.get().exercise == line.exercise
    assert day_types_of(outline, "novice")[0].slots[0].key == "extra"


def test_the_page_shows_what_will_be_made_and_asks(as_ana, ben, block):
    text = unescape(as_ana.get(reverse("block-template", args=[block.public_id])).text)
    assert "Twice the whole, as trained" in text and "Make the template" in text
    for key in picked(block.document).values():
        assert Exercise.objects.get(public_id=key).name in text
    assert re.search(r'value="intermediate"[^>]*checked', text) and not re.search(r'value="novice"[^>]*checked', text)
    block_page = as_ana.get(reverse("client-block", args=[ben.public_id])).text
    assert reverse("block-template", args=[block.public_id]) in block_page


def test_making_it_can_be_undone(as_ana, block):
    typed = {"name": "For two days", "serves": ["intermediate"], "summary": "Good."}
    response = as_ana.post(reverse("block-template", args=[block.public_id]), typed, follow=True)
    outline = Outline.objects.get(name="For two days")
    assert response.redirect_chain[0][0] == reverse("template", args=[outline.public_id])
    assert (outline.summary, outline.serves, outline.version, outline.seed_key) == ("Good.", ["intermediate"], 1, "")
    address = unescape(re.search(r'action="(/journal/[^"]+/undo/[^"]*)"', response.text)[1])
    as_ana.post(address)
    assert not Outline.objects.filter(name="For two days").exists()
    assert Block.objects.filter(pk=block.pk).exists()


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"name": "", "serves": ["novice"]}, "required"),
        ({"name": "Fine", "serves": []}, "required"),
        ({"name": "For ben quay", "serves": ["novice"]}, "leave out the client’s name"),
        ({"name": "Fine", "serves": ["novice"], "summary": "As Ben Quay did it."}, "leave out the client’s name"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(as_ana, block, typed, wrong):
    before = Outline.objects.count()
    response = as_ana.post(reverse("block-template", args=[block.public_id]), {"summary": "Kept words.", **typed})
    text = unescape(response.text)
    assert response.status_code == 422 and wrong in text and Outline.objects.count() == before
    assert typed.get("summary", "Kept words.") in text and typed["name"] in text


def test_a_block_without_exercises_says_so(as_ana, ben):
    block = BlockFactory(client=ben)
    assert "nothing to make a template of" in as_ana.get(reverse("block-template", args=[block.public_id])).text


@pytest.mark.parametrize("weeks", [1, 26])
def test_reading_a_block_costs_the_same_however_long(ana, ben, week, weeks, django_assert_num_queries):
    draft, _week = draft_for(ben, ana, week, weeks=weeks, deload_weeks=[])
    block = Block.objects.select_related("client", "outline").get(pk=blocks.assign_block(draft, 1, ana).pk)
    # template, days, slots, candidates, exercises, lines; sessions; of those that count the lines and target sets
    with django_assert_num_queries(10):
        shape_of(block)
