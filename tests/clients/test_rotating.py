"""The next block: what still serves is kept, what stalled gives way, and all that is due where the coach says so."""

from datetime import timedelta

import pytest
from django.urls import reverse

from clients.forms.compose import StartForm
from clients.models import Draft
from clients.reads.composing import draft_inputs
from clients.reads.rotating import rotated_of
from clients.services import blocks
from clients.services.drafts import recomposed
from tests.clients.weeks import draft_for, train_block
from tests.factories import MONDAY

pytestmark = pytest.mark.django_db

NEXT = MONDAY + timedelta(weeks=6)


@pytest.fixture
def block(ana, ben, week):
    draft, _week = draft_for(ben, ana, week, weeks=6, deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, ana)


def used(draft):
    return {row["exercise"] for row in draft.document["picks"]}


def test_without_a_block_nothing_is_due_and_nothing_is_asked(ana, ben, week):
    assert rotated_of(ben, MONDAY, "rotate") == {"stalled": [], "due": []}
    assert "rotate" not in StartForm(client=ben).fields


def test_what_still_serves_is_kept(ana, ben, week, block):
    train_block(ben, week, block)
    assert rotated_of(ben, NEXT, "keep") == {"stalled": [], "due": []}
    draft, _week = draft_for(ben, ana, week, starts_on=NEXT)
    assert used(draft) == {row["exercise"] for row in block.document["picks"]}
    assert "rotated" not in draft.document


def test_what_stalled_gives_way_in_either_case(ana, ben, week, block):
    mine = {row["exercise"] for row in block.document["picks"] if row["slot"] == "press"}
    ben.experience = "novice"
    ben.save()
    train_block(ben, week, block, stalled=[name for name, row in week.exercises.items() if row.key in mine])
    found = rotated_of(ben, NEXT, "keep")
    assert set(found["stalled"]) == mine and found["due"] == []
    draft, _week = draft_for(ben, ana, week, starts_on=NEXT)
    assert mine.isdisjoint(used(draft))
    request = draft_inputs(draft).request
    assert request.stalled == mine and mine.isdisjoint(request.previous)


def test_rotating_exchanges_all_that_was_done_long_enough(ana, ben, week, block):
    for exercise in week.exercises.values():
        exercise.role = "secondary"
        exercise.save()
    train_block(ben, week, block)
    before = {row["exercise"] for row in block.document["picks"]}
    assert set(rotated_of(ben, NEXT, "rotate")["due"]) == before
    draft, _week = draft_for(ben, ana, week, starts_on=NEXT, rotate="rotate")
    assert used(draft).isdisjoint(before)
    again = recomposed(draft, draft_inputs(draft))
    assert {row["exercise"] for row in again["picks"]} == used(draft), "composing again keeps the choice"


def test_main_lifts_stay_longer(ana, ben, week, block):
    train_block(ben, week, block)
    assert rotated_of(ben, NEXT, "rotate")["due"] == []
    assert rotated_of(ben, NEXT + timedelta(weeks=2), "rotate")["due"] != []


def test_the_form_asks_and_hands_it_on(as_ana, ana, ben, week, block):
    url = reverse("compose-start", args=[ben.public_id])
    page = as_ana.get(url).content.decode()
    assert "keep what still serves" in page and "rotate everything due" in page
    for exercise in week.exercises.values():
        exercise.role = "secondary"
        exercise.save()
    train_block(ben, week, block)
    asked = {"outline": week.outline.pk, "place": week.place.pk, "starts_on": NEXT.isoformat(), "weeks": 4}
    assert as_ana.post(url, {**asked, "rotate": "sideways"}).status_code == 422
    assert as_ana.post(url, {**asked, "rotate": "rotate"}).status_code == 302
    draft = Draft.objects.get(client=ben, state=Draft.State.OPEN)
    assert draft.document["rotated"]["due"]
    assert as_ana.get(reverse("draft", args=[draft.public_id])).status_code == 200
