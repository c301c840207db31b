"""The address that a client's calendar looks at: days and hours, nothing of what is trained, closed for good."""

from datetime import time, timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clients.clock import today_for
from clients.models import CalendarFeed, Client, TrainingSession
from clients.reads import leaving as reads
from clients.services import leaving, links
from clients.views.feeds import WRONG_TOKENS
from coachdesk.middleware import TOKEN_IN_PATH
from tests.clients.sheets import add_line, session_for
from tests.factories import ClientFactory

pytestmark = pytest.mark.django_db


def address(feed):
    return reverse("open-calendar-feed", args=[feed.token()])


@pytest.fixture
def feed(ben):
    session = session_for(ben, start_time=time(18, 0), minutes=75)
    add_line(session)
    session_for(ben, position=1, planned_on=today_for(ben) + timedelta(days=2))
    session_for(ben, position=2, planned_on=today_for(ben) + timedelta(days=4), state="dropped")
    return links.calendar_feed(ben)


def test_it_says_when_and_nothing_else(feed, client):
    answer = client.get(address(feed))
    assert answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/calendar")
    assert answer.headers["Cache-Control"] == "private, no-store" and "noindex" in answer.headers["X-Robots-Tag"]
    text = answer.content.decode()
    assert text.count("BEGIN:VEVENT") == 2 and text.count("SUMMARY:Training") == 2
    assert "Lower" not in text and "squat" not in text.lower() and "Ben" not in text


def test_looking_at_it_changes_nothing_and_gives_no_cookie(feed, client):
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(address(feed))
    assert not [row["sql"] for row in asked if row["sql"].startswith(("INSERT", "UPDATE", "DELETE"))]
    assert not answer.cookies and client.get(reverse("today")).status_code == 403


def test_its_token_opens_no_sheet_and_a_links_token_no_calendar(feed, ben, client):
    assert client.get(reverse("open-client-link", args=[feed.token()])).status_code == 404
    assert client.get(reverse("open-calendar-feed", args=[links.client_link(ben).token()])).status_code == 404


def test_a_closed_one_stays_closed_and_the_next_is_another(feed, ben, as_ana, client):
    page = reverse("client-link", args=[ben.public_id])
    old = address(feed)
    as_ana.post(page, {"go": "close-feed"})
    assert client.get(old).status_code == 404
    as_ana.post(page, {"go": "feed"})
    new = address(CalendarFeed.objects.get(client=ben))
    assert new != old and client.get(new).status_code == 200 and client.get(old).status_code == 404
    shown = as_ana.get(reverse("client-documents", args=[ben.public_id])).content.decode()
    assert new in shown and "Close the calendar address" in shown


def test_in_a_pause_it_has_no_days_to_come_and_after_leaving_it_is_gone(feed, ben, ana, client):
    today = today_for(ben)
    leaving.pause(ben, ana, today, reads.before(ben, today).digest)
    assert b"BEGIN:VEVENT" not in client.get(address(feed)).content
    ben.refresh_from_db()
    leaving.leave(ben, ana, today, reads.before(ben, today).digest, keep_until=today)
    assert client.get(address(feed)).status_code == 404
    made = links.calendar_feed(Client.objects.get(pk=ben.pk))
    assert client.get(address(made)).status_code == 404


def test_it_costs_the_same_however_long_the_block(feed, ben, client):
    def ask():
        with CaptureQueriesContext(connection) as asked:
            client.get(address(feed))
        return len(asked)

    few = ask()
    TrainingSession.objects.bulk_create(
        TrainingSession(
            block=ben.blocks.get(),
            cycle=2 + number,
            position=0,
            day_key="full",
            occurrence=0,
            name="Full body A",
            planned_on=today_for(ben) + timedelta(days=number),
        )
        for number in range(60)
    )
    assert ask() == few


def test_guessing_is_slowed_down_and_no_token_is_logged(feed, client):
    for number in range(WRONG_TOKENS):
        assert client.get(reverse("open-calendar-feed", args=[f"wrong-{number}"])).status_code == 404
    assert Browser().get(address(feed)).status_code == 429
    assert feed.token() not in TOKEN_IN_PATH.sub(r"\1…", f"GET {address(feed)} 200")


def test_one_that_is_over_does_not_open_again_when_another_is_made(feed, ben, client):
    old = address(feed)
    CalendarFeed.objects.update(expires_at=timezone.now() - timedelta(minutes=1))
    made = links.calendar_feed(ben)
    assert client.get(old).status_code == 404 and client.get(address(made)).status_code == 200


def test_calendars_that_still_ask_at_a_closed_address_shut_nobody_out(feed, ben, ana, client):
    closed = address(feed)
    links.close_feed(ben)
    for _ in range(WRONG_TOKENS + 1):
        assert client.get(closed).status_code == 404
    other = links.calendar_feed(ClientFactory(practice=ana.practice, coach=ana))
    assert client.get(address(other)).status_code == 200
