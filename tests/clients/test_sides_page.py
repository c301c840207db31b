"""One-sided work on the progress page: one entry a set, the weaker side counts, and both are compared over weeks."""

from datetime import timedelta
from decimal import Decimal

import pytest

from clients import receiving
from clients.models import LoggedPart, LoggedSet
from clients.reads.history import history_of
from clients.receiving import Arrival, PartValues, SetValues
from programs.engine.dose import counted_sets
from programs.engine.strength import volume_load
from programs.units import load_of
from tests.clients.test_progress_page import MONDAY, block, page
from tests.factories import ExerciseFactory
from tests.pages import text_of

__all__ = ["block"]  # a fixture


@pytest.fixture
def split_squat(ana):
    return ExerciseFactory(practice=ana.practice, name="Split squat", pattern="lunge", limbs="one", load_entry="total")


def done(ben, exercise, weeks_ago, left, right, load=24, right_load=None):
    arrival = Arrival(way="phone", performed_on=MONDAY - timedelta(weeks=weeks_ago))
    for number in (1, 2, 3):
        parts = (
            PartValues(LoggedPart.Sort.LEFT, left),
            PartValues(LoggedPart.Sort.RIGHT, right, load=None if right_load is None else load_of(right_load, "kg")),
        )
        values = SetValues(reps=max(left, right), load=load_of(load, "kg"), rir=Decimal(2), parts=parts)
        receiving.take_loose_set(ben, exercise, values, key=f"{weeks_ago}-{number}", arrival=arrival)


def test_three_sets_stay_three_and_the_weaker_side_counts(ben, split_squat):
    done(ben, split_squat, 1, 10, 8)
    assert LoggedSet.objects.count() == 3
    (exposure,) = history_of(ben, "kg").of(split_squat.pk)
    assert [one.reps for one in exposure.done] == [8, 8, 8]
    assert counted_sets(exposure.done) == 3
    assert volume_load(24, 8, "total", unilateral=True) == 24 * 8 * 2


def test_one_session_is_shown_and_nothing_made_of_it(as_ana, ben, block, split_squat):
    done(ben, split_squat, 1, 8, 8, right_load=20)
    said = text_of(page(as_ana, ben))
    assert "left +16.7 %" in said and "no steady difference" in said


def test_the_same_side_three_sessions_running_is_remarked_on(as_ana, ben, block, split_squat):
    for weeks_ago in (3, 2, 1):
        done(ben, split_squat, weeks_ago, 8, 10)
    said = text_of(page(as_ana, ben))
    assert said.count("right +20 %") == 3 and "the right clearly more, three sessions running" in said
    assert "risk" not in said and "injur" not in said


def test_two_handed_work_says_nothing_of_sides(as_ana, ben, block):
    bench = ExerciseFactory(practice=ben.practice, load_entry="total")
    arrival = Arrival(way="phone", performed_on=MONDAY)
    receiving.take_loose_set(ben, bench, SetValues(reps=8, load=load_of(60, "kg")), key="a", arrival=arrival)
    assert "Left and right" not in text_of(page(as_ana, ben))
