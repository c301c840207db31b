"""Warm-ups by hand, and what always holds of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import racks
from programs.engine.racks import Plate
from programs.engine.ramp import load_finding, warmup

BARBELL = racks.bar_rack([Plate(weight, "kg", 8) for weight in (25, 20, 15, 10, 5, 2.5, 1.25)], bar=20)
DUMBBELLS = racks.list_rack(range(2, 42, 2))


@pytest.mark.parametrize(
    ("load", "reps", "expected"),
    [
        (100, 5, [(20, 8), (40, 5), (60, 4), (75, 3), (90, 1)]),
        (140, 3, [(20, 8), (55, 5), (82.5, 4), (105, 3), (125, 1)]),
        (100, 8, [(20, 8), (50, 8), (75, 4)]),
        (60, 8, [(30, 8), (45, 4)]),
        (40, 5, [(20, 5), (30, 3), (35, 1)]),
        (22.5, 8, [(20, 8)]),
    ],
)
def test_main_lifts_with_a_barbell(load, reps, expected):
    assert warmup(load, reps, BARBELL, "main") == expected


def test_secondary_lift_with_dumbbells():
    assert warmup(28, 10, DUMBBELLS, "secondary") == [(16, 6)]


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
