"""A rise of a group's weekly dose by more than three fifths is assigned only with the coach's reason."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from clients.clock import today_for
from clients.models import Block, Draft
from clients.services import blocks, drafts
from clients.services.courses import pin_rises
from coachdesk.practice.models import JournalEntry
from tests.clients.weeks import draft_for, pick
from tests.factories import LoggedSetFactory

pytestmark = pytest.mark.django_db
REASON = "back from a camp with twice the sets"


@pytest.fixture
def today(ben):
    return today_for(ben)


def trained(client, week, today, *, sets, weeks=4):
    """Every exercise of the week's first session once a week, so many sets each."""
    for number in range(1, weeks + 1):
        for name in ("press 0", "row 0", "squat 0"):
            LoggedSetFactory.create_batch(
                sets, client=client, exercise=week.exercises[name], performed_on=today - timedelta(days=7 * number)
            )


@pytest.fixture
def steep(ana, ben, week, today):
    """A draft with several times the sets of the four weeks before."""
    trained(ben, week, today, sets=2)
    return draft_for(ben, ana, week, starts_on=today, deload_weeks=[])[0]


def test_a_steep_rise_is_not_assigned(ana, ben, steep):
    with pytest.raises(blocks.TooSteep) as refused:
        blocks.assign_block(steep, steep.revision, ana)
    told = {why.params["group"]: why.params for why in refused.value.rises}
    assert told["chest"]["percent"] > 60 and told["chest"]["mean"] == 2
    steep.refresh_from_db()
    assert steep.state == Draft.State.OPEN and not Block.objects.exists()


def test_up_to_three_fifths_more_is_assigned(ana, ben, week, today):
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[])
    sets = sum(row["sets"] for row in draft.document["picks"] if row["slot"] == "press")
    trained(ben, week, today, sets=-(-sets * 10 // 16))
    assert blocks.assign_block(draft, draft.revision, ana).sessions.exists()


def test_who_did_nothing_for_four_weeks_has_no_dose_to_rise_from(ana, ben, week, today):
    LoggedSetFactory(client=ben, exercise=week.exercises["press 0"], performed_on=today - timedelta(days=60))
    draft, _week = draft_for(ben, ana, week, starts_on=today, deload_weeks=[])
    assert blocks.assign_block(draft, draft.revision, ana)


def test_the_coachs_reason_lets_it_pass_and_stays_with_the_block(ana, ben, steep, today):
    proof = steep.document["proof"]
    assert pin_rises(steep, steep.revision, ana, REASON)
    # In the coach's own words, which may be about health: with the draft alone, and in no list of acts.
    assert JournalEntry.objects.get(act="draft.rises").params == {}
    block = blocks.assign_block(steep, steep.revision, ana)
    kept = block.document["rises"]
    assert (kept["reason"], kept["by"], kept["on"]) == (REASON, "Ana", today.isoformat())
    assert kept["groups"]["chest"] > 2 * 1.6 and block.document["proof"] == proof


def test_a_pin_holds_for_no_more_sets_than_it_was_made_for(ana, ben, steep):
    pin_rises(steep, steep.revision, ana, REASON)
    drafts.set_sets(steep, steep.revision, ana, "press", 0, pick(steep, "press", 0)["sets"] + 2)
    with pytest.raises(blocks.TooSteep) as refused:
        blocks.assign_block(steep, steep.revision, ana)
    assert "chest" in {why.params["group"] for why in refused.value.rises}
    assert "biceps" not in {why.params["group"] for why in refused.value.rises}


def test_nothing_steep_has_nothing_to_pin_and_an_old_page_pins_nothing(ana, ben, week, today, steep):
    with pytest.raises(drafts.StaleDraft):
        pin_rises(steep, steep.revision + 1, ana, REASON)
    trained(ben, week, today, sets=9)
    assert not pin_rises(steep, steep.revision, ana, REASON)
    assert "rises" not in Draft.objects.get(pk=steep.pk).document


# The pages


def words(response):
    return re.sub(r"\s+", " ", response.content.decode())


def test_assigning_says_why_not_and_where_to_give_the_reason(as_ana, ana, ben, steep):
    answer = as_ana.post(reverse("draft-assign", args=[steep.public_id]), {"revision": 1}, follow=True)
    html = words(answer)
    assert answer.redirect_chain[-1][0] == f"{reverse('draft-weeks', args=[steep.public_id])}#rises"
    assert "Not assigned: too much more at once" in html and "Too steep to be assigned" in html
    assert "More than 60 % more sets a week" in html
    assert re.search(r"chest 2\s→\s\d", html)
    url = reverse("draft-rises", args=[steep.public_id])
    assert as_ana.post(url, {"revision": 1, "reason": " "}).status_code == 422
    assert "nothing of yours" in words(as_ana.post(url, {"revision": 7, "reason": REASON}, follow=True))
    html = words(as_ana.post(url, {"revision": 1, "reason": REASON}, follow=True))
    assert REASON in html and "Too steep to be assigned" not in html
    answer = as_ana.post(reverse("draft-assign", args=[steep.public_id]), {"revision": 2}, follow=True)
    assert Block.objects.filter(client=ben).exists()
    assert REASON in words(answer) and "(Ana," in words(answer)
    assert as_ana.post(url, {"revision": 2, "reason": REASON}).status_code == 302
