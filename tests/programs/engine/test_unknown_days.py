from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.compose.mix import WEEKLY_PATTERNS
from programs.engine.unknown_days import Content, week_list

PUSHES = frozenset(("horizontal_push", "vertical_or_incline_push"))
PULLS = frozenset(("horizontal_pull", "vertical_pull"))
LEGS = frozenset(("squat_or_lunge", "hinge_or_bridge", "knee_flexion"))


def six_sessions():
    """A week of six: two pairs of halves and two small ones, told in an order that would leave the legs out."""
    return [
        Content("push A", {"chest": 6, "shoulders": 4}, PUSHES),
        Content("pull A", {"lats": 6, "upper_back": 4}, PULLS),
        Content("arms", {"elbow_flexors": 6, "triceps": 6}, frozenset()),
        Content("upper", {"chest": 5, "lats": 5, "shoulders": 3, "upper_back": 3}, PUSHES | PULLS),
        Content("lower", {"quads": 6, "hamstrings": 6, "trunk": 3}, LEGS | {"trunk"}),
        Content("calves", {"calves": 8}, frozenset()),
    ]


LEAST = {"chest": 4, "lats": 4, "shoulders": 3, "upper_back": 3, "quads": 4, "hamstrings": 4}


def test_a_week_of_unknown_days_begins_with_the_two_that_cover_every_kind_of_movement():
    found = week_list(six_sessions(), 2, LEAST, kinds=WEEKLY_PATTERNS)
    assert found.order[:2] == ("upper", "lower")
    assert found.after[2].whole
    assert not found.after[1].whole


def test_two_done_of_six_are_a_complete_week_where_two_are_the_minimum():
    found = week_list(six_sessions(), 2, LEAST, done=("lower", "upper"))
    assert (found.complete, found.to_go, found.done) == (True, 0, 2)
    assert found.order[:2] == ("lower", "upper")
    assert found.next == "push A"
    once = week_list(six_sessions(), 2, LEAST, done=("arms",))
    assert (once.complete, once.to_go) == (False, 1)


def test_what_was_done_first_decides_what_is_done_next():
    """Whoever began with the pull gets the push and the legs next, not the pull once more."""
    found = week_list(six_sessions(), 3, LEAST, done=("pull A",))
    assert set(found.order[1:3]) == {"push A", "lower"}
    assert found.after[3].whole


def test_all_done_leaves_nothing_next_and_a_minimum_stays_within_the_week():
    keys = [one.key for one in six_sessions()]
    found = week_list(six_sessions(), 9, LEAST, done=keys)
    assert (found.next, found.minimum, found.complete) == (None, 6, True)
    assert week_list(six_sessions(), 0, LEAST).minimum == 1


@pytest.mark.parametrize("count", range(1, 7))
def test_the_minimum_is_chosen_together_and_not_one_by_one(count):
    """No other choice of so many sessions leaves fewer kinds out, or as few and less of the groups' least."""
    sessions = six_sessions()
    found = week_list(sessions, count, LEAST, kinds=WEEKLY_PATTERNS)

    def left(some):
        missing = set(WEEKLY_PATTERNS) - {kind for one in some for kind in one.kinds}
        short = sum(max(0, 1 - sum(one.counted.get(g, 0) for one in some) / least) for g, least in LEAST.items())
        return len(missing), round(short, 9)

    mine = [one for one in sessions if one.key in found.order[:count]]
    assert left(mine) == min(left(some) for some in combinations(sessions, count))


@given(
    doses=st.lists(
        st.dictionaries(st.sampled_from(["chest", "quads", "lats"]), st.integers(1, 6)), min_size=1, max_size=6
    ),
    minimum=st.integers(0, 7),
    done=st.lists(st.integers(0, 7), max_size=4),
)
def test_every_session_stands_in_the_list_once_and_more_sessions_never_leave_more_open(doses, minimum, done):
    sessions = [Content(str(index), dose) for index, dose in enumerate(doses)]
    found = week_list(sessions, minimum, {"chest": 4, "quads": 4}, done=[str(index) for index in done])
    assert sorted(found.order) == sorted(one.key for one in sessions)
    short = [sum(after.short.values()) for after in found.after]
    assert short == sorted(short, reverse=True)
