"""Coming back: health questions first, a block on hold goes on as was chosen, and loads know of the absence."""

from datetime import timedelta

import pytest
from django.urls import reverse

from clients.models import HealthAnswers, Prescription, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads import leaving as reads
from clients.reads.health import standing_of
from clients.services import blocks, sheets
from clients.services.proposing import refresh
from coachdesk.practice import journal
from coachdesk.practice.models import JournalEntry
from programs.engine import cautions
from tests.clients.absence import act, fresh, page_of, paused_block, week_again
from tests.clients.sheets import add_line, handed_out, session_for
from tests.clients.weeks import draft_for
from tests.factories import HealthAnswersFactory

pytestmark = pytest.mark.django_db
State = TrainingSession.State


def test_a_return_waits_for_new_health_questions(ana, ben, as_ana, today, training):
    act("leave", ben, ana, today, keep_until=today)
    act("come_back", ben, ana, today)
    ben.refresh_from_db()
    assert (ben.status, ben.keep_until, ben.answers_from) == ("active", None, today)
    HealthAnswers.objects.update(answered_on=today - timedelta(days=30))
    standing = standing_of(ben, today)
    assert [hold.code for hold in standing.holds] == ["health.returned"] and not standing.cleared
    session = session_for(ben, position=9)
    add_line(session)
    with pytest.raises(sheets.NotCleared):
        sheets.issue_sheet(session, ana)
    shown = as_ana.get(reverse("client", args=[ben.public_id]))
    assert b"the health questions are asked anew" in shown.content
    answers = {code: "yes" if code == cautions.ACTIVE else "no" for code in cautions.SCREENING}
    as_ana.post(reverse("health-questions", args=[ben.public_id]), {**answers, "answered_on": today.isoformat()})
    assert standing_of(fresh(ben), today).cleared
    assert sheets.issue_sheet(session, ana).fresh


def test_a_block_goes_on_where_it_stopped_on_its_own_weekdays(ana, ben, today):
    block = paused_block(ben, ana, today)
    before = {row.pk: row.planned_on for row in block.sessions.filter(state=State.HELD)}
    assert len(before) == 6
    # Everything fell into the pause, so there are no old dates to keep.
    assert [way.code for way in reads.before_return(ben, today).ways] == ["on", "end"]
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: row.planned_on for row in block.sessions.filter(state=State.PLANNED)}
    moved = {(after[pk] - day).days for pk, day in before.items()}
    assert moved == {28} and min(after.values()) >= today
    block.refresh_from_db()
    assert block.weeks == 8 and block.last_day >= max(after.values())
    journal.undo(entry, ana)
    assert {row.pk: row.planned_on for row in block.sessions.filter(state=State.HELD)} == before
    assert fresh(block).weeks == 4 and fresh(ben).status == "paused"


def test_a_block_may_keep_its_old_dates_or_end(ana, ben, today):
    block = paused_block(ben, ana, today, weeks_ago=2)
    found = reads.before_return(ben, today)
    assert [way.code for way in found.ways] == ["on", "dates", "end"]
    act("come_back", ben, ana, today, way="dates")
    rows = block.sessions.exclude(state=State.TRAINED)
    assert all((row.state == State.PLANNED) == (row.planned_on >= today) for row in rows)
    assert set(rows.values_list("state", flat=True)) == {State.PLANNED, State.DROPPED}
    journal.undo(JournalEntry.objects.get(act="client.come_back"), ana)
    act("come_back", fresh(ben), ana, today, way="end")
    assert fresh(block).state == "ended" and not block.sessions.filter(state=State.HELD).exists()


def test_a_list_without_dates_goes_on_in_the_week_that_runs(ana, ben, today):
    block = paused_block(ben, ana, today, weeks_ago=3, order_mode="list")
    before = {row.pk: row.cycle for row in block.sessions.filter(state=State.HELD)}
    assert set(before.values()) == {2, 3, 4}
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: row.cycle for row in block.sessions.filter(state=State.PLANNED)}
    assert {after[pk] - cycle for pk, cycle in before.items()} == {2}
    assert (fresh(block).weeks, fresh(block).deload_weeks) == (6, [6])
    journal.undo(entry, ana)
    assert {row.pk: row.cycle for row in block.sessions.filter(state=State.HELD)} == before
    assert fresh(block).deload_weeks == [4]


@pytest.mark.parametrize("state", ["dropped", "trained"])
def test_a_list_goes_on_around_what_was_left_out_or_trained_ahead(ana, ben, today, state):
    block = paused_block(ben, ana, today, weeks_ago=3, order_mode="list")
    fixed = block.sessions.filter(cycle=4).first()
    TrainingSession.objects.filter(pk=fixed.pk).update(state=state, trained_on=today)
    before = {row.pk: (row.cycle, row.position) for row in block.sessions.all()}
    held = set(block.sessions.filter(state=State.HELD).values_list("pk", flat=True))
    entry = act("come_back", ben, ana, today, way="on")
    after = {row.pk: (row.cycle, row.position) for row in block.sessions.all()}
    assert {after[pk][0] - before[pk][0] for pk in held} == {2}
    assert after[fixed.pk] == before[fixed.pk]
    journal.undo(entry, ana)
    assert {row.pk: (row.cycle, row.position) for row in block.sessions.all()} == before


@pytest.mark.parametrize("weeks_ago", [1, 9])
def test_the_table_for_time_away_meets_the_old_history_by_itself(ana, ben, today, weeks_ago):
    """Back after eight weeks every load is lighter and says why; back before a session was lost none is."""
    block = paused_block(ben, ana, today, weeks_ago=weeks_ago)
    decided = block.sessions.filter(state=State.HELD).first().prescriptions.first()
    decided.reasons = [{"code": "set_by_coach", "params": {}}]
    decided.save()
    TargetSet.objects.filter(prescription=decided).update(load_value=50, load_unit="kg", load_grams=50_000)
    sets = ben.logged_sets.count()
    act("come_back", ben, ana, today, way="on")
    refresh(fresh(ben))
    assert ben.logged_sets.count() == sets
    assert fresh(decided).reasons == []
    rows = list(Proposal.objects.waiting().filter(client=ben))
    assert rows
    loads = [row.new["load"] for row in rows]
    reasons = {reason["code"] for row in rows for reason in row.reasons}
    if weeks_ago == 9:
        assert all(load is not None and load < 40 for load in loads)
        assert {row.kind for row in rows} == {"return"} and any("away" in code or "absence" in code for code in reasons)
    else:
        assert all(load is not None and load >= 40 for load in loads)
        assert "return" not in {row.kind for row in rows}


def test_a_new_block_after_a_return_begins_from_the_old_baselines(ana, ben, today):
    paused_block(ben, ana, today, weeks_ago=20)
    act("leave", ben, ana, today - timedelta(weeks=19), keep_until=today)
    act("come_back", ben, ana, today)
    HealthAnswersFactory(client=ben, answered_on=today)
    week_one = draft_for(fresh(ben), ana, week_again(ben), starts_on=today)[0]
    block = blocks.assign_block(week_one, week_one.revision, ana)
    trained = set(ben.logged_sets.values_list("exercise_id", flat=True))
    lines = Prescription.objects.filter(session__block=block, session__cycle=1, exercise__in=trained)
    loads = [target.load_value for line in lines for target in line.target_sets.all()]
    assert loads and all(load is not None and 0 < load < 40 for load in loads)


def test_a_block_composed_during_the_pause_takes_the_place_of_the_one_on_hold(ana, ben, today):
    block = paused_block(ben, ana, today)
    draft, _week = draft_for(fresh(ben), ana, week_again(ben), starts_on=today)
    later = blocks.assign_block(draft, draft.revision, ana)
    assert block.sessions.filter(state=State.HELD).exists()
    act("come_back", fresh(ben), ana, today)
    assert not TrainingSession.objects.for_client(ben).filter(state=State.HELD).exists()
    assert ben.blocks.active().get() == later and later.sessions.filter(state=State.PLANNED).exists()


def test_pinned_loads_stay_and_are_named(ana, ben, today, as_ana):
    block = paused_block(ben, ana, today)
    line = block.sessions.filter(state=State.HELD).first().prescriptions.first()
    line.pinned, line.reasons = ["load"], [{"code": "set_by_coach", "params": {}}]
    line.save()
    shown = as_ana.get(page_of("return", ben)).content.decode()
    assert "1 load is pinned and stays as it is" in shown and line.exercise.name in shown
    act("come_back", ben, ana, today, way="on")
    assert fresh(line).reasons and fresh(line).pinned == ["load"]


def test_a_return_is_not_undone_once_sheets_went_out(ana, ben, today, training):
    act("leave", ben, ana, today, keep_until=today)
    entry = act("come_back", fresh(ben), ana, today)
    HealthAnswersFactory(client=ben, answered_on=today)
    session = session_for(ben, position=9, cycle=5)
    add_line(session)
    handed_out(session)
    with pytest.raises(journal.CannotUndo):
        journal.undo(entry, ana)
    assert fresh(ben).status == "active" and SheetVersion.objects.for_client(ben).standing().exists()


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "tomorrow", ""])
@pytest.mark.parametrize("order_mode", ["fixed", "list"])
def test_a_day_that_can_not_be_is_refused_and_nothing_is_reckoned_from_it(as_ana, ana, ben, today, day, order_mode):
    paused_block(ben, ana, today, order_mode=order_mode)
    answer = as_ana.post(page_of("return", ben), {"day": day, "way": "on", "go": "do", "digest": "\0" * 2000})
    assert answer.status_code == 422 and fresh(ben).status == "paused"


def test_a_return_is_done_as_its_page_says(as_ana, ana, ben, today):
    paused_block(ben, ana, today)
    page = page_of("return", ben)
    shown = as_ana.get(page)
    text = shown.content.decode()
    assert "Go on where it stopped" in text and "since the last session" in text and "Asked anew" in text
    typed = {"day": today.isoformat(), "go": "do", "digest": shown.context["digest"]}
    assert as_ana.post(page, {**typed, "way": "elsewhere"}).status_code == 422
    assert as_ana.post(page, {**typed, "way": "on"}).status_code == 302
    assert fresh(ben).status == "active"
    assert ben.blocks.active().get().sessions.filter(state=State.PLANNED).count() == 6
