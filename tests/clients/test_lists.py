"""Clients whose days nobody knows ahead: the week's list, ranked; enough for a week; what was not needed lapses."""

from datetime import timedelta

import pytest
from django.urls import reverse

from clients.clock import today_for
from clients.models import TrainingSession
from clients.reads.desk_people import Near, Person, Running
from clients.reads.lists import listed_week
from clients.reads.people import attendance_of
from clients.reads.phone import week_of
from clients.services import blocks
from clients.services.proposing import refresh
from tests.clients.weeks import draft_for, small_week

pytestmark = pytest.mark.django_db
State = TrainingSession.State


@pytest.fixture
def ben(ben):
    ben.order_mode, ben.days, ben.week_minimum = "list", [], 2
    ben.save()
    return ben


@pytest.fixture
def block(ana, ben):
    """Six sessions a week; the last week is over since yesterday."""
    week = small_week(ben)
    week.outline.order = ["full"] * 6
    week.outline.save()
    draft, _week = draft_for(ben, ana, week, starts_on=today_for(ben) - timedelta(days=7), deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, ana)


def train(session, day):
    session.state, session.trained_on = State.TRAINED, day
    session.save()


def states(block, cycle):
    return list(block.sessions.filter(cycle=cycle).order_by("position").values_list("state", flat=True))


def test_two_done_of_six_are_a_complete_week_and_the_rest_lapses_without_a_mark(ana, ben, block):
    today = today_for(ben)
    for session in block.sessions.filter(cycle=1)[:2]:
        train(session, today - timedelta(days=3))
    refresh(ben)
    assert states(block, 1) == ["trained"] * 2 + ["dropped"] * 4
    assert states(block, 2) == ["planned"] * 6
    found = attendance_of([ben.pk], today)[ben.pk]
    assert (found.done, found.due) == (2, 2)


def test_what_the_minimum_lacks_is_missed_and_no_more(ana, ben, block):
    train(block.sessions.filter(cycle=1)[3], today_for(ben) - timedelta(days=3))
    refresh(ben)
    assert sorted(states(block, 1)) == ["dropped"] * 4 + ["missed", "trained"]


def test_before_anything_is_settled_the_list_of_clients_counts_alike(ben, block):
    today = today_for(ben)
    train(block.sessions.filter(cycle=1)[0], today - timedelta(days=3))
    found = attendance_of([ben.pk], today)[ben.pk]
    assert (found.done, found.due) == (1, 2)


def test_without_a_minimum_everything_stays_open(ben, block):
    ben.week_minimum = None
    ben.save()
    refresh(ben)
    assert states(block, 1) == ["planned"] * 6
    assert listed_week(ben, today_for(ben)).enough is False


def test_on_the_desk_nothing_is_behind_once_the_week_had_enough(ben, block):
    today = today_for(ben)
    rows = list(block.sessions.filter(cycle=1).order_by("position"))
    running = Running(ben.pk, 1, block.starts_on, block.weeks, 7)

    def person(done):
        near = [
            Near(row.pk, ben.pk, row.name, None, "trained" if at < done else "planned", None, 1, False)
            for at, row in enumerate(rows)
        ]
        return Person(ben, today, None, sessions=near, block=running)

    assert person(2).overdue == []
    assert len(person(1).overdue) == 5


def test_clients_with_days_have_no_list(ana, ben, block):
    ben.order_mode = "fixed"
    ben.save()
    assert listed_week(ben, today_for(ben)) is None
    refresh(ben)
    assert states(block, 1) == ["planned"] * 6


def test_a_session_that_was_given_a_date_stays_in_the_list_and_a_week_of_dates_is_none(ben, block):
    today = today_for(ben)
    one = block.sessions.filter(cycle=2).first()
    one.planned_on = today
    train(one, today)
    found = listed_week(ben, today)
    assert found.sessions[0] == one and (found.ranked.done, len(found.sessions)) == (1, 6)
    block.sessions.filter(cycle=2).update(planned_on=today)
    assert listed_week(ben, today) is None


def test_the_phone_shows_this_weeks_list_in_its_order_and_says_what_is_enough(as_ben, ben, block):
    today = today_for(ben)
    week = week_of(ben, today)
    assert week.listed.cycle == 2 and week.first.session == week.listed.sessions[0]
    assert [entry.session for entry in week.others] == list(week.listed.sessions[1:])
    assert "0 of 2 sessions that make this week complete" in as_ben.get(reverse("today")).content.decode()
    for session in week.listed.sessions[:2]:
        train(session, today)
    page = as_ben.get(reverse("today")).content.decode()
    assert "2 sessions done: this week is complete. What is left is extra." in page


def test_the_calendar_shows_the_list_with_the_next_one_and_what_is_extra(as_ana, ben, block):
    page = as_ana.get(reverse("client-calendar", args=[ben.public_id])).content.decode()
    assert "On any days, week 2" in page and "0 of 2 that are enough" in page
    assert page.count("extra, lapses with the week") == 4 and page.count("<b>next</b>") == 1


def test_the_list_costs_the_same_however_long_it_is(ben, block, django_assert_max_num_queries):
    with django_assert_max_num_queries(9):
        assert len(listed_week(ben, today_for(ben)).sessions) == 6
