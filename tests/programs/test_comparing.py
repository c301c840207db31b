"""Two exercises side by side."""

import uuid

import pytest
from django.urls import reverse

from programs.models import ExerciseText
from tests.factories import ExerciseFactory, PlaceFactory, StationFactory

COMPARE = "/library/compare/"


@pytest.fixture
def pair(ana):
    facts = {"pattern": "hinge", "rep_low": 5, "rep_high": 10}
    one = ExerciseFactory(
        practice=ana.practice,
        name="Bar hinge",
        implement="barbell",
        load_entry="total",
        regions={"hams": 4, "erector": 2},
        joints={"lumbar_shear": 3, "grip": 1},
        **facts,
    )
    other = ExerciseFactory(
        practice=ana.practice,
        name="Bell hinge",
        implement="kettlebell",
        regions={"hams": 4, "glute_max": 4},
        joints={"lumbar_shear": 2, "grip": 1},
        **facts,
    )
    return one, other


def compare(browser, one, other):
    return browser.get(COMPARE, {"a": str(one.public_id), "b": str(other.public_id)})


def rows(response, part):
    return {row.name: (row.one, row.other, row.differs) for row in response.context[part]}


def test_what_differs_is_said_in_words(as_ana, ana, pair):
    place = PlaceFactory(practice=ana.practice, name="Net Loft")
    StationFactory(place=place, kind="kettlebell", loads={"list": ["8", "24"]})
    page = compare(as_ana, *pair)
    assert page.context["differs"] == (
        "kettlebells; asks less of: low back, shear (clearly, not much); also whole for: buttocks"
    )
    assert rows(page, "joints") == {"Low back, shear": ("much", "clearly", True), "Grip": ("some", "some", False)}
    shares = {row.name: (row.one, row.other, row.differs) for row, *_bars in page.context["shares"]}
    assert shares == {
        "Hamstrings": ("1", "1", False),
        "Buttocks": ("", "1", True),
        "Spinal erectors": ("½", "", True),
    }
    facts = rows(page, "facts")
    assert facts["Implement"] == ("barbell", "kettlebells", True) and facts["Pattern"] == ("hinge", "hinge", False)
    assert rows(page, "places") == {"Net Loft": ("no barbell", "8 to 24\u00a0kg", True)}
    unlike = [row for part in ("facts", "joints", "places") for row in page.context[part] if row.differs]
    assert page.text.count("differs</span>") == len(unlike) + 2  # and two shares


def test_the_words_stand_side_by_side(as_ana, pair):
    for exercise, reason in zip(pair, ("For the bar.", "For the bell."), strict=True):
        ExerciseText.objects.create(
            exercise=exercise, language="en", reason=reason, faults=[["Drifts", f"Hold {reason}"]]
        )
    page = compare(as_ana, *pair)
    assert rows(page, "words") == {"Reason to choose it": ("For the bar.", "For the bell.", True)}
    assert "Hold For the bar." in page.text and "Hold For the bell." in page.text


def test_two_of_the_same_kind_differ_in_nothing(as_ana, ana):
    one, other = (ExerciseFactory(practice=ana.practice, name=name, joints={"elbow": 1}) for name in ("One", "Two"))
    page = compare(as_ana, one, other)
    assert "the same in all that is known" in page.text and "differs</span>" not in page.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"rep_unit": "seconds"}, "in seconds"),
        ({"needs_all": ["flat_bench"]}, "also needs: flat bench"),
        ({"load_entry": "total"}, "load: everything that moves, bar and plates together"),
        ({"bodyweight_fraction": "0.50"}, "moves some 50 % of bodyweight"),
        ({"tempo": "5010"}, "tempo 5-0-1-0"),
        ({"rep_low": 3}, "3–12 reps"),
        ({"tempo": "5010", "needs_one": [["box", "chair"]]}, "also needs: box or sturdy chair"),
    ],
)
def test_near_twins_are_told_apart(as_ana, ana, changed, said):
    one = ExerciseFactory(practice=ana.practice, name="One")
    other = ExerciseFactory(practice=ana.practice, name="Two", **changed)
    assert compare(as_ana, one, other).context["differs"] == said
    assert said in as_ana.get(reverse("exercise", args=[one.public_id])).text
    back = compare(as_ana, other, one).context["differs"]
    assert back and (not said.startswith("also needs") or back == said.replace("also needs", "does without"))


def test_ticked_rows_of_the_list_are_compared(as_ana, pair):
    keys = [str(exercise.public_id) for exercise in pair]
    assert as_ana.get(COMPARE, {"exercise": [*keys, str(uuid.uuid4())]}).url == f"{COMPARE}?a={keys[0]}&b={keys[1]}"
    assert as_ana.get(COMPARE, {"exercise": keys[:1]}).url == f"{COMPARE}?a={keys[0]}"
    assert all(f'value="{key}"' in as_ana.get(reverse("library")).text for key in keys)


def test_with_one_alone_the_other_is_chosen(as_ana, pair):
    one, other = pair
    page = as_ana.get(COMPARE, {"a": str(one.public_id)})
    assert [found for found, _ in page.context["offered"]] == [other]
    assert f"?a={one.public_id}&amp;b={other.public_id}" in page.text
    page = as_ana.get(COMPARE, {"a": str(one.public_id), "q": "hinge"})
    assert [found for found, _ in page.context["offered"]] == [other]
    assert "Nothing here is called “zither”" in as_ana.get(COMPARE, {"a": str(one.public_id), "q": "zither"}).text
    page = compare(as_ana, one, one)
    assert page.context["chosen"] == one


def test_with_none_the_first_is_chosen(as_ana, pair):
    page = as_ana.get(COMPARE, {"q": "bell"})
    assert f"{COMPARE}?a={pair[1].public_id}" in page.text
    assert as_ana.get(COMPARE).status_code == 200


@pytest.mark.parametrize("key", ["no-id", str(uuid.UUID(int=4)), "stranger"])
def test_what_is_not_the_practices_is_not_compared(as_ana, cleo, pair, key):
    theirs = ExerciseFactory(practice=cleo.practice, name="A stranger’s")
    key = str(theirs.public_id) if key == "stranger" else key
    assert as_ana.get(COMPARE, {"a": str(pair[0].public_id), "b": key}).status_code == 404
    assert as_ana.get(COMPARE, {"exercise": [key, str(pair[0].public_id)]}, follow=True).status_code == 404


@pytest.mark.parametrize("places", [1, 30])
def test_the_comparison_costs_the_same_however_many_places(as_ana, ana, pair, places, django_assert_num_queries):
    for _ in range(places):
        StationFactory(place=PlaceFactory(practice=ana.practice))
    compare(as_ana, *pair)
    # http session, coach; exercises, regions, joints, texts; places, stations
    with django_assert_num_queries(8):
        compare(as_ana, *pair)
