from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.calendar import (
    FIXED_DAY,
    NEXT_IN_LINE,
    PlacedSession,
    SessionLoad,
    cycle_dates,
    even_offsets,
    hours_wanted,
    move_missed,
    per_seven_days,
    place_days,
    recovery_gaps,
    usual_offsets,
    week_dates,
    week_of,
)

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)


def session(key: str, *groups: str, sets: float = 6, rir: float | None = 2, minutes: float = 60) -> SessionLoad:
    dose = dict.fromkeys(groups, sets)
    return SessionLoad(key, dose, dose, rir, minutes)


def upper_lower():
    return [session("U1", "chest"), session("L1", "quads"), session("U2", "chest"), session("L2", "quads")]


def days_of(sessions, *args, **options):
    placed = place_days(sessions, *args, **options)
    return [placed.days[s.key] for s in sessions], placed.gaps_h


def test_three_whole_body_sessions_take_every_other_day():
    sessions = [session(key, "chest", "quads") for key in "ABC"]
    assert days_of(sessions) == ([MON, WED, FRI], (47, 47, 71))


def test_three_whole_body_sessions_avoid_the_day_that_would_crowd_them():
    sessions = [session(key, "chest") for key in "ABC"]
    assert days_of(sessions, [MON, TUE, WED, FRI]) == ([MON, WED, FRI], (47, 47, 71))


def test_upper_and_lower_keep_their_order_on_four_days():
    assert days_of(upper_lower(), [MON, TUE, THU, FRI]) == ([MON, TUE, THU, FRI], (71, 71))


def test_upper_and_lower_on_awkward_days():
    assert days_of(upper_lower(), [MON, TUE, WED, SAT]) == ([MON, TUE, WED, SAT], (47, 71))


def test_three_day_types_twice_without_sunday():
    sessions = [session(f"{name}{turn}", name) for turn in (1, 2) for name in ("push", "pull", "legs")]
    assert days_of(sessions, range(6)) == ([MON, TUE, WED, THU, FRI, SAT], (71, 71, 71))


def test_upper_and_lower_with_all_days_open_leave_one_pair_back_to_back():
    placed = place_days(upper_lower())
    assert list(placed.days.values()) == [MON, TUE, THU, SAT]
    assert placed.gaps_h == (71, 71)
    assert placed.back_to_back == 1


def test_ten_minutes_do_not_move_a_session():
    sessions = upper_lower()
    shorter = [session("U1", "chest", minutes=50), *sessions[1:]]
    assert place_days(shorter).days == place_days(sessions).days


def test_preferred_forbidden_and_fixed_days_are_respected():
    sessions = [session("A", "chest"), session("B", "quads")]
    assert MON not in place_days(sessions, forbidden={MON}).days.values()
    assert set(place_days(sessions, preferred={TUE, SAT}).days.values()) == {TUE, SAT}
    assert place_days(sessions, fixed={"B": SUN}, forbidden={SUN}).days["B"] == SUN


def test_the_week_may_start_on_sunday():
    sessions = [session(key, "chest") for key in "ABC"]
    assert days_of(sessions, week_start=SUN)[0] == [SUN, TUE, THU]


def test_too_few_days_is_an_answer_with_a_reason():
    placed = place_days(upper_lower(), [MON, TUE, WED])
    assert placed.days == {}
    assert placed.reasons[0].code == "calendar.too_few_days"
    assert placed.reasons[0].params == {"sessions": 4, "days": 3}
    assert place_days(upper_lower(), fixed={"U1": MON, "L1": MON}).days == {}


def test_a_group_that_is_only_helped_along_needs_half_the_hours():
    row = SessionLoad("row", {"lats": 6, "elbow_flexors": 4}, {"lats": 6}, 2)
    curl = SessionLoad("curl", {"elbow_flexors": 6}, {"elbow_flexors": 6}, 2)
    assert hours_wanted(row, curl, "elbow_flexors") == (24, 24)
    assert hours_wanted(row, row, "lats") == (48, 48)


@pytest.mark.parametrize(
    ("sets", "rir", "careful", "hours"),
    [
        (3, 2, False, (24, 36)),
        (3, 1, False, (48, 48)),
        (6, 1, False, (48, 48)),
        (8, 2, False, (48, 48)),
        (8.5, 2, False, (48, 72)),
        (2, 0, False, (48, 72)),
        (2, None, False, (48, 72)),
        (2, 3, True, (48, 72)),
    ],
)
def test_hours_wanted_follow_sets_effort_and_care(sets, rir, careful, hours):
    load = SessionLoad("A", {"quads": sets}, {"quads": sets}, rir, careful=careful)
    assert hours_wanted(load, load, "quads") == hours


def test_a_hard_session_gets_the_longer_gap():
    """Many sets want 72 hours, the usual work 48, so of two unequal gaps the longer follows the hard one."""
    hard = session("hard", "quads", sets=10)
    usual = session("usual", "quads", sets=4)
    days = place_days([usual, hard], [MON, WED, THU]).days
    assert (days["usual"] - days["hard"]) % 7 >= 3


def test_gaps_of_a_week_run_into_the_next_one():
    sessions = upper_lower()
    gaps = recovery_gaps(week_of(sessions, {"U1": MON, "L1": TUE, "U2": THU, "L2": FRI}))
    assert [(g.earlier, g.later, g.hours, g.wraps) for g in gaps] == [
        ("U1", "U2", 71, False),
        ("L1", "L2", 71, False),
        ("U2", "U1", 95, True),
        ("L2", "L1", 95, True),
    ]
    assert all(gap.enough and gap.needed_h == 48 for gap in gaps)


def test_a_gap_that_is_too_short_says_what_was_needed():
    sessions = [session("A", "chest"), session("B", "chest")]
    first = recovery_gaps(week_of(sessions, {"A": MON, "B": TUE}))[0]
    assert (first.hours, first.needed_h, first.enough) == (23, 48, False)


def test_gaps_without_repeat_end_with_the_last_session():
    a = PlacedSession(session("A", "chest"), 18)
    b = PlacedSession(session("B", "chest"), 66)
    assert [(g.earlier, g.later) for g in recovery_gaps([b, a], None)] == [("A", "B")]


def test_each_session_is_measured_to_the_next_that_loads_its_groups():
    whole = session("whole", "chest", "quads")
    chest, quads = session("chest", "chest"), session("quads", "quads")
    gaps = recovery_gaps(week_of([whole, chest, quads], {"whole": MON, "chest": WED, "quads": FRI}), None)
    assert [(g.later, g.groups) for g in gaps] == [("chest", ("chest",)), ("quads", ("quads",))]


def test_every_other_day_runs_past_the_end_of_the_week():
    plan = cycle_dates(date(2026, 11, 2), ["A", "B"], [0, 2], 4, weeks=2)
    assert [(d.key, d.day.strftime("%a")) for d in plan] == [
        ("A", "Mon"),
        ("B", "Wed"),
        ("A", "Fri"),
        ("B", "Sun"),
        ("A", "Tue"),
        ("B", "Thu"),
        ("A", "Sat"),
    ]
    third = cycle_dates(date(2026, 11, 2), ["A", "B"], [0, 2], 4, weeks=3)
    assert (third[7].key, third[7].day) == ("B", date(2026, 11, 16))
    assert [sum(d.week == week for d in third) for week in (1, 2)] == [4, 3]


def test_a_longer_cycle_spreads_its_sessions_and_counts_for_seven_days():
    assert even_offsets(4, 9) == (0, 2, 4, 6)
    assert per_seven_days(16, 8) == 14
    assert per_seven_days(10, 5) == 14


@pytest.mark.parametrize("offsets", [[0], [2, 0], [0, 4], [-1, 2], [1, 1]])
def test_a_cycle_that_cannot_be_is_a_programming_error(offsets):
    with pytest.raises(ValueError):
        cycle_dates(date(2026, 11, 2), ["A", "B"], offsets, 4, weeks=1)


def test_plain_dates_know_no_clock_change():
    """In New York 1 November 2026 has 25 hours; from 31 October to 2 November it is two days all the same."""
    plan = cycle_dates(date(2026, 10, 31), ["A"], [0], 2, weeks=1)
    assert plan[1].day == date(2026, 11, 2)
    assert (plan[1].day - plan[0].day).days == 2


def test_a_block_lists_its_sessions_week_by_week_with_its_deload():
    plan = week_dates(date(2026, 11, 2), {"U": MON, "L": THU}, weeks=6, deload_weeks={6})
    assert len(plan) == 12
    assert [d.deload for d in plan] == [False] * 10 + [True] * 2
    assert [(d.key, d.day, d.cycle, d.position) for d in plan[-2:]] == [
        ("U", date(2026, 12, 7), 6, 1),
        ("L", date(2026, 12, 10), 6, 2),
    ]


def test_a_block_that_starts_in_midweek_has_weeks_of_seven_days():
    plan = week_dates(date(2026, 11, 4), {"A": MON, "B": WED, "C": FRI}, weeks=1)
    assert [(d.key, d.day) for d in plan] == [
        ("B", date(2026, 11, 4)),
        ("C", date(2026, 11, 6)),
        ("A", date(2026, 11, 9)),
    ]


def six_weeks():
    return week_dates(date(2026, 11, 2), {"A": MON, "B": WED, "C": FRI}, weeks=6, deload_weeks={6})


def test_next_in_line_does_the_missed_session_on_the_next_training_day():
    moved = move_missed(six_weeks(), {date(2026, 11, 4)}, NEXT_IN_LINE)
    assert [(d.key, d.day.strftime("%a %d")) for d in moved.plan[:4]] == [
        ("A", "Mon 02"),
        ("B", "Fri 06"),
        ("C", "Mon 09"),
        ("A", "Wed 11"),
    ]
    assert (moved.end_before, moved.end_after) == (date(2026, 12, 11), date(2026, 12, 14))
    assert [d.key for d in moved.missed] == ["B"]
    assert moved.plan[-1].deload


def test_fixed_day_skips_the_missed_session_and_moves_nothing():
    moved = move_missed(six_weeks(), {date(2026, 11, 4)}, FIXED_DAY)
    assert [d.key for d in moved.plan[:3]] == ["A", "C", "A"]
    assert moved.end_after == moved.end_before
    assert moved.reasons[0].code == "calendar.skipped"


def test_a_whole_week_missed_moves_the_end_by_seven_days():
    plan = week_dates(date(2026, 11, 2), {"A": MON, "B": TUE, "C": THU, "D": FRI}, weeks=6)
    week_three = {d.day for d in plan if d.week == 3}
    moved = move_missed(plan, week_three, NEXT_IN_LINE)
    assert moved.end_after - moved.end_before == timedelta(days=7)
    assert moved.reasons[0].params["days_later"] == 7
    assert [(d.key, d.week) for d in moved.plan if d.week == 3] == [("A", 3), ("B", 3), ("C", 3), ("D", 3)]
    dropped = move_missed(plan, week_three, FIXED_DAY)
    assert dropped.end_after == dropped.end_before
    assert len(dropped.missed) == 4


def test_missing_nothing_changes_nothing_and_an_unknown_mode_is_an_error():
    plan = six_weeks()
    assert move_missed(plan, (), NEXT_IN_LINE).plan == plan
    with pytest.raises(ValueError):
        move_missed(plan, (), "stack")


@given(
    missed=st.sets(st.integers(0, 17), max_size=9),
    mode=st.sampled_from([NEXT_IN_LINE, FIXED_DAY]),
    start=st.dates(date(2026, 1, 1), date(2027, 1, 1)),
)
def test_moving_keeps_the_order_and_never_stacks_two_on_a_day(missed, mode, start):
    plan = week_dates(start, {"A": MON, "B": WED, "C": FRI}, weeks=6)
    dates = {plan[index].day for index in missed}
    moved = move_missed(plan, dates, mode)
    days = [d.day for d in moved.plan]
    assert len(set(days)) == len(days)
    assert days == sorted(days)
    assert dates.isdisjoint(days)
    if mode == NEXT_IN_LINE:
        assert len(moved.plan) == len(plan)
    else:
        assert len(moved.plan) == len(plan) - len(dates)
        assert moved.end_after == moved.end_before


@given(
    groups=st.lists(st.sampled_from([("chest",), ("quads",), ("chest", "quads"), ()]), min_size=1, max_size=4),
    available=st.sets(st.integers(0, 6), min_size=4),
)
def test_sessions_get_days_of_their_own_among_those_available(groups, available):
    sessions = [session(str(i), *names) for i, names in enumerate(groups)]
    placed = place_days(sessions, available)
    assert len(set(placed.days.values())) == len(sessions)
    assert set(placed.days.values()) <= available


def test_a_weeks_sessions_are_usually_spread_over_these_days():
    assert usual_offsets(2, 7) == (MON, THU) and usual_offsets(4, 7) == (MON, TUE, THU, FRI)
    assert all(len(usual_offsets(count, 7)) == count for count in range(1, 8))
    assert usual_offsets(8, 7) == () and usual_offsets(0, 7) == ()


@pytest.mark.parametrize(
    ("given_days", "found"),
    [
        ((0, 2, 4, 6), (0, 2, 4, 6)),
        ((0, 1, 4, 5), (0, 1, 4, 5)),
        ((), (0, 2, 4, 6)),
        ((0, 2, 4), (0, 2, 4, 6)),
        ((0, 2, 4, 8), (0, 2, 4, 6)),
        ((2, 0, 4, 6), (0, 2, 4, 6)),
    ],
)
def test_a_rolling_cycle_keeps_its_own_days_where_they_fit(given_days, found):
    assert usual_offsets(4, 8, given_days) == found
