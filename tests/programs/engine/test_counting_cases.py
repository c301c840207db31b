"""Situations from practice about what a figure means and how it counts: loads of two, sleds, parts, order, minutes."""

from datetime import date, timedelta

import pytest

from programs.engine.cautions import check_load, effort_floor
from programs.engine.dose import counted_sets, target_range
from programs.engine.minutes import USUAL_SET_S, sets_that_fit
from programs.engine.progress import next_prescription
from programs.engine.racks import Plate, bar_rack, list_rack
from programs.engine.shorthand import parse
from programs.engine.strength import set_estimate, volume_load
from programs.engine.terms import Exposure, SetDone, TargetSet

MONDAY = date(2026, 11, 2)


def read(text, load_entry="total", rep_unit="reps", unit="kg"):
    parsed = parse(text, unit, "en", load_entry, rep_unit)
    return parsed.sets, [doubt.code for doubt in parsed.doubts]


# What the number stands for


def test_two_dumbbells_are_logged_by_the_one_and_move_as_both():
    ((one,), doubts) = read("24 each x 10", "per_hand")
    assert (one.load, one.reps, doubts) == (24, 10, [])
    assert volume_load(24, 10, "per_hand") == 480


def test_one_dumbbell_in_both_hands_is_what_it_weighs():
    ((one,), doubts) = read("24 x 10", "total")
    assert (one.load, doubts) == (24, [])
    assert volume_load(24, 10, "total") == 240


@pytest.mark.parametrize(("typed", "code", "offered"), [(48.0, "both_for_one", 24.0), (12.0, "one_for_both", 24.0)])
def test_exactly_twice_or_half_is_a_question_about_what_was_meant(typed, code, offered):
    found = check_load(typed, 10, [24.0] * 6, "kg", load_entry="per_hand")
    assert (found.code, found.load) == (code, offered)


@pytest.mark.parametrize("typed", ["44 total x 10"])
def test_a_sum_where_one_of_two_is_logged_is_asked_about(typed):
    assert "total_for_per_hand" in read(typed, "per_hand")[1]


def test_plates_a_side_are_told_with_the_sled_or_without_it_and_never_guessed():
    plates = [Plate(45, "lb", 10)]
    unknown = bar_rack(plates, bar=None, unit="lb")
    assert unknown.heaviest == 450
    assert unknown.loading(450).bar is None and unknown.loading(450).per_side == ((45, "lb"),) * 5
    for sled, total in ((75, 525), (125, 575)):
        known = bar_rack(plates, bar=sled, bar_unit="lb", unit="lb")
        assert known.heaviest == total
        assert known.loading(total).bar == sled
    assert "plates_per_side" in read("225/side x 10", unit="lb")[1]


# Parts, order, one side


def test_drops_are_parts_of_one_set():
    (one,), doubts = read("20x10 > 16x6 > 12x5")
    assert doubts == [] and [(part.load, part.reps) for part in one.parts] == [(16, 6), (12, 5)]
    done = [SetDone(reps=10, load=20.0, rir=1.0), *(SetDone(reps=p.reps, load=p.load, kind="drop") for p in one.parts)]
    assert sum(volume_load(part.load, part.reps, "total") for part in done) == 356
    estimates = [set_estimate(part, "total") for part in done]
    assert estimates[0] is not None and estimates[1:] == [None, None]
    # A drop is never a whole set more; what it counts for growth is half, and two at the most.
    assert counted_sets(done[:1]) == 1 <= counted_sets(done) <= 2


def test_a_set_cut_in_a_pair_takes_nothing_from_the_other():
    """Three rows and two presses done in turns: the press lost its station half way."""
    row, press = [SetDone(reps=8, load=40.0, rir=2.0)] * 3, [SetDone(reps=8, load=20.0, rir=2.0)] * 2
    assert (counted_sets(row), counted_sets(press)) == (3, 2)
    plan = (TargetSet(reps_low=6, reps_high=8, load=20.0, rir=2.0),) * 3
    found = step([Exposure(MONDAY - timedelta(days=7), tuple(press), plan)], plan)
    assert found.change == "same" and found.new.sets == 3


@pytest.mark.parametrize(
    ("text", "loads", "reps"),
    [("165 x 5 x 3", [165] * 3, [5] * 3), ("3x5@60", [60] * 3, [5] * 3), ("5x3@60", [60] * 5, [3] * 5)],
)
def test_reps_are_the_second_number(text, loads, reps):
    sets, doubts = read(text)
    assert ([one.load for one in sets], [one.reps for one in sets], doubts) == (loads, reps, [])


@pytest.mark.parametrize("text", ["90", "1:30", "90 s", "90s"])
def test_a_hold_is_seconds_however_it_is_typed(text):
    (one,), _doubts = read(text, "none", "seconds")
    assert one.seconds == 90 and one.reps is None
    assert volume_load(24, 0, "per_hand") == 0


def test_three_holds_of_forty_seconds_with_a_load_keep_both():
    sets, doubts = read("3x40s@24", "per_hand", "seconds")
    assert [(one.seconds, one.load) for one in sets] == [(40, 24)] * 3 and doubts == []


# Minutes


@pytest.mark.parametrize(("sets", "minutes"), [(15, 40), (9, 24)])
def test_a_set_with_its_rest_takes_so_long(sets, minutes):
    """Two minutes of rest and forty seconds of work."""
    assert sets * (120 + 40) / 60 == minutes
    assert USUAL_SET_S > 0


def test_half_an_hour_leaves_room_for_nine_sets_after_the_warm_up():
    assert sets_that_fit(30, 0, 160) == 9


def test_sets_cut_for_time_are_no_failures():
    plan = (TargetSet(reps_low=6, reps_high=8, load=60.0, rir=2.0),) * 3
    cut = [Exposure(MONDAY - timedelta(days=7), (SetDone(reps=8, load=60.0, rir=2.0),), plan)]
    found = step(cut, plan)
    assert (found.change, found.new.load, found.new.sets) == ("same", 60, 3)


# Slips


@pytest.mark.parametrize(
    ("load", "reps", "offered", "offered_reps"), [(625, 8, 62.5, 8), (6.25, 8, 62.5, 8), (8, 60, 60, 8)]
)
def test_slipped_keys_and_swapped_boxes_offer_what_was_meant(load, reps, offered, offered_reps):
    found = check_load(load, reps, [60.0, 62.5, 60.0, 62.5, 60.0, 62.5], "kg")
    assert (found.load, found.reps) == (offered, offered_reps)


def test_a_first_small_step_after_ten_alike_is_not_asked_about_and_odd_ones_are():
    flat = [60.0] * 10
    assert check_load(62.5, 8, flat, "kg") is None
    assert {check_load(load, 8, flat, "kg").code for load in (132.0, 600.0)} == {"other_unit", "ten_times"}


# The old and the young


def test_an_older_beginner_needs_less_and_steps_under_a_share_of_the_maximum():
    assert target_range("quads", "novice", age=68).low <= target_range("quads", "novice", age=40).low
    floor = effort_floor(age=68, weeks_of_training=1)
    assert not floor.max_tests and floor.share_of_max is not None and floor.share_of_max <= 0.7


def test_a_teenager_is_neither_tested_nor_taken_to_failure():
    floor = effort_floor(age=14, weeks_of_training=8)
    assert not floor.max_tests and floor.rir >= 1
    plan = (TargetSet(reps_low=8, reps_high=12, load=20.0, rir=3.0),) * 2
    done = Exposure(MONDAY - timedelta(days=3), (SetDone(reps=12, load=20.0, rir=3.0),) * 2)
    found = step([done], plan, age=14, floor=floor, experience="novice", test="test_day", rack=list_rack(range(2, 60)))
    assert found.change != "test_day"
    if found.change == "load_up":
        assert found.new.load / 20 - 1 <= 0.10


def step(history, current, **more):
    facts = {"role": "secondary", "experience": "intermediate", "load_entry": "total", "on": MONDAY} | more
    rack = facts.pop("rack", list_rack([20 + 2.5 * i for i in range(100)]))
    return next_prescription(history, current, "double_progression", rack, **facts)
