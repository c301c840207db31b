from dataclasses import replace
from datetime import date, timedelta

import pytest

from programs.engine.compose import DayType, Slot, WeekRequest, compose, evaluate
from programs.engine.compose.rotation import KEEP, ROTATE, Kept, rotation, weeks_kept
from tests.programs.engine.compose_weeks import FULL_GYM, GYM

START = date(2026, 3, 2)


def weekly(weeks, end=START):
    return tuple(end - timedelta(weeks=back) for back in range(1, weeks + 1))


def test_weeks_are_counted_back_to_a_longer_pause():
    assert weeks_kept(weekly(6), START) == 6
    pause = (*weekly(3), START - timedelta(weeks=12))
    assert weeks_kept(pause, START) == 3
    assert weeks_kept((), START) == 0
    assert weeks_kept((START + timedelta(days=7),), START) == 0


def test_what_still_serves_is_kept_and_what_stalled_gives_way():
    block = {
        "squat": Kept("main", weekly(6), "progressing"),
        "press": Kept("main", weekly(6), "stall"),
        "curl": Kept("isolation", weekly(6), "regress"),
        "new": Kept("isolation", weekly(2), "stall"),
    }
    found = rotation(block, START, KEEP)
    assert found.stalled == {"press", "curl"}
    assert found.due == frozenset()


def test_rotating_exchanges_what_is_due_and_leaves_main_lifts_longer():
    block = {
        "squat": Kept("main", weekly(6), "progressing"),
        "old squat": Kept("main", weekly(9), "progressing"),
        "curl": Kept("isolation", weekly(4), "flat"),
        "young curl": Kept("isolation", weekly(3), "flat"),
    }
    assert rotation(block, START, ROTATE).due == {"old squat", "curl"}


def test_another_way_is_a_programming_error():
    with pytest.raises(ValueError):
        rotation({}, START, "shuffle")


def upper():
    lines = (
        Slot("press", "upper", ("pec_stern",), "main", 3, 3),
        Slot("curl", "upper", ("biceps",), "isolation", 3, 3),
    )
    return WeekRequest(day_types=(DayType("upper", "Upper", 1, lines),), library=GYM, stations=FULL_GYM)


def test_the_next_block_keeps_its_exercises_or_takes_others():
    first = {pick.slot: pick.exercise for pick in compose(upper(), proven=False).picks}
    kept = replace(upper(), previous=frozenset(first.values()))
    assert {pick.slot: pick.exercise for pick in compose(kept, proven=False).picks} == first
    rotated = replace(upper(), due=frozenset({first["curl"]}), previous=frozenset({first["press"]}))
    then = {pick.slot: pick.exercise for pick in compose(rotated, proven=False).picks}
    assert then["press"] == first["press"] and then["curl"] != first["curl"]


def test_what_is_due_costs_as_much_as_what_stalled():
    week = upper()
    picks = compose(week, proven=False).picks
    curl = next(pick.exercise for pick in picks if pick.slot == "curl")
    due = evaluate(replace(week, due=frozenset({curl})), picks)
    stalled = evaluate(replace(week, stalled=frozenset({curl})), picks)
    assert due.total == stalled.total > evaluate(week, picks).total
    assert "due" in {term.code for term in due.terms} and "stalled" in {term.code for term in stalled.terms}
