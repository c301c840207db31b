"""What becomes of missed sessions: done next with all behind them moving along, or left as missed."""

import re
from datetime import timedelta
from itertools import pairwise

import pytest
from django.urls import reverse

from clients.models import Client, LoggedSet, SheetVersion, TrainingSession
from clients.reads.steering import Asked, plan
from clients.services import blocks, missed
from clients.services.sheets import issue_week
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from tests.clients.weeks import draft_for, small_week
from tests.factories import HealthAnswersFactory

pytestmark = pytest.mark.django_db
State = TrainingSession.State


def rolling_block(client, coach, starts_on, cycle_days=8, offsets=(0, 2, 4, 6)):
    week = small_week(client)
    week.outline.order, week.outline.cycle_days = ["full"] * len(offsets), cycle_days
    week.outline.offsets = list(offsets)
    week.outline.save()
    draft, _week = draft_for(client, coach, week, starts_on=starts_on, deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, coach)


def trained(session):
    session.state, session.trained_on = State.TRAINED, session.planned_on
    session.save()


def in_order(block):
    return list(block.sessions.to_train().order_by("cycle", "position"))


def days(block, start):
    return [(session.planned_on - start).days for session in in_order(block)]


def test_nothing_is_behind_before_a_day_is_over(ana, ben, today):
    assert missed.behind(ben) is None
    block = rolling_block(ben, ana, today)
    assert missed.behind(ben) is None
    block.sessions.filter(planned_on=today).update(planned_on=today - timedelta(days=1))
    assert [session.name for session in missed.behind(ben).sessions] == ["Full body A"]


def test_what_was_missed_comes_next_and_keeps_the_rhythm_of_the_cycle(ana, ben, today):
    start = today - timedelta(days=3)
    block = rolling_block(ben, ana, start)
    first, second, *_rest = in_order(block)
    trained(first)
    before = days(block, start)
    assert before == [0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26]
    found = missed.behind(ben)
    assert list(found.sessions) == [second]
    assert (found.end_before, found.end_after) == (start + timedelta(days=26), start + timedelta(days=28))
    count, _entry = missed.do_next(ben, ana, found.end_after)
    assert count == 1
    assert days(block, start) == [0, *before[2:], 28]
    block.refresh_from_db()
    assert block.last_day == start + timedelta(days=34)
    assert missed.behind(ben) is None


def test_uneven_cycles_go_on_in_their_own_pattern(ana, ben, today):
    start = today - timedelta(days=2)
    block = rolling_block(ben, ana, start, 5, (0, 1))
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    assert days(block, start) == [5, 6, 10, 11, 15, 16, 20, 21, 25, 26, 30, 31]


@pytest.mark.parametrize("cycle_days", [2, 3, 8, 10, 14])
def test_no_two_sessions_meet_and_none_lies_in_the_past(ana, ben, today, cycle_days):
    block = rolling_block(ben, ana, today - timedelta(days=9), cycle_days, (0,))
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    found = [session.planned_on for session in in_order(block)]
    assert found == sorted(set(found)) and found[0] >= today
    assert {(later - earlier).days % cycle_days for earlier, later in pairwise(found)} <= {0}


def test_the_last_session_finds_a_day_after_today_though_the_block_is_long_over(ana, ben, today):
    start = today - timedelta(days=60)
    block = rolling_block(ben, ana, start)
    *before, last = in_order(block)
    for session in before:
        trained(session)
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    last.refresh_from_db()
    assert today <= last.planned_on < today + timedelta(days=8)
    assert (last.planned_on - start).days % 8 in (0, 2, 4, 6)


def test_a_weekly_block_goes_by_its_weekdays(ana, ben, today):
    draft, _week = draft_for(ben, ana, starts_on=today - timedelta(days=7), deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    before = [session.planned_on for session in in_order(block)]
    late = sum(day < today for day in before)
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    after = [session.planned_on for session in in_order(block)]
    assert after[: len(before) - late] == before[late:]
    assert {day.weekday() for day in after} == {day.weekday() for day in before}


def test_sheets_that_are_out_are_superseded_and_undo_puts_all_back(ana, ben, today):
    HealthAnswersFactory(client=ben, answered_on=today)
    start = today - timedelta(days=1)
    block = rolling_block(ben, ana, start)
    issue_week(block, 1, ana)
    before, weeks = days(block, start), block.weeks
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    session = in_order(block)[0]
    assert session.versions.get(state=SheetVersion.State.ISSUED).document["session"]["planned_on"] == str(
        session.planned_on
    )
    journal.undo(JournalEntry.objects.filter(act="sessions.next").latest("pk"), ana)
    block.refresh_from_db()
    assert (days(block, start), block.weeks) == (before, weeks)


def test_the_longest_block_too_lasts_until_its_last_session_and_may_be_made_shorter(ana, ben, today):
    start = today - timedelta(days=21)
    draft, _week = draft_for(ben, ana, starts_on=start, weeks=26, deload_weeks=[])
    block = blocks.assign_block(draft, 1, ana)
    end = missed.behind(ben).end_after
    missed.do_next(ben, ana, end)
    block.refresh_from_db()
    assert end > start + timedelta(weeks=26) and block.last_day >= end
    shorter = plan(ben, Asked("drop", round=20, forward=True))
    assert shorter.steered.end_after < end
    assert plan(ben, Asked("again", round=1)).code == "steer.too_long"


def test_an_end_that_was_not_on_screen_changes_nothing(ana, ben, today):
    block = rolling_block(ben, ana, today - timedelta(days=1))
    before = days(block, today)
    with pytest.raises(missed.Otherwise):
        missed.do_next(ben, ana, today)
    assert days(block, today) == before
    assert not JournalEntry.objects.filter(act="sessions.next").exists()


# The page


def page(browser, client):
    body = browser.get(reverse("client-calendar", args=[client.public_id])).content.decode()
    return re.sub(r"\s+", " ", body)


def test_the_calendar_offers_both_ways_and_names_the_new_end(as_ana, ana, ben, today):
    ben.order_mode = Client.OrderMode.NEXT
    ben.save()
    block = rolling_block(ben, ana, today - timedelta(days=1))
    shown = page(as_ana, ben)
    assert "1 session is behind" in shown and "2 days later" in shown
    url = reverse("client-behind", args=[ben.public_id])
    answer = as_ana.post(url, {"way": "next", "end": missed.behind(ben).end_after.isoformat()}, follow=True)
    assert "1 missed session comes next" in answer.content.decode()
    assert in_order(block)[0].planned_on == today + timedelta(days=1)
    assert "is behind" not in page(as_ana, ben)


def test_what_was_left_as_missed_already_is_told_and_not_done_again(as_ana, ana, ben, today):
    rolling_block(ben, ana, today - timedelta(days=1))
    asked = {"way": "missed", "end": missed.behind(ben).end_after.isoformat()}
    url = reverse("client-behind", args=[ben.public_id])
    assert "1 session marked as missed" in as_ana.post(url, asked, follow=True).content.decode()
    again = as_ana.post(url, asked, follow=True).content.decode()
    assert "The sessions changed in between" in again and "0 sessions" not in again
    assert JournalEntry.objects.filter(act="sessions.missed").count() == 1


@pytest.mark.parametrize("weeks", [4, 12])
def test_doing_next_costs_the_same_however_much_is_to_come(ana, ben, today, weeks, django_assert_num_queries):
    draft, _week = draft_for(ben, ana, starts_on=today - timedelta(days=7), weeks=weeks, deload_weeks=[])
    blocks.assign_block(draft, 1, ana)
    end = missed.behind(ben).end_after
    with django_assert_num_queries(14):
        missed.do_next(ben, ana, end)


def test_left_as_missed_nothing_else_moves(as_ana, ana, ben, today):
    block = rolling_block(ben, ana, today - timedelta(days=1))
    before, end = days(block, today), missed.behind(ben).end_after
    as_ana.post(reverse("client-behind", args=[ben.public_id]), {"way": "missed", "end": end.isoformat()})
    assert in_order(block)[0].state == State.MISSED
    assert days(block, today) == before
    assert not LoggedSet.objects.exists()


def test_a_stale_page_is_told_so(as_ana, ana, ben, today):
    rolling_block(ben, ana, today - timedelta(days=1))
    url = reverse("client-behind", args=[ben.public_id])
    answer = as_ana.post(url, {"way": "next", "end": today.isoformat()}, follow=True)
    assert "The sessions changed in between." in answer.content.decode()
    assert as_ana.post(url, {"way": "stack", "end": today.isoformat()}).status_code == 404
