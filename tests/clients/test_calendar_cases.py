"""What coaches meet in the calendar, each with its right answer: a session missed, a week missed, rounds that are no
weeks, days that become fewer, days that nobody knows."""

import re
from datetime import date, timedelta

import pytest
from django.core import serializers
from django.urls import reverse

from clients.models import Client, TargetSet, TrainingSession
from clients.reads.people import attendance_of
from clients.reads.review import Review
from clients.services import blocks, missed
from clients.services.proposing import refresh
from coachdesk.practice import journal
from tests.clients.weeks import draft_for
from tests.factories import LoggedSetFactory

pytestmark = pytest.mark.django_db
State = TrainingSession.State


def block_of(ana, ben, week, starts_on, offsets, *, weeks, cycle_days=7):
    """A block with a session on these days of each week, counted from the day that it starts on."""
    week.outline.order = ["full"] * len(offsets)
    if cycle_days != 7:
        week.outline.cycle_days, week.outline.offsets = cycle_days, list(offsets)
    week.outline.save()
    ben.days = sorted((starts_on.weekday() + offset) % 7 for offset in offsets)
    ben.save()
    draft, _week = draft_for(ben, ana, week, starts_on=starts_on, weeks=weeks, deload_weeks=[])
    return blocks.assign_block(draft, draft.revision, ana)


def in_order(block):
    return list(block.sessions.to_train().order_by("cycle", "position"))


def days(block, start):
    return [(row.planned_on - start).days for row in in_order(block)]


def trained(*sessions):
    for session in sessions:
        session.state, session.trained_on = State.TRAINED, session.planned_on
        session.save()
        for line in session.prescriptions.exclude(exercise=None):
            for number in range(line.target_sets.count()):
                LoggedSetFactory(
                    client=session.block.client,
                    session=session,
                    exercise=line.exercise,
                    slot_key=line.slot_key,
                    occurrence=session.occurrence,
                    performed_on=session.planned_on,
                    order=number,
                )


def targets(block):
    return serializers.serialize("json", TargetSet.objects.filter(prescription__session__block=block).order_by("pk"))


def calendar(browser, client):
    body = browser.get(reverse("client-calendar", args=[client.public_id])).content.decode()
    return re.sub(r"\s+", " ", body)


# One session missed: Wednesday of Monday, Wednesday, Friday


@pytest.fixture
def one_missed(ana, ben, week, today):
    """Today is the third day's: the first was trained, the second missed."""
    block = block_of(ana, ben, week, today - timedelta(days=4), (0, 2, 4), weeks=2)
    trained(in_order(block)[0])
    return block


def test_next_in_line_wednesdays_work_is_done_on_friday_and_none_is_stacked(ana, ben, one_missed, today):
    start, before = one_missed.starts_on, targets(one_missed)
    found = missed.behind(ben)
    missed.do_next(ben, ana, found.end_after)
    assert days(one_missed, start) == [0, 4, 7, 9, 11, 14]
    assert targets(one_missed) == before


def test_on_a_fixed_day_it_is_skipped_and_nothing_moves(ana, ben, one_missed):
    start, before = one_missed.starts_on, targets(one_missed)
    missed.leave_out(ben, ana, missed.behind(ben).end_after)
    assert days(one_missed, start) == [0, 2, 4, 7, 9, 11]
    assert in_order(one_missed)[1].state == State.MISSED
    assert targets(one_missed) == before


@pytest.mark.parametrize("way", ["next", "missed"])
def test_either_way_it_is_missed_not_failed(ana, ben, one_missed, today, way):
    if way == "next":
        missed.do_next(ben, ana, missed.behind(ben).end_after)
    else:
        missed.leave_out(ben, ana, missed.behind(ben).end_after)
    refresh(ben)
    found = attendance_of([ben.pk], today)[ben.pk]
    assert (found.done, found.due) == (1, 2)
    assert ben.proposals.waiting().exists() and not ben.proposals.filter(kind__in=("load_down", "return")).exists()
    assert not any("missed" in because["code"] for row in ben.proposals.all() for because in row.reasons)


# A whole week missed: the third of six, four sessions a week


@pytest.fixture
def week_missed(ana, ben, week, today):
    """Today the fourth week begins; two weeks were trained, nobody came in the third."""
    block = block_of(ana, ben, week, today - timedelta(days=21), (0, 1, 3, 4), weeks=6)
    trained(*in_order(block)[:8])
    return block


def test_both_ways_name_their_end_before_anything_is_confirmed(as_ana, ana, ben, week_missed, today):
    before = days(week_missed, today)
    last = in_order(week_missed)[-1].planned_on
    for mode in (Client.OrderMode.NEXT, Client.OrderMode.FIXED):
        ben.order_mode = mode
        ben.save()
        shown = calendar(as_ana, ben)
        later = last + timedelta(days=7)
        assert "4 sessions are behind" in shown and "7 days later" in shown
        assert f"the last session is on {later:%a} {later.day} {later:%b}, 7 days later" in shown
        assert f"nothing else changes and the last session is on {last:%a} {last.day} {last:%b}." in shown
    assert days(week_missed, today) == before


def test_moved_the_third_week_is_next_and_the_end_moves_by_seven_days(as_ana, ana, ben, week_missed, today):
    sets = targets(week_missed)
    before = days(week_missed, today)
    end = missed.behind(ben).end_after
    as_ana.post(reverse("client-behind", args=[ben.public_id]), {"way": "next", "end": end.isoformat()})
    week_missed.refresh_from_db()
    assert days(week_missed, today) == [*before[:8], *(day + 7 for day in before[8:])]
    assert min(row.cycle for row in in_order(week_missed) if row.state == State.PLANNED) == 3
    assert (week_missed.weeks, targets(week_missed)) == (7, sets)


@pytest.mark.parametrize("way", ["next", "missed"])
def test_its_attendance_is_none_of_four_and_one_undo_forgets_it(ana, ben, week_missed, today, way):
    if way == "next":
        _count, entry = missed.do_next(ben, ana, missed.behind(ben).end_after)
    else:
        _count, entry = missed.leave_out(ben, ana, missed.behind(ben).end_after)
    found = attendance_of([ben.pk], today)[ben.pk]
    assert (found.done, found.due) == (8, 12)
    gone = [one for one in Review(ben).sessions if today - timedelta(days=7) <= one.day < today]
    assert [one.state for one in gone] == [State.MISSED] * 4
    journal.undo(entry, ana)
    assert {row.state for row in in_order(week_missed)[8:]} == {State.PLANNED}
    assert week_missed.sessions.count() == 24


def test_a_day_that_is_only_kept_asks_for_nothing(as_ana, ana, ben, week_missed):
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    kept = week_missed.sessions.filter(cycle=0)
    assert kept.count() == 4 and missed.behind(ben) is None
    page = as_ana.get(reverse("session", args=[kept[0].public_id])).content.decode()
    assert "done later" in page
    page = as_ana.get(reverse("session-log", args=[kept[0].public_id])).content.decode()
    assert "Plan again" not in page
    answer = as_ana.post(reverse("session-state", args=[kept[0].public_id]), {"state": "planned"})
    assert answer.status_code == 404
    logs = as_ana.get(reverse("client-logs", args=[ben.public_id])).content.decode()
    assert str(kept[0].public_id) not in logs
    block = as_ana.get(reverse("client-block", args=[ben.public_id])).context["weeks"]
    assert [row.number for row in block.rows] == [1, 2, 3, 4, 5, 6]


def test_a_week_missed_twice_over_is_kept_twice(ana, ben, week_missed, today):
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    week_missed.sessions.filter(cycle=3).update(planned_on=today - timedelta(days=1))
    missed.do_next(ben, ana, missed.behind(ben).end_after)
    assert week_missed.sessions.filter(cycle=0).count() == 8


# Rounds that are no weeks


def test_weeks_of_a_longer_round_show_what_falls_there_and_are_not_called_incomplete(as_ana, ana, ben, week, today):
    block = block_of(ana, ben, week, today - timedelta(days=28), (0, 2, 4, 6), weeks=8, cycle_days=8)
    trained(*[row for row in in_order(block) if row.planned_on < today])
    chest = next(row for row in Review(ben).groups if row.group == "chest")
    since = block.starts_on - timedelta(days=6)
    here = [one for one, week_of in zip(chest.weeks, Review(ben).weeks, strict=False) if week_of.start >= since]
    assert len(here) >= 4 and any(one.done for one in here)
    assert {one.judgement for one in here} == {None} and chest.judgement is None
    found = attendance_of([ben.pk], today)[ben.pk]
    assert found.done == found.due
    assert "incomplete" not in calendar(as_ana, ben)


# Every other day, two sessions in turn


def test_two_sessions_every_other_day_run_past_the_end_of_the_week(ana, ben, week):
    start = date(2026, 11, 2)
    block = block_of(ana, ben, week, start, (0, 2), weeks=2, cycle_days=4)
    rows = in_order(block)
    assert [(f"{row.planned_on:%a}", "AB"[row.occurrence]) for row in rows] == [
        *(("Mon", "A"), ("Wed", "B"), ("Fri", "A"), ("Sun", "B")),
        *(("Tue", "A"), ("Thu", "B"), ("Sat", "A")),
    ]
    assert rows[-1].planned_on + timedelta(days=2) == date(2026, 11, 16)
    weeks = [sum(row.planned_on < start + timedelta(days=7) for row in rows), len(rows)]
    assert (weeks[0], weeks[1] - weeks[0]) == (4, 3)
