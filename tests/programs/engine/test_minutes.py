"""Session length by hand, and against the two measured sessions that the model was checked with."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.minutes import Timed, block_seconds, session_seconds, tempo_seconds, timed


def squat():
    return timed(4, 6, 150, tempo="3000", setting_up_s=60, warm_ups=(8, 4))


def press():
    return timed(3, 10, 120, tempo="3000", setting_up_s=60, warm_ups=(8,))


def lunge():
    return timed(3, 12, 90, tempo="3000", setting_up_s=0, unilateral=True)


def raise_():
    return Timed(3, 15 * 2.5, 60)


def test_single_exercises():
    assert [block_seconds([one]) for one in (squat(), press(), lunge(), raise_())] == [768, 499, 456, 262.5]


def test_a_whole_session():
    seconds = session_seconds([[squat()], [press()], [lunge()], [raise_()]])
    assert seconds == 2555.5
    assert round(seconds / 60, 1) == 42.6


def test_measured_straight_sets_and_supersets():
    one = timed(4, 10, 120, tempo="3000", setting_up_s=0)
    straight = session_seconds([[one]] * 6, transition_s=120)
    pairs = session_seconds([[one, one]] * 3, transition_s=120)
    assert (straight / 60, pairs / 60) == (67.0, 43.0)


@pytest.mark.parametrize(("tempo", "seconds"), [("3110", 5), ("40X0", 5), ("20X1", 4), ("3-1-1-0", 5), ("", 3)])
def test_tempo(tempo, seconds):
    assert tempo_seconds(tempo) == seconds


@pytest.mark.parametrize("tempo", ["311", "31101", "3a10"])
def test_a_tempo_has_four_figures(tempo):
    with pytest.raises(ValueError):
        tempo_seconds(tempo)


def test_holds_take_their_seconds_and_walks_their_metres():
    assert timed(1, 40, 60, rep_unit="seconds").work_s == 40
    assert timed(1, 30, 60, rep_unit="metres").work_s == 30


@given(st.integers(1, 8), st.integers(1, 30), st.integers(0, 300), st.booleans())
def test_minutes_grow_with_sets(sets, reps, rest, unilateral):
    shorter, longer = (block_seconds([timed(n, reps, rest, unilateral=unilateral)]) for n in (sets, sets + 1))
    assert longer > shorter
