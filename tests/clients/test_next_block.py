"""The next block from one that runs: what stays, what gives way, and what of the coach's own goes along."""

from datetime import timedelta

import pytest
from django.urls import reverse

from clients.models import Draft, Limit
from clients.reads.composing import draft_inputs
from clients.reads.steering import Asked, plan
from clients.services import blocks, drafts, steering
from clients.services.courses import set_course
from clients.services.draft_slots import add, remove
from clients.services.next_block import next_from
from programs.engine.compose.course import SetsPlan
from programs.models import ExerciseJoint
from tests.clients.weeks import draft_for, pick, train_block

pytestmark = pytest.mark.django_db
SLOT = {
    "title": "Curls",
    "region": "biceps",
    "role": "isolation",
    "sets": [2, 3],
    "reps": [8, 12],
    "rir": 1,
    "rest_s": 60,
}


@pytest.fixture
def draft(ana, ben, week, today):
    return draft_for(ben, ana, week, starts_on=today - timedelta(weeks=10), weeks=10, deload_weeks=[])[0]


def go_on(draft, coach, today, **changes):
    block = blocks.assign_block(draft, draft.revision, coach)
    asked = {"starts_on": today, "weeks": 6, "deload_weeks": [6], **changes}
    return next_from(block, coach, **asked), block


def exercises(document):
    return {(row["slot"], row["occurrence"]): row["exercise"] for row in document["picks"]}


def named(week, key):
    return next(row for row in week.exercises.values() if row.key == key)


def test_all_exercises_stay_though_another_would_be_chosen_now(ana, ben, week, draft, today):
    taken = exercises(draft.document).values()
    other = next(row for row in week.exercises.values() if row.name.startswith("squat") and row.key not in taken)
    drafts.swap(draft, draft.revision, ana, "squat", 0, other.key)
    draft.document["picks"] = [{**row, "pinned": False} for row in draft.document["picks"]]
    draft.save()
    made, block = go_on(draft, ana, today, way="all")
    assert exercises(made.document) == exercises(block.document)
    assert exercises(made.document)["squat", 0] == other.key
    assert not any(row["pinned"] for row in made.document["picks"])
    assert (made.weeks, made.deload_weeks, made.outline, made.place) == (6, [6], block.outline, block.place)


def test_what_stalled_gives_way_and_what_is_pinned_does_not(ana, ben, week, draft, today):
    pressed, squatted = pick(draft, "press", 0)["exercise"], pick(draft, "squat", 0)["exercise"]
    drafts.pin(draft, draft.revision, ana, "squat", 0, pinned=True)
    block = blocks.assign_block(draft, draft.revision, ana)
    train_block(ben, week, block, stalled={named(week, pressed).name, named(week, squatted).name})
    kept = next_from(block, ana, starts_on=today, weeks=6, deload_weeks=[], way="all")
    assert exercises(kept.document) == exercises(block.document)
    made = next_from(block, ana, starts_on=today, weeks=6, deload_weeks=[], way="keep")
    assert exercises(made.document)["press", 0] != pressed
    assert exercises(made.document)["squat", 0] == squatted and pick(made, "squat", 0)["pinned"]
    others = {place: key for place, key in exercises(block.document).items() if key not in (pressed, squatted)}
    assert others.items() <= exercises(made.document).items()
    assert set(made.document["rotated"]["stalled"]) == {pressed, squatted}


def test_what_was_done_long_enough_gives_way_only_where_that_is_asked(ana, ben, week, draft, today):
    rowed = pick(draft, "row", 0)["exercise"]
    exercise = named(week, rowed)
    exercise.role = "accessory"
    exercise.save()
    block = blocks.assign_block(draft, draft.revision, ana)
    train_block(ben, week, block)
    kept = next_from(block, ana, starts_on=today, weeks=6, deload_weeks=[], way="keep")
    made = next_from(block, ana, starts_on=today, weeks=6, deload_weeks=[], way="rotate")
    assert exercises(kept.document)["row", 0] == rowed != exercises(made.document)["row", 0]


def test_the_coachs_own_goes_along(ana, ben, week, draft, today):
    key = add(draft, draft.revision, ana, "full", {**SLOT, "region": "pec_stern", "role": "main", "priority": 1})
    remove(draft, draft.revision, ana, "squat")
    drafts.set_sets(draft, draft.revision, ana, "row", 0, 4)
    drafts.set_sets(draft, draft.revision, ana, "row", 1, 0)
    drafts.set_day(draft, draft.revision, ana, "full", 0, 5)
    set_course(draft, draft.revision, ana, SetsPlan("ramp", 2), [6])
    draft.document["supersets"] = {"press": "A", "row": "A"}
    draft.save()
    made, block = go_on(draft, ana, today)
    document = made.document
    assert [row["key"] for row in document["added_slots"]] == [key]
    assert document["added_slots"][0]["priority"] == 1
    assert [row["slot"] for row in document["removed_slots"]] == ["squat"]
    assert document["supersets"] == block.document["supersets"] and document["order"] == block.document["order"]
    assert (document["course"], document["left_out"]) == (block.document["course"], [["row", 1]])
    assert (pick(made, "row", 0)["sets"], pick(made, "row", 0)["pinned_sets"]) == (4, True)
    assert document["days"] == block.document["days"] and document["days_chosen"]
    assert key in draft_inputs(made).slots() and exercises(document)[key, 0] == exercises(block.document)[key, 0]
    again = blocks.assign_block(made, made.revision, ana)
    assert again.sessions.first().prescriptions.filter(slot_key=key).exists()


def test_what_the_client_must_spare_by_now_does_not_stay(ana, ben, week, draft, today):
    pressed = pick(draft, "press", 0)["exercise"]
    ExerciseJoint.objects.create(exercise=named(week, pressed), joint="elbow", severity=2)
    Limit.objects.create(client=ben, joint="elbow", strict=True, since=today)
    drafts.pin(draft, draft.revision, ana, "press", 0, pinned=True)
    made, _block = go_on(draft, ana, today, way="all")
    assert exercises(made.document)["press", 0] != pressed and not pick(made, "press", 0)["pinned"]


def test_no_other_way_to_go_on(ana, draft, today):
    with pytest.raises(ValueError, match="no such way"):
        go_on(draft, ana, today, way="shuffle")


# The page


def test_the_page_tells_what_goes_along_and_opens_a_draft(as_ana, ana, ben, week, draft, today):
    add(draft, draft.revision, ana, "full", {**SLOT, "priority": 2})
    block = blocks.assign_block(draft, draft.revision, ana)
    pressed = named(week, pick(draft, "press", 0)["exercise"])
    train_block(ben, week, block, stalled={pressed.name})
    url = reverse("client-next", args=[ben.public_id])
    html = as_ana.get(url).content.decode()
    assert pressed.name in html and "Curls" in html and "Next block from block 1" in html
    asked = {"way": "keep", "starts_on": today.isoformat(), "weeks": "5", "deload_weeks": "5"}
    answer = as_ana.post(url, asked)
    made = Draft.objects.get(state="open")
    assert answer.headers["Location"] == reverse("draft", args=[made.public_id])
    assert (made.weeks, made.deload_weeks, made.starts_on) == (5, [5], today)
    assert as_ana.post(url, {**asked, "deload_weeks": "9"}).status_code == 422
    made.state = Draft.State.DROPPED
    made.save()
    assert url in as_ana.get(reverse("client-block", args=[ben.public_id])).content.decode()
    assert url in as_ana.get(reverse("compose")).content.decode()


def test_what_was_planned_goes_along_and_not_what_the_block_was_steered_to(as_ana, ana, ben, week, today):
    draft, _week = draft_for(ben, ana, week, starts_on=today, weeks=8, deload_weeks=[6])
    blocks.assign_block(draft, draft.revision, ana)
    for act in ({"act": "ease", "round": 1}, {"act": "end", "since": today}):
        asked = Asked(**act)
        steering.steer(ben, ana, asked, plan(ben, asked).digest)
    answer = as_ana.get(reverse("client-next", args=[ben.public_id]))
    initial = answer.context["form"].initial
    assert (initial["weeks"], initial["deload_weeks"]) == (8, "6")
    assert "easier week 6" in answer.content.decode()


@pytest.mark.parametrize("name", ["client-next", "compose-start"])
@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_no_block_begins_where_no_week_can_be_reckoned(as_ana, ana, ben, week, draft, name, day):
    blocks.assign_block(draft, draft.revision, ana)
    asked = {"way": "keep", "outline": week.outline.pk, "place": week.place.pk, "starts_on": day, "weeks": "6"}
    answer = as_ana.post(reverse(name, args=[ben.public_id]), asked)
    assert answer.status_code == 422 and "between 1800 and 2199" in answer.content.decode()
    assert not Draft.objects.filter(state="open").exists()


def test_without_a_block_there_is_nothing_to_go_on_from(as_ana, ben):
    answer = as_ana.get(reverse("client-next", args=[ben.public_id]))
    assert answer.headers["Location"] == reverse("compose-start", args=[ben.public_id])


@pytest.mark.parametrize("weeks", [10, 20])
def test_the_page_costs_the_same_however_long_the_past(as_ana, ana, ben, week, today, weeks, django_assert_num_queries):
    starts_on = today - timedelta(weeks=weeks)
    draft, _week = draft_for(ben, ana, week, starts_on=starts_on, weeks=weeks, deload_weeks=[])
    train_block(ben, week, blocks.assign_block(draft, draft.revision, ana))
    with django_assert_num_queries(22):
        assert as_ana.get(reverse("client-next", args=[ben.public_id])).status_code == 200
