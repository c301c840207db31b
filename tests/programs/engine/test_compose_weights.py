"""Weights of a practice's own: what they are, and that the best week is the best by them whatever they are."""

from dataclasses import asdict, replace
from random import Random

import pytest

from programs.engine.compose import Weights, alternatives, compose, evaluate
from programs.engine.compose.evaluate import REPEAT, UNFILLED, Rules, Term, loss_of
from programs.engine.compose.ledger import Ledger
from programs.engine.compose.problem import build
from programs.engine.compose.week import settled_picks
from programs.engine.compose.weights import APART, DEFAULTS, HIGHEST, against, bounds
from programs.engine.terms import Pick, RegionShare
from tests.programs.engine.compose_weeks import (
    GYM,
    broken_limits,
    day_type,
    exercise,
    gym_week,
    least_cost,
    library,
    random_request,
    slot,
    upper_lower,
)

SEEDS = range(120)


def any_weights(seed):
    """Weights of every size, the ends of what they may be and nothing at all among them."""
    random = Random(f"weights {seed}")
    reach = random.choice((10, 60, HIGHEST))
    drawn = {}
    for name in DEFAULTS:
        low, high = bounds(name)
        drawn[name] = random.choice((low, min(high, reach), *(random.randint(low, min(high, reach)) for _ in range(4))))
    return Weights(**drawn)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_week_by_any_weights_is_found_and_proven(seed):
    """The solver and trying every week agree, whatever each rule weighs."""
    request = replace(random_request(seed), weights=any_weights(seed))
    week = compose(request)
    assert broken_limits(request, week.picks) == []
    assert week.cost == evaluate(request, week.picks).total == least_cost(request)
    assert week.proof.kind == "proven"


@pytest.mark.parametrize("seed", SEEDS[::4])
def test_the_quick_search_goes_by_the_same_weights(seed):
    request = replace(random_request(seed), weights=any_weights(seed))
    week = compose(request, proven=False)
    assert week.cost == evaluate(request, week.picks).total == least_cost(request)


@pytest.mark.parametrize("seed", SEEDS[::6])
def test_the_running_cost_is_that_of_the_rules_by_any_weights(seed):
    request = replace(gym_week(), weights=any_weights(seed))
    problem = build(request)
    ledger = Ledger(problem)
    week = compose(request, proven=False)
    held = {(pick.slot, pick.occurrence): pick for pick in week.picks}
    for place in problem.places:
        pick = held.get((place.slot.key, place.occurrence))
        if pick is not None:
            index = [option.exercise.key for option in place.options].index(pick.exercise)
            ledger.put(place.number, (index, pick.sets))
    assert ledger.cost // problem.scale == week.cost


def test_any_weights_differ_and_some_weeks_differ_by_them():
    assert len({any_weights(seed) for seed in SEEDS}) == len(SEEDS)
    requests = [random_request(seed) for seed in SEEDS]
    by_own = [compose(replace(r, weights=any_weights(seed)), proven=False).picks for seed, r in enumerate(requests)]
    by_usual = [compose(request, proven=False).picks for request in requests]
    assert sum(own != usual for own, usual in zip(by_own, by_usual, strict=True)) > len(SEEDS) // 4


# One small case a weight: the week (or the terms of one) that this weight alone decides.
PRESS = slot("press", "pec_stern", sets=(3, 3), candidates=("one", "two"))


def one_slot(*exercises, line=PRESS, **more):
    entries = exercises or (exercise("one"), exercise("two"))
    request = replace(gym_week(), day_types=(day_type(line),), library=library(*entries), ranges={}, **more)
    return replace(request, session_ceilings={})


def picked(request, **weights):
    return [pick.exercise for pick in compose(replace(request, weights=Weights(**weights))).picks]


def test_a_step_in_the_ranking_weighs_what_the_practice_says():
    request = one_slot(dislikes=frozenset({"one"}))
    assert picked(request) == ["two"]
    assert picked(request, disliked=7) == ["one"]
    assert picked(request, rank_step=41) == ["one"]


def test_a_merit_is_saved_and_nothing_weighs_nothing():
    request = one_slot(likes=frozenset({"two"}))
    assert picked(request) == ["two"]
    assert picked(request, liked=0) == ["one"]
    pick = Pick("press", 0, "two", 3)
    assert Term("liked", -33, {"slot": "press", "occurrence": 0, "exercise": "two"}) in (
        evaluate(replace(request, weights=Weights(liked=33)), [pick]).terms
    )


def test_dose_against_sets_near_the_usual():
    line = slot("press", "pec_stern", sets=(2, 4), candidates=("one",))
    request = replace(one_slot(exercise("one"), line=line), ranges={"chest": (4, 9)})
    assert compose(request).picks[0].sets == 4
    assert compose(replace(request, weights=Weights(set_away=25))).picks[0].sets == 3
    assert compose(replace(request, weights=Weights(under_quarter=0))).picks[0].sets == 3


def points(request, picks):
    """What a week costs, apart from what outweighs every weight."""
    return sum(term.amount for term in evaluate(request, picks).terms if term.code not in ("unfilled", "repeat"))


def test_every_weight_changes_what_some_week_costs():
    """No weight is there for show: a point more on it is charged somewhere."""
    requests = [
        *(random_request(seed) for seed in range(60)),
        *(gym_week(experience=level, skill_allowed="advanced") for level in ("novice", "advanced")),
        gym_week(priorities={"chest": "more"}),
    ]
    weeks = [(request, compose(request, proven=False).picks) for request in requests]
    weeks.append((gym_week(), [Pick("press", 0, "bar-press", 3), Pick("press", 1, "bell-press", 3)]))
    two_squats = replace(gym_week(), day_types=(day_type(slot("a", "vasti"), slot("b", "vasti"), key="day"),))
    weeks.append((two_squats, [Pick("a", 0, "bar-squat", 3), Pick("b", 0, "front-squat", 3)]))
    long = slot("long", "pec_stern", candidates=(*(f"filler-{n}" for n in range(8)), "bar-press"))
    ranked_late = replace(gym_week(), day_types=(day_type(long),))
    weeks.append((ranked_late, [Pick("long", 0, "bar-press", 3)]))
    long_fly = replace(exercise("fly", "chest_fly"), regions=(RegionShare("pec_stern", 1.0, True),))
    fly_slot = day_type(slot("fly", "pec_stern", reps=((20, 30),)))
    stretched = replace(gym_week(), library={**GYM, "fly": long_fly}, day_types=(fly_slot,))
    weeks.append((stretched, [Pick("fly", 0, "chest-fly", 3)]))
    weeks.append((gym_week(stalled=frozenset({"bar-press"})), [Pick("press", 0, "bar-press", 3)]))
    elsewhere = replace(
        gym_week(), day_types=(day_type(slot("a", "pec_stern"), slot("b", "pec_stern"), occurrences=2),)
    )
    weeks.append((elsewhere, [Pick("a", 0, "push-up", 3), Pick("b", 1, "push-up", 3)]))
    clash = replace(
        gym_week(),
        day_types=(day_type(slot("a", "pec_stern", superset="s"), slot("b", "pec_stern", superset="s")),),
    )
    weeks.append((clash, [Pick("a", 0, "chest-fly", 3), Pick("b", 0, "bar-press", 3)]))
    without = {
        name
        for name in DEFAULTS
        if all(
            points(request, picks) == points(replace(request, weights=Weights(**{name: DEFAULTS[name] + 1})), picks)
            for request, picks in weeks
        )
    }
    assert without == set(APART)


def test_settling_moves_others_only_for_more_than_staying_weighs():
    request = gym_week()
    week = compose(request)
    at = {(pick.slot, pick.occurrence): pick for pick in week.picks}
    swap = next(a for a in alternatives(request, week.picks, "squat", 0).ranked if not a.swaps_with)
    pinned = replace(request, pins=(Pick("squat", 0, swap.exercise, 0, pinned=True),))

    def moved(stay):
        rules = Rules.of(replace(pinned, weights=Weights(stay=stay)))
        settled, _proof = settled_picks(rules, week.picks, [("squat", 0)])
        return sum(
            at[pick.slot, pick.occurrence].exercise != pick.exercise
            for pick in settled
            if (pick.slot, pick.occurrence) != ("squat", 0)
        )

    assert moved(500) == 0
    assert moved(0) >= moved(20) >= moved(500)


def test_lost_slots_and_repeats_outweigh_the_heaviest_weights():
    heavy = Weights(**{name: bounds(name)[1] for name in DEFAULTS})
    request = replace(gym_week(), weights=heavy, priorities={"chest": "more", "quads": "more"})
    worst = sum(term.amount for term in evaluate(request, []).terms if term.code != "unfilled")
    assert min(loss_of(request).values()) == UNFILLED * heavy.reach > worst
    usual = replace(request, weights=Weights())
    costs = sum(term.amount for term in evaluate(usual, []).terms if term.code != "unfilled")
    assert worst <= heavy.reach * costs < heavy.reach * REPEAT
    assert {pick.slot for pick in compose(request).picks} == {line.key for day in upper_lower() for line in day.slots}


def test_a_practice_stores_only_what_differs():
    own = Weights.of({"rank_step": 12, "liked": 20, "gone": 3, "disliked": "40", "go_easy": True, "stalled": 501})
    assert own == Weights(rank_step=12)
    assert own.own == {"rank_step": 12}
    assert Weights().own == {}
    assert Weights.of(asdict(own)) == own
    assert Weights.of({"priority_factor": 0, "rank_steps": 21}) == Weights()


def test_how_far_weights_reach():
    assert Weights().reach == 1
    assert Weights(rank_step=0).reach == 1
    assert Weights(rank_step=9).reach == 2
    assert Weights(rank_step=16, rank_steps=12).reach == 4
    assert Weights(under_quarter=12, priority_factor=5).reach == 5


def test_weights_that_contradict_each_other_are_told():
    assert against(Weights()) == {}
    too_cheap = against(Weights(rank_step=10))["outside_ranking"]
    assert too_cheap.params == {"points": 56, "step": 10, "steps": 6, "least": 60}
    assert set(against(Weights(superset_clash=6))) == {"superset_clash"}
    assert against(Weights(superset_clash=7)) == {}
