"""Steering a block: what moves, what is added and left out, and what never does."""

import time
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from programs.engine import steering
from programs.engine.steering import ASIDE, DONE, LEFT_OUT, OPEN, Running, Standing, Steered
from programs.engine.terms import Because

MONDAY = date(2026, 3, 2)
WEEK = timedelta(days=7)


def block(weeks=6, days=(0, 3), *, done=0, easier=(), cycle_days=7, dated=True, **changes):
    """``done`` sessions from the start were trained."""
    rows = [
        Standing(
            f"{number}.{position}",
            f"full:{position}",
            number,
            position,
            MONDAY + timedelta(days=cycle_days * (number - 1) + day) if dated else None,
            easy=number in easier,
        )
        for number in range(1, weeks * 7 // cycle_days + 1)
        for position, day in enumerate(days)
    ]
    rows = [Standing(**{**_fields(row), "state": DONE}) if index < done else row for index, row in enumerate(rows)]
    return Running(MONDAY, weeks, cycle_days, tuple(easier), tuple(rows), **changes)


def _fields(row):
    return {name: getattr(row, name) for name in Standing.__slots__}


def with_state(running, key, state, **changes):
    rows = tuple(
        Standing(**{**_fields(row), "state": state, **changes}) if row.key == key else row for row in running.sessions
    )
    return Running(running.starts_on, running.weeks, running.cycle_days, running.easier, rows)


def then(running, steered):
    """The sessions that count afterwards, in the order of their rounds."""
    rows = steering.after(running, steered.moves, steered.copies, steered.left_out)
    return sorted((row for row in rows if row.state != LEFT_OUT), key=lambda row: (row.round, row.position))


def days(rows):
    return [(row.day - MONDAY).days for row in rows]


def test_a_shift_moves_what_is_to_come_and_the_end_by_as_much():
    running = block(3, done=2)
    found = steering.shift(running, 7, MONDAY + WEEK)
    assert days(then(running, found)) == [0, 3, 14, 17, 21, 24]
    assert (found.days_later, found.weeks, found.starts_on) == (7, 4, MONDAY)
    back = steering.shift(running, -2, MONDAY + timedelta(days=5))
    assert days(then(running, back)) == [0, 3, 5, 8, 12, 15]


def test_a_block_that_has_not_begun_begins_later():
    running = block(3, easier=(3,))
    found = steering.shift(running, 5, MONDAY)
    assert (found.starts_on, found.weeks, found.easier) == (MONDAY + timedelta(days=5), 3, (3,))
    assert days(then(running, found)) == [5, 8, 12, 15, 19, 22]


def test_no_shift_onto_a_day_that_is_taken_or_before_its_own_start():
    running = block(3, done=2)
    assert steering.shift(running, 1, MONDAY + WEEK, taken=[MONDAY + timedelta(days=8)]).code == "steer.day_taken"
    assert steering.shift(running, -3, MONDAY + WEEK).code == "steer.too_early"
    assert steering.shift(running, 7, MONDAY + 9 * WEEK).code == "steer.nothing_left"
    assert steering.shift(running, 26 * 7, MONDAY).code == "steer.too_long"


def test_sessions_without_dates_move_by_whole_rounds():
    running = block(4, done=3, dated=False, easier=(3,))
    since = MONDAY + WEEK
    assert steering.shift(running, 3, since).code == "steer.whole_rounds"
    found = steering.shift(running, 14, since)
    assert [row.round for row in then(running, found)] == [1, 1, 2, 4, 5, 5, 6, 6]
    assert (found.easier, found.weeks, found.days_later) == ((5,), 6, 14)
    assert steering.shift(running, -7, since).code == "steer.round_taken"


def test_a_week_again_comes_right_behind_it_and_the_rest_moves_along():
    running = block(4, done=4, easier=(4,))
    found = steering.again(running, 2, MONDAY + 2 * WEEK)
    assert [(one.source, one.round, (one.day - MONDAY).days) for one in found.copies] == [
        ("2.0", 3, 14),
        ("2.1", 3, 17),
    ]
    assert days(then(running, found)) == [0, 3, 7, 10, 14, 17, 21, 24, 28, 31]
    assert (found.easier, found.weeks, found.days_later) == ((5,), 5, 7)


def test_a_week_that_others_were_begun_after_comes_again_as_soon_as_it_can():
    running = block(4, done=5)
    found = steering.again(running, 1, MONDAY + 2 * WEEK)
    assert {one.round for one in found.copies} == {4}
    last = steering.again(block(4, done=8), 4, MONDAY + 4 * WEEK)
    assert [one.round for one in last.copies] == [5, 5] and not last.moves and last.days_later == 7


def test_an_inserted_week_is_as_its_model_or_easier():
    running = block(4, done=2, easier=(4,))
    usual = steering.insert(running, 1, 2, MONDAY + WEEK, easy=False)
    assert usual.easier == (5,) and not any(one.easy for one in usual.copies)
    easier = steering.insert(running, 1, 3, MONDAY + WEEK, easy=True)
    assert easier.easier == (3, 5) and all(one.easy for one in easier.copies)
    again = steering.again(running, 4, MONDAY + WEEK)
    assert again.easier == (4, 5)


def test_nothing_is_put_in_ahead_of_what_was_trained_or_into_the_past():
    running = block(4, done=3)
    assert steering.insert(running, 1, 2, MONDAY).code == "steer.begun"
    assert steering.insert(running, 1, 3, MONDAY + 3 * WEEK).code == "steer.past"
    assert steering.insert(running, 9, 3, MONDAY).code == "steer.no_such_round"
    assert steering.insert(running, 1, 6, MONDAY).code == "steer.no_such_round"
    missed = with_state(running, "3.0", ASIDE)
    assert steering.insert(missed, 1, 3, MONDAY).code == "steer.begun"


def test_a_dropped_week_leaves_its_days_empty_or_draws_the_rest_forward():
    running = block(4, done=2, easier=(2, 4))
    stays = steering.drop(running, 2, MONDAY, forward=False)
    assert days(then(running, stays)) == [0, 3, 14, 17, 21, 24]
    assert (stays.easier, stays.weeks, stays.days_later, stays.moves) == ((4,), 4, 0, ())
    forward = steering.drop(running, 2, MONDAY, forward=True)
    assert days(then(running, forward)) == [0, 3, 7, 10, 14, 17]
    assert (forward.easier, forward.weeks, forward.days_later) == ((3,), 3, -7)
    assert [row.round for row in then(running, forward)] == [1, 1, 2, 2, 3, 3]


def test_of_a_week_that_was_begun_only_the_rest_is_left_out():
    running = block(4, done=3)
    assert steering.drop(running, 2, MONDAY, forward=True).code == "steer.begun"
    assert steering.drop(running, 2, MONDAY, forward=False).left_out == ("2.1",)
    assert steering.drop(running, 1, MONDAY, forward=False).code == "steer.no_such_round"


def test_the_rest_of_a_week_or_the_next_one_is_eased():
    running = block(4, done=3, easier=(4,))
    assert steering.ease(running, 2).eased == ("2.1",)
    found = steering.ease(running, 3)
    assert (found.eased, found.easier, found.days_later) == (("3.0", "3.1"), (3, 4), 0)
    assert steering.ease(running, 4).code == "steer.easy_already"
    assert steering.ease(running, 1).code == "steer.no_such_round"


def test_an_early_end_leaves_the_rest_out():
    running = block(4, done=3, easier=(4,))
    found = steering.end(running, MONDAY + timedelta(days=8))
    assert found.left_out == ("2.1", "3.0", "3.1", "4.0", "4.1")
    assert (found.ended, found.end_after, found.weeks, found.easier) == (True, MONDAY + WEEK, 2, ())
    later = steering.end(running, MONDAY + 3 * WEEK)
    assert not later.ended and later.left_out == ("4.0", "4.1") and later.weeks == 3
    assert steering.end(block(1), MONDAY).end_after == MONDAY - timedelta(days=1)
    assert steering.end(block(1, done=2), MONDAY).ended


@pytest.mark.parametrize("cycle_days", [5, 8])
def test_a_rolling_cycle_moves_by_its_own_length(cycle_days):
    running = block(6, (0, 2), cycle_days=cycle_days, done=2)
    found = steering.insert(running, 1, 2, MONDAY, easy=True)
    assert found.days_later == cycle_days
    assert days(then(running, found))[:6] == [0, 2, cycle_days, cycle_days + 2, 2 * cycle_days, 2 * cycle_days + 2]
    assert steering.drop(running, 2, MONDAY, forward=True).days_later == -cycle_days


@pytest.mark.parametrize("zone", ["UTC", "America/New_York", "Pacific/Apia"])
def test_neither_clock_changes_nor_zones_move_a_day(zone, monkeypatch):
    """The clocks of New York go back on 1 November 2026; Apia is a day ahead of much of the world."""
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    start = date(2026, 10, 19)
    rows = tuple(
        Standing(f"{number}", "full:0", number + 1, 0, start + timedelta(days=7 * number)) for number in range(4)
    )
    found = steering.shift(Running(start, 4, 7, (), rows), 3, start)
    assert [one.day for one in found.moves] == [start + timedelta(days=7 * number + 3) for number in range(4)]
    monkeypatch.undo()
    time.tzset()


def test_a_session_without_such_a_state_is_no_session():
    with pytest.raises(ValueError, match="no such state"):
        Standing("1", "a:0", 1, 0, None, "asleep")


STATES_AHEAD = st.sampled_from([OPEN, OPEN, OPEN, ASIDE, LEFT_OUT])


@st.composite
def running_blocks(draw):
    """Blocks at any point: some sessions trained, some missed or left out, some on a day of their own."""
    cycle_days = draw(st.sampled_from([7, 7, 7, 4, 8, 10]))
    weeks = draw(st.integers(1, 8))
    offsets = sorted(draw(st.sets(st.integers(0, cycle_days - 1), min_size=1, max_size=4)))
    rounds = -(-weeks * 7 // cycle_days)
    dated = draw(st.booleans())
    easier = draw(st.sets(st.integers(1, rounds), max_size=2))
    places = [(number, position) for number in range(1, rounds + 1) for position in range(len(offsets))]
    done = draw(st.integers(0, len(places)))
    taken: set[date] = set()
    rows = []
    for index, (number, position) in enumerate(places):
        day = None
        if dated:
            day = MONDAY + timedelta(days=cycle_days * (number - 1) + offsets[position])
            if draw(st.integers(0, 9)) == 0:
                day = MONDAY + timedelta(days=draw(st.integers(-3, 60)))
            while day in taken:
                day += timedelta(days=1)
            taken.add(day)
        state = DONE if index < done else draw(STATES_AHEAD)
        rows.append(
            Standing(f"{number}.{position}", f"full:{position}", number, position, day, state, number in easier)
        )
    return Running(MONDAY, weeks, cycle_days, tuple(sorted(easier)), tuple(rows))


@st.composite
def acts(draw):
    """A block, an act on it, and the day before which nothing may be put."""
    running = draw(running_blocks())
    today = MONDAY + timedelta(days=draw(st.integers(-7, 60)))
    number = draw(st.integers(1, running.last_round + 1))
    other = draw(st.integers(1, running.last_round + 1))
    easy = draw(st.sampled_from([None, True, False]))
    found = draw(
        st.sampled_from(
            [
                lambda: steering.shift(running, draw(st.integers(-21, 21)), today),
                lambda: steering.insert(running, number, other, today, easy=easy),
                lambda: steering.again(running, number, today),
                lambda: steering.drop(running, number, today, forward=draw(st.booleans())),
                lambda: steering.ease(running, number),
                lambda: steering.end(running, today),
            ]
        )
    )()
    return running, found, today


@given(acts())
def test_whatever_is_done_nothing_trained_moves_and_no_two_sessions_meet(case):
    running, found, today = case
    if isinstance(found, Because):
        return
    was = {row.key: row for row in running.sessions}
    open_keys = {key for key, row in was.items() if row.state == OPEN}
    assert set(found.left_out) <= open_keys and set(found.eased) <= open_keys
    assert not any(was[one.key].state == DONE for one in found.moves)
    rows = then(running, found)
    taken = [row.day for row in rows if row.day is not None]
    assert len(taken) == len(set(taken))
    places = [(row.round, row.position) for row in steering.after(running, found.moves, found.copies, found.left_out)]
    assert len(places) == len(set(places)) and all(number >= 1 for number, _position in places)
    put = {one.key for one in found.moves if one.day != was[one.key].day}
    assert all(one.day is None or one.day >= today for one in found.copies)
    assert all(one.day is None or one.day >= today for one in found.moves if one.key in put)


@given(acts())
def test_a_block_holds_all_that_counts_and_its_numbers(case):
    running, found, _today = case
    if isinstance(found, Because):
        return
    assert 1 <= found.weeks <= steering.MOST_WEEKS
    rows = then(running, found)
    rounds = -(-found.weeks * 7 // running.cycle_days)
    if found.end_after != found.end_before:
        assert all(row.round <= rounds for row in rows)
        assert found.end_after <= found.starts_on + timedelta(days=7 * found.weeks - 1) or not rows
    assert list(found.easier) == sorted(set(found.easier))


@given(acts())
def test_moves_find_their_place_free_one_after_the_other_and_back(case):
    running, found, _today = case
    if not isinstance(found, Steered):
        return
    at = {row.key: (row.round, row.position) for row in running.sessions}
    before = dict(at)
    for one in found.moves:
        place = (one.round, at[one.key][1])
        assert place == at[one.key] or place not in at.values()
        at[one.key] = place
    assert not {(one.round, one.position) for one in found.copies} & set(at.values())
    for one in reversed(found.moves):
        place = before[one.key]
        assert place == at[one.key] or place not in at.values()
        at[one.key] = place
    assert at == before


@given(acts())
def test_the_order_of_what_is_still_to_come_stays(case):
    running, found, _today = case
    if not isinstance(found, Steered):
        return
    kept = [row.key for row in sorted(running.sessions, key=lambda row: (row.round, row.position))]
    kept = [key for key in kept if key not in found.left_out and row_of(running, key).state != LEFT_OUT]
    assert [row.key for row in then(running, found) if "+" not in row.key] == kept


def row_of(running, key):
    return next(row for row in running.sessions if row.key == key)


def test_a_round_that_was_left_out_is_not_in_the_way_of_sessions_without_dates():
    running = block(4, done=2, dated=False)
    for key in ("3.0", "3.1"):
        running = with_state(running, key, LEFT_OUT)
    found = steering.shift(running, 7, MONDAY + WEEK)
    assert [row.round for row in then(running, found)] == [1, 1, 3, 3, 5, 5]
    held = {(one.round, one.position) for one in running.sessions}
    was = {one.key: (one.round, one.position) for one in running.sessions}
    for move in found.moves:
        held.remove(was[move.key])
        assert (move.round, was[move.key][1]) not in held
        held.add((move.round, was[move.key][1]))


def test_a_week_whose_easy_sessions_are_left_out_is_no_easier_week():
    """Its first session was trained as usual, before a deload was made of the rest."""
    running = with_state(block(4, done=1, easier=(4,)), "1.1", OPEN, easy=True)
    running = Running(running.starts_on, running.weeks, running.cycle_days, (1, 4), running.sessions)
    assert steering.drop(running, 1, MONDAY, forward=False).easier == (4,)
    assert steering.end(running, MONDAY + timedelta(days=1)).easier == ()
    assert steering.drop(running, 3, MONDAY, forward=False).easier == (1, 4)


def test_a_block_that_is_too_long_already_may_be_made_shorter_but_no_longer():
    """As one whose missed sessions were done next: its weeks say less than its last session."""
    rows = tuple(Standing(**{**_fields(row), "day": row.day + 4 * WEEK}) for row in block(26).sessions)
    running = Running(MONDAY, 26, 7, (), rows)
    assert steering.drop(running, 26, MONDAY, forward=True).days_later < 0
    assert steering.insert(running, 1, 27, MONDAY).code == "steer.too_long"
