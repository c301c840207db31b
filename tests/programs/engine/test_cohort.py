"""Simulated lifters behave like people, and the same seed gives the same person."""

from random import Random
from statistics import mean

import pytest

from programs.engine.cohort import Lifter, attends, find_load, perform, strength_after
from programs.engine.strength import load_for
from programs.engine.terms import TargetSet

EXACT = Lifter("intermediate", rating_bias=0, rating_spread=0, day_noise=0, taps_through=0)


def sets(count=3, load=80.0, low=6, high=8, rir=2):
    return [TargetSet(reps_low=low, reps_high=high, load=load, rir=rir)] * count


def test_the_same_seed_gives_the_same_sets():
    lifter = Lifter("novice")
    assert perform(lifter, 100, sets(), Random(7)) == perform(lifter, 100, sets(), Random(7))


def test_without_noise_the_first_set_lands_on_the_curve():
    load = load_for(100, 8, 2)
    (first, *_rest) = perform(EXACT, 100, sets(load=load, low=4, high=12), Random(1))
    assert (first.reps, first.rir) == (8, 2)


def test_sets_fall_off_and_never_pass_the_top_of_the_range():
    done = perform(EXACT, 100, sets(count=5, load=load_for(100, 8, 2), low=4, high=8), Random(1))
    reps = [one.reps for one in done]
    assert reps == sorted(reps, reverse=True)
    assert max(reps) == 8
    assert reps[-1] < 8


@pytest.mark.parametrize(
    ("experience", "weeks", "low", "high"),
    [("novice", 12, 1.08, 1.10), ("intermediate", 12, 1.012, 1.016), ("advanced", 12, 1.003, 1.006)],
)
def test_strength_grows_as_expected_for_the_experience(experience, weeks, low, high):
    assert low <= strength_after(100, experience, weeks) / 100 <= high


def test_people_say_about_one_repetition_too_few():
    lifter = Lifter("intermediate", taps_through=0, day_noise=0)
    gaps = []
    rng = Random(3)
    for _ in range(400):
        (done,) = perform(lifter, 100, sets(count=1, load=load_for(100, 8, 3), low=8, high=8, rir=3), rng)
        gaps.append(3 - done.rir)
    assert mean(gaps) == pytest.approx(0.95, abs=0.2)


def test_attendance_is_kept_on_the_whole():
    rng = Random(5)
    kept = mean(attends(Lifter("novice", attendance=0.8), rng) for _ in range(1000))
    assert kept == pytest.approx(0.8, abs=0.05)


def test_holds_are_done_for_about_as_long_as_asked():
    (done,) = perform(EXACT, 1, [TargetSet(seconds=40)], Random(1))
    assert 37 <= done.seconds <= 46


def test_finding_a_load_stops_when_few_are_left():
    done = find_load(EXACT, 40, [20, 25, 30, 37.5], 8, Random(2))
    assert [one.load for one in done] == [20, 25, 30][: len(done)]
    assert done[-1].rir <= 3
    assert all(one.rir > 3 for one in done[:-1])
