from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.cautions import (
    ALARMS,
    BODY_PARTS,
    CONDITIONS,
    EFFORT_REASONS,
    HOLDS,
    NEEDS_LIMITS,
    PAIN_REASONS,
    RED_FLAGS,
    SCREENING,
    SCREENING_REASONS,
    SIGNS,
    WHOLE_BODY_PARTS,
    PainNote,
    affected,
    check_load,
    effort_floor,
    judge_answers,
    pain_action,
    pressure_holds,
    red_flags,
    screening,
)
from programs.engine.terms import Exercise, JointStress, RegionShare
from programs.engine.vocabulary import JOINT_TAGS, PATTERNS, REGIONS

TODAY = date(2026, 11, 2)


# Screening


@pytest.mark.parametrize(
    ("active", "condition", "sign", "result"),
    [
        (False, False, False, "cleared"),
        (False, True, False, "see_professional"),
        (False, False, True, "see_professional"),
        (False, True, True, "see_professional"),
        (True, False, False, "cleared"),
        (True, True, False, "moderate_only"),
        (True, False, True, "see_professional"),
        (True, True, True, "see_professional"),
    ],
)
def test_the_screening_table(active, condition, sign, result):
    assert screening(active, condition, sign).result == result


def test_who_was_not_active_starts_gently():
    assert screening(False, False, False).gentle_start
    assert not screening(True, False, False).gentle_start


def test_a_gap_in_the_answers_clears_nobody():
    assert screening(True, None, False).result == "incomplete"
    assert not screening(None, False, False).may_train


def test_a_professionals_word_clears_but_not_what_came_after_it():
    assert screening(True, True, False, clearance="older").result == "cleared"
    assert screening(False, True, False, clearance="current").result == "cleared"
    assert screening(True, False, True, clearance="older").result == "see_professional"
    assert screening(True, False, True, clearance="current").result == "cleared"


def all_no(**yes):
    return dict.fromkeys(SCREENING, False) | yes


def judged(answers, cleared_on=None, answered_on=TODAY, today=TODAY):
    return judge_answers(answers, answered_on=answered_on, today=today, cleared_on=cleared_on)


@pytest.mark.parametrize("code", [*SIGNS, *HOLDS, *NEEDS_LIMITS, *CONDITIONS])
def test_every_yes_sends_an_inactive_person_to_a_professional_first(code):
    found = judged(all_no(**{code: True}))
    assert found.result == "see_professional"
    assert code in [reason.params.get("question") for reason in found.reasons]
    assert judged(all_no(**{code: True}), cleared_on=TODAY).result == "cleared"


def test_answers_and_clearances_grow_old():
    year = timedelta(days=366)
    assert judged(all_no(), answered_on=TODAY - year).result == "incomplete"
    ill = all_no(active=True, kidney_disease=True)
    assert judged(ill, cleared_on=TODAY - timedelta(days=300)).result == "cleared"
    assert judged(ill, cleared_on=TODAY - year).result == "moderate_only"
    assert judged(all_no()).repeat_on == TODAY + timedelta(days=365)


def test_an_unanswered_question_is_named():
    answers = all_no(active=True)
    del answers["palpitations"]
    found = judged(answers)
    assert found.result == "incomplete"
    assert found.unanswered == ("palpitations",)
    with pytest.raises(ValueError, match="shoe_size"):
        judged(all_no(shoe_size=True))


def test_resting_blood_pressure():
    assert not pressure_holds(150, 95)
    assert pressure_holds(165, 95)
    assert not pressure_holds(165, 95, advised=True)
    assert pressure_holds(150, 111, advised=True)


# Pain


def act(score, earlier=(), **more):
    notes = [PainNote(TODAY - timedelta(days=days), value) for days, value in earlier]
    return pain_action(score, day=TODAY, earlier=notes, **more)


@pytest.mark.parametrize(
    ("score", "action"),
    [(0, "go_on"), (2, "go_on"), (3, "freeze"), (4, "freeze"), (5, "stop"), (6, "stop"), (10, "stop")],
)
def test_pain_bands(score, action):
    found = act(score)
    assert found.action == action
    assert found.tell_coach == (score > 2)
    assert found.pauses_sheets == (score > 2)


@pytest.mark.parametrize("alarm", ALARMS)
def test_an_alarm_stops_at_any_score_but_none(alarm):
    found = act(1, alarms=[alarm])
    assert found.action == "stop"
    assert found.advise_professional
    assert act(0, alarms=[alarm]).action == "go_on"
    assert act(1, sharp=True).action == "stop"


def test_three_for_more_than_two_weeks_counts_as_five():
    assert act(3, [(14, 3), (7, 3)]).action == "freeze"
    assert act(3, [(15, 3), (7, 3)]).action == "stop"
    calm_between = [(30, 4), (12, 1), (9, 0)]
    assert act(3, calm_between).action == "freeze"


def test_pain_rising_two_sessions_running_stops():
    assert act(4, [(7, 2), (3, 3)]).action == "stop"
    assert act(4, [(7, 3), (3, 3)]).action == "freeze"
    assert act(2, [(7, 0), (3, 1)]).action == "go_on"


def test_small_pain_in_two_sessions_reaches_the_coach():
    found = act(2, [(3, 2)])
    assert (found.action, found.tell_coach) == ("go_on", True)
    assert not act(2, [(3, 0)]).tell_coach


def test_a_freeze_ends_after_two_calm_sessions_and_a_stop_only_by_the_coach():
    assert act(1, [(6, 4)], in_force="freeze").action == "freeze"
    assert act(1, [(6, 4), (3, 2)], in_force="freeze").action == "return"
    assert act(0, [(6, 4), (3, 0)], in_force="stop").action == "stop"


def test_reports_may_come_in_any_order():
    notes = [(15, 3), (7, 3), (3, 4)]
    assert act(3, notes) == act(3, notes[::-1])


@given(
    st.lists(st.tuples(st.integers(1, 60), st.integers(0, 10)), max_size=6, unique_by=lambda note: note[0]),
    st.integers(0, 9),
)
def test_more_pain_is_never_answered_more_lightly(earlier, score):
    weight = {"go_on": 0, "return": 0, "freeze": 1, "stop": 2}
    assert weight[act(score + 1, earlier).action] >= weight[act(score, earlier).action]


@pytest.mark.parametrize("score", [-1, 11])
def test_a_score_off_the_scale_is_refused(score):
    with pytest.raises(ValueError, match="0 to 10"):
        act(score)


# Body parts


@pytest.mark.parametrize("part", BODY_PARTS)
@pytest.mark.parametrize("side", ["left", "right", "both"])
def test_every_listed_part_maps_to_something(part, side):
    found = affected(part, side)
    assert not found.everything
    assert found.joints or found.patterns or found.regions
    assert set(found.joints) <= set(JOINT_TAGS)
    assert set(found.patterns) <= set(PATTERNS)
    assert set(found.regions) <= set(REGIONS)


@pytest.mark.parametrize("part", [*WHOLE_BODY_PARTS, "", "left ear"])
def test_what_maps_to_nothing_freezes_the_whole_session(part):
    assert affected(part).everything
    assert affected(part).loaded_by(exercise("squat"))


def exercise(pattern, joints=(), regions=()):
    return Exercise(
        "an-exercise",
        "An exercise",
        pattern,
        "main",
        tuple(RegionShare(region, share) for region, share in regions),
        "barbell",
        "total",
        joints=tuple(JointStress(joint, 2) for joint in joints),
    )


def test_a_place_is_loaded_by_joint_tag_by_pattern_or_by_region():
    knee = affected("knee", "left")
    assert knee.loaded_by(exercise("lunge"))
    assert knee.loaded_by(exercise("hip_bridge", joints=["knee_deep_flexion"]))
    assert not knee.loaded_by(exercise("horizontal_pull", joints=["grip"]))
    calf = affected("calf")
    assert calf.loaded_by(exercise("squat", regions=[("soleus", 0.5)]))
    assert not calf.loaded_by(exercise("squat", regions=[("soleus", 0.25)]))


def test_every_joint_tag_and_pattern_is_reached_from_some_part():
    parts = [affected(part) for part in BODY_PARTS]
    assert {joint for part in parts for joint in part.joints} == set(JOINT_TAGS)
    assert {pattern for part in parts for pattern in part.patterns} == set(PATTERNS)


# Words


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("had chest pain on the last set", "chest"),
        ("Druck auf der Brust beim Kreuzheben", "chest"),
        ("nearly fainted after squats", "fainting"),
        ("mir wurde schwarz vor Augen", "fainting"),
        ("couldn’t breathe properly", "breath"),
        ("sudden headache, awful", "headache"),
        ("slurred speech for a minute", "stroke"),
        ("heart was racing at rest", "heartbeat"),
        ("lost control of my bladder", "cauda"),
        ("dark urine since Tuesday", "muscle_breakdown"),
        ("dunkler Urin seit gestern", "muscle_breakdown"),
        ("left calf is swollen", "calf_clot"),
        ("knee gave way on the step", "joint"),
        ("Knie ist geschwollen", "joint"),
        ("felt a pop in my shoulder", "pop"),
        ("tingling in two fingers", "numbness"),
        ("blurred vision", "vision"),
        ("a bit dizzy", "dizziness"),
        ("Fieber am Abend", "fever"),
        ("painful contractions", "pregnancy"),
        ("sharp pain in the hip", "sharp_pain"),
    ],
)
def test_red_flag_words(text, code):
    flags = red_flags(text)
    assert code in [flag.code for flag in flags]
    assert not flags[0].denied


def test_every_flag_is_covered_above_by_name():
    covered = {code for marker in test_red_flag_words.pytestmark for _, code in marker.args[1]}
    assert covered == set(RED_FLAGS)


@pytest.mark.parametrize(
    "text",
    [
        "60x8, felt strong",
        "chest day, pressed well",
        "good pump in the chest press",
        "popped in for a short session",
        "locked out every rep",
        "legs sore from Monday",
        "Brust und Rücken, alles gut",
        "eccentric contractions, 3 s down",
    ],
)
def test_ordinary_notes_raise_no_flag(text):
    assert red_flags(text) == ()


def test_what_is_denied_is_shown_last_and_marked():
    flags = red_flags("no chest pain but a bit dizzy")
    assert [(flag.code, flag.denied) for flag in flags] == [("dizziness", False), ("chest", True)]
    (flag,) = red_flags("keine Brustschmerzen. Dann doch Brustschmerzen.")
    assert not flag.denied


def test_emergencies_come_first():
    flags = red_flags("Fieber, und dann Schmerzen in der Brust")
    assert [flag.code for flag in flags] == ["chest", "fever"]


@given(st.text(max_size=300))
def test_any_note_can_be_searched(text):
    red_flags(text)


# Loads


def test_pounds_in_a_kilogram_field_are_asked_about():
    jump = check_load(225, 5, [100, 102.5, 105], "kg")
    assert (jump.code, jump.load, jump.unit) == ("other_unit", 225, "lb")
    assert jump.params["same_as"] == pytest.approx(102.1)
    back = check_load(100, 5, [220, 225, 230], "lb")
    assert (back.code, back.unit) == ("other_unit", "kg")


def test_slipped_keys_are_asked_about():
    assert check_load(625, 8, [60, 62.5, 60], "kg").load == 62.5
    assert check_load(6.25, 8, [60, 62.5, 60], "kg").load == 62.5
    swapped = check_load(8, 60, [60, 62.5], "kg")
    assert (swapped.code, swapped.load, swapped.reps) == ("swapped_fields", 60, 8)


def test_a_flat_history_does_not_cry_wolf():
    flat = [60.0] * 10
    assert check_load(62.5, 8, flat, "kg") is None
    assert check_load(132, 8, flat, "kg").code == "other_unit"
    assert check_load(600, 8, flat, "kg").code == "ten_times"
    assert check_load(75, 8, flat, "kg").code == "far_off"
    assert check_load(75, 8, flat, "kg", next_loads=[75]) is None


def test_a_short_history_allows_only_the_checks_for_slips():
    assert check_load(75, 8, [60, 60], "kg") is None
    assert check_load(600, 8, [60], "kg").code == "ten_times"
    assert check_load(100, 8, [], "kg") is None
    assert check_load(8, 60, [], "kg").code == "swapped_fields"


def test_exactly_double_or_half_is_asked_about():
    assert check_load(48, 10, [24, 24, 22], "kg", load_entry="per_hand").code == "both_for_one"
    assert check_load(12, 10, [24, 24, 22], "kg", load_entry="per_hand").code == "one_for_both"
    assert check_load(48, 10, [24, 24, 22], "kg", load_entry="stack").code == "other_unit"


def test_settings_without_a_unit_are_not_compared_in_kilograms():
    jump = check_load(15, 12, [7] * 6, "setting", load_entry="numbered_setting")
    assert jump.code == "far_off"


@given(st.lists(st.floats(1, 500), min_size=1, max_size=12), st.integers(0, 11))
def test_a_load_lifted_before_is_never_asked_about(recent, which):
    assert check_load(recent[which % len(recent)], 8, recent, "kg") is None


# Special groups


def test_limits_join_to_the_most_careful():
    floor = effort_floor(age=70, weeks_of_training=200, treated_blood_pressure=True)
    assert (floor.rir, floor.share_of_max, floor.rest_s) == (2.0, 0.85, 120)
    assert not floor.max_tests
    assert {"balance_safe", "breathe_out_on_effort"} <= set(floor.advice)


def test_moderate_work_keeps_three_in_reserve_and_seventy_percent():
    floor = effort_floor(age=40, weeks_of_training=100, moderate_only=True)
    assert (floor.rir, floor.share_of_max, floor.rest_s, floor.max_tests) == (3.0, 0.70, 90, False)


def test_minors_are_never_taken_to_failure_or_to_a_max_test():
    for weeks in (0, 4, 52, 200):
        floor = effort_floor(age=14, weeks_of_training=weeks)
        assert floor.rir >= 1
        assert floor.share_of_max <= 0.80
        assert not floor.max_tests
        assert "guardian_consent" in floor.advice


def test_pregnancy_has_no_progression_targets():
    floor = effort_floor(age=30, weeks_of_training=150, pregnant=True, weeks_pregnant=12)
    assert not floor.progression
    assert floor.rir == 3
    assert "no_long_lying_on_the_back" not in floor.advice
    late = effort_floor(age=30, weeks_of_training=150, pregnant=True, weeks_pregnant=22)
    assert "no_long_lying_on_the_back" in late.advice


def test_an_ordinary_adult_has_no_limits_of_this_kind():
    floor = effort_floor(age=35, weeks_of_training=60)
    assert (floor.rir, floor.share_of_max, floor.rest_s, floor.progression) == (0.0, None, None, True)
    assert effort_floor(age=35, weeks_of_training=3).rir == 1


# Reasons: every one is listed with its parameters, so that each has a sentence


def listed(reasons, table):
    for reason in reasons:
        assert set(reason.params) == set(table[reason.code])
    return {reason.code for reason in reasons}


def test_every_reason_of_the_screening_is_listed_and_given():
    seen = set()
    for active, condition, sign, hold, limits in product([True, False, None], repeat=5):
        for clearance in ("none", "older", "current"):
            found = screening(active, condition, sign, hold=hold, limits_needed=limits, clearance=clearance)
            seen |= listed(found.reasons, SCREENING_REASONS)
    seen |= listed(judged(all_no(kidney_disease=True)).reasons, SCREENING_REASONS)
    seen |= listed(judged(all_no(), answered_on=TODAY - timedelta(days=400)).reasons, SCREENING_REASONS)
    assert seen == set(SCREENING_REASONS)


def test_every_reason_of_pain_is_listed_and_given():
    histories = [[], [(3, 2)], [(7, 2), (3, 3)], [(15, 3), (7, 3)], [(6, 4), (3, 2)]]
    seen = set()
    for score, earlier, force, sharp in product(range(11), histories, ["go_on", "freeze", "stop"], [False, True]):
        seen |= listed(act(score, earlier, in_force=force, sharp=sharp).reasons, PAIN_REASONS)
    assert seen == set(PAIN_REASONS)


def test_every_reason_of_special_groups_is_listed_and_given():
    floors = [
        effort_floor(age=14, moderate_only=True, gentle_start=True, treated_blood_pressure=True),
        effort_floor(age=70, pregnant=True, after_birth=True, weeks_of_training=2),
    ]
    seen = set().union(*(listed(floor.reasons, EFFORT_REASONS) for floor in floors))
    assert seen == set(EFFORT_REASONS)
