"""The coach's tab Sheets: handing out, holding back, taking back."""

import re

import pytest
from django.urls import reverse

from clients.models import ClientLink, HealthAnswers, SheetVersion
from programs.engine import cautions
from tests.clients.sheets import add_line, handed_out, session_for


@pytest.fixture
def week(ben):
    """Two sessions of the first week, nothing handed out yet."""
    sessions = [session_for(ben, name=name, occurrence=place) for place, name in enumerate(("Lower A", "Lower B"))]
    for session in sessions:
        add_line(session)
    return sessions


def address(ben, name="client-sheets", *more):
    return reverse(name, args=[ben.public_id, *more])


def test_a_week_is_handed_out_in_one_go_and_can_be_undone(as_ana, ben, week):
    assert "Hand out week 1" in as_ana.get(address(ben)).content.decode()
    response = as_ana.post(address(ben, "issue-week", 1), follow=True)
    html = response.content.decode()
    assert "2 sheets handed out." in html
    assert html.count("version 1") == 2
    assert "Hand out week 1" not in html
    assert SheetVersion.objects.standing().count() == 2
    undo = re.search(r'action="([^"]+)" data-undo', html)
    assert undo is not None
    as_ana.post(undo[1])
    assert not SheetVersion.objects.standing().exists()


def test_one_session_is_handed_out_alone(as_ana, ben, week):
    as_ana.post(address(ben, "issue-sheet", week[1].public_id))
    assert [row.session for row in SheetVersion.objects.standing()] == [week[1]]


def test_a_sheet_is_taken_back(as_ana, ben, week):
    version = handed_out(week[0])
    html = as_ana.post(address(ben, "withdraw-sheet", version.public_id), follow=True).content.decode()
    assert "The sheet of Lower A is taken back." in html
    assert "version 1 taken back" in html
    assert not SheetVersion.objects.standing().exists()


def test_who_is_not_cleared_gets_no_sheet_and_the_page_says_what_to_record(as_ana, ben, week):
    HealthAnswers.objects.update(answers={code: code == "chest_discomfort_with_effort" for code in cautions.SCREENING})
    response = as_ana.post(address(ben, "issue-week", 1))
    assert response.status_code == 422
    html = response.content.decode()
    assert "not cleared to train" in html
    assert "a professional’s clearance" in html
    assert reverse("client-health", args=[ben.public_id]) in html
    assert not SheetVersion.objects.exists()


def test_a_coach_without_the_health_permission_is_told_no_reason(as_ana, ana, ben, week):
    ana.sees_health = False
    ana.save()
    HealthAnswers.objects.all().delete()
    html = as_ana.post(address(ben, "issue-week", 1)).content.decode()
    assert "not cleared to train" in html
    assert "The health questions have not been answered yet." not in html


def test_loads_that_nobody_decided_hold_the_week_back(as_ana, ben, week):
    add_line(week[0], load=None)
    response = as_ana.post(address(ben, "issue-week", 1))
    assert response.status_code == 422
    assert "these loads are not decided yet" in response.content.decode()
    assert not SheetVersion.objects.exists()


def test_the_link_is_made_and_replaced_from_here(as_ana, ben, week):
    html = as_ana.get(address(ben)).content.decode()
    assert "Make the link" in html
    here = address(ben)
    assert as_ana.post(address(ben, "client-link"), {"go": "make", "next": here})["Location"] == here
    first = ClientLink.objects.get()
    assert first.token() in as_ana.get(here).content.decode()
    as_ana.post(address(ben, "client-link"), {"go": "renew", "next": here})
    html = as_ana.get(here).content.decode()
    assert first.token() not in html
    assert ClientLink.objects.get(revoked_at=None).token() in html


@pytest.mark.parametrize(
    ("url", "said", "code"),
    [
        ("", "opens on this machine only", False),
        ("http://192.168.1.20:8000", "needs https", True),
        ("https://desk.example.org", "Open until", True),
    ],
)
def test_the_page_says_whether_phones_reach_the_link(as_ana, ben, week, settings, url, said, code):
    settings.PUBLIC_URL = url
    settings.ALLOWED_HOSTS = ["*"]
    as_ana.post(address(ben, "client-link"), {"go": "make"})
    html = as_ana.get(address(ben), headers={"host": "127.0.0.1:8000"}).content.decode()
    assert said in html
    assert ("link-code" in html) is code


@pytest.mark.parametrize("sessions", [1, 12])
def test_the_tab_costs_the_same_however_many_sessions(as_ana, ben, sessions, django_assert_num_queries):
    for number in range(sessions):
        session = session_for(ben, position=50 + number)
        add_line(session)
        handed_out(session)
    with django_assert_num_queries(17):
        as_ana.get(address(ben))


def test_without_a_block_the_page_says_what_to_do(as_ana, ben):
    assert "Compose the first week" in as_ana.get(address(ben)).content.decode()
