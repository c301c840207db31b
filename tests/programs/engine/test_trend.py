import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.strength import load_for
from programs.engine.terms import Exposure, SetDone, TargetSet
from programs.engine.trend import (
    LEFT_OUT,
    REASONS,
    VERDICTS,
    Z_80,
    Z_95,
    adherence,
    bodyweight_trend,
    detectable,
    estimates,
    expected_rate,
    honesty,
    levels,
    mann_kendall,
    own_error,
    records,
    sen_interval,
    theil_sen,
    trend,
    week_effort,
)

TODAY = date(2026, 11, 2)
DAYS = [0, 7, 14, 21, 28, 35]
KILOGRAMS = [100, 101, 102.5, 95, 104, 105]


# Worked examples


def test_s1_the_robust_line_shrugs_off_one_bad_day():
    line = theil_sen(DAYS, KILOGRAMS)
    assert 7 * line.slope == pytest.approx(1.00)
    assert line.intercept == pytest.approx(100.0)
    assert line.pairs == 15


def test_s2_the_weekly_rate_on_logarithms():
    line = theil_sen(DAYS, [math.log(value) for value in KILOGRAMS])
    assert 100 * (math.exp(7 * line.slope) - 1) == pytest.approx(0.980, abs=0.001)


def test_s3_the_interval_cannot_tell_it_from_flat():
    low, high = sen_interval(DAYS, KILOGRAMS)
    assert 7 * low == pytest.approx(-1.667, abs=0.001)
    assert 7 * high == pytest.approx(1.5, abs=0.001)
    score, z = mann_kendall(KILOGRAMS)
    assert score == 9
    assert z == pytest.approx(1.503, abs=0.001)


@pytest.mark.parametrize(("one", "other", "percent"), [(1, 1, 11.09), (3, 3, 6.40), (2, 4, 6.79)])
def test_s4_the_smallest_difference_at_95_percent(one, other, percent):
    assert 100 * detectable(0.04, one, other, Z_95) == pytest.approx(percent, abs=0.01)


@pytest.mark.parametrize(("one", "other", "percent"), [(1, 1, 7.25), (3, 3, 4.19), (2, 3, 4.68)])
def test_s5_the_smallest_difference_at_80_percent(one, other, percent):
    assert 100 * detectable(0.04, one, other, Z_80) == pytest.approx(percent, abs=0.01)


def test_s6_the_smoothed_level():
    expected = [100.700, 100.805, 101.923, 102.300]
    assert levels([102, 101, 104, 103], 100) == pytest.approx(expected, abs=0.001)
    assert levels([200], 100) == pytest.approx([100 + 0.35 * 12])  # three errors of 4 % at most


def test_s7_the_weeks_session_effort():
    monday = date(2026, 11, 2)
    days = {
        monday: [(7, 60)],
        monday + timedelta(days=2): [(6, 50)],
        monday + timedelta(days=4): [(8, 70)],
        monday + timedelta(days=9): [(9, 90)],
    }
    week = week_effort(days, monday)
    assert week.load == 1280
    assert week.daily_mean == pytest.approx(182.86, abs=0.01)
    assert week.daily_sd == pytest.approx(240.12, abs=0.01)
    assert week.evenness == pytest.approx(0.762, abs=0.001)
    assert week.strain == pytest.approx(974.8, abs=0.1)
    assert week_effort({}, monday).evenness is None


def test_s9_adherence():
    found = adherence(10, 12, 86, 96)
    assert found.sessions == pytest.approx(0.833, abs=0.001)
    assert found.sets == pytest.approx(0.896, abs=0.001)
    assert found.band == "watch"
    assert adherence(9, 10).band == "good"
    assert adherence(7, 10).band == "act"
    assert adherence(0, 0).band is None
    with pytest.raises(ValueError, match="negative"):
        adherence(-1, 3)


@pytest.mark.parametrize(("week", "percent"), [(12, 0.833), (52, 0.192), (104, 0.096)])
def test_s10_expected_rates(week, percent):
    assert expected_rate(week) == pytest.approx(percent, abs=0.001)


# Estimates and what is left out


def session(days_ago, maximum, reps=8, rir=2.0, **more):
    """A session of three sets at exactly the load that this maximum gives."""
    done = (SetDone(reps=reps, load=load_for(maximum, reps, rir), rir=rir),) * 3
    return Exposure(TODAY - timedelta(days=days_ago), done, **more)


def rising(weekly_percent, weeks=8, noise=(), **more):
    """Two sessions a week from a maximum of 100, oldest first."""
    out = []
    for i in range(weeks * 2):
        factor = (1 + weekly_percent / 100) ** (i / 2)
        wobble = 1 + (noise[i % len(noise)] if noise else 0) / 100
        out.append(session(int(weeks * 7 - 3.5 * i) - 1, 100 * factor * wobble, **more))
    return out


def test_a_session_gives_its_best_founded_estimate():
    done = (
        SetDone(reps=5, load=100, rir=2),
        SetDone(reps=12, load=90, rir=3),  # weaker class, though higher
        SetDone(reps=5, load=120, rir=None),
        SetDone(reps=5, load=120, rir=1, kind="warm_up"),
        SetDone(reps=5, load=120, rir=1, stopped_for_pain=True),
        SetDone(reps=5, load=120, rir=1, as_planned=True),
    )
    (point,) = estimates([Exposure(TODAY, done)])
    assert point.e1rm == pytest.approx(122.43, abs=0.01)
    assert (point.confidence, point.n) == ("good", 7)
    assert (point.low, point.high) == (pytest.approx(115.50, abs=0.01), pytest.approx(129.37, abs=0.01))


def test_unknown_effort_gives_no_estimate():
    assert estimates([Exposure(TODAY, (SetDone(reps=8, load=60.0),))]) == ()
    assert estimates([session(3, 100)], load_entry="numbered_setting") == ()


def test_bodyweight_counts_where_it_is_known_and_not_stale():
    pull_ups = (SetDone(reps=6, load=10.0, rir=1),)
    weighed = Exposure(TODAY - timedelta(days=40), pull_ups, bodyweight=80.0)
    fresh = Exposure(TODAY - timedelta(days=20), pull_ups)
    stale = Exposure(TODAY, pull_ups)
    found = estimates([stale, weighed, fresh], load_entry="added", bodyweight_fraction=1.0)
    assert [point.day for point in found] == [weighed.day, fresh.day]
    assert found[0].e1rm == pytest.approx(110.19, abs=0.01)


def test_what_is_left_out_of_a_trend_says_why():
    history = [*rising(0.5, weeks=6), session(8, 95, deload=True)]
    far = session(5, 104, reps=3)
    found = trend([*history, far, session(2, 103)], today=TODAY, experience="novice")
    why = {point.day: point.left_out for point in found.points}
    assert why[TODAY - timedelta(days=8)] == "deload"
    assert why[far.day] == "far_repetitions"
    assert set(why.values()) <= {*LEFT_OUT, ""}
    elsewhere = [session(20, 100, place="away"), *[session(d, 100, place="home") for d in (9, 6, 2)]]
    found = trend(elsewhere, today=TODAY, experience="novice")
    assert found.points[0].left_out == "other_place"
    assert found.points[1].left_out == "after_layoff"


# Verdicts


def verdict(history, experience="intermediate", **more):
    return trend(history, today=TODAY, experience=experience, **more)


def test_too_little_data_says_so_and_nothing_else():
    found = verdict([session(d, 100 + d) for d in (14, 7, 0)])
    assert found.verdict == "cant_tell"
    assert [reason.code for reason in found.reasons] == ["few_sessions", "short_span"]
    assert verdict([]).verdict == "cant_tell"
    assert verdict([]).line == ()


def test_low_adherence_or_a_recent_deload_or_layoff_leaves_it_open():
    steady = rising(1.0)
    assert verdict(steady, adherence=0.75).verdict == "cant_tell"
    assert verdict(steady, adherence=0.85).verdict != "cant_tell"
    deload = [one for one in steady if (TODAY - one.day).days > 12] + [session(5, 95, deload=True)]
    assert [reason.code for reason in verdict(deload).reasons] == ["recent_deload"]
    pause = [one for one in steady if (TODAY - one.day).days > 20] + [session(4, 100)]
    assert "recent_layoff" in [reason.code for reason in verdict(pause).reasons]
    gone = [one for one in steady if (TODAY - one.day).days > 15]
    assert "no_recent_session" in [reason.code for reason in verdict(gone).reasons]


def test_a_clear_rise_is_progress():
    found = verdict(rising(0.6, noise=(0.2, -0.2, 0.0)), "novice")
    assert found.verdict == "progressing"
    assert found.weekly_low > 0
    assert found.weekly_percent == pytest.approx(0.6, abs=0.15)


def test_a_clear_fall_is_regress():
    assert verdict(rising(-1.0, noise=(0.2, -0.3))).verdict == "regress"


def test_a_drop_of_three_sessions_beyond_noise_is_regress():
    flat = [session(d, 100) for d in (50, 46, 43, 39, 36, 32, 29)]
    drop = [session(d, 93) for d in (9, 5, 2)]
    middle = [session(d, 100) for d in (22, 18, 15)]
    found = verdict([*flat, *middle, *drop])
    assert found.verdict == "regress"
    assert found.reasons[0].code == "recent_mean_lower"


def test_a_leap_beyond_noise_is_a_breakthrough():
    flat = [session(d, 100 + (d % 3) * 0.3) for d in (50, 46, 43, 39, 36, 32, 29, 25, 22, 18, 15, 11)]
    found = verdict([*flat, session(6, 107), session(2, 108)])
    assert found.verdict == "breakthrough"


def same_load(days, reps, load=80.0, rir=2.0):
    done = (SetDone(reps=reps, load=load, rir=rir),)
    return [Exposure(TODAY - timedelta(days=one), done) for one in days]


def test_without_a_record_for_long_enough_it_is_a_stall():
    history = same_load(range(1, 57, 4), 8)
    found = verdict(history)
    assert found.verdict == "stall"
    assert {reason.code for reason in found.reasons} == {"no_record", "slope"}
    assert verdict(history, maintaining=True).verdict == "flat"
    assert found.reasons[0].params == {"sessions": 13, "days": 52}
    assert verdict(same_load(range(1, 30, 4), 8), "advanced").verdict == "flat"


def test_a_recent_record_is_progress_though_the_line_is_flat():
    history = [*same_load(range(9, 57, 4), 8), *same_load([5], 9), *same_load([1], 8)]
    found = verdict(history)
    assert found.verdict == "progressing"
    assert found.reasons[0].code == "record"
    assert found.reasons[0].params["more_reps"] == 1


def test_noise_as_in_the_worked_example_is_not_called_progress():
    history = [session(36 - day, value) for day, value in zip(DAYS, KILOGRAMS, strict=True)]
    found = verdict(history)
    assert found.weekly_percent == pytest.approx(0.98, abs=0.01)
    assert found.weekly_low < 0 < found.weekly_high


def test_the_line_has_a_band_that_holds_it_and_widens_to_the_ends():
    found = verdict(rising(0.5, noise=(1.0, -1.0, 0.5)))
    assert all(point.low < point.value < point.high for point in found.line)
    widths = [point.high / point.low for point in found.line]
    assert min(widths[0], widths[-1]) >= widths[len(widths) // 2]
    assert [point.day for point in found.line] == sorted({point.day for point in found.line})


def test_own_error_needs_eight_sessions_and_stays_within_bounds():
    assert own_error([0.01] * 7) == 0.04
    assert own_error([0.0] * 8) == 0.015
    assert own_error([-0.5, 0.5] * 5) == 0.08


histories = st.lists(
    st.builds(
        lambda days, load, reps, rir, easy, place: Exposure(
            TODAY - timedelta(days=days), (SetDone(reps=reps, load=load, rir=rir),), deload=easy, place=place
        ),
        st.integers(0, 80),
        st.floats(20, 200),
        st.integers(0, 20),
        st.none() | st.sampled_from([0.0, 1.0, 2.0, 4.0, 5.0]),
        st.sampled_from([False, False, False, True]),
        st.sampled_from(["home", "home", "away"]),
    ),
    max_size=20,
)


@given(histories, st.sampled_from(["novice", "intermediate", "advanced"]), st.randoms(use_true_random=False))
def test_a_verdict_is_always_given_with_reasons_whatever_the_order(history, experience, shuffler):
    found = verdict(history, experience)
    assert found.verdict in VERDICTS
    assert found.reasons
    for reason in found.reasons:
        assert set(reason.params) == set(REASONS[reason.code])
    shuffled = list(history)
    shuffler.shuffle(shuffled)
    assert verdict(shuffled, experience) == found


@given(st.lists(st.tuples(st.integers(0, 100), st.floats(50, 150)), min_size=2, max_size=25), st.floats(-0.5, 0.5))
def test_tilting_the_data_tilts_the_line_by_as_much(points, tilt):
    if len({x for x, _ in points}) < 2:
        return
    xs, ys = zip(*points, strict=True)
    line, tilted = theil_sen(xs, ys), theil_sen(xs, [y + tilt * x for x, y in points])
    assert tilted.slope == pytest.approx(line.slope + tilt, abs=1e-6)
    low, high = sen_interval(xs, ys)
    assert low <= line.slope <= high


# Records


def test_a_record_is_more_of_one_and_no_less_of_the_others():
    def found(*sets):
        history = [Exposure(TODAY + timedelta(days=i), (SetDone(*one),)) for i, one in enumerate(sets)]
        return [(one.load, one.reps, one.more_reps) for one in records(history)]

    assert found((8, 60.0, 2.0), (9, 60.0, 2.0)) == [(60, 9, 1)]
    assert found((8, 60.0, 2.0), (8, 62.5, 2.0)) == [(62.5, 8, 0)]
    assert found((8, 60.0, 2.0), (9, 60.0, 0.0)) == []  # less was left
    assert found((8, 60.0, 2.0), (6, 65.0, 2.0)) == []  # fewer repetitions
    assert found((8, 60.0, 2.0), (8, 60.0, 3.0)) == []  # only easier
    assert found((8, 60.0, None), (9, 60.0, None)) == [(60, 9, 1)]


def test_deloads_set_no_records_and_help_counts_down():
    easy = Exposure(TODAY, (SetDone(9, 60.0, 2.0),), deload=True)
    assert records([Exposure(TODAY - timedelta(days=3), (SetDone(8, 60.0, 2.0),)), easy]) == ()
    helped = [Exposure(TODAY + timedelta(days=i), (SetDone(8, load, 2.0),)) for i, load in enumerate((40.0, 35.0))]
    assert [one.load for one in records(helped, falls=True)] == [35]
    assert records(helped) == ()


def test_another_place_is_a_new_baseline():
    moved = [
        Exposure(TODAY, (SetDone(8, 60.0, 2.0),), place="home"),
        Exposure(TODAY + timedelta(days=3), (SetDone(8, 80.0, 2.0),), place="away"),
    ]
    assert records(moved) == ()


# Beside the trend


def test_bodyweight_is_a_median_and_a_robust_change():
    weights = {TODAY - timedelta(days=i): 80 - 0.1 * (27 - i) for i in range(28)}
    found = bodyweight_trend(weights, TODAY)
    assert found.median == pytest.approx(77.6)
    assert found.weekly_change == pytest.approx(-0.7)
    assert bodyweight_trend({}, TODAY).median is None


def sets(*pairs, load=60.0):
    return tuple(SetDone(reps=reps, load=load, rir=rir) for reps, rir in pairs)


def test_reported_reserve_is_held_against_the_next_set():
    honest = Exposure(TODAY, sets((8, 2.0), (8, 1.0), (7, 1.0)))
    assert honesty([honest], TODAY).worth_a_check is False
    shy = [Exposure(TODAY - timedelta(days=i), sets((8, 1.0), (10, 2.0))) for i in (0, 4, 8)]
    found = honesty(shy, TODAY)
    assert (found.too_easy, found.too_hard, found.worth_a_check) == (3, 0, True)
    bold = [Exposure(TODAY - timedelta(days=i), sets((10, 4.0), (8, 1.0))) for i in (0, 4, 8)]
    assert honesty(bold, TODAY).too_hard == 3
    assert honesty([Exposure(one.day - timedelta(days=14), one.done) for one in bold], TODAY).pairs == 0
    hurried = [Exposure(one.day, one.done, asked=(TargetSet(rest_s=30),)) for one in bold]
    assert honesty(hurried, TODAY).pairs == 0
