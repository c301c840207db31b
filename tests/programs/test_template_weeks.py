"""A seeded fiftieth of all weeks that the templates can be asked for: every level, four places, three caps.

The whole sweep is the benchmark "compose".
"""

from dataclasses import replace
from random import Random

import pytest

from programs.engine.compose import compose, evaluate, given_up, ways_out
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.solver.rows import LINEARIZATION, Rows
from programs.engine.compose.week import settled_picks
from programs.engine.terms import Pick
from programs.engine.vocabulary import EXPERIENCES
from programs.seeding import outline_entries
from tests.programs.engine.compose_weeks import broken_limits
from tests.programs.seed_outline_weeks import asked

PLACES = ("", "strength-room", "home-dumbbells", "hotel-gym")
CAPS = (None, 60, 40)
EVERY = [
    (key, level, place, cap)
    for key in sorted(outline_entries())
    for level in EXPERIENCES
    for place in PLACES
    for cap in CAPS
]
FIFTIETH = Random(50).sample(EVERY, len(EVERY) // 50 + 1)


def request_of(key, level, place, cap):
    return replace(asked(key, level, place), minutes_cap=cap)


@pytest.mark.parametrize(("key", "level", "place", "cap"), FIFTIETH)
def test_a_templates_week_is_the_best_there_is_and_says_what_would_make_it_whole(key, level, place, cap):
    request = request_of(key, level, place, cap)
    week = compose(request)
    assert broken_limits(request, week.picks) == []
    assert week.cost == evaluate(request, week.picks).total
    assert week.cost <= compose(request, proven=False).cost
    # The hardest weeks may meet the solver's limit; what they are off by is then told.
    assert week.proof.kind == "proven" or 0 < week.proof.off_by <= 100
    ways = ways_out(request)
    assert bool(ways) == bool(week.unfilled)
    if ways:
        freed = given_up(request, ways[0].steps)
        left = {why.code for empty in compose(freed, proven=False).unfilled for why in empty.reasons}
        assert left <= {"slot.kept_empty"} or ways_out(freed) == ()


def test_a_swap_moves_little_else():
    request = request_of("upper-lower-four-days", "intermediate", "", 60)
    week = compose(request)
    wanted = next(pick for pick in week.picks if pick.slot == "upper-flat-press" and pick.occurrence == 0)
    other = Pick(wanted.slot, 0, "machine-chest-press", 0, (), True)
    rest = [pick for pick in week.picks if pick is not wanted]
    pinned = replace(request, pins=(other,))
    settled, proof = settled_picks(Rules.of(pinned), [*rest, other], [(wanted.slot, 0)])
    assert proof.kind == "settled"
    at = {(pick.slot, pick.occurrence): pick.exercise for pick in settled}
    assert at[wanted.slot, 0] == "machine-chest-press"
    moved = [pick for pick in rest if at[pick.slot, pick.occurrence] != pick.exercise]
    assert len(moved) <= 2
    # Nothing moves in the sessions and slots that the swap does not touch.
    assert all(pick.slot == wanted.slot or (pick.slot.startswith("upper") and pick.occurrence == 0) for pick in moved)
    assert broken_limits(pinned, settled) == []


def test_the_solver_is_asked_the_same_way_everywhere():
    """One worker, a fixed seed, no clock: without these the answer would depend on the machine."""
    from ortools.sat.python import cp_model

    rows = Rows.__new__(Rows)
    rows.cp = cp_model
    parameters = rows.solver(1.5).parameters
    assert (parameters.num_workers, parameters.linearization_level, LINEARIZATION) == (1, 2, 2)
    assert parameters.max_deterministic_time == 1.5
    assert parameters.random_seed
    assert parameters.max_time_in_seconds == cp_model.CpSolver().parameters.max_time_in_seconds
