"""What a template comes to for one experience, nobody assigned yet."""

import pytest

from programs.engine.compose import assess, compose
from programs.engine.compose.outlook import LONG_SESSION_MINUTES, first_picks, outlook
from programs.engine.dose import target_range
from programs.engine.vocabulary import AUDITED_GROUPS
from tests.programs.engine.compose_weeks import GYM, day_type, exercise, slot, upper_lower

WEEK = ("upper", "lower", "upper", "lower")


def press(*candidates, sets=(2, 4), **more):
    return slot("press", "pec_stern", "main", sets, candidates=[candidates], **more)


def of(*slots, occurrences=1, library=GYM, experience="intermediate", **more):
    return outlook([day_type(*slots, occurrences=occurrences)], library, experience, ["day"] * occurrences, **more)


def told(found, code):
    return [dict(why.params) for why in found.warnings if why.code == code]


def test_every_slot_gets_its_first_candidate_and_the_middle_of_its_sets():
    found = of(press("bell-press", "bar-press"), occurrences=2)
    assert [(pick.exercise, pick.sets, pick.occurrence) for pick in found.picks] == [
        ("bell-press", 3, 0),
        ("bell-press", 3, 1),
    ]
    assert found.audit.dose["chest"].dose.counted == 6
    assert (found.least["chest"], found.most["chest"]) == (4, 8)


def test_an_exercise_too_hard_for_the_level_gives_way_to_the_next():
    squat = slot("squat", "vasti", "main", candidates=[("front-squat", "bar-squat")])
    assert [of(squat, experience=name).picks[0].exercise for name in ("novice", "intermediate", "advanced")] == [
        "bar-squat",
        "bar-squat",
        "front-squat",
    ]


def test_no_exercise_stands_twice_in_a_session():
    first = press("bell-press", "push-up")
    second = slot("more", "pec_stern", candidates=[("bell-press", "chest-fly")])
    assert [pick.exercise for pick in of(first, second).picks] == ["bell-press", "chest-fly"]


def test_what_may_not_stand_there_is_shown_with_what_is_wrong():
    found = of(press("bar-squat"))
    assert [pick.exercise for pick in found.picks] == ["bar-squat"]
    assert told(found, "exercise.other_region")[0]["exercise"] == "bar-squat"


def test_slots_without_sets_for_the_level_stay_empty_and_are_no_matter():
    found = of(press("bell-press", sets=(0, 0)))
    assert found.picks == () and not told(found, "outline.no_candidates")


@pytest.mark.parametrize(
    ("candidates", "code"),
    [(("hidden-one",), "outline.candidates_hidden"), ((), "outline.no_candidates")],
)
def test_a_slot_that_counts_nothing_is_told(candidates, code):
    empty = slot("press", "pec_stern", "main", candidates=[candidates] if candidates else ())
    found = of(empty)
    assert told(found, code) == [{"day": "day", "slot": "press"}] and found.audit.dose["chest"].dose.counted == 0


def test_doses_say_whether_the_slots_have_room():
    near = of(press("bell-press", sets=(2, 12)))
    far = of(press("bell-press", sets=(2, 4)))
    wanted = target_range("chest", "intermediate")
    [said] = [each for each in told(near, "outline.dose_under") if each["group"] == "chest"]
    assert (said["sets"], said["most"], said["low"], said["high"]) == (7, 12, wanted.low, wanted.high)
    [said] = [each for each in told(far, "outline.dose_short") if each["group"] == "chest"]
    assert (said["sets"], said["most"]) == (3, 4)


def test_too_much_says_whether_fewer_sets_would_do():
    long = of(press("bell-press", sets=(20, 30)))
    [said] = [each for each in told(long, "outline.dose_long") if each["group"] == "chest"]
    assert said["sets"] == 25 and said["least"] == 20
    room = of(press("bell-press", sets=(10, 30)))
    assert [each["least"] for each in told(room, "outline.dose_over") if each["group"] == "chest"] == [10]


def test_a_group_is_told_as_outside_exactly_where_the_audit_says_so():
    for experience in ("novice", "intermediate", "advanced"):
        found = outlook(upper_lower(), GYM, experience, WEEK)
        outside = {group for group in AUDITED_GROUPS if found.audit.dose[group].judged.verdict != "in_range"}
        codes = ("outline.dose_under", "outline.dose_short", "outline.dose_over", "outline.dose_long")
        assert {each["group"] for code in codes for each in told(found, code)} == outside


def test_hours_are_those_of_the_usual_days():
    found = of(press("bell-press", sets=(4, 4)), occurrences=2)
    assert found.days == {"day:0": 0, "day:1": 3}
    assert [(gap.hours, gap.wraps) for gap in found.gaps] == [(71, False), (95, True)]
    assert not told(found, "outline.near")


def test_sessions_too_near_are_told_with_hours():
    found = of(press("bell-press", sets=(4, 4)), occurrences=2, cycle_days=8, offsets=(0, 1))
    assert found.days == {"day:0": 0, "day:1": 1}
    [near] = told(found, "outline.near")
    assert (near["earlier"], near["later"], near["group"], near["hours"], near["needed"]) == (
        "day:0",
        "day:1",
        "chest",
        23,
        48,
    )


def test_a_longer_cycle_counts_less_a_week():
    week = of(press("bell-press", sets=(4, 4)), occurrences=2)
    cycle = of(press("bell-press", sets=(4, 4)), occurrences=2, cycle_days=8)
    assert cycle.audit.dose["chest"].dose.counted == week.audit.dose["chest"].dose.counted * 7 / 8
    assert cycle.most["chest"] == week.most["chest"] * 7 / 8


def test_more_sessions_than_days_have_no_hours():
    found = of(press("bell-press"), occurrences=8)
    assert found.days == {} and found.gaps == () and len(found.picks) == 8


def test_long_sessions_are_told_by_the_longest():
    many = [slot(f"line-{n}", "pec_stern", sets=(6, 6), candidates=[(f"fly-{n}",)]) for n in range(6)]
    library = {f"fly-{n}": exercise(f"fly-{n}", "chest_fly", regions="pec_stern") for n in range(6)}
    found = of(*many, library=library)
    [said] = told(found, "outline.long_session")
    assert said["minutes"] == round(found.audit.minutes[0].minutes) > LONG_SESSION_MINUTES
    assert (said["long"], said["sessions"]) == (1, 1)
    assert not told(of(many[0], library=library), "outline.long_session")


def test_supersets_that_tire_the_same_part_are_told():
    one = press("bell-press", superset="a")
    other = slot("fly", "pec_stern", candidates=[("chest-fly",)], superset="a")
    assert told(of(one, other), "session.superset_clash")
    assert not told(
        of(one, slot("curl", "biceps", candidates=[("bell-curl",)], superset="a")), "session.superset_clash"
    )


def test_the_same_template_gives_the_same_picks_whatever_the_order_of_the_library():
    found = outlook(upper_lower(), GYM, "intermediate", WEEK)
    turned = outlook(upper_lower(), dict(reversed(GYM.items())), "intermediate", WEEK)
    assert found.picks == turned.picks == first_picks(found.request) and found.warnings == turned.warnings


def test_composed_it_is_the_week_that_composing_gives():
    found = outlook(upper_lower(), GYM, "intermediate", WEEK, composed=True)
    assert found.picks == compose(found.request).picks
    assert found.audit == assess(found.request, found.picks) and not told(found, "outline.not_filled")


def test_composed_it_tells_what_stays_empty():
    found = of(slot("neck", "neck"), press("bell-press"), composed=True)
    assert told(found, "outline.not_filled") == [{"day": "day", "occurrence": 0, "slot": "neck"}]
    assert not told(found, "outline.no_candidates")


def test_composed_it_fills_slots_that_name_no_candidates():
    [pick] = of(slot("press", "pec_stern", "main"), composed=True).picks
    assert pick.exercise in GYM
