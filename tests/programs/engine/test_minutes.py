"""Session length by hand, and against the two measured sessions that the model was checked with."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.minutes import (
    Prescribed,
    Timed,
    block_seconds,
    lines_seconds,
    pace,
    prescribed,
    prescribed_seconds,
    session_seconds,
    set_up_s,
    sets_that_fit,
    tempo_seconds,
    timed,
    timed_targets,
)
from programs.engine.terms import Exercise, TargetSet


def squat():
    return timed(4, 6, 150, tempo="3000", setting_up_s=60, warm_ups=(8, 4))


def press():
    return timed(3, 10, 120, tempo="3000", setting_up_s=60, warm_ups=(8,))


def lunge():
    return timed(3, 12, 90, tempo="3000", setting_up_s=0, unilateral=True)


def raise_():
    return Timed(3, 15 * 2.5, 60)


@pytest.mark.parametrize(
    ("exercise", "seconds"),
    [
        pytest.param(squat(), 768, id="M1"),
        pytest.param(press(), 499, id="M2"),
        pytest.param(lunge(), 456, id="M3"),
        pytest.param(raise_(), 262.5, id="M4"),
    ],
)
def test_single_exercises(exercise, seconds):
    assert block_seconds([exercise]) == seconds


def test_a_whole_session():  # M5
    seconds = session_seconds([[squat()], [press()], [lunge()], [raise_()]])
    assert seconds == 2555.5
    assert round(seconds / 60, 1) == 42.6


def test_measured_straight_sets_and_supersets():  # M6 and M7
    one = timed(4, 10, 120, tempo="3000", setting_up_s=0)
    straight = session_seconds([[one]] * 6, transition_s=120)
    pairs = session_seconds([[one, one]] * 3, transition_s=120)
    assert (straight / 60, pairs / 60) == (67.0, 43.0)


def test_ten_repetitions_of_a_slow_tempo():  # M8
    assert timed(1, 10, 0, tempo="3110").work_s == 50


@pytest.mark.parametrize(
    ("tempo", "seconds"), [("3110", 5), ("40X0", 5), ("20X1", 4), ("3-1-1-0", 5), ("20x1", 4), ("", 3)]
)
def test_tempo(tempo, seconds):
    assert tempo_seconds(tempo) == seconds


@pytest.mark.parametrize("tempo", ["311", "31101", "3a10"])
def test_a_tempo_has_four_figures(tempo):
    with pytest.raises(ValueError):
        tempo_seconds(tempo)


def test_holds_take_their_seconds_and_walks_their_metres():
    assert timed(1, 40, 60, rep_unit="seconds").work_s == 40
    assert timed(1, 30, 60, rep_unit="metres").work_s == 30


def test_bars_take_a_minute_to_set_up_and_dumbbells_none():
    assert [set_up_s(kind) for kind in ("barbell", "leg_press", "dumbbell", "bodyweight")] == [60, 60, 0, 0]


def test_no_exercise_no_time():
    assert block_seconds([]) == 0
    assert session_seconds([[], []]) == 300
    assert session_seconds([[], [press()], []]) == 300 + 499


def test_free_lines_add_their_minutes():
    assert session_seconds([[press()]], extra_s=600) == 300 + 499 + 600


BENCH = Exercise("bench", "Bench press", "horizontal_push", "main", (), "barbell", "total", rest_s=120)


def test_target_sets_that_differ_each_take_their_own_time():
    work = [
        TargetSet(kind="warm_up", reps_low=8),
        TargetSet(reps_low=5, rest_s=180),
        TargetSet(reps_low=5, reps_high=7, rest_s=180, tempo="4010"),
        TargetSet(kind="drop", reps_low=10),
    ]
    warm_up = 8 * 3 + 10 + 45
    sets = (5 * 3 + 10) + (6 * 5 + 10) + (10 * 3 + 10)
    assert block_seconds([timed_targets(BENCH, work)]) == pytest.approx(60 + warm_up + sets + 180 + 0)
    assert timed_targets(BENCH, work, warm_ups=(4,)).warm_up_s == warm_up + 4 * 3 + 55


def test_equal_target_sets_take_what_the_short_form_says():
    targets = [TargetSet(reps_low=10)] * 3
    assert timed_targets(BENCH, targets, warm_ups=(8,)) == timed(3, 10, 120, implement="barbell", warm_ups=(8,))


def test_targets_in_seconds_and_metres():
    plank = Exercise("plank", "Plank", "trunk_anti_extension", "trunk", (), "bodyweight", "none", rep_unit="seconds")
    assert timed_targets(plank, [TargetSet(seconds=40)]).work_s == 40
    assert timed_targets(plank, [TargetSet(metres=30)]).work_s == 30
    assert timed_targets(plank, [TargetSet()]).work_s == 9  # the middle of its own range, in seconds
    assert timed_targets(plank, []) == Timed(0, 0, 0)


TEN = (TargetSet(reps_low=10, reps_high=10),) * 3


def test_a_line_as_it_stands_takes_its_sets_and_the_warm_ups_of_its_role():
    assert prescribed(Prescribed(BENCH, TEN)) == timed(3, 10, 120, implement="barbell", warm_ups=(8, 4))
    assert prescribed(Prescribed(BENCH, ())) is None
    planned = (TargetSet(kind="warm_up", reps_low=5), *TEN)
    assert prescribed(Prescribed(BENCH, planned)) == timed_targets(BENCH, planned)


def test_a_session_of_lines_takes_what_they_take():
    bench = prescribed(Prescribed(BENCH, TEN))
    in_turns = [Prescribed(BENCH, TEN, "a"), Prescribed(BENCH, TEN, "a"), Prescribed(BENCH, ())]
    assert prescribed_seconds(in_turns, extra_s=30) == lines_seconds([("a", bench), ("a", bench)], extra_s=30)
    assert lines_seconds([("", bench), ("", None)]) == session_seconds([[bench]])
    assert lines_seconds([("", bench)], extra_s=60) == session_seconds([[bench]]) + 60
    assert lines_seconds([]) == session_seconds([])


def test_neighbours_with_a_letter_take_turns_and_others_do_not():
    bench = prescribed(Prescribed(BENCH, TEN))
    assert lines_seconds([("a", bench), ("a", bench)]) == session_seconds([[bench, bench]])
    assert lines_seconds([("a", bench), ("", bench), ("a", bench)]) == session_seconds([[bench]] * 3)
    assert lines_seconds([("a", bench), ("b", bench)]) == session_seconds([[bench]] * 2)


FITS = {
    30: (7, 6, 5, 4),
    45: (14, 13, 12, 10, 9, 8),
    60: (20, 19, 18, 17, 16, 15),
    75: (26, 25, 24, 23, 22, 21),
    90: (32, 31, 30, 29, 28, 27),
}


@pytest.mark.parametrize(
    ("minutes", "exercises", "sets"),
    [(minutes, count, sets) for minutes, row in FITS.items() for count, sets in enumerate(row, start=3)],
)
def test_working_sets_that_fit(minutes, exercises, sets):
    assert sets_that_fit(minutes, exercises) == sets


def test_nothing_fits_into_five_minutes():
    assert sets_that_fit(5, 3) == 0


@pytest.mark.parametrize(
    ("sessions", "expected"),
    [
        ([], 1),
        ([(60, 72)] * 2, 1),
        ([(60, 72)] * 3, 1.2),
        ([(60, 72)] * 3 + [(60, 0)], 1.2),
        ([(60, 180)] * 6, 1.5),
        ([(60, 20)] * 6, 0.7),
        ([(60, 60)] * 9 + [(60, 66)] * 6, 1.1),
        ([(60, 60), (60, 66), (60, 300)], 1.1),
    ],
)
def test_a_client_s_own_pace(sessions, expected):
    assert pace(sessions) == pytest.approx(expected)


@given(
    st.lists(st.tuples(st.integers(1, 6), st.integers(1, 20), st.integers(0, 240)), min_size=1, max_size=3), st.data()
)
def test_a_superset_grows_with_each_member_s_sets(rows, data):
    at = data.draw(st.integers(0, len(rows) - 1))
    more = [(sets + (number == at), reps, rest) for number, (sets, reps, rest) in enumerate(rows)]
    assert block_seconds([timed(*row) for row in more]) > block_seconds([timed(*row) for row in rows])


@given(st.integers(1, 8), st.integers(1, 30), st.integers(0, 300), st.booleans())
def test_minutes_grow_with_sets(sets, reps, rest, unilateral):
    shorter, longer = (block_seconds([timed(n, reps, rest, unilateral=unilateral)]) for n in (sets, sets + 1))
    assert longer > shorter
