"""A lift that moves the body is told three ways: what was added, what moved, and against the body's weight."""

from datetime import timedelta

import pytest

from clients.models import Bodyweight, LoggedSet
from programs.units import load_of
from tests.clients.test_progress_page import MONDAY, block, page, trained
from tests.factories import ExerciseFactory
from tests.pages import text_of

__all__ = ["block"]  # a fixture


@pytest.fixture
def pull_up(ana):
    return ExerciseFactory(
        practice=ana.practice,
        name="Pull-up",
        pattern="vertical_pull",
        implement="bodyweight",
        load_entry="added",
        bodyweight_fraction="1",
        regions={"lat": 4},
    )


def weighed(ben, weeks_ago, kilograms):
    day = MONDAY - timedelta(weeks=weeks_ago)
    Bodyweight.objects.create(client=ben, measured_on=day, grams=kilograms * 1000, value=kilograms, unit="kg")
    LoggedSet.objects.filter(performed_on=day).update(bodyweight_grams=kilograms * 1000)


def test_more_added_at_less_bodyweight_is_told_three_ways(as_ana, ben, block, pull_up):
    trained(block, pull_up, 12, 10, reps=(6, 6), rir=1)
    weighed(ben, 12, 80)
    trained(block, pull_up, 1, 14, reps=(6, 6), rir=1)
    weighed(ben, 1, 76)
    said = text_of(page(as_ana, ben))
    assert "bodyweight + 10 kg × 6, 90 kg moved, 1.13 × bodyweight" in said
    assert "bodyweight + 14 kg × 6, 90 kg moved, 1.18 × bodyweight" in said


def test_an_old_bodyweight_is_said_to_be_old(as_ana, ben, block, pull_up):
    trained(block, pull_up, 6, 10, reps=(6, 6), rir=1)
    weighed(ben, 6, 80)
    trained(block, pull_up, 1, 12.5, reps=(6, 6), rir=1)
    LoggedSet.objects.update(bodyweight_grams=80000)
    assert "bodyweight + 12.5 kg × 6, 92.5 kg moved, 1.16 × a bodyweight 35 days old" in text_of(page(as_ana, ben))


def test_in_a_place_in_pounds_it_is_told_in_pounds(as_ana, ben, block, pull_up):
    block.place.unit = "lb"
    block.place.save()
    trained(block, pull_up, 1, 10, reps=(6, 6), rir=1)
    weighed(ben, 1, 80)
    assert "198.4 lb moved" in text_of(page(as_ana, ben))


def test_a_lift_that_moves_no_body_says_nothing_of_it(as_ana, ben, block):
    bench = ExerciseFactory(practice=ben.practice, load_entry="total")
    trained(block, bench, 1, 60)
    assert "moved," not in text_of(page(as_ana, ben))
    assert load_of(60, "kg").value == LoggedSet.objects.first().load_value
