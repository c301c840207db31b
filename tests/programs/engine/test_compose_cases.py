"""Small cases whose best week and cost can be worked out by hand."""

from collections import Counter

import pytest

from programs.engine.compose import WeekRequest, compose, evaluate, search, solver
from programs.engine.terms import Pick
from tests.programs.engine.compose_weeks import GYM, day_type, exercise, gym_week, library, session_minutes, slot

KINDS = frozenset(("barbell", "dumbbell", "cable", "chest_press_machine"))
# Ranks that nothing at hand takes, so that the next exercise stands further down.
FILLERS = tuple(f"filler-{number}" for number in range(4))


@pytest.fixture(params=["solver", "all ways", "search"], autouse=True)
def _every_way(request, monkeypatch):
    if request.param != "solver":
        monkeypatch.setattr(solver, "available", lambda: False)
    if request.param == "search":
        monkeypatch.setattr(search, "TRY_ALL", 0)


def week(days, exercises, **more):
    more.setdefault("ranges", {})
    more.setdefault("session_ceilings", {})
    days = days if isinstance(days, tuple) else (days,)
    return WeekRequest(days, library(*exercises), "intermediate", stations=KINDS, **more)


def chosen(request):
    done = compose(request)
    assert evaluate(request, done.picks).total == done.cost
    return [(pick.exercise, pick.sets) for pick in done.picks], done.cost


def exercises_of(request):
    picks, cost = chosen(request)
    return [key for key, _ in picks], cost


def test_the_second_occurrence_changes_implement_and_angle():
    candidates = ("bar", "bells", "bells-tilted", "machine")
    line = slot("press", "pec_stern", sets=(3, 3), candidates=candidates)
    request = week(
        day_type(line, occurrences=2),
        [
            exercise("bar", implement="barbell", angle="flat"),
            exercise("bells", implement="dumbbell", angle="flat"),
            exercise("bells-tilted", implement="dumbbell", angle="incline"),
            exercise("machine", implement="chest_press_machine", angle="flat"),
        ],
    )
    keys, cost = exercises_of(request)
    assert set(keys) == {"bar", "bells-tilted"}
    assert cost == 16  # two rank steps


def test_one_candidate_is_repeated_and_says_what_that_costs():
    line = slot("press", "pec_stern", sets=(3, 3), candidates=("bar",))
    request = week(day_type(line, occurrences=2), [exercise("bar", implement="barbell")])
    assert exercises_of(request) == (["bar", "bar"], 100_024)


def test_short_minutes_give_the_set_to_the_group_that_is_to_grow():
    lines = (slot("curl", "biceps", sets=(1, 4), rest_s=60), slot("extend", "tri_long", sets=(1, 4), rest_s=60))
    entries = [
        exercise("curl", "elbow_flexion", regions="biceps"),
        exercise("extension", "elbow_extension", regions="tri_long"),
    ]
    day = day_type(*lines)
    unlimited = week(day, entries)
    five_sets = {"curl": Pick("curl", 0, "curl", 2), "extend": Pick("extend", 0, "extension", 3)}
    cap = session_minutes(unlimited, day, five_sets)
    wanted = {"elbow_flexors": (4, 9), "triceps": (4, 9)}
    request = week(day, entries, minutes_cap=cap, ranges=wanted, priorities={"triceps": "more"})
    assert chosen(request) == ([("curl", 2), ("extension", 3)], 98)  # 96 of dose, one set off the usual


def test_two_slots_that_want_the_same_exercise_settle_by_rank():
    lines = (
        slot("first", "pec_stern", sets=(3, 3), candidates=("one", *FILLERS[:2], "two")),
        slot("second", "pec_stern", sets=(3, 3), candidates=("one", "two")),
    )
    request = week(day_type(*lines), [exercise("one"), exercise("two")])
    assert exercises_of(request) == (["one", "two"], 18)  # a rank step, the pattern twice


def test_a_ceiling_holds_both_chest_slots_down():
    lines = (slot("press", "pec_stern", sets=(2, 4)), slot("fly", "pec_stern", sets=(2, 4)))
    entries = [exercise("press"), exercise("fly", "chest_fly")]
    limits = {"ranges": {"chest": (8, 99)}, "session_ceilings": {"chest": 5}}
    request = week(day_type(*lines), entries, **limits)
    picks, cost = chosen(request)
    assert sorted(sets for _, sets in picks) == [2, 3]
    assert cost == 74


def test_what_stalled_goes_and_what_still_serves_stays():
    lines = (
        slot("quads", "vasti", sets=(3, 3), candidates=("stalled", FILLERS[0], "fresh")),
        slot("hams", "hams", sets=(3, 3), candidates=("new", FILLERS[0], "kept")),
    )
    entries = [
        exercise("stalled", "squat", regions="vasti"),
        exercise("fresh", "squat", regions="vasti"),
        exercise("new", "knee_flexion", regions="hams"),
        exercise("kept", "knee_flexion", regions="hams"),
    ]
    request = week(day_type(*lines), entries, previous=frozenset({"kept"}), stalled=frozenset({"stalled"}))
    assert exercises_of(request) == (["fresh", "kept"], 32)


def test_three_occurrences_of_two_candidates_repeat_the_better_one():
    line = slot("press", "pec_stern", sets=(2, 2), candidates=("one", "two"))
    entries = [exercise("one", implement="barbell", angle="flat"), exercise("two", angle="incline")]
    keys, cost = exercises_of(week(day_type(line, occurrences=3), entries))
    assert Counter(keys) == {"one": 2, "two": 1}
    assert cost == 100_032


def test_a_lower_rank_wins_where_it_fills_another_group():
    line = slot("press", "pec_stern", sets=(4, 4), candidates=("plain", "both"))
    entries = [exercise("plain"), exercise("both", regions="pec_stern tri_latmed:0.5")]
    request = week(day_type(line), entries, ranges={"triceps": (2, 99)})
    assert exercises_of(request) == (["both"], 8)


def test_supersets_gather_at_one_station():
    lines = (
        slot("curl", "biceps", sets=(3, 3), superset="a", candidates=("bell-curl", "cable-curl")),
        slot("extend", "tri_long", sets=(3, 3), superset="a", candidates=("pushdown", "bell-extension")),
        slot("raise", "delt_lat", sets=(3, 3), superset="a", candidates=("side-raise",)),
    )
    plain = [
        exercise("bell-curl", "elbow_flexion", regions="biceps"),
        exercise("cable-curl", "elbow_flexion", regions="biceps", implement="cable"),
        exercise("pushdown", "elbow_extension", regions="tri_long", implement="cable"),
        exercise("bell-extension", "elbow_extension", regions="tri_long"),
        exercise("side-raise", "shoulder_abduction", regions="delt_lat"),
    ]
    request = week(day_type(*lines), plain)
    assert exercises_of(request) == (["bell-curl", "bell-extension", "side-raise"], -4)


def test_a_superset_never_tires_one_region_twice_where_it_can_be_helped():
    lines = (
        slot("press", "pec_stern", sets=(3, 3), superset="a", candidates=("press",)),
        slot("other", ("pec_stern", "trap_mid"), sets=(3, 3), superset="a", candidates=("fly", "row")),
    )
    entries = [
        exercise("press"),
        exercise("fly", "chest_fly"),
        exercise("row", "horizontal_pull", regions="trap_mid"),
    ]
    keys, cost = exercises_of(week(day_type(*lines), entries))
    assert keys == ["press", "row"]
    assert cost == 8 - 6


def test_joints_skill_reps_and_stand_ins_have_their_price():
    def cost_of(entry, role="isolation", **more):
        line = slot("press", "pec_stern", role, (3, 3), reps=((8, 12),))
        return exercises_of(week(day_type(line), [entry], **more))[1]

    assert cost_of(exercise("press")) == 0
    assert cost_of(exercise("press", joints={"elbow": 2, "grip": 1})) == 6  # the highest severity
    assert cost_of(exercise("press", rep_low=15, rep_high=25)) == 20
    assert cost_of(exercise("press", role="secondary"), "main") == 15
    assert cost_of(exercise("press", skill="advanced"), skill_allowed="advanced") == 30


def test_evaluating_counts_an_empty_place_and_forgives_one_kept_empty():
    line = slot("press", "pec_stern", sets=(3, 3))
    request = week(day_type(line), [exercise("press")])
    assert [term.code for term in evaluate(request, ()).terms] == ["unfilled"]
    kept_empty = week(day_type(line), [exercise("press")], pins=(Pick("press", 0, "", 0, pinned=True),))
    assert evaluate(kept_empty, ()).total == 0


def test_every_term_of_a_week_names_what_it_is_about():
    request = gym_week(minutes_cap=40, likes=frozenset({"push-up"}))
    terms = evaluate(request, compose(request).picks).terms
    assert all(term.params for term in terms)
    assert all(term.amount for term in terms)
    assert {"rank", "sets"} <= {term.code for term in terms}
    assert all(GYM[str(term.params["exercise"])] for term in terms if "exercise" in term.params)
