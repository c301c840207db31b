"""The report a client is given: what was planned and done, where the lifts went; nothing internal, no health."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import translation
from pypdf import PdfReader

import coachdesk.textlibraries as textlibraries
from clients import report_page
from clients.clock import today_for
from clients.models import Bodyweight, Client, HealthNote, TrainingSession
from clients.reads.report import Report
from clients.receiving import take_pain
from clients.sheets import pdf
from programs.drawings.svg import Ink
from programs.units import load_of
from tests.clients.sheets import session_for
from tests.factories import ExerciseFactory, LoggedSetFactory

pytestmark = pytest.mark.django_db


def address(client, part=""):
    return reverse(f"client-report{part}", args=[client.public_id])


@pytest.fixture
def squat(ana):
    return ExerciseFactory(practice=ana.practice, name="Back squat", implement="barbell", load_entry="total")


def trained(client, exercise, loads, *, reps=5, rir=2, position=0):
    """A session a week with three sets each, the last one today."""
    today = today_for(client)
    for number, load in enumerate(loads):
        day = today - timedelta(weeks=len(loads) - 1 - number)
        session = session_for(
            client, planned_on=day, trained_on=day, state="trained", cycle=number + 1, position=position, name="Lower A"
        )
        LoggedSetFactory.create_batch(
            3,
            client=client,
            session=session,
            exercise=exercise,
            load=load_of(load, "kg"),
            reps=reps,
            rir=rir,
            performed_on=day,
        )


def test_levels_are_the_middle_of_the_first_and_last_three_sessions(ben, squat):
    trained(ben, squat, [80, 82.5, 100, 90, 92.5, 95, 97.5])
    (lift,) = Report(ben).lifts
    assert len(lift.points) == 7
    # One set of 100 early on does not make the start higher.
    assert round(lift.last / lift.first, 3) == round(95 / 82.5, 3)
    context = report_page.context(Report(ben))
    assert (
        context["lift_sentence"].startswith("Back squat: from ")
        and "15 % more, over 7 sessions." in context["lift_sentence"]
    )
    assert context["lifts"][0]["first_set"] == "80 × 5" and context["lifts"][0]["change"].startswith("+15")


def test_sessions_due_and_trained_are_told_by_block(ben, squat):
    trained(ben, squat, [80, 80, 80])
    today = today_for(ben)
    session_for(ben, planned_on=today - timedelta(days=2), position=1, cycle=3, state="missed")
    session_for(ben, planned_on=today - timedelta(days=1), position=2, cycle=3)  # nothing came in
    session_for(ben, planned_on=today - timedelta(days=1), position=3, cycle=3, state="dropped")
    session_for(ben, planned_on=today - timedelta(days=1), position=4, cycle=3, state="held")
    session_for(ben, planned_on=today + timedelta(days=1), position=5, cycle=3)
    report = Report(ben)
    assert report.sessions == (3, 5) and report.sets == 9
    assert sorted(word for week in report.weeks for word in week) == sorted(
        ["done"] * 3 + ["missed"] * 2 + ["excused"] * 2
    )
    assert report_page.context(report)["lead"] == "3 of 5 planned sessions were trained, 9 working sets in all."


@pytest.mark.parametrize(("enough", "due"), [(None, 5), (2, 4)])
def test_sessions_without_a_day_are_due_once_their_week_is_over(ben, squat, enough, due):
    today = today_for(ben)
    Client.objects.update(week_minimum=enough)
    ben.refresh_from_db()
    first = session_for(ben, planned_on=None, position=0, state="trained", trained_on=today - timedelta(days=13))
    starts_on = today - timedelta(days=14)
    type(first.block).objects.update(starts_on=starts_on)
    session_for(ben, planned_on=None, position=1, state="trained", trained_on=today - timedelta(days=12))
    for cycle, position in ((1, 2), (2, 0), (2, 1), (3, 0), (3, 1)):  # the third week runs
        session_for(ben, planned_on=None, cycle=cycle, position=position)
    report = Report(ben)
    assert report.sessions == (2, due)
    words = [word for week in report.weeks for word in week]
    assert (words.count("done"), words.count("missed")) == (2, due - 2)


def test_what_was_logged_without_a_plan_is_told(ben, squat):
    LoggedSetFactory.create_batch(3, client=ben, exercise=squat, load=load_of(60, "kg"), reps=5, rir=2)
    assert report_page.context(Report(ben))["lead"] == "3 working sets in all."


@pytest.mark.parametrize(
    ("entry", "load", "said"), [("added", 0, "body × 6"), ("added", 10, "+10 × 6"), ("assisted", 20, "20 help × 6")]
)
def test_the_body_is_no_load_of_nothing_and_help_is_called_so(ben, ana, entry, load, said):
    chin_up = ExerciseFactory(practice=ana.practice, name="Chin-up", load_entry=entry, bodyweight_fraction=1)
    for days in (7, 0):
        day = today_for(ben) - timedelta(days=days)
        LoggedSetFactory(
            client=ben,
            exercise=chin_up,
            load=load_of(load, "kg"),
            reps=6,
            rir=2,
            performed_on=day,
            bodyweight_grams=70_000,
        )
    (row,) = report_page.context(Report(ben))["lifts"]
    assert row["first_set"] == row["last_set"] == said


def test_it_reaches_back_to_the_first_session_and_survives_a_long_absence(ben, squat):
    trained(ben, squat, [60, 70, 80, 90, 100])
    ben.logged_sets.update(performed_on=today_for(ben) - timedelta(days=400))
    TrainingSession.objects.update(planned_on=today_for(ben) - timedelta(days=400), trained_on=today_for(ben))
    report = Report(ben)
    assert report.last_day == today_for(ben) - timedelta(days=400)
    assert report_page.context(report)["lead"]


def test_nobody_under_age_is_told_a_maximum(ben, squat):
    trained(ben, squat, [40, 42.5, 45])
    Client.objects.update(date_of_birth=today_for(ben) - timedelta(days=15 * 365))
    ben.refresh_from_db()
    context = report_page.context(Report(ben))
    assert not context["estimates"] and not context["chart"] and not context["lift_sentence"]
    assert context["lifts"][0]["last_set"] == "45 × 5"


def test_an_empty_history_is_a_report_too(as_ana, ben):
    page = as_ana.get(address(ben))
    assert page.status_code == 200 and "Nothing has been trained yet" in page.content.decode()


def test_nothing_internal_and_nothing_of_health_is_in_it(as_ana, ben, squat):
    trained(ben, squat, [80, 82.5, 85])
    take_pain(ben, key="p", score=6, body_part="knee", side="left", felt_on=today_for(ben), note="grinding")
    HealthNote.objects.create(client=ben, text="sleeps badly")
    Client.objects.update(note="Pays late.")
    with translation.override("en"):
        context = report_page.context(Report(Client.objects.get()))
    told = str(context)
    assert "grinding" not in told and "sleeps" not in told and "Pays late" not in told and "pain" not in told.lower()


def test_it_speaks_the_clients_language_whatever_the_coach_reads(as_ana, ben, squat):
    trained(ben, squat, [82.5, 85])
    Bodyweight.objects.create(client=ben, measured_on=today_for(ben), value=Decimal("71.5"), unit="kg", grams=71_500)
    Client.objects.update(language="de")
    page = as_ana.get(address(ben)).content.decode()
    assert "82,5 × 5" in page and "71,5 kg" in page and 'lang="de"' in page


def test_it_costs_the_same_however_long_the_history(as_ana, ben, squat, ana):
    trained(ben, squat, [80, 82.5])
    with CaptureQueriesContext(connection) as few:
        as_ana.get(address(ben))
    for number in range(8):
        exercise = ExerciseFactory(practice=ana.practice)
        trained(ben, exercise, [20 + number] * 3, reps=8, position=number + 1)
    with CaptureQueriesContext(connection) as many:
        as_ana.get(address(ben))
    assert len(many) == len(few)


def test_nobody_of_another_practice_sees_it(as_cleo, ben):
    assert as_cleo.get(address(ben)).status_code == 404
    assert as_cleo.post(address(ben, "-pdf")).status_code == 404


def test_the_pdf_carries_the_coachs_words_and_keeps_them_nowhere(as_ana, ben, squat, monkeypatch):
    trained(ben, squat, [80, 82.5, 85])
    seen = []
    monkeypatch.setattr(pdf, "to_pdf", lambda html: seen.append(html) or b"%PDF-1.7")
    answer = as_ana.post(address(ben, "-pdf"), {"words": "Well done.\n\nTwo days a week <b>will</b> do."})
    assert answer.status_code == 200 and answer.content == b"%PDF-1.7"
    assert "ben-quay" in answer.headers["Content-Disposition"]
    (html,) = seen
    assert "Well done." in html and "&lt;b&gt;will&lt;/b&gt;" in html and "var(--" not in html
    assert "Well done" not in as_ana.get(address(ben)).content.decode()
    too_long = as_ana.post(address(ben, "-pdf"), {"words": "x" * 2000})
    assert too_long.status_code == 422 and len(seen) == 1


def test_where_no_pdf_can_be_made_the_page_says_so(as_ana, ben, monkeypatch):
    def refuses(html):
        raise pdf.CannotRender

    monkeypatch.setattr(pdf, "to_pdf", refuses)
    answer = as_ana.post(address(ben, "-pdf"), {"words": ""}, follow=True)
    assert answer.redirect_chain and "print this page instead" in answer.content.decode()


@pytest.mark.skipif(not textlibraries.can_render(), reason="the native text libraries are missing")
def test_the_pdf_is_tagged_and_small(as_ana, ben, squat):
    trained(ben, squat, [80 + number for number in range(12)])
    content = as_ana.post(address(ben, "-pdf"), {"words": "Well done."}).content
    assert len(content) < 150_000
    root = PdfReader(BytesIO(content)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and root["/StructTreeRoot"]["/K"] and root["/Lang"] == "en"


def test_print_is_black_on_white(ben, squat):
    trained(ben, squat, [80, 82.5, 85, 87.5, 90, 92.5])
    context = report_page.context(Report(ben), Ink.PRINT)
    assert context["chart"] and "var(--" not in f"{context['chart']}{context['columns']}{context['weights']}"
    assert not context["small_chart"]
