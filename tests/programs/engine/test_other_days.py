import time
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from programs.engine.calendar import per_seven_days
from programs.engine.compose import DayType, Slot, WeekRequest, assess, compose
from programs.engine.dose import session_limits
from programs.engine.other_days import in_turn, round_days, shifts, spread
from programs.engine.terms import Pick
from tests.programs.engine.compose_weeks import FULL_GYM, GYM

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
MONDAY = date(2026, 11, 2)


@pytest.fixture(autouse=True)
def _own_clock_again():
    yield
    time.tzset()


def test_four_sessions_on_three_days_come_round_in_nine_or_ten_days():
    days = in_turn(MONDAY, 24, {MON, WED, FRI})
    rounds = [later - earlier for earlier, later in pairwise(days[::4])]
    assert {one.days for one in rounds} == {9, 10}
    assert round_days(4, 3) == pytest.approx(28 / 3)
    assert days[:5] == tuple(date(2026, 11, day) for day in (2, 4, 6, 9, 11))


def test_as_many_days_as_sessions_stay_a_week_and_more_days_do_not_shorten_it():
    assert round_days(3, 3) == 7
    assert round_days(3, 5) == 7
    assert in_turn(MONDAY, 3, {TUE, THU, SAT}) == (date(2026, 11, 3), date(2026, 11, 5), date(2026, 11, 7))


def test_no_day_at_all_is_a_programming_error():
    for wrong in (lambda: in_turn(MONDAY, 1, ()), lambda: round_days(4, 0), lambda: spread(12, 0)):
        with pytest.raises(ValueError):
            wrong()


@pytest.mark.parametrize("zone", ["America/New_York", "Europe/Madrid", "Pacific/Auckland", "Pacific/Apia"])
@pytest.mark.parametrize("start", [date(2026, 3, 2), date(2026, 10, 19), date(2011, 12, 26)])
def test_neither_clock_changes_nor_zones_move_a_day(zone, start, monkeypatch):
    """In Apia 30 December 2011 never happened on the clock; a plan of plain dates has it all the same."""
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    days = in_turn(start, 12, {MON, WED, FRI})
    assert [day.weekday() for day in days] == [MON, WED, FRI] * 4
    assert [(later - earlier).days for earlier, later in pairwise(days)] == [2, 2, 3] * 3 + [2, 2]


def test_twelve_sets_from_two_days_are_four_on_each_of_three():
    assert spread(12, 3) == (4, 4, 4)
    assert spread(13, 3) == (5, 4, 4)
    assert spread(2, 3) == (1, 1, 0)
    assert per_seven_days(12, round_days(4, 3)) == 9


def slot(key, day, region, low, high, **more):
    return Slot(key, day, (region,), more.pop("role", "main"), low, high, **more)


def upper_lower():
    """Four days: twelve chest sets as six and six."""
    upper = DayType(
        "upper", "Upper", 2, (slot("press", "upper", "pec_stern", 3, 3), slot("press-2", "upper", "pec_stern", 3, 3))
    )
    lower = DayType("lower", "Lower", 2, (slot("squat", "lower", "vasti", 3, 3),))
    return WeekRequest(day_types=(upper, lower), library=GYM, stations=FULL_GYM)


def whole_body():
    full = DayType(
        "full",
        "Full",
        3,
        (
            slot("press", "full", "pec_stern", 2, 2),
            slot("press-2", "full", "pec_stern", 2, 2),
            slot("squat", "full", "vasti", 2, 2),
        ),
    )
    return WeekRequest(day_types=(full,), library=GYM, stations=FULL_GYM)


def test_four_days_become_three_by_stretching_or_by_building_anew():
    """Twelve chest sets from six and six: stretched they are nine a week, built anew four on each of three days."""
    four = compose(upper_lower(), proven=False).picks
    before = assess(upper_lower(), four)
    assert before.dose["chest"].dose.counted == 12
    stretched = assess(replace(upper_lower(), cycle_days=round_days(4, 3)), four)
    anew = assess(whole_body(), compose(whole_body(), proven=False).picks)
    of_stretch = next(one for one in shifts(before, stretched, "intermediate") if one.group == "chest")
    assert (of_stretch.week_before, of_stretch.week_after) == (12, pytest.approx(9))
    assert (of_stretch.largest_before, of_stretch.largest_after) == (6, pytest.approx(6))
    of_anew = next(one for one in shifts(before, anew, "intermediate") if one.group == "chest")
    assert (of_anew.week_after, of_anew.largest_after, of_anew.crammed) == (12, 4, False)
    assert [anew.session_dose["full", turn]["chest"].counted for turn in range(3)] == [4, 4, 4]


def test_twelve_sets_of_a_group_in_one_session_are_told_as_crammed():
    crammed = assess(upper_lower(), [Pick("press", 0, "bar-press", 6), Pick("press-2", 0, "bell-press", 6)])
    found = next(one for one in shifts(crammed, crammed, "intermediate") if one.group == "chest")
    assert found.largest_after == 12 > session_limits("chest", "intermediate")[0] == found.most
    assert found.crammed and not found.changed
