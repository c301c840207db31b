"""The curve and what stands on it. Expected values were worked out by hand from the published equations."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import strength

EXAMPLES = [
    (100, 5, 2, 122.43),
    (60, 10, 0, 79.81),
    (140, 3, 1, 155.88),
    (100, 5, 0, 115.08),
    (42.5, 12, 2, 62.04),
    (100, 1, 0, 100.00),
]


@pytest.mark.parametrize(("load", "reps", "rir", "expected"), EXAMPLES)
def test_estimates(load, reps, rir, expected):
    assert strength.e1rm(load, reps, rir) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("load", "reps", "rir"),
    [(40, 20, 3), (40, 14, 2), (80, 6, 5), (0, 8, 1), (60, 0, 0), (60, 8, None), (60, 8, -1)],
)
def test_refuses_where_the_curve_does_not_hold(load, reps, rir):
    assert strength.e1rm(load, reps, rir) is None
    assert strength.estimate(load, reps, rir) is None


FORMULAS = [
    (100, 7, (123.33, 120.00, 121.48, 124.03, 123.90, 117.50, 121.06), 121.48),
    (60, 10, (80.00, 80.00, 75.54, 80.85, 78.56, 75.00, 80.44), 80.00),
    (140, 4, (158.67, 152.73, 160.82, 157.91, 163.12, 154.00, 154.50), 157.91),
    (100, 5, (116.67, 112.50, 117.46, 116.58, 119.01, 112.50, 113.71), 116.58),
    (42.5, 14, (62.33, 66.52, 55.34, 62.85, 59.36, 57.38, 66.51), 62.33),
]
NAMES = ("epley", "brzycki", "lombardi", "wathan", "mayhew", "oconner", "lander")


@pytest.mark.parametrize(("load", "n", "each", "middle"), FORMULAS)
def test_seven_equations_for_display(load, n, each, middle):
    found = strength.formulas(load, n)
    assert [found[name] for name in NAMES] == pytest.approx(each, abs=0.01)
    assert strength.disagreement(load, n).median == pytest.approx(middle, abs=0.01)


def test_only_equations_made_for_one_repetition_are_shown_at_one():
    assert set(strength.formulas(100, 1)) == {"brzycki", "lombardi"}
    assert strength.disagreement(100, 1).median == 100


@pytest.mark.parametrize(
    ("load", "reps", "rir", "cv", "low", "high"),
    [(100, 5, 2, 0.0344, 115.50, 129.37), (60, 10, 3, 0.0333, 81.02, 90.42)],
)
def test_band(load, reps, rir, cv, low, high):
    assert strength.noise(reps, rir) == pytest.approx(cv, abs=0.0001)
    found = strength.estimate(load, reps, rir)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.01)


def test_round_trip_by_hand():
    value = strength.e1rm(82.5, 8, 2)
    assert value == pytest.approx(109.735, abs=0.001)
    assert strength.load_for(value, 8, 2) == pytest.approx(82.50, abs=0.01)
    assert strength.load_for(value, 5, 2) == pytest.approx(89.63, abs=0.01)
    assert strength.load_for(value, 12, 2) == pytest.approx(75.18, abs=0.01)


def test_shares():
    assert strength.share_of_max(8, 2) == pytest.approx(0.75181, abs=0.00001)
    found = [strength.reps_at_share(share) for share in (0.90, 0.80, 0.70, 0.60)]
    assert found == pytest.approx([3.94, 7.71, 13.00, 21.88], abs=0.01)


@pytest.mark.parametrize(("n", "slope"), [(3, 3.5), (5, 3.2), (8, 2.8), (10, 2.6), (12, 2.3), (15, 2.0)])
def test_load_change_for_one_repetition(n, slope):
    assert 100 * strength.relative_slope(n) == pytest.approx(slope, abs=0.05)


def test_loads_from_a_maximum():
    assert strength.load_for(120, 8, 2) == pytest.approx(90.217, abs=0.001)
    assert strength.load_for(150, 3, 2) == pytest.approx(130.34, abs=0.01)
    assert strength.load_for(150, 12, 1) == pytest.approx(104.99, abs=0.01)


def test_endurance_factor_of_a_leg_press():
    k = strength.endurance_factor((200, 8), (167.5, 18))
    assert k == pytest.approx(1.537, abs=0.001)
    assert 200 / strength.share_of_max(8, 0, k) == pytest.approx(234.3, abs=0.1)
    assert strength.e1rm(200, 8, 0) == pytest.approx(252.1, abs=0.1)


def test_endurance_factor_is_kept_where_no_root_is_in_range():
    assert strength.endurance_factor((100, 5), (100, 15), kept=1.2) == 1.2


def test_bodyweight_on_top_and_helped():
    pull_up = strength.system_load(10, "added", 80, 1.0)
    assert strength.e1rm(pull_up, 6, 1) == pytest.approx(110.19, abs=0.01)
    assert strength.entered_load(110.19, "added", 80, 1.0) == pytest.approx(30.19, abs=0.01)
    helped = strength.system_load(25, "assisted", 80, 1.0)
    assert helped == 55
    assert strength.e1rm(helped, 8, 2) == pytest.approx(73.16, abs=0.01)
    assert strength.entered_load(73.16, "assisted", 80, 1.0) == pytest.approx(6.84, abs=0.01)
    assert strength.system_load(10, "added", 75, 0.64) == pytest.approx(58.0)
    assert strength.system_load(10, "added", None, 0.64) is None


def test_same_system_load_at_another_bodyweight():
    march, june = (strength.system_load(added, "added", weight, 1.0) for added, weight in ((10, 80), (14, 76)))
    assert march == june == 90


def test_volume_load_by_what_the_number_means():
    assert 3 * strength.volume_load(24, 10, "per_hand") == 1440
    assert 4 * strength.volume_load(10, 6, "added", bodyweight=80, fraction=1.0) == 2160
    assert 3 * strength.volume_load(25, 8, "assisted", bodyweight=80, fraction=1.0) == 1320
    assert strength.volume_load(7, 10, "numbered_setting") is None


@pytest.mark.parametrize(
    ("reps", "rir", "expected"),
    [(6, 2, "good"), (8, 0, "good"), (9, 3, "fair"), (11, 4, "weak"), (8, None, None)],
)
def test_confidence(reps, rir, expected):
    assert strength.confidence(reps, rir) == expected


@given(st.floats(20, 400), st.integers(1, 15), st.integers(0, 4), st.floats(0.6, 2.5))
def test_a_set_done_as_prescribed_gives_back_its_estimate(maximum, reps, rir, k):
    if reps + rir > 15:
        return
    load = strength.load_for(maximum, reps, rir, k)
    assert strength.e1rm(load, reps, rir, k) == pytest.approx(maximum, rel=1e-9)


@given(st.floats(1, 30), st.floats(0.01, 5))
def test_more_repetitions_are_done_with_less(n, more):
    assert strength.share_of_max(n + more, 0) < strength.share_of_max(n, 0) <= 1


@given(st.floats(0.5, 1))
def test_the_curve_reads_both_ways(share):
    assert strength.share_of_max(strength.reps_at_share(share), 0) == pytest.approx(share)
