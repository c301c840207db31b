"""The curve and what stands on it. Expected values were worked out by hand from the published equations."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import strength
from programs.engine.terms import SetDone

EXAMPLES = [
    pytest.param(100, 5, 2, 122.43, "good", id="E1"),
    pytest.param(60, 10, 0, 79.81, "fair", id="E2"),
    pytest.param(140, 3, 1, 155.88, "good", id="E3"),
    pytest.param(100, 5, 0, 115.08, "good", id="E4"),
    pytest.param(42.5, 12, 2, 62.04, "weak", id="E5"),
    pytest.param(100, 1, 0, 100.00, "good", id="E6"),
]


@pytest.mark.parametrize(("load", "reps", "rir", "expected", "trust"), EXAMPLES)
def test_estimates(load, reps, rir, expected, trust):
    assert strength.e1rm(load, reps, rir) == pytest.approx(expected, abs=0.01)
    assert strength.estimate(load, reps, rir).confidence == trust


@pytest.mark.parametrize(
    ("load", "reps", "rir"),
    [
        pytest.param(40, 20, 3, id="E7-23-to-failure"),
        pytest.param(40, 14, 2, id="E7-16-to-failure"),
        pytest.param(80, 6, 5, id="E7-five-left"),
        pytest.param(0, 8, 1, id="E7-no-load"),
        pytest.param(60, 0, 0, id="E7-no-repetition"),
        pytest.param(60, 8, None, id="effort-unknown"),
        pytest.param(60, 8, -1, id="beyond-failure"),
        pytest.param(float("nan"), 8, 1, id="no-number"),
        pytest.param(float("inf"), 8, 1, id="no-end"),
    ],
)
def test_refuses_where_the_curve_does_not_hold(load, reps, rir):
    assert strength.e1rm(load, reps, rir) is None
    assert strength.estimate(load, reps, rir) is None


# Percent of the maximum by repetitions (rows 1 to 15) and repetitions left (0 to 4).
TABLE = """
100.0 96.3 93.0 89.8 86.9
96.3 93.0 89.8 86.9 84.2
93.0 89.8 86.9 84.2 81.7
89.8 86.9 84.2 81.7 79.3
86.9 84.2 81.7 79.3 77.2
84.2 81.7 79.3 77.2 75.2
81.7 79.3 77.2 75.2 73.3
79.3 77.2 75.2 73.3 71.6
77.2 75.2 73.3 71.6 70.0
75.2 73.3 71.6 70.0 68.5
73.3 71.6 70.0 68.5 67.1
71.6 70.0 68.5 67.1 65.9
70.0 68.5 67.1 65.9 64.7
68.5 67.1 65.9 64.7 63.6
67.1 65.9 64.7 63.6 62.5
"""


@pytest.mark.parametrize(("reps", "row"), list(enumerate(TABLE.split("\n")[1:16], start=1)))
def test_table_of_shares(reps, row):
    found = [100 * strength.share_of_max(reps, rir) for rir in range(5)]
    assert found == pytest.approx([float(figure) for figure in row.split()], abs=0.051)


@pytest.mark.parametrize("k", [0, -1])
def test_a_factor_is_above_zero(k):
    with pytest.raises(ValueError):
        strength.share_of_max(8, 2, k)


def test_less_than_one_repetition_is_no_set():
    with pytest.raises(ValueError):
        strength.share_of_max(0, 0)


@pytest.mark.parametrize("share", [0, 0.49, 1.01])
def test_the_curve_ends(share):
    with pytest.raises(ValueError):
        strength.reps_at_share(share)


FORMULAS = [
    pytest.param(100, 7, (123.33, 120.00, 121.48, 124.03, 123.90, 117.50, 121.06), 121.48, id="E1"),
    pytest.param(60, 10, (80.00, 80.00, 75.54, 80.85, 78.56, 75.00, 80.44), 80.00, id="E2"),
    pytest.param(140, 4, (158.67, 152.73, 160.82, 157.91, 163.12, 154.00, 154.50), 157.91, id="E3"),
    pytest.param(100, 5, (116.67, 112.50, 117.46, 116.58, 119.01, 112.50, 113.71), 116.58, id="E4"),
    pytest.param(42.5, 14, (62.33, 66.52, 55.34, 62.85, 59.36, 57.38, 66.51), 62.33, id="E5"),
]
NAMES = ("epley", "brzycki", "lombardi", "wathan", "mayhew", "oconner", "lander")


@pytest.mark.parametrize(("load", "n", "each", "middle"), FORMULAS)
def test_seven_equations_for_display(load, n, each, middle):
    found = strength.formulas(load, n)
    assert [found[name] for name in NAMES] == pytest.approx(each, abs=0.01)
    assert strength.disagreement(load, n).median == pytest.approx(middle, abs=0.01)


def test_only_equations_made_for_one_repetition_are_shown_at_one():
    assert strength.formulas(100, 1) == {"brzycki": 100, "lombardi": 100}
    assert strength.disagreement(100, 1) is None


def test_equations_are_not_shown_where_they_part_for_good():
    assert strength.disagreement(40, 16) is None
    with pytest.raises(ValueError):
        strength.formulas(40, 37)


@pytest.mark.parametrize(("n", "percent"), [(3, 7.7), (5, 5.8), (8, 6.4), (10, 7.8), (12, 12.6), (15, 24.8)])
def test_spread_of_the_equations(n, percent):
    found = strength.disagreement(100, n)
    assert 100 * (found.highest / found.lowest - 1) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize(
    ("load", "reps", "rir", "cv", "low", "high"),
    [
        pytest.param(100, 5, 2, 0.0344, 115.50, 129.37, id="E8-five"),
        pytest.param(60, 10, 3, 0.0333, 81.02, 90.42, id="E8-ten"),
    ],
)
def test_band(load, reps, rir, cv, low, high):
    assert strength.noise(reps, rir) == pytest.approx(cv, abs=0.0001)
    found = strength.estimate(load, reps, rir)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.01)


def test_half_a_repetition_left_lies_between():
    assert strength.noise(8, 1) < strength.noise(8, 1.5) < strength.noise(8, 2)


@pytest.mark.parametrize(("reps", "rir"), [(8, -1), (8, 5), (15, 1)])
def test_no_noise_without_an_estimate(reps, rir):
    with pytest.raises(ValueError):
        strength.noise(reps, rir)


def test_an_error_of_one_repetition_weighs_less_where_many_are_possible():
    assert strength.noise(8, 2, k=1.5) < strength.noise(8, 2)


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


@pytest.mark.parametrize(
    ("one", "other"), [((100, 5), (90, 5)), ((0, 5), (90, 8)), ((100, 0.5), (90, 8)), ((100, 5), (100, 8))]
)
def test_endurance_factor_needs_two_sets_that_tell_something(one, other):
    assert strength.endurance_factor(one, other, kept=1.5) == 1.5


@given(st.floats(0.65, 2.45), st.integers(2, 8), st.integers(1, 10))
def test_endurance_factor_is_found_from_sets_that_follow_it(k, n, more):
    loads = [strength.load_for(100, repetitions, 0, k) for repetitions in (n, n + more)]
    assert strength.endurance_factor((loads[0], n), (loads[1], n + more)) == pytest.approx(k, rel=1e-6)


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


@given(
    st.floats(0, 60), st.sampled_from(["added", "assisted", "total"]), st.floats(40, 120), st.sampled_from([0, 0.64, 1])
)
def test_what_is_moved_and_what_is_entered_are_two_views_of_one_load(entered, load_entry, bodyweight, fraction):
    moved = strength.system_load(entered, load_entry, bodyweight, fraction)
    assert strength.entered_load(moved, load_entry, bodyweight, fraction) == pytest.approx(entered)


def test_same_system_load_at_another_bodyweight():
    march, june = (strength.system_load(added, "added", weight, 1.0) for added, weight in ((10, 80), (14, 76)))
    assert march == june == 90


def test_volume_load_by_what_the_number_means():
    assert 3 * strength.volume_load(24, 10, "per_hand") == 1440
    assert 4 * strength.volume_load(10, 6, "added", bodyweight=80, fraction=1.0) == 2160
    assert 3 * strength.volume_load(25, 8, "assisted", bodyweight=80, fraction=1.0) == 1320
    assert strength.volume_load(7, 10, "numbered_setting") is None
    assert strength.volume_load(10, 6, "added", fraction=1.0) is None
    assert strength.volume_load(20, 10, "added") == 200
    assert strength.volume_load(20, 10, "per_hand", unilateral=True) == 400
    assert strength.volume_load(20, 10, "per_hand", unilateral=True, sides=1) == 200
    assert strength.volume_load(50, 10, "stack") == 500
    assert strength.volume_load(90, 8, "assisted", bodyweight=80, fraction=1.0) == 0


REFUSED = [
    (SetDone(reps=8, load=60, rir=2, kind="warm_up"), "not_estimated_kind"),
    (SetDone(reps=8, load=60, rir=2, kind="drop"), "not_estimated_kind"),
    (SetDone(reps=8, load=60, rir=2, stopped_for_pain=True), "not_estimated_pain"),
    (SetDone(seconds=40, load=60, rir=2), "not_estimated_no_reps"),
    (SetDone(reps=0, load=60, rir=0), "not_estimated_no_reps"),
    (SetDone(reps=8, rir=2), "not_estimated_no_load"),
    (SetDone(reps=8, load=0, rir=2), "not_estimated_no_load"),
    (SetDone(reps=8, load=60), "not_estimated_effort_unknown"),
    (SetDone(reps=8, load=60, rir=5), "not_estimated_too_easy"),
    (SetDone(reps=14, load=60, rir=2), "not_estimated_many_reps"),
]


@pytest.mark.parametrize(("done", "code"), REFUSED)
def test_a_set_that_gives_no_estimate_says_why(done, code):
    assert strength.refusal(done, "total").code == code
    assert strength.set_estimate(done, "total") is None


@pytest.mark.parametrize("load_entry", ["band", "numbered_setting", "none"])
def test_what_has_no_weight_gives_no_estimate(load_entry):
    assert strength.refusal(SetDone(reps=8, load=3, rir=2), load_entry).code == "not_estimated_no_weight"


def test_a_stale_bodyweight_gives_no_estimate():
    pull_up = SetDone(reps=6, load=10, rir=1)
    fresh = {"bodyweight": 80, "bodyweight_days": 30, "fraction": 1.0}
    assert strength.set_estimate(pull_up, "added", **fresh).e1rm == pytest.approx(110.19, abs=0.01)
    for known in ({**fresh, "bodyweight_days": 31}, {"fraction": 1.0}):
        assert strength.refusal(pull_up, "added", **known).code == "not_estimated_no_bodyweight"
        assert strength.set_estimate(pull_up, "added", **known) is None
    plates = SetDone(reps=6, load=10, rir=1)
    assert strength.set_estimate(plates, "added").e1rm == strength.e1rm(10, 6, 1)


@given(
    st.one_of(st.none(), st.integers(0, 20)),
    st.one_of(st.none(), st.floats(0, 200)),
    st.one_of(st.none(), st.sampled_from([0, 0.5, 1, 2, 4, 5])),
    st.sampled_from(["total", "per_hand", "added", "assisted", "band"]),
)
def test_either_an_estimate_or_the_reason_why_not(reps, load, rir, load_entry):
    done = SetDone(reps=reps, load=load, rir=rir)
    known = {"bodyweight": 70, "fraction": 1.0}
    refused = strength.refusal(done, load_entry, **known) is not None
    assert (strength.set_estimate(done, load_entry, **known) is None) == refused


@pytest.mark.parametrize(
    ("reps", "rir", "expected"),
    [(6, 2, "good"), (8, 0, "good"), (9, 3, "fair"), (11, 4, "weak"), (8, None, None)],
)
def test_confidence(reps, rir, expected):
    assert strength.confidence(reps, rir) == expected


TO_FAILURE = st.integers(0, 4).flatmap(lambda rir: st.tuples(st.integers(1, 15 - rir), st.just(rir)))


@given(st.floats(20, 400), TO_FAILURE, st.floats(0.6, 2.5))
def test_a_set_done_as_prescribed_gives_back_its_estimate(maximum, effort, k):
    reps, rir = effort
    load = strength.load_for(maximum, reps, rir, k)
    assert strength.e1rm(load, reps, rir, k) == pytest.approx(maximum, rel=1e-9)


@given(st.floats(1, 30), st.floats(0.01, 5), st.floats(0.6, 2.5))
def test_more_repetitions_are_done_with_less(n, more, k):
    assert strength.share_of_max(n + more, 0, k) < strength.share_of_max(n, 0, k) <= 1


@given(st.floats(0.5, 1), st.floats(0.6, 2.5))
def test_the_curve_reads_both_ways(share, k):
    assert strength.share_of_max(max(1, strength.reps_at_share(share, k)), 0, k) == pytest.approx(share)


MARCH, JUNE = date(2026, 3, 2), date(2026, 6, 1)


def test_the_bodyweight_of_the_day_is_the_last_one_and_grows_stale():
    measured = [(JUNE, 76.0), (MARCH, 80.0)]
    assert strength.weighed_on(measured, MARCH - timedelta(days=1)) is None
    held = strength.weighed_on(measured, MARCH + timedelta(days=30))
    assert (held.bodyweight, held.days, held.stale) == (80, 30, False)
    assert strength.weighed_on(measured, MARCH + timedelta(days=31)).stale
    assert strength.weighed_on(measured, JUNE + timedelta(days=1)).bodyweight == 76


@given(st.permutations([(MARCH, 80.0), (MARCH + timedelta(days=5), 79.0), (JUNE, 76.0)]), st.integers(0, 120))
def test_the_order_of_weighing_in_plays_no_part(measured, days):
    day = MARCH + timedelta(days=days)
    assert strength.weighed_on(measured, day) == strength.weighed_on(sorted(measured), day)


def test_a_weighted_pull_up_is_seen_three_ways():
    measured = [(MARCH, 80.0), (JUNE, 76.0)]
    before, after = (
        strength.moved_with(added, "added", strength.weighed_on(measured, day), 1.0)
        for added, day in ((10, MARCH), (14, JUNE))
    )
    assert (before.entered, before.moved, after.entered, after.moved) == (10, 90, 14, 90)
    assert before.against_bodyweight == pytest.approx(1.125)
    assert after.against_bodyweight == pytest.approx(1.18, abs=0.005)
    assert strength.moved_with(40, "total", strength.weighed_on(measured, JUNE), 0.0) is None
    assert strength.moved_with(10, "added", None, 1.0) is None
    assert strength.moved_with(10, "added", strength.weighed_on(measured, JUNE + timedelta(days=40)), 1.0).stale


def test_less_help_is_more_moved():
    assert [strength.system_load(help_, "assisted", 70, 1.0) for help_ in (40, 35, 30)] == [30, 35, 40]


def test_help_with_a_minus_moves_what_help_moves():
    for help_ in (5, 20, 40):
        assert strength.system_load(-help_, "added", 70, 1.0) == strength.system_load(help_, "assisted", 70, 1.0)


def test_a_floor_push_up_moves_about_two_thirds_of_the_body():
    assert strength.system_load(0, "added", 80, 0.64) == pytest.approx(51.2)
    assert 3 * strength.volume_load(0, 10, "added", bodyweight=80, fraction=0.64) == pytest.approx(1536)


def test_twenty_five_repetitions_give_no_maximum():
    assert strength.e1rm(20, 25, 0) is None
    found = strength.formulas(20, 25)
    assert (found["epley"], found["brzycki"]) == (pytest.approx(36.7, abs=0.05), pytest.approx(60.0))
    assert strength.formulas(100, 10)["epley"] == pytest.approx(strength.formulas(100, 10)["brzycki"])


def test_an_open_last_set_is_estimated_from_what_was_done():
    last = SetDone(reps=9, load=80, rir=0, kind="open_ended")
    assert strength.set_estimate(last, "total").e1rm == pytest.approx(103.6, abs=0.05)
    assert strength.formulas(80, 9)["epley"] == 104
