"""Pain, notes, effort and bodyweight from the phone: what follows, and what is said at once."""

import re
from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients.clock import today_for
from clients.models import Bodyweight, LoggedSet, PainReport, SessionNote
from clients.phone.labels import ACTIONS, ALARMS
from clients.receiving import answer_pain
from programs.engine import cautions
from tests.clients.sheets import add_line, handed_out, session_for, six_exercises
from tests.factories import ClientLinkFactory, ExerciseFactory

JSON = {"accept": "application/json"}
PAUSED = "Paused until your coach answers."
SHOWN_PAUSED = '<p class="notice notice-error held">'


@pytest.fixture
def sheet(ben):
    return six_exercises(ben)


def report(browser, sheet, headers=None, **values):
    fields = {"key": "pain-key-1", "score": "4", "body_part": "knee", "side": "left", **values}
    return browser.post(reverse("report-pain", args=[sheet.public_id]), fields, headers=headers or {})


def line_page(browser, sheet, line=1):
    return browser.get(reverse("sheet-line", args=[sheet.public_id, line])).content.decode()


@pytest.mark.parametrize(("score", "action"), [(2, "go_on"), (4, "freeze"), (6, "stop")])
def test_the_answer_follows_the_bands_and_names_no_cause(as_ben, sheet, score, action):
    response = report(as_ben, sheet, score=score)
    stored = PainReport.objects.get()
    assert stored.action == action
    assert response["Location"] == reverse("pain-answer", args=[sheet.public_id, stored.public_id])
    html = as_ben.get(response["Location"]).content.decode()
    title, text = ACTIONS[action]
    assert str(title) in html
    assert str(text) in html
    assert report(as_ben, sheet, headers=JSON, score=score).json()["action"] == action
    assert PainReport.objects.count() == 1


def test_any_alarm_stops(as_ben, sheet):
    assert report(as_ben, sheet, headers=JSON, score=1, alarms=["sharp"]).json()["action"] == "stop"
    assert PainReport.objects.get().alarms == ["sharp"]


def test_what_loads_the_place_is_paused_on_every_sheet_at_once(as_ben, ben, ana, sheet):
    other = session_for(ben, name="Upper A")
    add_line(other)
    elsewhere = handed_out(other)
    assert SHOWN_PAUSED not in line_page(as_ben, sheet, 1)
    report(as_ben, sheet, score=3)
    assert SHOWN_PAUSED in line_page(as_ben, sheet, 1)
    assert SHOWN_PAUSED in line_page(as_ben, elsewhere, 1)
    assert SHOWN_PAUSED not in line_page(as_ben, sheet, 4)  # a press does not load the knee
    assert "paused until your coach answers" in as_ben.get(reverse("sheet", args=[sheet.public_id])).content.decode()
    answer_pain(PainReport.objects.get(), ana, "Go on lightly.")
    assert SHOWN_PAUSED not in line_page(as_ben, sheet, 1)


def test_a_set_of_a_paused_line_is_still_received(as_ben, sheet):
    report(as_ben, sheet, score=5)
    assert '<div id="log" hidden>' in line_page(as_ben, sheet, 1)
    anyway = as_ben.get(reverse("sheet-line", args=[sheet.public_id, 1]), {"anyway": "1"}).content.decode()
    assert '<div id="log">' in anyway
    fields = {"key": "set-in-spite-of-it", "load": "60", "amount": "5", "rir": "3"}
    assert as_ben.post(reverse("log-set", args=[sheet.public_id, 1, 1]), fields).status_code == 302
    assert LoggedSet.objects.count() == 1


def test_a_place_that_maps_to_nothing_stops_the_whole_session(as_ben, sheet):
    report(as_ben, sheet, score=5, body_part="head")
    html = as_ben.get(
        reverse("pain-answer", args=[sheet.public_id, PainReport.objects.get().public_id])
    ).content.decode()
    assert "Stop the session here" in html
    assert all(SHOWN_PAUSED in line_page(as_ben, sheet, line) for line in range(1, 7))


def test_the_page_carries_what_each_place_pauses_for_a_phone_without_signal(as_ben, sheet):
    html = as_ben.get(reverse("report-pain", args=[sheet.public_id]), {"line": "1"}).content.decode()
    assert html.count("data-pauses=") == len(cautions.BODY_PARTS) + len(cautions.WHOLE_BODY_PARTS)
    assert html.count("<template data-answer=") == len(cautions.ACTIONS)
    assert "Barbell back squat" in html


def test_every_code_of_the_engine_has_words_for_the_client():
    assert set(ACTIONS) == set(cautions.ACTIONS)
    assert set(ALARMS) == set(cautions.ALARMS)


def test_a_report_that_lacks_something_says_what_and_keeps_the_rest(as_ben, sheet):
    response = report(as_ben, sheet, score="", body_part="", note="since Monday", alarms=["swelling"])
    assert response.status_code == 422
    html = response.content.decode()
    assert "Choose a number from 0 to 10." in html
    assert "Choose where it hurts." in html
    assert "since Monday" in html
    assert not PainReport.objects.exists()


def test_words_that_must_not_wait_are_answered_at_once_and_kept_for_the_coach(as_ben, sheet):
    response = as_ben.post(reverse("say", args=[sheet.public_id]), {"text": "I had chest pain on the last set"})
    assert "Stop now and get help" in response.content.decode()
    assert "112" in response.content.decode()
    said = SessionNote.objects.get()
    assert said.flags[0]["code"] == "chest"
    assert said.flags[0]["urgency"] == "emergency"
    answer = as_ben.post(reverse("say", args=[sheet.public_id]), {"text": "my calf is swollen"}, headers=JSON).json()
    assert answer["urgent"][0] == "Have this looked at today"


def test_denied_words_alarm_nobody_but_are_kept_for_the_coach(as_ben, sheet):
    answer = as_ben.post(reverse("say", args=[sheet.public_id]), {"text": "no chest pain today"}, headers=JSON).json()
    assert answer["urgent"] == []
    assert SessionNote.objects.get().flags[0]["denied"] is True


def test_red_flag_words_in_a_pain_report_are_answered_too(as_ben, sheet):
    answer = report(as_ben, sheet, headers=JSON, score=2, note="and my chest feels tight").json()
    assert answer["urgent"][0] == "Stop now and get help"


def test_one_tap_answers_leave_each_other_alone(as_ben, sheet):
    address = reverse("say", args=[sheet.public_id])
    for fields in ({"sleep": "1"}, {"energy": "3"}, {"effort": "7"}, {"text": "slept badly"}):
        assert as_ben.post(address, fields).status_code == 302
    said = SessionNote.objects.get()
    assert (said.sleep, said.energy, said.effort, said.text) == (1, 3, 7, "slept badly")
    assert said.ended_at is not None
    html = as_ben.get(reverse("sheet", args=[sheet.public_id])).content.decode()
    assert re.search(r'name="sleep"\s+value="1"\s+aria-pressed="true"', html)
    assert "slept badly" in html


def test_a_note_that_arrives_twice_is_said_once(as_ben, sheet):
    for _ in range(2):
        as_ben.post(reverse("say", args=[sheet.public_id]), {"text": "bar felt light", "about": "1"})
    assert SessionNote.objects.get().text == "Barbell back squat: bar felt light"


def test_a_free_line_is_ticked_and_unticked(as_ben, ben):
    session = session_for(ben)
    session.prescriptions.create(position=0, text="Ten minutes of easy cycling", minutes=10)
    sheet = handed_out(session)
    address = reverse("say", args=[sheet.public_id])
    assert "Ten minutes of easy cycling" in line_page(as_ben, sheet, 1)
    for _ in range(2):
        as_ben.post(address, {"tick": "1", "ticked": "on"})
    assert SessionNote.objects.get().lines_ticked == [1]
    as_ben.post(address, {"tick": "1"})
    assert SessionNote.objects.get().lines_ticked == []


@pytest.mark.parametrize(("days", "asked"), [(None, True), (31, True), (30, False)])
def test_bodyweight_is_asked_for_when_it_matters_and_is_old(as_ben, ben, days, asked):
    session = session_for(ben)
    chin = ExerciseFactory(
        practice=ben.practice,
        implement="bodyweight",
        load_entry="added",
        bodyweight_fraction=1,
        pattern="vertical_pull",
    )
    add_line(session, chin, load=(0, "kg"))
    sheet = handed_out(session)
    if days is not None:
        on = today_for(ben) - timedelta(days=days)
        Bodyweight.objects.create(client=ben, measured_on=on, grams=70_000, value=70, unit="kg")
    html = as_ben.get(reverse("sheet", args=[sheet.public_id])).content.decode()
    assert ('id="bodyweight"' in html) is asked


def test_bodyweight_is_not_asked_for_without_a_bodyweight_exercise(as_ben, ben):
    session = session_for(ben)
    add_line(session)
    html = as_ben.get(reverse("sheet", args=[handed_out(session).public_id])).content.decode()
    assert 'id="bodyweight"' not in html


def test_bodyweight_is_kept_once_a_day_and_nonsense_is_refused(as_ben, sheet):
    address = reverse("say-bodyweight", args=[sheet.public_id])
    assert as_ben.post(address, {"weight": "72,5"}).status_code == 302
    assert as_ben.post(address, {"weight": "72.4"}).status_code == 302
    row = Bodyweight.objects.get()
    assert (row.grams, row.unit) == (72_400, "kg")
    response = as_ben.post(address, {"weight": "7240"})
    assert response.status_code == 422
    assert "from 25 to 350 kg" in response.content.decode()


def test_forms_are_protected_against_other_sites(ben, sheet):
    browser = Browser(enforce_csrf_checks=True)
    browser.get(reverse("open-client-link", args=[ClientLinkFactory(client=ben).token()]))
    browser.get(reverse("sheet", args=[sheet.public_id]))
    address = reverse("log-set", args=[sheet.public_id, 1, 1])
    fields = {"key": "k" * 12, "load": "75", "amount": "7", "rir": "2"}
    assert browser.post(address, fields).status_code == 403
    token = browser.cookies["csrftoken"].value
    # As the script sends it: the page may be an old one, the cookie is not.
    assert browser.post(address, fields, headers={"x-csrftoken": token, **JSON}).status_code == 200
    assert LoggedSet.objects.count() == 1
