"""Health questions, clearances, pain and notes: who sees them, and what follows."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clients import labels
from clients.clock import today_for
from clients.models import Clearance, Condition, HealthAnswers, HealthNote, HealthRead, PainReport
from clients.reads.health import standing_of
from clients.receiving import take_pain
from coachdesk.practice.models import JournalEntry
from programs.engine import cautions
from tests.factories import CoachFactory, HealthAnswersFactory

NO = dict.fromkeys(cautions.SCREENING, "no") | {"active": "yes", "details": ""}


def page(name, client, *more):
    return reverse(name, args=[client.public_id, *more])


@pytest.fixture
def plain_coach(ben, client):
    coach = CoachFactory(practice=ben.practice, sees_health=False)
    client.force_login(coach)
    return client


def answers(client, **changes):
    return NO | {"answered_on": today_for(client).isoformat()} | changes


def test_every_question_is_worded_once():
    grouped = [code for _title, codes in labels.QUESTION_GROUPS for code in codes]
    assert sorted(grouped) == sorted(cautions.SCREENING) == sorted(labels.QUESTIONS)
    assert set(cautions.SCREENING) - {"active"} == set(labels.CONDITIONS)


def test_every_body_part_alarm_action_result_and_advice_has_words():
    assert set(labels.BODY_PARTS) == {*cautions.BODY_PARTS, *cautions.WHOLE_BODY_PARTS}
    assert set(labels.ALARMS) == set(cautions.ALARMS)
    assert set(labels.PAIN_ACTIONS) == set(cautions.ACTIONS)
    assert set(labels.RESULTS) == set(cautions.RESULTS)
    assert set(labels.ADVICE) == set(cautions.ADVICE)


@pytest.mark.parametrize(
    ("changes", "result", "cleared"),
    [
        ({}, "cleared", True),
        ({"chest_discomfort_with_effort": "yes"}, "see_professional", False),
        ({"kidney_disease": "yes"}, "moderate_only", True),
        ({"kidney_disease": "yes", "active": "no"}, "see_professional", False),
        ({"recent_surgery": "yes"}, "see_professional", False),
        ({"pregnant": "yes"}, "see_professional", False),
        ({"palpitations": ""}, "incomplete", False),
    ],
)
def test_answers_lead_where_the_table_says(as_ana, ben, changes, result, cleared):
    as_ana.post(page("health-questions", ben), answers(ben, **changes))
    assert HealthAnswers.objects.get(client=ben).result == result
    assert standing_of(ben, today_for(ben)).cleared is cleared
    html = as_ana.get(page("client-health", ben)).content.decode()
    assert str(labels.RESULTS[result]) in html and str(labels.DEFERS) in html


def test_what_was_said_is_listed_and_the_same_round_is_kept_once(as_ana, ben):
    for _time in range(2):
        as_ana.post(page("health-questions", ben), answers(ben, palpitations="yes"))
    assert HealthAnswers.objects.count() == 1
    html = as_ana.get(page("client-health", ben)).content.decode()
    assert "Said yes: racing or skipping heart." in html
    as_ana.post(page("health-questions", ben), answers(ben))
    assert HealthAnswers.objects.count() == 2
    assert "Earlier rounds" in as_ana.get(page("client-health", ben)).content.decode()


def test_only_answers_of_the_last_days_are_filled_in_again(as_ana, ben):
    today = today_for(ben)
    for days, filled in ((20, 0), (3, len(cautions.SCREENING))):
        HealthAnswersFactory(client=ben, answered_on=today - timedelta(days=days))
        html = as_ana.get(page("health-questions", ben)).content.decode()
        checked = re.findall(r'<input[^>]*value="(?:yes|no)"[^>]* checked', html)
        assert len(checked) == filled


def test_a_day_to_come_is_refused_and_the_answers_stay(as_ana, ben):
    answer = as_ana.post(page("health-questions", ben), answers(ben, answered_on="2190-01-01", details="takes tablets"))
    html = answer.content.decode()
    assert answer.status_code == 422 and "still to come" in html and "takes tablets" in html
    assert not HealthAnswers.objects.exists()


@pytest.mark.parametrize("name", ["client-health", "health-questions", "clearance-new", "condition-new"])
def test_every_look_leaves_a_row_in_the_trail(as_ana, ana, ben, name):
    as_ana.get(page(name, ben))
    assert [row.coach for row in HealthRead.objects.filter(client=ben)] == [ana]


def test_a_coach_without_the_permission_sees_cleared_or_not_and_nothing_else(plain_coach, ben):
    HealthAnswersFactory(client=ben, answers=dict.fromkeys(cautions.SCREENING, False) | {"palpitations": True})
    HealthNote.objects.create(client=ben, text="sleeps badly")
    report = PainReport.objects.create(client=ben, key="k", body_part="knee", score=6, felt_on=date(2026, 3, 2))
    for name in ("client-health", "health-questions", "clearance-new", "condition-new"):
        assert plain_coach.get(page(name, ben)).status_code == 404
    assert plain_coach.post(page("client-pain-answer", ben, report.public_id)).status_code == 404
    profile = plain_coach.get(page("client", ben)).content.decode()
    assert "not cleared" in profile and "of 10" not in profile and page("client-health", ben) not in profile
    notes = plain_coach.get(page("client-notes", ben)).content.decode()
    assert "A coach has a note" in notes and "sleeps badly" not in notes
    assert not HealthRead.objects.exists()


def test_a_clearance_opens_the_way_and_counts_twelve_months_at_most(as_ana, ana, ben):
    today = today_for(ben)
    as_ana.post(page("health-questions", ben), answers(ben, palpitations="yes"))
    clearance = {"given_by": "Dr M., cardiologist", "scope": "vigorous", "given_on": today.isoformat(), "note": ""}
    too_long = clearance | {"expires_on": (today + timedelta(days=400)).isoformat()}
    answer = as_ana.post(page("clearance-new", ben), too_long)
    assert answer.status_code == 422 and "twelve months at most" in answer.content.decode()
    assert "Dr M., cardiologist" in answer.content.decode()
    as_ana.post(page("clearance-new", ben), clearance)
    stored = Clearance.objects.get()
    assert (stored.expires_on, stored.recorded_by) == (today + timedelta(days=365), ana)
    assert standing_of(ben, today).cleared
    assert "Dr M." in as_ana.get(page("client-health", ben)).content.decode()


def test_a_clearance_from_before_it_was_given_or_to_come_is_refused(as_ana, ben):
    base = {"given_by": "Dr M.", "scope": "moderate"}
    for dates, said in (
        ({"given_on": "2190-01-01"}, "still to come"),
        ({"given_on": "2026-03-02", "expires_on": "2026-03-01"}, "ends before it was given"),
    ):
        answer = as_ana.post(page("clearance-new", ben), base | dates)
        assert answer.status_code == 422 and said in answer.content.decode()
    assert not Clearance.objects.exists()


def test_a_condition_bounds_effort(as_ana, ben):
    as_ana.post(page("health-questions", ben), answers(ben))
    as_ana.post(page("condition-new", ben), {"code": "treated_blood_pressure", "details": "tablets"})
    assert standing_of(ben, today_for(ben)).effort.rir == 2
    html = as_ana.get(page("client-health", ben)).content.decode()
    assert "treated blood pressure" in html and "at least 2 in reserve" in html
    answer = as_ana.post(page("condition-new", ben), {"code": "epilepsy", "since": "2026-03-02", "until": "2026-03-01"})
    assert answer.status_code == 422


def test_a_pain_report_is_answered_and_the_answer_taken_back(as_ana, ana, ben):
    report = take_pain(ben, key="k", score=6, body_part="shoulder", side="left", felt_on=date(2026, 3, 2)).report
    health_page = page("client-health", ben)
    assert "left shoulder" in as_ana.get(health_page).content.decode()
    where = page("client-pain-answer", ben, report.public_id)
    empty = as_ana.post(where, {f"pain-{report.pk}-answer": " "})
    assert empty.status_code == 422
    as_ana.post(where, {f"pain-{report.pk}-answer": "Neutral grip until June."})
    report.refresh_from_db()
    assert (report.state, report.answer, report.answered_by) == ("answered", "Neutral grip until June.", ana)
    assert "Neutral grip until June." in as_ana.get(health_page).content.decode()
    again = as_ana.post(where, {f"pain-{report.pk}-answer": "Else"}, follow=True)
    assert "answered already" in again.content.decode()
    entry = JournalEntry.objects.get(act="pain.answer")
    as_ana.post(reverse("undo", args=[entry.public_id]))
    report.refresh_from_db()
    assert report.state == "open"


def test_undoing_what_touched_health_needs_the_same_permission(as_ana, ana, ben, plain_coach):
    report = take_pain(ben, key="k", score=6, body_part="shoulder", side="left", felt_on=date(2026, 3, 2)).report
    as_ana.post(page("client-pain-answer", ben, report.public_id), {f"pain-{report.pk}-answer": "Rest."})
    entry = JournalEntry.objects.get(act="pain.answer")
    assert plain_coach.post(reverse("undo", args=[entry.public_id])).status_code == 404
    report.refresh_from_db()
    assert report.state == "answered"


def test_a_note_is_kept_and_removed_only_after_asking(as_ana, ana, ben):
    as_ana.post(page("health-note", ben), {"text": "Sleeps badly", "keep_until": "2190-01-01"})
    note = HealthNote.objects.get()
    assert note.written_by == ana
    where = page("note-remove", ben, note.public_id)
    assert "brought back" in as_ana.get(where).content.decode()
    assert HealthNote.objects.exists()
    as_ana.post(where)
    assert not HealthNote.objects.exists()


def test_a_note_to_keep_until_yesterday_is_refused_with_its_words_kept(as_ana, ben):
    answer = as_ana.post(page("health-note", ben), {"text": "Sleeps badly", "keep_until": "2020-01-01"})
    assert answer.status_code == 422
    assert "Sleeps badly" in answer.content.decode() and "This day has passed" in answer.content.decode()


def test_nothing_of_health_reaches_the_change_journal(as_ana, ben):
    as_ana.post(page("health-questions", ben), answers(ben, palpitations="yes"))
    as_ana.post(page("health-note", ben), {"text": "Sleeps badly"})
    as_ana.post(page("condition-new", ben), {"code": "epilepsy"})
    assert not JournalEntry.objects.exists()


def test_strangers_and_other_clients_rows_find_nothing(as_cleo, as_ana, ben, ana):
    from tests.factories import ClientFactory

    other = ClientFactory(practice=ana.practice, coach=ana)
    condition = Condition.objects.create(client=other, code="epilepsy")
    assert as_ana.post(page("condition-remove", ben, condition.public_id)).status_code == 404
    assert as_cleo.get(page("client-health", ben)).status_code == 404
    assert as_ana.get(page("health-note", ben)).status_code == 405
    assert Condition.objects.exists()


@pytest.mark.parametrize("rows", [1, 20])
def test_the_health_page_costs_the_same_however_much_is_kept(as_ana, ana, ben, rows, django_assert_num_queries):
    for number in range(rows):
        PainReport.objects.create(client=ben, key=f"k{number}", body_part="knee", score=4, felt_on=date(2026, 3, 2))
        HealthNote.objects.create(client=ben, text="x", written_by=ana)
        HealthRead.objects.create(client=ben, coach=ana, what="overview")
        Condition.objects.create(client=ben, code="epilepsy")
    HealthAnswersFactory(client=ben, answered_on=timezone.localdate())
    with django_assert_num_queries(21):
        assert as_ana.get(page("client-health", ben)).status_code == 200
