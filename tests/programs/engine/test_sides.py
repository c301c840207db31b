"""Left against right: the figure, and when it is more than a day's noise."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine.sides import SideSession, SideSet, side_session, steadily_stronger

DAY = date(2026, 3, 2)


def session(left, right, days=0):
    return SideSession(DAY + timedelta(days=days), left, right)


def test_the_share_is_of_the_stronger_side():
    row = side_session(DAY, [SideSet("left", 8, 24), SideSet("right", 8, 20)])
    assert (round(100 * row.share, 1), row.stronger) == (16.7, "left")
    assert side_session(DAY, [SideSet("left", 8), SideSet("right", 10)]).share == pytest.approx(0.2)
    assert session(0, 0).share == 0


@pytest.mark.parametrize(
    "sets", [[], [SideSet("left", 8)], [SideSet("left", 8), SideSet("left", 8), SideSet("right", 9)]]
)
def test_sides_that_did_not_do_alike_are_not_compared(sets):
    assert side_session(DAY, sets) is None


def test_one_session_is_noise_and_three_in_one_direction_are_not():
    assert steadily_stronger([session(24, 20)]) == ""
    assert steadily_stronger([session(24, 20, days) for days in (0, 7)]) == ""
    assert steadily_stronger([session(24, 20, days) for days in (0, 7, 14)]) == "left"
    assert steadily_stronger([session(24, 20), session(20, 24, 7), session(24, 20, 14)]) == ""
    assert steadily_stronger([session(24, 20), session(24, 23, 7), session(24, 20, 14)]) == ""
    assert steadily_stronger([session(24, 24, days) for days in (0, 7, 14)]) == ""


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30), st.integers(0, 60)), max_size=6), st.randoms())
def test_the_order_of_arrival_never_matters_and_mirrored_sides_mirror_the_answer(rows, shuffler):
    rows = list({days: (left, right, days) for left, right, days in rows}.values())
    sessions = [session(*row) for row in rows]
    mirrored = [session(right, left, days) for left, right, days in rows]
    other = {"left": "right", "right": "left", "": ""}
    assert steadily_stronger(mirrored) == other[steadily_stronger(sessions)]
    shuffler.shuffle(sessions)
    assert steadily_stronger(sessions) == other[steadily_stronger(mirrored)]
