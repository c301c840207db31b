"""The pages that change what is left of a block: shown first, then done exactly so, told with its undo."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from clients import receiving
from clients.clock import today_for
from clients.models import Draft, Limit
from clients.services import blocks
from coachdesk.practice.models import JournalEntry
from programs.models import ExerciseJoint
from tests.clients.weeks import draft_for
from tests.factories import LoggedSetFactory, PlaceFactory, StationFactory

pytestmark = pytest.mark.django_db


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


def test_a_week_built_anew_is_held_to_the_weeks_before(as_ana, ana, ben, week, since):
    week.outline.order = ["full"] * 3
    week.outline.save()
    ben.days = [0, 2, 4]
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben), deload_weeks=[])
    running = blocks.assign_block(draft, draft.revision, ana)
    for number in range(1, 5):
        day = today_for(ben) - timedelta(weeks=number)
        LoggedSetFactory(client=ben, exercise=week.exercises["press 0"], performed_on=day)
    other = small_week_of_two(ana, week)
    url = reverse("client-other-days", args=[ben.public_id])
    html = as_ana.get(url, {"since": since, "days": [0, 3]}).content.decode()
    asked = {"since": since, "days": [0, 3], "outline": other.pk, "digest": hidden(html, "digest"), "way": "anew"}
    answer = as_ana.post(url, asked, follow=True)
    assert messages(answer)[0].startswith("Not built: too much more at once for ")
    assert ben.blocks.active().get() == running and not Draft.objects.filter(outline=other).exists()


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
        part,
        {"since": since, "joints": ["elbow"], "side": "both", "strict": "1", "go": "change", "digest": "x"},
        follow=True,
    )
    assert "Something changed in between" in messages(answer)[0]
    assert not JournalEntry.objects.filter(act__in=["sessions.days", "sessions.part"]).exists()


def test_a_sore_joint_is_spared_from_a_day_on(as_ana, ana, ben, week, block, since):
    mine = {row["exercise"] for row in block.document["picks"] if row["slot"] == "press"}
    for exercise in week.exercises.values():
        if exercise.key in mine:
            ExerciseJoint.objects.create(exercise=exercise, joint="elbow", severity=2)
    url = reverse("client-part", args=[ben.public_id])
    asked = {"since": since, "joints": ["elbow"], "side": "both", "strict": "1"}
    html = as_ana.post(url, {**asked, "go": "show"}).content.decode()
    assert "What would change" in html and "It loads what is to be spared" in html
    assert not Limit.objects.exists()
    answer = as_ana.post(url, {**asked, "go": "change", "digest": hidden(html, "digest")}, follow=True)
    assert messages(answer) == ["8 sessions changed."]
    assert Limit.objects.get().joint == "elbow"
    entry = JournalEntry.objects.get(act="sessions.part")
    assert reverse("undo", args=[entry.public_id]) in answer.content.decode()


def test_a_journey_shows_where_it_goes_and_back(as_ana, ana, ben, week, block, since):
    hotel = PlaceFactory(practice=ana.practice, name="Pier Hotel", unit="lb")
    StationFactory(place=hotel, kind="dumbbell", unit="lb", loads={"list": ["20", "35", "50"]})
    url = reverse("client-part", args=[ben.public_id])
    until = (today_for(ben) + timedelta(days=13)).isoformat()
    asked = {"since": since, "until": until, "place": hotel.pk, "side": "both", "strict": "1"}
    html = as_ana.post(url, asked).content.decode()
    assert "4 sessions are trained at Pier Hotel" in html
    as_ana.post(url, {**asked, "go": "change", "digest": hidden(html, "digest")})
    assert block.sessions.filter(elsewhere=hotel).count() == 4
    session = block.sessions.filter(elsewhere=hotel).first()
    assert "Pier Hotel" in as_ana.get(reverse("session", args=[session.public_id])).content.decode()


def test_nothing_chosen_and_days_the_wrong_way_round_are_said(as_ana, ana, cleo, ben, block, since):
    url = reverse("client-part", args=[ben.public_id])
    plain = {"side": "both", "strict": "1"}
    foreign = PlaceFactory(practice=cleo.practice)
    for asked, field in (
        ({"since": since}, "place"),
        ({"since": since, "until": "2020-01-01", "joints": ["elbow"]}, "until"),
        ({"since": since, "place": foreign.pk}, "place"),
        ({"since": since, "joints": ["tail"]}, "joints"),
        ({"since": (today_for(ben) + timedelta(days=300)).isoformat(), "joints": ["elbow"]}, "since"),
    ):
        answer = as_ana.post(url, {**plain, **asked})
        assert answer.status_code == 422 and field in answer.context["form"].errors


def test_a_report_of_pain_fills_in_what_it_is_about_for_who_may_read_it(as_ana, ana, ben, block):
    received = receiving.take_pain(ben, key="p", score=5, body_part="elbow", side="left", felt_on=today_for(ben))
    url, asked = reverse("client-part", args=[ben.public_id]), {"report": str(received.report.public_id)}

    def ticked():
        return re.findall(r'name="joints" value="(\w+)"[^>]*checked', as_ana.get(url, asked).content.decode())

    assert ticked() == received.report.affected["joints"] != []
    health = as_ana.get(reverse("client-health", args=[ben.public_id])).content.decode()
    assert f"{url}?report={received.report.public_id}" in health
    for wrong in ("nonsense", "00000000-0000-0000-0000-000000000000"):
        assert as_ana.get(url, {"report": wrong}).status_code == 200
    ana.sees_health = False
    ana.save()
    assert ticked() == []


@pytest.mark.parametrize("name", ["client-other-days", "client-part"])
def test_the_pages_cost_the_same_however_long_the_block(as_ana, ana, ben, week, name, django_assert_max_num_queries):
    asked = {"since": today_for(ben).isoformat(), "days": [1, 5], "joints": ["elbow"], "side": "both", "strict": "1"}
    for weeks in (1, 12):
        draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben), weeks=weeks, deload_weeks=[])
        blocks.assign_block(draft, draft.revision, ana)
        with django_assert_max_num_queries(50):
            url = reverse(name, args=[ben.public_id])
            answer = as_ana.get(url, asked) if name == "client-other-days" else as_ana.post(url, asked)
        assert answer.status_code == 200
        assert (b"at once" if name == "client-other-days" else b"No exercise has to change") in answer.content
