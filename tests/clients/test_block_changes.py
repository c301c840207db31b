"""The pages that change what is left of a block: shown first, then done exactly so, told with its undo."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from clients.clock import today_for
from clients.models import Draft, Limit
from clients.services import blocks
from coachdesk.practice.models import JournalEntry
from programs.models import ExerciseJoint
from tests.clients.weeks import draft_for, small_week
from tests.factories import PlaceFactory, StationFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def week(ben):
    return small_week(ben)


@pytest.fixture
def block(ana, ben, week):
    draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben), deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, ana)


@pytest.fixture
def since(ben):
    return today_for(ben).isoformat()


def hidden(html, name):
    return re.search(rf'name="{name}"\s+value="([^"]*)"', html).group(1)


def messages(response):
    return [str(one) for one in response.context["messages"]]


def test_other_days_are_shown_then_taken_and_undone_from_the_toast(as_ana, ana, ben, block, since):
    url = reverse("client-other-days", args=[ben.public_id])
    page = as_ana.get(url)
    assert page.status_code == 200 and b"sessions are left" not in page.content
    before = list(block.sessions.values_list("pk", "planned_on"))
    html = as_ana.get(url, {"since": since, "days": [1, 5]}).content.decode()
    assert "8 sessions are left" in html and "The same sessions on these days" in html
    assert "Chest" in html and "at once" in html
    asked = {"since": since, "days": [1, 5], "way": "turn", "end": hidden(html, "end")}
    answer = as_ana.post(url, asked, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("client-block", args=[ben.public_id])
    assert {row.planned_on.weekday() for row in block.sessions.all()} == {1, 5}
    entry = JournalEntry.objects.get(act="sessions.days")
    assert reverse("undo", args=[entry.public_id]) in answer.content.decode()
    as_ana.post(reverse("undo", args=[entry.public_id]))
    assert list(block.sessions.values_list("pk", "planned_on")) == before


def test_fewer_days_offer_both_ways_side_by_side(as_ana, ana, ben, week, since):
    week.outline.order = ["full"] * 3
    week.outline.save()
    ben.days = [0, 2, 4]
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben), deload_weeks=[])
    blocks.assign_block(draft, draft.revision, ana)
    other = small_week_of_two(ana, week)
    url = reverse("client-other-days", args=[ben.public_id])
    html = as_ana.get(url, {"since": since, "days": [0, 3]}).content.decode()
    assert "A round of 3 sessions takes 10.5 days on average instead of a week." in html
    assert "A week of 2 built anew" in html and "Twice only" in html
    asked = {"since": since, "days": [0, 3], "outline": other.pk, "digest": hidden(html, "digest")}
    answer = as_ana.post(url, {**asked, "way": "board"})
    draft = Draft.objects.get(outline=other)
    assert answer.headers["Location"] == reverse("draft", args=[draft.public_id])
    answer = as_ana.post(url, {**asked, "way": "anew"})
    assert answer.headers["Location"] == reverse("client-block", args=[ben.public_id])
    assert ben.blocks.active().get().outline == other


def small_week_of_two(ana, week):
    """The same day type twice, under another name."""
    outline = week.outline
    days = list(outline.days.all())
    outline.pk, outline.name, outline.order = None, "Twice only", ["full"] * 2
    outline.public_id = type(outline)._meta.get_field("public_id").get_default()
    outline._state.adding = True
    outline.save()
    for day in days:
        slots = list(day.slots.prefetch_related("candidates"))
        day.pk, day.outline, day._state.adding = None, outline, True
        day.save()
        for slot in slots:
            candidates = list(slot.candidates.all())
            slot.pk, slot.day, slot._state.adding = None, day, True
            slot.save()
            for candidate in candidates:
                candidate.pk, candidate.slot, candidate._state.adding = None, slot, True
                candidate.save()
    return outline


def test_what_cannot_be_laid_is_said_beside_its_field(as_ana, ana, ben, block, since, week):
    url = reverse("client-other-days", args=[ben.public_id])
    for asked, field in (
        ({"since": since}, "days"),
        ({"since": "soon", "days": [0]}, "since"),
        ({"since": (today_for(ben) - timedelta(days=1)).isoformat(), "days": [0, 3]}, "since"),
        ({"since": (today_for(ben) + timedelta(days=300)).isoformat(), "days": [0, 3]}, "since"),
    ):
        answer = as_ana.get(url, asked)
        assert answer.status_code == 422 and field in answer.context["form"].errors
    assert as_ana.post(url, {"since": since}).status_code == 422
    ben.order_mode = "list"
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben))
    blocks.assign_block(draft, draft.revision, ana)
    answer = as_ana.get(url, {"since": since, "days": [0, 3]})
    assert answer.status_code == 422 and "without dates" in str(answer.context["form"].errors["days"])


def test_a_page_that_is_no_longer_true_is_shown_anew(as_ana, ben, block, since):
    url = reverse("client-other-days", args=[ben.public_id])
    asked = {"since": since, "days": [1, 5]}
    for stale in ({"way": "turn", "end": "2020-01-01"}, {"way": "anew"}, {"way": "sideways"}):
        answer = as_ana.post(url, {**asked, **stale}, follow=True)
        assert answer.status_code == 200 and "Something changed in between" in messages(answer)[0]
        assert answer.context["found"] is not None
    part = reverse("client-part", args=[ben.public_id])
    answer = as_ana.post(
        part, {"since": since, "joint": "elbow", "side": "both", "strict": "1", "digest": "x"}, follow=True
    )
    assert "Something changed in between" in messages(answer)[0]
    assert not JournalEntry.objects.filter(act__in=["sessions.days", "sessions.part"]).exists()


def test_a_sore_joint_is_spared_from_a_day_on(as_ana, ana, ben, week, block, since):
    mine = {row["exercise"] for row in block.document["picks"] if row["slot"] == "press"}
    for exercise in week.exercises.values():
        if exercise.key in mine:
            ExerciseJoint.objects.create(exercise=exercise, joint="elbow", severity=2)
    url = reverse("client-part", args=[ben.public_id])
    asked = {"since": since, "joint": "elbow", "side": "both", "strict": "1"}
    html = as_ana.get(url, asked).content.decode()
    assert "What would change" in html and "It loads what is to be spared" in html
    answer = as_ana.post(url, {**asked, "digest": hidden(html, "digest")}, follow=True)
    assert messages(answer) == ["8 sessions changed."]
    assert Limit.objects.get().joint == "elbow"
    entry = JournalEntry.objects.get(act="sessions.part")
    assert reverse("undo", args=[entry.public_id]) in answer.content.decode()


def test_a_journey_shows_where_it_goes_and_back(as_ana, ana, ben, week, block, since):
    hotel = PlaceFactory(practice=ana.practice, name="Pier Hotel", unit="lb")
    StationFactory(place=hotel, kind="dumbbell", unit="lb", loads={"list": ["20", "35", "50"]})
    url = reverse("client-part", args=[ben.public_id])
    until = (today_for(ben) + timedelta(days=13)).isoformat()
    asked = {"since": since, "until": until, "place": hotel.pk, "joint": "", "side": "both", "strict": "1"}
    html = as_ana.get(url, asked).content.decode()
    assert "4 sessions are trained at Pier Hotel" in html
    as_ana.post(url, {**asked, "digest": hidden(html, "digest")})
    assert block.sessions.filter(elsewhere=hotel).count() == 4
    session = block.sessions.filter(elsewhere=hotel).first()
    assert "Pier Hotel" in as_ana.get(reverse("session", args=[session.public_id])).content.decode()


def test_nothing_chosen_and_days_the_wrong_way_round_are_said(as_ana, ana, cleo, ben, block, since):
    url = reverse("client-part", args=[ben.public_id])
    plain = {"side": "both", "strict": "1"}
    foreign = PlaceFactory(practice=cleo.practice)
    for asked, field in (
        ({"since": since}, "place"),
        ({"since": since, "until": "2020-01-01", "joint": "elbow"}, "until"),
        ({"since": since, "place": foreign.pk}, "place"),
        ({"since": since, "joint": "tail"}, "joint"),
        ({"since": (today_for(ben) + timedelta(days=300)).isoformat(), "joint": "elbow"}, "since"),
    ):
        answer = as_ana.get(url, {**plain, **asked})
        assert answer.status_code == 422 and field in answer.context["form"].errors


def test_what_pain_was_told_of_is_filled_in(as_ana, ben, block):
    page = as_ana.get(reverse("client-part", args=[ben.public_id]), {"joint": "elbow", "side": "left"})
    assert re.search(r'<option value="elbow"\s+selected', page.content.decode())


@pytest.mark.parametrize("name", ["client-other-days", "client-part"])
def test_the_pages_cost_the_same_however_long_the_block(as_ana, ana, ben, week, name, django_assert_max_num_queries):
    asked = {"since": today_for(ben).isoformat(), "days": [1, 5], "joint": "elbow", "side": "both", "strict": "1"}
    for weeks in (1, 12):
        draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben), weeks=weeks, deload_weeks=[])
        blocks.assign_block(draft, draft.revision, ana)
        with django_assert_max_num_queries(50):
            assert as_ana.get(reverse(name, args=[ben.public_id]), asked).status_code == 200
