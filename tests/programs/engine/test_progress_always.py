"""What holds for every history: caps, racks, arrival order, no leak of swaps, and a better log never costs anything."""

from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from programs.engine.progress import (
    CHANGES,
    OFFERS,
    REASONS,
    Caps,
    Illness,
    Lever,
    Wave,
    WaveSet,
    deload_due,
    habits,
    next_prescription,
    rating_signs,
    signs_of_fatigue,
)
from programs.engine.progress.fatigue import RatedSession
from programs.engine.racks import EMPTY, list_rack, numbered_rack, stack_rack
from programs.engine.terms import Exposure, SetDone, TargetSet

MONDAY = date(2026, 11, 2)
BARBELL = list_rack([20 + 2.5 * i for i in range(100)])
RACKS = [
    BARBELL,
    list_rack([20 + 5 * i for i in range(60)]),
    list_rack(range(2, 42, 2)),
    list_rack([20, 42.5, 60, 61, 100]),
    stack_rack([5, 12, 19, 26, 33, 40, 47, 54, 61], [2.3]),
    numbered_rack(20),
    EMPTY,
]
POLICIES = ["fixed_steps", "double_progression", "effort_led"]
EASIER_ON_PURPOSE = ("return", "returning", "freeze", "deload", "stop", "ill")

sets_done = st.lists(
    st.tuples(st.integers(1, 16), st.sampled_from([0.0, 1.0, 2.0, 3.0, 4.0, 5.0])), min_size=3, max_size=3
)
sessions = st.lists(
    st.tuples(st.integers(0, 60), sets_done, st.sampled_from([55.0, 60.0, 62.5]), st.booleans()),
    min_size=1,
    max_size=6,
    unique_by=lambda one: one[0],
)


def exposure(days, sets, load, deload=False, **more):
    done = tuple(SetDone(reps=reps, load=load, rir=rir) for reps, rir in sets)
    return Exposure(MONDAY - timedelta(days=days), done, deload=deload, **more)


def plan(low, width, load=60.0, rir=2.0):
    return (TargetSet(reps_low=low, reps_high=low + width, load=load, rir=rir),) * 3


def step(history, current, policy, rack=BARBELL, **more):
    facts = {"role": "secondary", "experience": "intermediate", "load_entry": "total", "on": MONDAY} | more
    return next_prescription(history, current, policy, rack, **facts)


facts = st.fixed_dictionaries(
    {
        "experience": st.sampled_from(["novice", "intermediate", "advanced"]),
        "load_entry": st.sampled_from(["total", "per_hand", "added", "assisted"]),
        "pattern": st.sampled_from(["squat", "horizontal_push"]),
        "bodyweight": st.just(80.0),
        "bodyweight_fraction": st.sampled_from([0.0, 1.0]),
        "age": st.sampled_from([None, 70]),
        "every_days": st.sampled_from([3, 7, 14]),
    }
)


@given(sessions, st.integers(4, 12), st.integers(0, 4), st.sampled_from(POLICIES), facts, st.data())
def test_a_better_log_never_lowers_the_next_load(logged, low, width, policy, more, data):
    """One repetition or one in reserve more in any set of any session, all else alike."""
    which, number = data.draw(st.integers(0, len(logged) - 1)), data.draw(st.integers(0, 2))
    days, sets, load, easy = logged[which]
    reps, rir = sets[number]
    better = [*sets[:number], data.draw(st.sampled_from([(reps + 1, rir), (reps, rir + 1)])), *sets[number + 1 :]]
    after = [*logged[:which], (days, better, load, easy), *logged[which + 1 :]]
    one, other = (
        step([exposure(*row) for row in rows], plan(low, width), policy, **more).new.load for rows in (logged, after)
    )
    assume(one is not None and other is not None)
    lever = Lever(more["load_entry"], 80.0, more["bodyweight_fraction"], falls=more["load_entry"] == "assisted")
    assert lever.at_least_as_hard(other, one)


kinds = st.sampled_from(["work", "work", "work", "check", "open_ended", "drop"])
histories = st.lists(
    st.builds(
        lambda days, sets, load, easy, swapped, place, slot: Exposure(
            MONDAY - timedelta(days=days),
            tuple(SetDone(reps=reps, load=load, rir=rir, kind=kind) for reps, rir, kind in sets),
            deload=easy,
            one_day=swapped,
            place=place,
            slot=slot,
        ),
        st.integers(0, 250),
        st.lists(
            st.tuples(st.integers(0, 16), st.none() | st.sampled_from([0.0, 2.0, 5.0]), kinds), min_size=1, max_size=4
        ),
        st.sampled_from([20.0, 42.5, 60.0, 61.0, 100.0, None]),
        st.booleans(),
        st.booleans(),
        st.sampled_from(["", "gym", "hotel"]),
        st.sampled_from(["", "a", "b"]),
    ),
    max_size=8,
)
WAVE = Wave(90.0, ((WaveSet(0.7, 5), WaveSet(0.8, 5)), (WaveSet(0.8, 3), WaveSet(0.9, 3, open_ended=True))), 0, 1)
questions = st.fixed_dictionaries(
    {
        "slot": st.sampled_from(["", "a"]),
        "place": st.sampled_from(["", "gym"]),
        "machine": st.booleans(),
        "test": st.sampled_from(["none", "check_set", "test_day"]),
        "role": st.sampled_from(["main", "isolation"]),
        "rir_trusted": st.booleans(),
        "bodyweight_days": st.sampled_from([0, 40]),
        "since": st.sampled_from([None, MONDAY - timedelta(days=20)]),
        "illness": st.sampled_from(
            [
                None,
                None,
                Illness("above_neck", MONDAY - timedelta(days=2)),
                Illness("whole_body", MONDAY - timedelta(days=5), MONDAY - timedelta(days=2)),
            ]
        ),
        "policy": st.sampled_from([*POLICIES, "percentage_waves"]),
    }
)


def answer(history, rack, question, more, current):
    given_wave = {"wave": WAVE} if question["policy"] == "percentage_waves" else {}
    return step(history, current, rack=rack, **question, **given_wave, **more)


@given(histories, st.sampled_from(RACKS), questions, facts, st.integers(4, 12), st.integers(0, 4))
def test_every_answer_keeps_the_caps_the_rack_and_its_reasons(history, rack, question, more, low, width):
    current = plan(low, width)
    found = answer(history, rack, question, more, current)
    assert found.change in CHANGES
    assert found.reasons
    assert all(set(why.params) <= set(REASONS[why.code]) for why in found.reasons)
    assert {offer.code for offer in found.offers} <= set(OFFERS)
    assert not (found.plain and (found.offers or found.change in ("return", "freeze", "stop", "ill", "test_day")))
    known = {done.load for one in history for done in one.done} | {one.load for one in current}
    for one in found.sets:
        assert one.load is None or one.load in known or rack.has(one.load) or (one.load == 0.0)
    if found.working_max is not None:
        assert 1 - Caps().fall_most <= found.working_max / WAVE.working_max <= 1 + Caps().rise + 1e-9
    lever = Lever(more["load_entry"], 80.0, more["bodyweight_fraction"], rack.ordinal, more["load_entry"] == "assisted")
    if found.change in ("wave", "test_day", "first_load", "after_deload") or question["policy"] == "percentage_waves":
        return
    old, new = found_base(history, question, lever), found.new.load
    change = None if old is None or new is None else lever.change(old, new)
    if change is not None:
        assert change <= Caps().rise_most + 1e-6
        if found.change not in EASIER_ON_PURPOSE:
            assert change >= -Caps().fall_most - 1e-6


def found_base(history, question, lever):
    """The load of the line's last session; None where the line is not simply all of the history."""
    if question["slot"] or question["place"] or question["since"]:
        return None
    line = sorted((one for one in history if not one.one_day and not one.deload), key=lambda one: (one.day, repr(one)))
    loads = [one.done[0].load for one in line if any(done.kind != "drop" for done in one.done)]
    loads = [lever.or_bodyweight(load) for load in loads]
    return next((load for load in reversed(loads) if load is not None), None)


@given(histories, questions, facts, st.randoms(use_true_random=False))
def test_the_order_of_arrival_and_one_day_swaps_never_matter(history, question, more, shuffler):
    shuffled = [one for one in history if not one.one_day]
    shuffler.shuffle(shuffled)
    current = plan(6, 4)
    assert answer(shuffled, BARBELL, question, more, current) == answer(history, BARBELL, question, more, current)


@given(histories, facts)
def test_what_was_done_elsewhere_or_on_another_day_never_leaks_into_a_line(history, more):
    own = [exposure(5, [(8, 2.0)] * 3, 60.0, place="gym", slot="a")]
    stranger = [one for one in history if one.slot != "a" or one.place not in ("gym", "")]
    line = {"slot": "a", "place": "gym"}
    alone, beside = (step(rows, plan(6, 4), "double_progression", **line, **more) for rows in (own, [*stranger, *own]))
    assert alone == beside


@given(histories)
def test_habits_are_the_same_in_any_order(history):
    assert habits(history, MONDAY) == habits(history[::-1], MONDAY)


# Effort within a session


def test_sets_that_contradict_each_other_ask_for_a_check_set():
    easier = [exposure(days, [(8, 0.0), (9, 1.0), (9, 1.0)], 60.0) for days in (1, 5, 9)]
    assert [(sign.number, sign.easier) for sign in rating_signs(easier, MONDAY)] == [(1, True)] * 3
    assert "check_set_suggested" in [why.code for why in habits(easier, MONDAY)]
    harder = exposure(1, [(8, 4.0), (7, 0.0), (6, 1.0)], 60.0)
    assert [sign.easier for sign in rating_signs([harder], MONDAY)] == [False]
    assert rating_signs([exposure(15, [(8, 0.0), (12, 0.0)], 60.0)], MONDAY) == ()
    assert rating_signs([exposure(1, [(8, 0.0), (12, 0.0)], 60.0)], MONDAY, rest_s=60) == ()


# A deload when signs ask for it


def day(ago):
    return MONDAY - timedelta(days=ago)


def hard_first(ago):
    asked = (TargetSet(reps_low=8, rir=2.0, load=60.0),)
    return [Exposure(day(ago), (SetDone(reps=8, load=60.0, rir=0.0),), asked)]


def signs(**more):
    return signs_of_fatigue(MONDAY, **more)


SORE = [(day(ago), 5) for ago in (2, 3, 4, 5)]


def test_each_sign_has_its_threshold():
    assert [one.code for one in signs(falling={"squat": day(3), "bench": day(5)})] == ["lifts_falling"]
    assert signs(falling={"squat": day(3), "bench": day(20)}) == ()
    calm = [RatedSession(day(ago), 6.0, 15) for ago in (10, 17, 24)]
    assert [one.code for one in signs(sessions=[*calm, RatedSession(day(2), 7.5, 15)])] == ["sessions_harder"]
    assert signs(sessions=[*calm, RatedSession(day(2), 7.5, 25)]) == ()
    three = {name: hard_first(3) for name in ("squat", "row", "press")}
    assert [one.code for one in signs(histories=three)] == ["first_sets_harder"]
    assert signs(histories=dict(list(three.items())[:2])) == ()
    assert [one.code for one in signs(soreness=SORE)] == ["sore"]
    assert signs(soreness=SORE[:3]) == ()
    assert [one.code for one in signs(poor_days=[day(ago) for ago in (1, 3, 5, 6)])] == ["rest_poor"]
    assert signs(poor_days=[day(ago) for ago in (1, 3, 9, 12)]) == ()


def test_any_two_signs_make_a_deload_due_and_a_missed_week_stands_for_one():
    two = signs(soreness=SORE, falling={"squat": day(3), "bench": day(5)})
    assert [why.code for why in deload_due(two, MONDAY, experience="novice")] == [
        "fatigue_lifts_falling",
        "fatigue_sore",
    ]
    assert deload_due(two[:1], MONDAY, experience="novice") == ()
    assert deload_due(two, MONDAY, experience="novice", missed_week_end=day(8)) == ()
    assert deload_due(two, MONDAY, experience="novice", missed_week_end=day(11)) != ()


@pytest.mark.parametrize(("experience", "due"), [("novice", False), ("intermediate", True), ("advanced", True)])
def test_after_six_weeks_one_is_planned_but_not_for_novices(experience, due):
    assert bool(deload_due((), MONDAY, experience=experience, weeks_since=6)) == due
    assert deload_due((), MONDAY, experience=experience, weeks_since=5) == ()
