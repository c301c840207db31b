"""A week as recovery sees it, whoever put it together."""

from dataclasses import replace

import pytest

from programs.engine.calendar import SHARED_SETS, shared_groups
from programs.engine.compose import assess
from programs.engine.compose.recovering import session_loads
from programs.engine.terms import Pick
from tests.programs.engine.compose_weeks import GYM, WeekRequest, day_type, slot

PRESS = slot("press", "pec_stern", "main", rir=2)
CURL = slot("curl", "biceps", rir=1)
DAY = day_type(PRESS, CURL, occurrences=2)
REQUEST = WeekRequest(day_types=(DAY,), library=GYM)
PICKS = (Pick("press", 0, "bar-press", 4), Pick("curl", 0, "bell-curl", 2), Pick("press", 1, "bell-press", 3))


def test_each_session_says_what_it_gives_and_how_hard_it_is():
    first, second = session_loads(REQUEST, PICKS, ["day", "day"])
    assert (first.key, second.key) == ("day:0", "day:1")
    assert (first.counted["chest"], first.direct["chest"], first.counted["triceps"], first.direct["triceps"]) == (
        4,
        4,
        2,
        0,
    )
    assert (first.rir, second.rir) == (1, 2)
    assert first.minutes > second.minutes > 0
    assert shared_groups(first, second) == ("chest",) and second.counted["triceps"] < SHARED_SETS


def test_the_audit_of_the_same_picks_may_be_handed_over():
    assert session_loads(REQUEST, PICKS, ["day", "day"], assess(REQUEST, PICKS)) == session_loads(
        REQUEST, PICKS, ["day", "day"]
    )


@pytest.mark.parametrize(
    ("changes", "careful"),
    [({"experience": "novice"}, True), ({"age": 60}, True), ({"age": 59}, False), ({}, False)],
)
def test_novices_and_older_people_recover_with_care(changes, careful):
    assert session_loads(replace(REQUEST, **changes), PICKS, ["day"])[0].careful is careful


def test_what_is_not_known_any_more_is_left_out_and_an_empty_session_loads_nothing():
    gone = (*PICKS, Pick("gone", 1, "bar-press", 9), Pick("curl", 1, "nowhere", 9))
    assert session_loads(REQUEST, gone, ["day", "day"]) == session_loads(REQUEST, PICKS, ["day", "day"])
    [_first, empty] = session_loads(REQUEST, PICKS[:2], ["day", "day"])
    assert not any(empty.counted.values()) and empty.rir is None
