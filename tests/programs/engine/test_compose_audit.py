from dataclasses import replace

import pytest

from programs.engine.compose import assess, compose, reps_for
from programs.engine.terms import Limit, Pick
from programs.engine.vocabulary import STATION_KINDS
from tests.programs.engine.compose_weeks import (
    FULL_GYM,
    GYM,
    HOME,
    broken_limits,
    day_type,
    exercise,
    gym_week,
    library,
    session_minutes,
    slot,
    upper_lower,
)


def codes(audit, prefix=""):
    return [why.code for why in audit.warnings if why.code.startswith(prefix)]


def warning(audit, code):
    return next(why for why in audit.warnings if why.code == code)


def by_hand(*names, sets=3, occurrence=0):
    return [Pick(line, occurrence, key, sets) for line, key in names]


def test_a_composed_week_is_audited_as_a_hand_edited_one():
    request = gym_week(minutes_cap=60)
    week = compose(request)
    audit = assess(request, week.picks)
    assert audit == week.audit
    assert (audit.dose, audit.minutes, audit.warnings) == (week.dose, week.minutes, week.warnings)


def test_a_composed_week_breaks_nothing_it_would_warn_of_as_broken():
    week = compose(gym_week(minutes_cap=60))
    assert broken_limits(gym_week(minutes_cap=60), week.picks) == []
    assert codes(week.audit, "exercise.") == []
    assert not {"session.over_minutes", "session.group_over", "session.twice"} & set(codes(week.audit))


def test_doses_are_counted_by_share_for_seven_days():
    request = gym_week()
    picks = by_hand(("press", "bar-press"), ("row", "bar-row"), ("extend", "pushdown"))
    dose = assess(request, picks).dose
    assert (dose["chest"].dose.counted, dose["chest"].dose.direct) == (3, 3)
    assert (dose["triceps"].dose.counted, dose["triceps"].dose.direct) == (4.5, 3)
    assert dose["elbow_flexors"].dose.counted == 1.5
    assert (dose["chest"].judged.verdict, dose["chest"].judged.strong) == ("under", True)
    assert dose["chest"].judged.range.low == 10
    stretched = assess(replace(request, cycle_days=3.5), picks).dose
    assert stretched["chest"].dose.counted == 6


def test_own_ranges_and_ceilings_replace_the_published_ones():
    request = gym_week(ranges={"chest": (2, 4)}, session_ceilings={"chest": 2})
    audit = assess(request, by_hand(("press", "bar-press")))
    assert audit.dose["chest"].judged.verdict == "in_range"
    assert audit.dose["quads"].judged.verdict == "watched"
    assert warning(audit, "session.group_over").params["ceiling"] == 2


def test_minutes_and_sets_are_given_for_every_session():
    request = gym_week(minutes_cap=20)
    week = compose(gym_week())
    audit = assess(request, week.picks)
    assert [(m.day, m.occurrence) for m in audit.minutes] == [
        ("upper", 0),
        ("upper", 1),
        ("lower", 0),
        ("lower", 1),
    ]
    for entry in audit.minutes:
        day = next(d for d in request.day_types if d.key == entry.day)
        held = {p.slot: p for p in week.picks if p.occurrence == entry.occurrence}
        assert entry.minutes == pytest.approx(session_minutes(request, day, held))
        assert entry.sets == sum(p.sets for p in held.values() if p.slot in {s.key for s in day.slots})
    assert audit.working_sets == sum(p.sets for p in week.picks)
    late = [why.params for why in audit.warnings if why.code == "session.over_minutes"]
    assert [(params["day"], params["occurrence"]) for params in late] == [(m.day, m.occurrence) for m in audit.minutes]


def test_free_lines_take_their_minutes():
    upper, lower = upper_lower()
    request = gym_week()
    longer = replace(request, day_types=(replace(upper, extra_minutes=10), lower))
    picks = by_hand(("press", "bar-press"))
    plain, more = assess(request, picks).minutes[0], assess(longer, picks).minutes[0]
    assert more.minutes - plain.minutes == pytest.approx(10)


def test_a_hand_edited_week_is_told_every_limit_that_it_breaks():
    request = gym_week(stations=HOME, limits=(Limit("elbow"),), excluded=frozenset({"plank"}), experience="novice")
    picks = by_hand(("press", "bar-press"), ("trunk", "plank"), ("side", "crunch"))
    audit = assess(request, picks)
    assert codes(audit, "exercise.") == [
        "exercise.spared_joint",
        "exercise.station_missing",
        "exercise.station_missing",
        "exercise.skill",
        "exercise.other_region",
        "exercise.excluded",
    ]
    joint = warning(audit, "exercise.spared_joint").params
    assert (joint["day"], joint["occurrence"], joint["slot"], joint["joint"]) == ("upper", 0, "press", "elbow")


def test_session_ceilings_warn_first_and_then_say_over():
    request = gym_week()
    high = assess(request, by_hand(("press", "bar-press"), sets=9))
    assert warning(high, "session.group_high").params["warn_from"] == 8
    over = assess(request, by_hand(("press", "bar-press"), sets=12))
    assert warning(over, "session.group_over").params["ceiling"] == 11


def test_an_exercise_twice_and_a_slot_that_repeats_are_told():
    request = gym_week()
    twice = assess(request, by_hand(("squat", "leg-press"), ("knee", "leg-press")))
    assert warning(twice, "session.twice").params["exercise"] == "leg-press"
    again = assess(request, [Pick("squat", 0, "leg-press", 3), Pick("squat", 1, "leg-press", 3)])
    assert warning(again, "week.repeat").params["times"] == 2


def test_long_sessions_and_many_sets_are_told():
    lines = [slot(f"slot-{n}", "biceps") for n in range(9)]
    many = library(*(exercise(f"curl-{n}", "elbow_flexion", regions="biceps") for n in range(9)))
    request = replace(gym_week(), day_types=(day_type(*lines),), library=many)
    picks = by_hand(*((f"slot-{n}", f"curl-{n}") for n in range(9)))
    assert {"session.many_exercises", "session.many_sets"} <= set(codes(assess(request, picks)))
    more = [replace(pick, sets=4) for pick in picks]
    assert warning(assess(request, more), "session.too_many_sets").params["sets"] == 36


def test_one_main_squat_and_one_exercise_a_pattern_is_enough_for_a_session():
    request = gym_week(skill_allowed="advanced")
    audit = assess(request, by_hand(("squat", "bar-squat"), ("knee", "front-squat")))
    assert warning(audit, "session.second_main").params["pattern"] == "squat"
    curls = by_hand(("curl", "bell-curl"), ("side", "cable-curl"))
    assert warning(assess(request, curls), "session.pattern_again").params["pattern"] == "elbow_flexion"
    many = [replace(pick, sets=4) for pick in curls]
    assert "session.pattern_again" not in codes(assess(request, many))  # the group is given more than six sets


def test_order_and_supersets_are_looked_at():
    lines = (
        slot("row", "lat", "secondary"),
        slot("hinge", "hams", "main"),
        slot("curl", "biceps", superset="a"),
        slot("again", "biceps", superset="a"),
    )
    request = replace(gym_week(), day_types=(day_type(*lines),))
    picks = by_hand(("row", "bell-row"), ("hinge", "bar-hinge"), ("curl", "bell-curl"), ("again", "cable-curl"))
    audit = assess(request, picks)
    assert "session.grip_before_main" not in codes(audit)  # a row asks little of the grip
    assert warning(audit, "session.superset_clash").params["exercise"] == "bell-curl"
    hold = exercise("hold", "grip", regions="fore_flex", joints={"grip": 3})
    with_hold = replace(request, library={**GYM, "hold": hold})
    held = assess(with_hold, by_hand(("row", "hold"), ("hinge", "bar-hinge")))
    assert warning(held, "session.grip_before_main").params["other"] == "bar-hinge"
    rear = exercise("rear-raise", "rear_delt_raise", regions="delt_post", joints={"lumbar_shear": 1})
    with_rear = replace(request, library={**GYM, "rear-raise": rear})
    assert "session.back_before_main" in codes(
        assess(with_rear, by_hand(("row", "rear-raise"), ("hinge", "bar-hinge")))
    )


def test_a_joint_to_go_easy_on_is_counted():
    request = gym_week(limits=(Limit("elbow", strict=False),))
    picks = by_hand(("press", "bar-press"), ("pull", "chin-up"), ("curl", "bell-curl"))
    assert warning(assess(request, picks), "session.joint_often").params["exercises"] == 3


def test_missing_patterns_are_named():
    audit = assess(gym_week(), by_hand(("squat", "bar-squat"), ("press", "bar-press")))
    assert audit.patterns_missing == (
        "hinge_or_bridge",
        "knee_flexion",
        "vertical_or_incline_push",
        "horizontal_pull",
        "vertical_pull",
        "trunk",
    )
    assert codes(audit).count("week.pattern_missing") == 6


def test_pulling_is_weighed_against_pushing():
    request = gym_week()
    assert assess(request, by_hand(("squat", "bar-squat"))).pull_to_push is None
    balanced = assess(request, by_hand(("press", "bar-press"), ("row", "bar-row")))
    assert balanced.pull_to_push == 1
    assert "week.pull_to_push" not in codes(balanced)
    pushes = [Pick("press", 0, "bar-press", 4), Pick("row", 0, "bar-row", 2)]
    assert warning(assess(request, pushes), "week.pull_to_push").params["ratio"] == 0.5


def test_thin_parts_of_a_group_are_named_unless_it_is_only_kept():
    picks = by_hand(("row", "bar-row"), sets=6)
    audit = assess(gym_week(), picks)
    thin = {why.params["region"] for why in audit.warnings if why.code == "week.region_thin"}
    assert "trap_low" in thin
    assert "rhomb" not in thin
    kept = assess(gym_week(priorities={"upper_back": "keep", "shoulders": "keep"}), picks)
    assert "week.region_thin" not in codes(kept)


def test_too_many_priorities_are_none():
    groups = ("chest", "lats", "quads", "glutes")
    audit = assess(gym_week(priorities=dict.fromkeys(groups, "more")), ())
    assert warning(audit, "week.many_priorities").params["groups"] == "chest,glutes,lats,quads"


def test_picks_that_the_request_does_not_know_are_left_out():
    picks = [Pick("nowhere", 0, "bar-press", 3), Pick("press", 0, "unheard-of", 3), Pick("press", 7, "bar-press", 3)]
    assert assess(gym_week(), picks).working_sets == 0


def test_reps_follow_the_slot_unless_the_exercise_is_counted_or_ranged_otherwise():
    line = slot("press", "pec_stern", reps=((5, 8), (10, 15)))
    assert [reps_for(line, n, GYM["bar-press"]) for n in range(3)] == [(5, 8), (10, 15), (5, 8)]
    assert reps_for(line, 0, GYM["plank"]) == (20, 60)
    assert reps_for(line, 0, exercise("light", rep_low=12, rep_high=20)) == (12, 20)


def test_the_stations_of_the_test_gym_are_known():
    assert set(STATION_KINDS) >= FULL_GYM
