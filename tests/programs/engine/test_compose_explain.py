from dataclasses import replace

import pytest

from programs.engine.compose import (
    Explanation,
    Unfilled,
    WeekRequest,
    alternatives,
    assess,
    compose,
    evaluate,
    explain,
)
from programs.engine.terms import Limit, Pick
from tests.programs.engine.compose_weeks import (
    FULL_GYM,
    GYM,
    HOME,
    broken_limits,
    day_type,
    exercise,
    gym_week,
    library,
    slot,
)


def one_slot(*exercises, stations=FULL_GYM, line=None, **more):
    line = line or slot("press", "pec_stern", "main", (3, 3))
    more.setdefault("ranges", {})
    return WeekRequest((day_type(line),), library(*exercises), "intermediate", stations=stations, **more)


def codes(reasons):
    return [why.code for why in reasons]


def frees(request, picks=None, key="press", occurrence=0):
    """Each way to free a slot as its steps, what they name, and its price."""
    found = explain(request, compose(request).picks if picks is None else picks, key, occurrence)
    assert isinstance(found, Unfilled)
    return [([(s.code.removeprefix("free."), *s.params.values()) for s in way.steps], way.cost) for way in found.frees]


def test_every_pick_has_reasons_and_two_runners_up_where_they_exist():
    request = gym_week()
    week = compose(request)
    assert len(week.explanations) == len(week.picks)
    for pick in week.picks:
        found = week.explanations[pick.slot, pick.occurrence]
        assert found.exercise == pick.exercise
        assert found.decided_by
        assert pick.reasons
        others = alternatives(request, week.picks, pick.slot, pick.occurrence, most=99).ranked
        assert len(found.runners_up) >= min(2, len(others))


def test_explaining_one_place_says_what_composing_said():
    request = gym_week(minutes_cap=60)
    week = compose(request)
    for place, found in week.explanations.items():
        assert explain(request, week.picks, *place) == found


def test_a_runner_up_is_behind_by_what_evaluating_says():
    request = gym_week()
    week = compose(request)
    found = week.explanations["squat", 0]
    for runner_up in found.runners_up:
        option = next(
            a for a in alternatives(request, week.picks, "squat", 0, 99).ranked if a.exercise == runner_up.exercise
        )
        changed = {(p.slot, p.occurrence): p for p in option.picks}
        other = [changed.get((p.slot, p.occurrence), p) for p in week.picks]
        assert evaluate(request, other).total - week.cost == runner_up.behind_by == option.behind_by


def test_what_decides_adds_up_to_the_difference():
    """Where all terms are told, merits less drawbacks are what the runner-up is behind by."""
    line = slot("press", "pec_stern", "main", (3, 3), candidates=("bar", "bells"))
    bar = exercise("bar", role="main", implement="barbell", joints={"elbow": 2})
    request = one_slot(bar, exercise("bells", role="main"), line=line)
    found = compose(request).explanations["press", 0]
    assert codes(found.decided_by) == ["choice.rank"]
    assert (found.decided_by[0].params["rank"], found.decided_by[0].params["other_rank"]) == (1, 2)
    assert codes(found.despite) == ["choice.joint_stress"]
    points = [sum(int(w.params["points"]) for w in side) for side in (found.decided_by, found.despite)]
    assert points == [8, 6]
    assert found.runners_up[0].behind_by == 2


def test_an_even_choice_a_lone_one_and_a_pinned_one_say_so():
    even = compose(one_slot(exercise("a", role="main"), exercise("b", role="main")))
    assert codes(even.explanations["press", 0].decided_by) == ["choice.equal"]
    lone = compose(one_slot(exercise("a", role="main")))
    assert codes(lone.explanations["press", 0].decided_by) == ["choice.only_one_fits"]
    pinned = compose(one_slot(exercise("a", role="main"), pins=(Pick("press", 0, "a", 3, pinned=True),)))
    assert codes(pinned.explanations["press", 0].decided_by) == ["choice.pinned"]
    assert "pick.pinned" in codes(pinned.explanations["press", 0].facts)


def test_the_second_occurrence_says_how_it_varies():
    week = compose(gym_week())
    facts = week.explanations["press", 1].facts
    varies = next(why for why in facts if why.code == "pick.varies")
    assert varies.params["occurrence"] == 0
    assert varies.params["exercise"] == week.explanations["press", 0].exercise
    repeated = compose(gym_week(stations=frozenset({"cable"})))
    assert "pick.repeats" in codes(repeated.explanations["side", 0].facts)


def test_a_pick_says_what_it_counts_for_and_why_it_has_fewer_sets():
    week = compose(gym_week(minutes_cap=50))
    facts = week.explanations["squat", 0].facts
    counts = {why.params["group"]: why.params["share"] for why in facts if why.code == "pick.counts"}
    assert counts["quads"] == 1
    assert counts["glutes"] == 0.5
    fewer = [why for found in week.explanations.values() for why in found.facts if why.code == "sets.fewer_for_limit"]
    assert fewer
    assert {why.params["limit"] for why in fewer} == {"session.no_minutes"}


def test_alternatives_are_ranked_and_tell_what_they_change():
    request = gym_week(minutes_cap=70)
    week = compose(request)
    found = alternatives(request, week.picks, "press", 0)
    assert [a.behind_by for a in found.ranked] == sorted(a.behind_by for a in found.ranked)
    present = next(p for p in week.picks if (p.slot, p.occurrence) == ("press", 0))
    assert present.exercise not in {a.exercise for a in found.ranked}
    for option in found.ranked:
        changed = {(p.slot, p.occurrence): p for p in option.picks}
        other = [changed.get((p.slot, p.occurrence), p) for p in week.picks]
        assert broken_limits(request, other) == []
        before, after = assess(request, week.picks), assess(request, other)
        for group, change in option.dose_changes.items():
            moved = after.dose[group].dose.counted - before.dose[group].dose.counted
            assert moved == pytest.approx(change)
        for group, (old, new) in option.verdict_changes.items():
            assert (before.dose[group].judged.verdict, after.dose[group].judged.verdict) == (old, new)
        assert after.minutes[0].minutes - before.minutes[0].minutes == pytest.approx(option.minutes_change)
        assert option.reasons


def test_alternatives_keep_the_most_asked_for_and_say_what_is_left_out():
    request = gym_week(stations=HOME, experience="novice", excluded=frozenset({"bell-press"}))
    week = compose(request)
    found = alternatives(request, week.picks, "press", 0, most=1)
    assert len(found.ranked) <= 1
    left_out = {entry.exercise: codes(entry.reasons) for entry in found.left_out}
    assert left_out["bar-press"] == ["exercise.station_missing", "exercise.station_missing", "exercise.skill"]
    assert left_out["bell-press"] == ["exercise.excluded"]
    assert "leg-press" not in left_out


def test_an_exercise_of_the_other_day_comes_in_exchange():
    request = gym_week()
    week = compose(request)
    held = {(p.slot, p.occurrence): p.exercise for p in week.picks}
    found = alternatives(request, week.picks, "squat", 0, most=99)
    option = next(a for a in found.ranked if a.exercise == held["squat", 1])
    assert option.swaps_with == 1
    assert [(p.occurrence, p.exercise) for p in option.picks] == [(0, held["squat", 1]), (1, held["squat", 0])]


def test_alternatives_of_an_empty_place_fill_it():
    request = gym_week()
    picks = [p for p in compose(request).picks if (p.slot, p.occurrence) != ("squat", 1)]
    found = alternatives(request, picks, "squat", 1)
    assert found.ranked[0].dose_changes["quads"] > 0
    assert found.ranked[0].behind_by < 0
    why = explain(request, picks, "squat", 1)
    assert isinstance(why, Unfilled)
    assert "slot.can_be_filled" in codes(why.reasons)
    assert why.frees == ()


def test_an_exercise_that_is_in_the_session_already_is_left_out():
    picks = [Pick("squat", 0, "bar-squat", 3), Pick("knee", 0, "leg-press", 3)]
    found = alternatives(gym_week(), picks, "squat", 0)
    left_out = {entry.exercise: entry.reasons[0] for entry in found.left_out}
    assert left_out["leg-press"].code == "session.already_there"
    assert left_out["leg-press"].params["slot"] == "knee"
    assert left_out["front-squat"].code == "exercise.skill"


def test_explaining_a_slot_that_is_not_there_is_an_error():
    with pytest.raises(KeyError):
        explain(gym_week(), (), "nothing", 0)


def test_two_slots_that_share_their_only_exercise_leave_the_lesser_one_empty():
    lines = (
        slot("main", "pec_stern", "main", (3, 3), candidates=("only",)),
        slot("more", "pec_stern", "isolation", (3, 3), candidates=("only",)),
    )
    request = replace(one_slot(exercise("only", role="main")), day_types=(day_type(*lines),))
    week = compose(request)
    assert [p.slot for p in week.picks] == ["main"]
    assert [(u.slot, codes(u.reasons)) for u in week.unfilled] == [("more", ["session.already_there"])]
    assert week.unfilled[0].frees == ()


def test_a_pin_that_cannot_be_offers_to_release_it_before_a_station():
    request = one_slot(
        exercise("cable-press", role="main", implement="cable"),
        exercise("bell-press", role="main"),
        stations=frozenset({"dumbbell"}),
        pins=(Pick("press", 0, "cable-press", 3, pinned=True),),
    )
    assert frees(request) == [([("release_pin", "cable-press")], 3), ([("add_station", "cable")], 6)]


def empty_over(request):
    return compose(request).unfilled[0].reasons[0].params["over"]


def test_short_minutes_ask_for_as_many_more_at_the_price_of_started_fives():
    lines = (slot("one", "pec_stern", "main", (2, 3)), slot("two", "lat", "main", (2, 3)))
    entries = [exercise("press", role="main"), exercise("pull", "vertical_pull", role="main", regions="lat")]
    request = replace(one_slot(*entries), day_types=(day_type(*lines),))
    longest = replace(request, minutes_cap=compose(request).minutes[0].minutes)
    two_each = [Pick("one", 0, "press", 2), Pick("two", 0, "pull", 2)]
    least = assess(request, two_each).minutes[0].minutes
    assert compose(replace(longest, minutes_cap=least)).unfilled == ()
    short = replace(longest, minutes_cap=least - 4)
    week = compose(short)
    empty = week.unfilled[0]
    assert codes(empty.reasons) == ["session.no_minutes"]
    assert frees(short, week.picks, empty.slot) == [([("more_minutes", 4)], 4)]
    shorter = replace(longest, minutes_cap=least - 6)
    assert frees(shorter, None, compose(shorter).unfilled[0].slot) == [([("more_minutes", 6)], 5)]
    just = replace(longest, minutes_cap=least - 4.01)
    assert empty_over(just) == 4.1
    assert frees(just, None, compose(just).unfilled[0].slot) == [([("more_minutes", 5)], 4)]


def test_a_spared_joint_is_only_loaded_with_an_explicit_tick_and_comes_last():
    request = one_slot(
        exercise("squat", "squat", "main", "vasti", "barbell", joints={"knee_deep_flexion": 2}),
        exercise("press", "squat", "secondary", "vasti", "leg_press"),
        line=slot("legs", "vasti", "main", (3, 3)),
        stations=frozenset({"barbell"}),
        limits=(Limit("knee_deep_flexion"),),
    )
    assert frees(request, key="legs") == [
        ([("add_station", "leg_press")], 6),
        ([("load_spared_joint", "knee_deep_flexion", True)], 20),
    ]
    found = explain(request, (), "legs", 0)
    assert isinstance(found, Unfilled)
    assert [way.needs_tick for way in found.frees] == [False, True]
    assert codes(found.reasons) == ["slot.nothing_fits"]


def test_a_ceiling_is_offered_to_be_raised():
    lines = (slot("press", "pec_stern", "secondary", (3, 4)), slot("fly", "pec_stern", "isolation", (3, 4)))
    entries = [exercise("press", role="secondary"), exercise("fly", "chest_fly")]
    request = replace(one_slot(*entries), day_types=(day_type(*lines),), session_ceilings={"chest": 5})
    week = compose(request)
    assert [u.slot for u in week.unfilled] == ["fly"]
    assert set(codes(week.unfilled[0].reasons)) == {"session.ceiling", "session.already_there"}
    assert frees(request, week.picks, "fly") == [([("raise_ceiling", "chest")], 4)]


def test_several_steps_are_told_together_and_nothing_that_asks_more_than_another():
    request = one_slot(
        exercise("hard-cable", role="main", implement="cable", skill="advanced"),
        exercise("cable", role="main", implement="cable"),
        exercise("hard-bench", role="main", needs_all=("flat_bench",), skill="advanced"),
        exercise("banned", role="main"),
        exercise("either", role="main", needs_one=(("box", "low_bar"),)),
        stations=frozenset({"dumbbell"}),
        excluded=frozenset({"banned"}),
    )
    assert frees(request) == [
        ([("allow_exercise", "banned")], 5),
        ([("add_station", "cable")], 6),
        ([("add_one_station", "box,low_bar")], 6),
        ([("add_station", "flat_bench"), ("allow_skill", "advanced")], 13),
    ]


def test_taking_the_offered_step_does_fill_the_slot():
    request = one_slot(GYM["leg-press"], line=slot("legs", "vasti", "secondary", (3, 3)), stations=HOME)
    assert frees(request, key="legs")[0][0] == [("add_station", "leg_press")]
    assert compose(replace(request, stations=HOME | {"leg_press"})).unfilled == ()


def test_explanations_are_for_filled_places_only():
    week = compose(gym_week(stations=frozenset({"dumbbell"}), minutes_cap=25))
    assert week.unfilled
    assert all(isinstance(found, Explanation) for found in week.explanations.values())
    assert not {(u.slot, u.occurrence) for u in week.unfilled} & set(week.explanations)
    assert all(entry.reasons for entry in week.unfilled)
