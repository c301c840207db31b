"""Warm-ups by hand, and what always holds of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import racks
from programs.engine.racks import Plate
from programs.engine.ramp import first_session_sets, load_finding, next_try, warmup

BARBELL = racks.bar_rack([Plate(weight, "kg", 8) for weight in (25, 20, 15, 10, 5, 2.5, 1.25)], bar=20)
DUMBBELLS = racks.list_rack(range(2, 42, 2))


@pytest.mark.parametrize(
    ("load", "reps", "expected"),
    [
        pytest.param(100, 5, [(20, 8), (40, 5), (60, 4), (75, 3), (90, 1)], id="W1"),
        pytest.param(140, 3, [(20, 8), (55, 5), (82.5, 4), (105, 3), (125, 1)], id="W2"),
        pytest.param(100, 8, [(20, 8), (50, 8), (75, 4)], id="W3"),
        pytest.param(60, 8, [(30, 8), (45, 4)], id="W4"),
        pytest.param(40, 5, [(20, 5), (30, 3), (35, 1)], id="W5"),
        pytest.param(22.5, 8, [(20, 8)], id="W6"),
        pytest.param(20, 5, [], id="the-bar-is-the-work"),
    ],
)
def test_main_lifts_with_a_barbell(load, reps, expected):
    assert warmup(load, reps, BARBELL, "main") == expected


def test_secondary_lift_with_dumbbells():  # W7
    assert warmup(28, 10, DUMBBELLS, "secondary") == [(16, 6)]


def test_secondary_lift_for_warm_regions_is_ramped_only_when_heavy():
    stack = racks.stack_rack(range(10, 105, 5))
    assert warmup(60, 10, stack, "secondary", first_for_regions=False) == [(35, 6)]
    assert warmup(15, 10, stack, "secondary", first_for_regions=False) == []


def test_pounds_keep_steps_of_ten():
    plates = [Plate(weight, "lb", 8) for weight in (45, 25, 10, 5, 2.5)]
    rack = racks.bar_rack(plates, bar=45, bar_unit="lb", unit="lb")
    assert warmup(80, 5, rack, "main") == [(45, 5), (60, 3), (70, 1)]


def test_a_first_dumbbell_is_no_empty_bar():
    assert warmup(30, 8, DUMBBELLS, "main") == [(14, 8), (22, 4)]


@given(
    st.lists(st.floats(0, 200).map(lambda load: round(load, 1)), min_size=1, max_size=20),
    st.floats(0.5, 220),
    st.integers(1, 25),
    st.sampled_from(["main", "secondary", "isolation", "carry"]),
)
def test_warm_ups_of_any_rack_stay_on_it(loads, load, reps, role):
    steps = [step for step, _reps in warmup(load, reps, racks.list_rack(loads), role)]
    assert all(step in loads and 0 < step <= 0.92 * load for step in steps)
    assert steps == sorted(set(steps))


def test_isolation_for_warm_regions_needs_none():
    assert warmup(10, 12, DUMBBELLS, "isolation", first_for_regions=False) == []
    assert warmup(10, 12, DUMBBELLS, "isolation") == [(4, 8)]


def test_none_for_very_many_repetitions_help_or_numbered_holes():
    assert warmup(20, 25, DUMBBELLS, "main") == []
    assert warmup(20, 8, racks.assisted_rack(DUMBBELLS), "main") == []
    assert warmup(7, 8, racks.numbered_rack(15), "main") == []


@given(
    st.sampled_from(BARBELL.loads),
    st.integers(1, 25),
    st.sampled_from(["main", "secondary", "isolation", "trunk"]),
    st.booleans(),
)
def test_warm_ups_stay_on_the_rack_below_the_work_and_rise(load, reps, role, first):
    steps = warmup(load, reps, BARBELL, role, first)
    loads = [step for step, _reps in steps]
    assert all(step in BARBELL.loads and 20 <= step <= 0.92 * load for step in loads)
    assert loads == sorted(set(loads))


def test_finding_a_first_load_rises_on_the_rack_in_four_tries_at_most():
    found = load_finding(DUMBBELLS, 10)
    assert found.loads == (2, 4, 6, 8)
    assert load_finding(BARBELL, 8).loads == (20, 25, 30, 37.5)
    assert load_finding(racks.list_rack([8, 12]), 8).loads == (8, 12)
    assert load_finding(racks.assisted_rack(racks.stack_rack([10, 20, 30])), 8).loads == (30, 20, 10, 0)
    assert load_finding(racks.EMPTY, 8).loads == ()
    assert found.because.code == "load_not_known_yet"


def test_a_coach_may_say_where_to_start():
    assert load_finding(DUMBBELLS, 10, start=9).loads == (8, 10, 12, 16)
    assert load_finding(DUMBBELLS, 10, start=1).loads == (2, 4, 6, 8)
    assert load_finding(racks.assisted_rack(racks.stack_rack([10, 20, 30])), 8, start=15).loads == (20, 10, 0)


@pytest.mark.parametrize(
    ("tried", "load", "found", "code"),
    [
        ([], 20, False, "finding_starts_light"),
        ([(20, 5)], 25, False, "finding_goes_on"),
        ([(20, 5), (25, 5)], 30, False, "finding_goes_on"),
        ([(40, 4)], 42.5, False, "finding_goes_on"),
        ([(40, 3)], 40, True, "finding_found"),
        ([(40, 3.5)], 40, True, "finding_found"),
        ([(40, 1)], 37.5, True, "finding_too_heavy"),
        ([(20, 0)], None, False, "finding_too_heavy"),
        ([(20, 5), (25, 5), (30, 5), (37.5, 5)], 37.5, True, "finding_tries_done"),
        ([(20, 5), (25, None)], 25, False, "finding_effort_unknown"),
        ([(BARBELL.heaviest, 5)], BARBELL.heaviest, True, "finding_load_ceiling"),
    ],
)
def test_what_follows_a_try(tried, load, found, code):
    answer = next_try(BARBELL, 8, tried)
    assert (answer.load, answer.found, answer.because.code) == (load, found, code)


def test_a_step_that_the_curve_forbids_is_not_taken():
    assert (
        next_try(DUMBBELLS, 12, [(4, 4)]).because.code == "finding_step_too_big"
    )  # half as much again can't be done 12 times
    assert next_try(DUMBBELLS, 12, [(30, 4)]).load == 32


def test_finding_may_begin_with_the_body_alone():
    belt = racks.added_rack(racks.list_rack([2.5, 5]))
    assert next_try(belt, 6, [(0, 4)]).load == 2.5
    assert (next_try(belt, 6, [(0, 1)]).load, next_try(racks.EMPTY, 6, []).load) == (0, None)


def test_finding_on_numbered_holes_and_with_help_goes_step_by_step():
    assert next_try(racks.numbered_rack(15), 8, [(3, 5)]).load == 4
    assert next_try(racks.numbered_rack(15), 8, [(3, 1)]).load == 2
    helped = racks.assisted_rack(racks.stack_rack([10, 20, 30]))
    assert next_try(helped, 8, []).load == 30
    assert next_try(helped, 8, [(30, 5)]).load == 20
    assert next_try(helped, 8, [(20, 1)]).load == 30
    assert next_try(helped, 8, [(0, 5)]).because.code == "finding_load_ceiling"


@given(st.integers(3, 20), st.lists(st.integers(0, 5), min_size=4, max_size=4), st.sampled_from([BARBELL, DUMBBELLS]))
def test_finding_always_ends_on_the_rack_within_four_tries(reps, left, rack):
    tried = []
    for remaining in left:
        answer = next_try(rack, reps, tried)
        if answer.found or answer.load is None:
            break
        assert not tried or answer.load > tried[-1][0]
        tried.append((answer.load, remaining))
    answer = next_try(rack, reps, tried)
    assert answer.load is None or (answer.found and answer.load in rack.loads and answer.load <= tried[-1][0])


@pytest.mark.parametrize(("planned", "first"), [(1, 1), (2, 1), (3, 2), (4, 3), (5, 3), (6, 4)])
def test_a_first_session_has_about_two_thirds_of_the_sets(planned, first):
    assert first_session_sets(planned) == first
