"""The sets over a block: worked examples by hand, and what holds for every block."""

from random import Random

import pytest

from programs.engine.compose import compose
from programs.engine.compose.course import SetsPlan, course
from programs.engine.compose.request import WeekRequest
from programs.engine.dose import rise_guard
from programs.engine.terms import Pick
from programs.engine.vocabulary import AUDITED_GROUPS
from tests.programs.engine.compose_weeks import (
    GYM,
    ceiling,
    day_type,
    exercise,
    gym_week,
    library,
    session_dose,
    session_minutes,
    slot,
)

PRESSES = library(*(exercise(f"press-{n}") for n in range(3)), exercise("curl", "elbow_flexion", regions="biceps"))
RAMP = SetsPlan("ramp")


def presses(occurrences=1, sets=(2, 4), **more):
    """One slot for the chest on so many days; a press counts one set for the chest and for nothing else."""
    day = day_type(slot("press", "pec_stern", sets=sets, **more.pop("slot", {})), occurrences=occurrences)
    return WeekRequest((day,), PRESSES, **more)


def picks(*sets):
    return [Pick("press", n, f"press-{n}", count) for n, count in enumerate(sets)]


def by_round(found, place=0):
    return [one.picks[place].sets for one in found.rounds]


def codes(found):
    return [(held.round, held.occurrence, held.reason.code) for held in found.held]


def test_flat_sets_stay_and_an_easier_week_has_half_rounded_up():
    found = course(presses(), picks(3), 6, deload=[3, 6])
    assert by_round(found) == [3, 3, 2, 3, 3, 2]
    assert [one.deload for one in found.rounds] == [False, False, True, False, False, True]
    assert not found.held and not found.cautions


def test_a_ramp_adds_a_set_a_week_up_to_the_slots_most():
    assert by_round(course(presses(), picks(2), 5, plan=RAMP)) == [2, 3, 4, 4, 4]


def test_a_ramp_may_start_one_set_lower_though_not_under_the_slots_least():
    lower = SetsPlan("ramp", below=True)
    assert by_round(course(presses(), picks(3), 4, plan=lower)) == [2, 3, 4, 4]
    assert by_round(course(presses(), picks(2), 4, plan=lower)) == [2, 3, 4, 4]
    assert by_round(course(presses(sets=(3, 5)), picks(3), 3, plan=lower)) == [3, 4, 5]


def test_a_step_comes_every_so_many_weeks_and_an_easier_week_is_none_of_them():
    assert by_round(course(presses(), picks(2), 6, plan=SetsPlan("ramp", 2))) == [2, 2, 3, 3, 4, 4]
    assert by_round(course(presses(), picks(2), 6, plan=SetsPlan("ramp", 2), deload=[2])) == [2, 1, 2, 3, 3, 4]


def test_the_guard_lets_two_sets_or_a_fifth_through_and_the_rest_follows_when_four_weeks_have_caught_up():
    """From 6 a week: 8 may be at once. 9 must wait until the mean of the four weeks before is 7: in week five it is
    (6 + 8 + 8 + 8) / 4 = 7.5, which lets all but 9.5 through; in week six 8.25, which lets 10.25 through."""
    found = course(presses(3, experience="advanced"), picks(2, 2, 2), 6, plan=SetsPlan("ramp", 1))
    assert [one.sets for one in found.rounds] == [6, 8, 8, 8, 9, 10]
    first = found.held[0]
    assert (first.round, first.occurrence, first.reason.code) == (2, 2, "course.held_guard")
    assert first.reason.params["group"] == "chest"
    assert (first.reason.params["now"], first.reason.params["mean"]) == (9, 6)


def test_the_weeks_before_the_block_count():
    """Four weeks of 4 sets: a week of 4 may become 6 at once, where from 6 of its own it might become 8."""
    request = presses(2, sets=(2, 5))
    after = course(request, picks(2, 2), 3, plan=RAMP, before=[{"chest": 4.0}] * 4)
    assert [one.sets for one in after.rounds] == [4, 6, 6]
    assert codes(after)[0] == (3, 0, "course.held_guard")
    assert after.held[0].reason.params["mean"] == 4.5  # three weeks of 4 and one of 6


def test_only_four_weeks_before_count_and_fewer_are_held_against_the_first_of_them():
    request = presses(2, sets=(2, 8))
    long_ago = course(request, picks(6, 6), 1, before=[{"chest": 40.0}, *[{"chest": 12.0}] * 4])
    assert not long_ago.cautions
    few = course(request, picks(6, 6), 1, before=[{"chest": 8.0}, {"chest": 12.0}])
    assert few.cautions[0].params["mean"] == 8


@pytest.mark.parametrize(
    ("mean", "code"),
    [
        (10, None),
        (9.8, "course.rise_warn"),
        (9, "course.rise_ask"),
        (7, "course.rise_refuse"),
    ],
)
def test_a_first_week_that_rises_steeply_is_told_not_changed(mean, code):
    found = course(presses(2, sets=(2, 8)), picks(6, 6), 2, before=[{"chest": float(mean)}] * 4)
    assert [one.sets for one in found.rounds] == [12, 12]
    assert [why.code for why in found.cautions] == ([code] if code else [])


def test_weeks_of_nothing_are_told_as_such_and_one_group_that_is_new_as_its_own_rise():
    request = presses(2, sets=(2, 8))
    nothing = course(request, picks(6, 6), 2, before=[{}] * 4)
    assert [why.code for why in nothing.cautions] == ["course.rise_from_nothing"]
    other = course(request, picks(6, 6), 2, before=[{"quads": 6.0}] * 4)
    assert [(why.code, why.params["group"]) for why in other.cautions] == [("course.rise_refuse", "chest")]


def test_the_minutes_of_the_session_hold_a_step_back():
    """A press of 3 sets: 300 s before, 3 × (10 × 3 + 10) of work, 2 × 120 of rest: 11 minutes; a fourth takes 160 s."""
    request = presses(slot={"reps": ((10, 10),)}, minutes_cap=11.0)
    found = course(request, picks(2), 4, plan=RAMP)
    assert by_round(found) == [2, 3, 3, 3]
    assert codes(found)[0] == (3, 0, "course.held_minutes")
    assert found.rounds[1].minutes[0].minutes == 11
    assert by_round(course(presses(slot={"reps": ((10, 10),)}, minutes_cap=13.7), picks(2), 4, plan=RAMP))[-1] == 4


def test_the_sessions_ceiling_and_the_weeks_range_hold_a_step_back():
    low = course(presses(session_ceilings={"chest": 3.0}), picks(2), 4, plan=RAMP)
    assert by_round(low) == [2, 3, 3, 3] and codes(low)[0] == (3, 0, "course.held_ceiling")
    wide = course(presses(ranges={"chest": (2.0, 3.0)}), picks(2), 4, plan=RAMP)
    assert by_round(wide) == [2, 3, 3, 3] and codes(wide)[0] == (3, 0, "course.held_range")
    assert wide.rounds[0].dose["chest"].judged.verdict == "in_range"


def test_sets_that_the_coach_fixed_stay():
    found = course(presses(2), picks(2, 2), 3, plan=SetsPlan("ramp", below=True), fixed=[("press", 0)])
    assert by_round(found, 0) == [2, 2, 2] and by_round(found, 1) == [2, 3, 4]
    beyond = course(presses(), picks(7), 3, plan=SetsPlan("ramp", below=True), fixed=[("press", 0)])
    assert by_round(beyond) == [7, 7, 7]


def test_lesser_slots_come_a_step_later():
    day = day_type(slot("press", "pec_stern", sets=(2, 4), priority=1), slot("curl", "biceps", sets=(2, 4), priority=3))
    both = [Pick("press", 0, "press-0", 2), Pick("curl", 0, "curl", 2)]
    found = course(WeekRequest((day,), PRESSES), both, 5, plan=RAMP)
    assert by_round(found, 0) == [2, 3, 4, 4, 4]
    assert by_round(found, 1) == [2, 2, 3, 4, 4]


def test_a_clients_first_session_is_cut_once_and_the_guard_does_not_take_it_for_less():
    found = course(presses(2, sets=(3, 5)), picks(3, 3), 2, plan=RAMP, careful=("day", 0))
    assert [[pick.sets for pick in one.picks] for one in found.rounds] == [[2, 3], [4, 4]]


def test_the_last_week_may_be_harder_by_one_but_never_to_failure():
    found = course(presses(), picks(3), 4, plan=SetsPlan(last_harder=True), deload=[4])
    assert [one.harder for one in found.rounds] == [False, False, True, False]
    harder = found.rounds[2]
    assert [harder.rir(3), harder.rir(2), harder.rir(1.5), harder.rir(1), harder.rir(0)] == [2, 1, 1, 1, 0]
    assert harder.rir(3, least=3) == 3
    assert [found.rounds[0].rir(2), found.rounds[3].rir(2), found.rounds[3].rir(4)] == [2, 4, 5]


def test_a_rolling_cycle_is_reckoned_for_seven_days():
    """4 sets in a cycle of 3.5 days are 8 a week; 28 days are eight cycles, so the guard catches up by an eighth."""
    request = presses(2, experience="advanced", cycle_days=3.5)
    found = course(request, picks(2, 2), 10, plan=RAMP)
    assert found.rounds[0].dose["chest"].dose.counted == 8
    assert [one.sets for one in found.rounds] == [4, 5, 5, 5, 5, 5, 5, 5, 5, 6]
    # In cycle nine the mean is (8 + 7 × 10) / 8 = 9.75, and 12 would be 23 % more; in cycle ten it is 10.


def test_it_answers_a_wrong_plan_with_an_error():
    with pytest.raises(ValueError):
        SetsPlan("wave")
    with pytest.raises(ValueError):
        SetsPlan("ramp", 0)


def random_case(seed):
    random = Random(seed)
    request = gym_week(
        experience=random.choice(["novice", "intermediate", "advanced"]),
        minutes_cap=random.choice([None, 45.0, 60.0, 80.0]),
        cycle_days=random.choice([7.0, 7.0, 8.0, 5.0]),
    )
    week = compose(request, proven=False)
    rounds = random.randint(1, 10)
    asked = {
        "plan": SetsPlan("ramp", random.randint(1, 3), random.random() < 0.5),
        "deload": random.sample(range(1, rounds + 1), random.randint(0, min(2, rounds))),
        "fixed": [(pick.slot, pick.occurrence) for pick in week.picks if random.random() < 0.15],
        "before": [
            {group: random.randint(0, 60) / 4 for group in AUDITED_GROUPS} for _ in range(random.choice([0, 2, 4, 6]))
        ],
    }
    return request, week.picks, rounds, asked


def counted(request, found):
    """Counted sets a week by group, from the exercises' shares."""
    return {group: n * 7 / request.cycle_days for group, n in session_dose(request, found).items()}


def mean_before(request, weeks, earlier, group):
    """The mean of the last 28 days, day by day; the first week known where there are fewer."""
    days = [week.get(group, 0.0) for week in weeks for _ in range(7)]
    for one in earlier:
        days += [one.get(group, 0.0)] * round(request.cycle_days)
    if not days:
        return None
    return sum(days[-28:]) / 28 if len(days) >= 28 else days[0]


@pytest.mark.parametrize("seed", range(60))
def test_what_holds_for_every_block(seed):
    request, composed, rounds, asked = random_case(seed)
    found = course(request, composed, rounds, **asked)
    assert [one.number for one in found.rounds] == list(range(1, rounds + 1))
    slots = {line.key: line for day in request.day_types for line in day.slots}
    start = {(pick.slot, pick.occurrence): pick.sets for pick in composed}
    usual, earlier = None, []
    for one in found.rounds:
        sets = {(pick.slot, pick.occurrence): pick.sets for pick in one.picks}
        assert sets.keys() == start.keys()
        if one.deload:
            if usual is not None:
                assert sets == {place: -(-n // 2) for place, n in usual.items()}
            earlier.append(counted(request, one.picks))
            continue
        dose = counted(request, one.picks)
        for place, n in sets.items():
            assert n <= max(start[place], slots[place[0]].sets_high)
            if place in asked["fixed"]:
                assert n == start[place]
            if usual is not None:
                assert usual[place] <= n <= usual[place] + 1
        if usual is not None:
            was = counted(request, [Pick(*place, start_of(composed, place), n) for place, n in usual.items()])
            for group in AUDITED_GROUPS:
                if dose.get(group, 0) > was.get(group, 0):
                    mean = mean_before(request, asked["before"], earlier, group)
                    assert rise_guard(dose[group], mean).verdict == "fine"
            for day in request.day_types:
                for occurrence in range(day.occurrences):
                    check_session(request, day, occurrence, one.picks, usual)
        usual = sets
        earlier.append(dose)
    assert found == course(request, tuple(reversed(composed)), rounds, **asked)


def start_of(composed, place):
    return next(pick.exercise for pick in composed if (pick.slot, pick.occurrence) == place)


def check_session(request, day, occurrence, listed, usual):
    """A session that grew keeps to its minutes and ceilings."""
    own = {line.key for line in day.slots}
    here = {pick.slot: pick for pick in listed if pick.slot in own and pick.occurrence == occurrence}
    grown = [pick for pick in here.values() if pick.sets > usual[pick.slot, occurrence]]
    if not grown:
        return
    assert request.minutes_cap is None or session_minutes(request, day, here) <= request.minutes_cap + 1e-6
    dose = session_dose(request, here.values())
    for pick in grown:
        for group in session_dose(request, [pick]):
            most = ceiling(request, group)
            assert most is None or dose[group] <= most


def test_a_ramp_of_the_gyms_week_does_rise_and_says_what_holds_it():
    request = gym_week(minutes_cap=60.0)
    week = compose(request, proven=False)
    found = course(request, week.picks, 6, plan=SetsPlan("ramp", below=True), deload=[6])
    assert found.rounds[0].sets < found.rounds[1].sets < found.rounds[4].sets
    assert found.rounds[5].sets < found.rounds[0].sets
    assert {held.reason.params["exercise"] for held in found.held} <= GYM.keys()
