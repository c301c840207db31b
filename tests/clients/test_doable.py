"""The library's filter by what a client can do: their places, what they bring, limits in force, skill."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from clients.clock import today_for
from clients.reads.composing import compose_inputs
from clients.reads.doable import doable as keeper
from programs.catalogue import catalogue_of
from programs.doable import doable
from programs.engine.compose.candidates import reasons_against
from programs.models import Exercise
from programs.seeding import seed_practice
from tests.factories import (
    BlockFactory,
    ClientFactory,
    ExerciseFactory,
    LimitFactory,
    OutlineFactory,
    PlaceFactory,
    StationFactory,
)
from tests.programs.test_library_pages import find


@pytest.fixture
def gym(ana, ben):
    """Where Ben trains: a barbell."""
    place = PlaceFactory(practice=ana.practice)
    StationFactory(place=place, kind="barbell", loads={})
    ben.place, ben.experience = place, "intermediate"
    ben.save()
    for name, implement, facts in (
        ("Barbell row", "barbell", {"joints": {"grip": 2}}),
        ("Barbell snatch", "barbell", {"skill": "advanced", "joints": {}}),
        ("Band row", "band", {"joints": {}}),
        ("Leg press", "leg_press", {"joints": {}}),
        ("Push-up", "bodyweight", {"joints": {"wrist_extension": 1}}),
    ):
        ExerciseFactory(practice=ana.practice, name=name, implement=implement, **facts)
    return place


def can(browser, client, **asked):
    return find(browser, client=str(client.public_id), **asked)


def test_the_clients_place_decides(as_ana, ben, gym):
    assert can(as_ana, ben) == ["Barbell row", "Push-up"]


def test_what_the_client_brings_counts_at_every_place(as_ana, ben, gym):
    ben.items.create(kind="band")
    assert can(as_ana, ben) == ["Band row", "Barbell row", "Push-up"]


def test_own_places_and_that_of_the_block_count_too(as_ana, ana, ben, gym):
    own = PlaceFactory(practice=ana.practice, owner=ben)
    StationFactory(place=own, kind="leg_press", loads={})
    away = PlaceFactory(practice=ana.practice)
    StationFactory(place=away, kind="band", loads={})
    BlockFactory(client=ben, place=away, state="active")
    assert can(as_ana, ben) == ["Band row", "Barbell row", "Leg press", "Push-up"]


def test_a_place_that_is_not_open_now_does_not_count(as_ana, ben, gym):
    type(gym).objects.filter(pk=gym.pk).update(closes_on=today_for(ben) - timedelta(days=1))
    assert can(as_ana, ben) == ["Push-up"]
    type(gym).objects.filter(pk=gym.pk).update(closes_on=None, opens_on=today_for(ben) + timedelta(days=1))
    assert can(as_ana, ben) == ["Push-up"]


def test_needs_have_to_be_met_at_one_place(as_ana, ana, ben, gym):
    ExerciseFactory(practice=ana.practice, name="Bench press", implement="barbell", needs_all=["flat_bench"], joints={})
    StationFactory(place=PlaceFactory(practice=ana.practice, owner=ben), kind="flat_bench", loads={})
    assert "Bench press" not in can(as_ana, ben)
    StationFactory(place=gym, kind="flat_bench", loads={})
    assert "Bench press" in can(as_ana, ben)


def test_limits_in_force_spare_joints_and_leave_out_exercises(as_ana, ben, gym):
    today = today_for(ben)
    limit = LimitFactory(client=ben, joint="grip", strict=True, since=today, until=None)
    assert can(as_ana, ben) == ["Push-up"]
    limit.strict = False
    limit.save()
    assert can(as_ana, ben) == ["Barbell row", "Push-up"]
    limit.strict, limit.since, limit.until = True, today - timedelta(days=9), today - timedelta(days=1)
    limit.save()
    assert can(as_ana, ben) == ["Barbell row", "Push-up"]
    LimitFactory(client=ben, joint="", exercise=Exercise.objects.get(name="Push-up"), since=today, until=None)
    assert can(as_ana, ben) == ["Barbell row"]


def test_advanced_skills_wait_for_the_coachs_word(as_ana, ben, gym):
    ben.advanced_skills = True
    ben.save()
    assert can(as_ana, ben) == ["Barbell row", "Barbell snatch", "Push-up"]


def test_only_the_count_of_what_is_left_out_is_told(as_ana, ben, gym):
    text = as_ana.get(reverse("library"), {"client": str(ben.public_id)}).text
    assert f"3 more left out that {ben.name} can’t do" in " ".join(text.split())
    assert "Leg press" not in text
    text = as_ana.get(reverse("library"), {"client": str(ben.public_id), "q": "row"}).text
    assert "1 more left out" in text


def test_a_client_of_another_practice_is_no_filter(as_ana, ana, gym, cleo):
    theirs = ClientFactory(practice=cleo.practice, coach=cleo)
    response = as_ana.get(reverse("library"), {"client": str(theirs.public_id)})
    assert theirs.name not in response.text and response.context["page"].paginator.count == 5
    assert keeper.requests(ana.practice, str(theirs.public_id)) == []
    assert keeper.requests(ana.practice, str(uuid.uuid4())) == keeper.requests(ana.practice, "no key") == []


def test_people_who_left_are_not_offered(as_ana, ana, ben, gym):
    ClientFactory(practice=ana.practice, coach=ana, name="Gone Away", status="left")
    text = as_ana.get(reverse("library")).text
    assert ben.name in text and "Gone Away" not in text


def test_the_answer_is_that_of_composing_a_week(ana, ben, gym):
    """One rule: whatever the library, what the filter leaves is what a week may be filled with."""
    seed_practice(ana.practice)
    for kind in ("dumbbell", "flat_bench", "cable"):
        StationFactory(place=gym, kind=kind, loads={})
    today = today_for(ben)
    LimitFactory(client=ben, joint="shoulder_overhead", strict=True, since=today, until=None)
    left_out = Exercise.objects.for_practice(ana.practice).filter(implement="dumbbell").first()
    LimitFactory(client=ben, joint="", exercise=left_out, since=today, until=None)
    outline = OutlineFactory(practice=ana.practice)
    inputs = compose_inputs(ben, outline, gym, on=today)
    allowed = {key for key, term in inputs.library.items() if not reasons_against(term, inputs.request)}
    catalogue = catalogue_of(ana.practice)
    found = catalogue.listed([doable(ana.practice, str(ben.public_id), catalogue) & catalogue.shown])[:]
    keys = {str(key) for key in Exercise.objects.filter(pk__in=found).values_list("public_id", flat=True)}
    assert keys == allowed and left_out.key not in keys and 20 < len(keys) < len(inputs.library)


@pytest.mark.parametrize("places", [1, 12])
def test_asking_costs_the_same_however_many_places(ana, ben, gym, places, django_assert_num_queries):
    for _ in range(places):
        StationFactory(place=PlaceFactory(practice=ana.practice, owner=ben))
    catalogue = catalogue_of(ana.practice)
    with django_assert_num_queries(5):
        doable(ana.practice, str(ben.public_id), catalogue)
