"""Another week against the present one, in words."""

from dataclasses import replace

import pytest

from clients.board.weighed import weighed
from programs.engine.compose import compose
from tests.programs.engine.compose_weeks import gym_week

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def week():
    request = gym_week()
    return request, compose(request, proven=False).picks


def test_the_same_week_is_as_good(week):
    request, picks = week
    said = weighed(request, picks, picks)
    assert (said.verdict, said.better, said.worse) == ("By your rules both weeks are equally good.", [], [])


def test_less_of_everything_is_told_as_what_keeping_it_costs(week):
    request, picks = week
    thin = tuple(replace(pick, sets=1) for pick in picks)
    said = weighed(request, thin, picks)
    assert "keeping the week as it stands costs" in said.verdict
    assert "the weekly sets lie closer to their ranges" in said.better
    other = weighed(request, picks, thin)
    assert other.verdict == "By your rules the week as it stands is the better one."
    assert "the weekly sets lie further from their ranges" in other.worse


def test_a_week_beyond_its_minutes_is_never_called_better(week):
    request, picks = week
    long = tuple(replace(pick, sets=8) for pick in picks)
    capped = replace(request, minutes_cap=60.0)
    said = weighed(capped, long, compose(capped, proven=False).picks)
    assert "goes beyond a session’s limits" in said.verdict
    assert said.better[0] == "sessions keep to their minutes and sets"
