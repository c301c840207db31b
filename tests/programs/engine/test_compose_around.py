"""What else moves when a coach changes one pick: nothing for little, and never what they chose."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from programs.engine.compose import alternatives, compose, evaluate, solver
from programs.engine.compose.around import set_right
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.problem import build
from programs.engine.compose.week import neighbourhood, settled_picks
from programs.engine.terms import Pick
from tests.programs.engine.compose_weeks import broken_limits, gym_week, random_request

needs_solver = pytest.mark.skipif(not solver.available(), reason="needs the solver")


def by_place(picks):
    return {(pick.slot, pick.occurrence): pick for pick in picks}


def what(picks):
    return {place: (pick.exercise, pick.sets) for place, pick in by_place(picks).items()}


def put(picks, changes):
    return tuple((by_place(picks) | by_place(changes)).values())


def moved(before, after, apart=()):
    old, new = what(before), what(after)
    return {place for place in old | new if place not in apart and old.get(place) != new.get(place)}


@pytest.fixture(scope="module")
def week():
    request = gym_week()
    return request, compose(request).picks


@needs_solver
def test_a_composed_week_stays_as_it_is(week):
    request, picks = week
    for pick in picks[:4]:
        assert what(set_right(request, picks, [(pick.slot, pick.occurrence)])) == what(picks)


@needs_solver
def test_most_swaps_move_nothing_else_and_the_choice_stands(week):
    request, picks = week
    swaps, still = 0, 0
    for pick in picks:
        place = (pick.slot, pick.occurrence)
        ways = [way for way in alternatives(request, picks, *place).ranked if way.swaps_with is None]
        if not ways:
            continue
        swaps, way = swaps + 1, ways[0]
        wished = put(picks, way.picks)
        settled = set_right(request, wished, [place])
        assert what(settled)[place] == (way.exercise, way.sets)
        still += not moved(wished, settled)
        saved = evaluate(request, wished).total - evaluate(request, settled).total
        assert saved >= request.weights.stay * len(moved(wished, settled))
    assert swaps > 5 and still >= 0.8 * swaps


@needs_solver
def test_what_is_released_is_the_best_again(week):
    request, picks = week
    for pick in picks[:4]:
        place = (pick.slot, pick.occurrence)
        way = alternatives(request, picks, *place).ranked[-1]
        settled = set_right(request, put(picks, way.picks), (), [place])
        assert evaluate(request, settled).total <= evaluate(request, picks).total + request.weights.stay


@needs_solver
def test_a_place_that_was_left_out_stays_empty(week):
    request, picks = week
    gone = picks[0]
    pins = (Pick(gone.slot, gone.occurrence, "", 0, (), True),)
    settled = set_right(replace(request, pins=pins), picks[1:], [(gone.slot, gone.occurrence)])
    assert (gone.slot, gone.occurrence) not in by_place(settled)
    assert by_place(settled).keys() == by_place(picks[1:]).keys()


@needs_solver
@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 99), st.integers(0, 99))
def test_limits_that_held_still_hold_and_only_neighbours_change_exercise(seed, which, other):
    request = random_request(seed)
    picks = compose(request).picks
    assume(picks)
    pick = picks[which % len(picks)]
    place = (pick.slot, pick.occurrence)
    ways = alternatives(request, picks, *place).ranked
    assume(ways and not pick.pinned)
    wished = put(picks, ways[other % len(ways)].picks)
    assume(not broken_limits(request, wished))
    settled = set_right(request, wished, [place])
    assert not broken_limits(request, settled)
    assert what(settled)[place] == what(wished)[place]
    assert evaluate(request, settled).total <= evaluate(request, wished).total
    assert what(settled).keys() >= what(wished).keys()


def test_without_the_solver_nothing_else_moves(week, monkeypatch):
    request, picks = week
    monkeypatch.setattr("programs.engine.compose.solver.available", lambda: False)
    fewer = put(picks, [replace(picks[0], sets=1)])
    assert what(set_right(request, fewer, [(picks[0].slot, picks[0].occurrence)])) == what(fewer)


@needs_solver
@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 2**16))
def test_whether_gaps_are_expected_changes_nothing_of_the_answer(seed):
    problem = build(random_request(seed), most_options=None)
    plain, expecting = solver.optimum(problem), solver.optimum(problem, gaps=True)
    assert (plain and plain.chosen) == (expecting and expecting.chosen)


@needs_solver
@settings(deadline=None, max_examples=30)
@given(seed=st.integers(0, 2**16), which=st.integers(0, 50))
def test_away_from_the_change_nothing_is_filled_or_emptied_and_no_exercise_changes(seed, which):
    request = random_request(seed)
    week = what(compose(request).picks)
    assume(week)
    place = sorted(week)[which % len(week)]
    left_out = {pin.slot for pin in request.pins}
    rest = [pick for pick in compose(request).picks if (pick.slot, pick.occurrence) != sorted(week)[-1]]
    found, _proof = settled_picks(Rules.of(request), rest, [place])
    near = neighbourhood(request, [place])
    before = {at: exercise for at, (exercise, _sets) in what(rest).items() if at not in near and at[0] not in left_out}
    after = {at: exercise for at, (exercise, _sets) in what(found).items() if at not in near and at[0] not in left_out}
    assert after == before
