"""Exercises like one: which are near, and how they differ."""

from dataclasses import replace

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from programs.alike import Traits, alike
from tests.factories import ExerciseFactory

ROW = Traits(
    1, "Row", "horizontal_pull", frozenset({"lat"}), "barbell", "", "", "two", "basic", frozenset({("lumbar_shear", 2)})
)


def test_the_same_movement_with_less_difference_comes_first():
    others = [
        replace(ROW, pk=2, name="Pulldown", pattern="vertical_pull"),
        replace(ROW, pk=3, name="One-arm row", implement="dumbbell", limbs="one"),
        replace(ROW, pk=4, name="Cable row", implement="cable"),
        replace(ROW, pk=5, name="Curl", regions=frozenset({"biceps"})),
    ]
    found = alike(ROW, others, 6)
    assert [each.other.pk for each in found] == [4, 3, 2]
    assert [each.differs for each in found] == [("implement",), ("implement", "limbs"), ()]


traits = st.builds(
    replace,
    st.just(ROW),
    pk=st.integers(1, 40),
    pattern=st.sampled_from(["horizontal_pull", "vertical_pull"]),
    regions=st.frozensets(st.sampled_from(["lat", "rhomb", "biceps"])),
    implement=st.sampled_from(["barbell", "cable"]),
    joints=st.dictionaries(st.sampled_from(["grip", "elbow"]), st.integers(1, 3)).map(
        lambda asked: frozenset(asked.items())
    ),
)


@given(st.lists(traits, unique_by=lambda one: one.pk), st.integers(0, 6))
def test_the_nearest_are_bounded_sorted_and_share_a_region(others, most):
    found = alike(ROW, others, most)
    assert len(found) <= most
    assert [each.distance for each in found] == sorted(each.distance for each in found)
    assert all(each.other.pk != ROW.pk and each.other.regions & ROW.regions for each in found)
    assert found == alike(ROW, reversed(others), most)


@pytest.mark.parametrize("rows", [1, 30])
def test_the_page_names_the_alike_and_how_they_differ(as_ana, ana, cleo, rows, django_assert_num_queries):
    facts = {"pattern": "hinge", "regions": {"hams": 4}, "joints": {}, "limbs": "two", "skill": "basic"}
    shown = ExerciseFactory(practice=ana.practice, name="Hinge", implement="barbell", **facts)
    for number in range(rows):
        ExerciseFactory(practice=ana.practice, name=f"Near {number:02}", implement="dumbbell", **facts)
    ExerciseFactory(practice=ana.practice, name="A hidden", hidden_at=timezone.now(), **facts)
    ExerciseFactory(practice=cleo.practice, name="A stranger’s", **facts)
    address = reverse("exercise", args=[shown.public_id])
    as_ana.get(address)
    with django_assert_num_queries(11):
        page = as_ana.get(address)
    assert [str(other) for other, _ in page.context["alike"]] == [f"Near {number:02}" for number in range(min(rows, 6))]
    assert page.context["alike"][0][1] == "dumbbells"
    assert "Like this one" in page.text
