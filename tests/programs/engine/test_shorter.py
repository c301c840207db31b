"""Less time than planned: what stays fits, and what matters most goes last."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.minutes import Prescribed, prescribed_seconds
from programs.engine.shorter import Ranked, cut_to, kept_sets
from programs.engine.terms import Exercise, TargetSet


def line(sets, priority=2, role="isolation", superset="", rest_s=120):
    exercise = Exercise(
        key="x", name="x", pattern="elbow_flexion", role=role, regions=(), implement="dumbbell", load_entry="per_hand"
    )
    targets = (TargetSet(reps_low=10, reps_high=10, load=10.0, rir=2.0, rest_s=rest_s),) * sets
    return Ranked(Prescribed(exercise, targets, superset), priority)


def minutes_of(lines, kept):
    cut = [
        Prescribed(one.line.exercise, cut_to(one.line.targets, count)) for one, count in zip(lines, kept, strict=True)
    ]
    return prescribed_seconds(cut) / 60


FIVE = [line(3, 1), line(3, 1), line(3, 2), line(3, 3), line(3, 3)]


def test_what_fits_stays_whole():
    assert kept_sets(FIVE, 600) == (3, 3, 3, 3, 3)


def test_the_least_important_gives_first_and_keeps_one_set_as_long_as_it_can():
    one_less = minutes_of(FIVE, (3, 3, 3, 3, 2))
    assert kept_sets(FIVE, one_less) == (3, 3, 3, 3, 2)
    assert kept_sets(FIVE, minutes_of(FIVE, (3, 3, 3, 1, 1))) == (3, 3, 3, 1, 1)
    assert kept_sets(FIVE, minutes_of(FIVE, (3, 3, 3, 0, 0))) == (3, 3, 3, 0, 0)
    assert kept_sets(FIVE, minutes_of(FIVE, (3, 3, 1, 0, 0))) == (3, 3, 1, 0, 0)


def test_half_an_hour_of_five_exercises_keeps_the_first_ones():
    kept = kept_sets(FIVE, 30)
    assert minutes_of(FIVE, kept) <= 30
    assert kept[:2] == (3, 3) and sum(kept) in (8, 9, 10)


def test_where_nothing_fits_nothing_is_offered():
    assert kept_sets(FIVE, 3) is None
    assert kept_sets([line(1)], 1) is None
    assert kept_sets([line(0), line(0)], 5, extra_s=3600) is None


def test_parts_and_warm_ups_go_with_their_set():
    warm, drop, work = TargetSet(kind="warm_up"), TargetSet(kind="drop"), TargetSet(reps_low=8)
    targets = (warm, work, drop, work, drop)
    assert cut_to(targets, 1) == (warm, work, drop)
    assert cut_to(targets, 0) == ()
    assert cut_to(targets, 2) == targets


@given(
    st.lists(st.tuples(st.integers(1, 5), st.integers(1, 3), st.sampled_from(["", "A"])), min_size=1, max_size=6),
    st.integers(5, 90),
)
def test_it_fits_and_no_important_set_goes_before_a_less_important_line(rows, limit):
    lines = [line(sets, priority, superset=superset) for sets, priority, superset in rows]
    kept = kept_sets(lines, limit)
    if kept is None:
        return
    whole = [one.line for one in lines]
    cut = [
        Prescribed(one.exercise, cut_to(one.targets, count), one.superset)
        for one, count in zip(whole, kept, strict=True)
    ]
    assert prescribed_seconds(cut) <= limit * 60
    assert any(kept)
    for one, count in zip(lines, kept, strict=True):
        if count < len(one.line.targets):
            assert all(not other for other, row in zip(kept, lines, strict=True) if row.priority > one.priority)


@pytest.mark.parametrize("limit", [20, 35, 50])
def test_more_time_never_keeps_less(limit):
    assert sum(kept_sets(FIVE, limit)) <= sum(kept_sets(FIVE, limit + 10))
