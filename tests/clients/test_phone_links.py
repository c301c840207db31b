"""Links: they open one client's sheets, change nothing by being opened, and can be closed."""

from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import ClientLink, LoggedSet, SheetLink
from clients.services import links
from clients.views.phone import WRONG_LINKS
from tests.clients.sheets import add_line, handed_out, session_for
from tests.factories import ClientFactory, ClientLinkFactory


@pytest.fixture
def sheet(ben):
    session = session_for(ben)
    add_line(session)
    return handed_out(session)


def test_a_link_is_swapped_for_a_cookie_and_leaves_the_address(ben, sheet):
    link = ClientLinkFactory(client=ben)
    browser = Browser()
    response = browser.get(reverse("open-client-link", args=[link.token()]))
    assert response.status_code == 302
    assert response["Location"] == reverse("today")
    assert response["Referrer-Policy"] == "no-referrer"
    cookie = response.cookies["sheet"]
    assert cookie["httponly"] and cookie["samesite"] == "Lax"
    assert link.token() not in cookie.value
    page = browser.get(reverse("today"))
    assert "Lower A" in page.content.decode()
    assert page["X-Robots-Tag"] == "noindex, nofollow, noarchive"
    assert page["Cache-Control"] == "private, no-store"


def test_opening_a_link_changes_no_row_of_the_link(ben, sheet):
    link = ClientLinkFactory(client=ben)
    before = ClientLink.objects.values().get(pk=link.pk)
    Browser().get(reverse("open-client-link", args=[link.token()]))
    assert ClientLink.objects.values().get(pk=link.pk) == before


def test_one_that_is_over_does_not_open_again_when_another_is_made(ben):
    link = links.client_link(ben)
    assert links.client_link(ben) == link
    ClientLink.objects.update(expires_at=timezone.now() + timedelta(days=5))
    assert links.client_link(ben) == link and links.client_link(ben).expires_at > timezone.now() + timedelta(days=300)
    ClientLink.objects.update(expires_at=timezone.now() - timedelta(minutes=1))
    made = links.client_link(ben)
    assert made != link and made.alive
    assert Browser().get(reverse("open-client-link", args=[link.token()])).status_code == 404
    assert Browser().get(reverse("open-client-link", args=[made.token()])).status_code == 302


@pytest.mark.parametrize("wrong", ["unknown", "expired", "revoked"])
def test_a_link_that_does_not_hold_says_what_to_do(ben, wrong):
    link = ClientLinkFactory(client=ben)
    token = link.token()
    if wrong == "unknown":
        token = "x" * 32
    elif wrong == "expired":
        ClientLink.objects.update(expires_at=timezone.now() - timedelta(minutes=1))
    else:
        ClientLink.objects.update(revoked_at=timezone.now())
    response = Browser().get(reverse("open-client-link", args=[token]))
    assert response.status_code == 404
    assert "ask your coach for a new one" in response.content.decode()
    assert "sheet" not in response.cookies


def test_a_revoked_link_shuts_open_pages_too(ben, as_ben, sheet, ana):
    assert as_ben.get(reverse("today")).status_code == 200
    links.renew_client_link(ben, ana)
    assert as_ben.get(reverse("today")).status_code == 403
    assert as_ben.get(reverse("sheet", args=[sheet.public_id])).status_code == 403


def test_guessing_links_is_slowed_down(ben, sheet):
    browser = Browser()
    for _ in range(WRONG_LINKS):
        assert browser.get(reverse("open-client-link", args=["y" * 32])).status_code == 404
    good = ClientLinkFactory(client=ben)
    response = browser.get(reverse("open-client-link", args=[good.token()]))
    assert response.status_code == 429
    assert "Wait a quarter of an hour" in response.content.decode()


def test_the_code_on_paper_opens_that_session_only(ben, sheet):
    other = session_for(ben, name="Upper A")
    add_line(other)
    elsewhere = handed_out(other)
    link = links.sheet_link(sheet.session)
    browser = Browser()
    response = browser.get(reverse("open-sheet-link", args=[link.token()]))
    assert response["Location"] == reverse("sheet", args=[sheet.public_id])
    assert browser.get(response["Location"]).status_code == 200
    assert browser.get(reverse("sheet", args=[elsewhere.public_id])).status_code == 404
    assert browser.get(reverse("today"))["Location"] == reverse("sheet", args=[sheet.public_id])


def test_the_code_on_paper_ends_two_weeks_after_the_session(ben, sheet):
    link = links.sheet_link(sheet.session)
    SheetLink.objects.filter(pk=link.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    assert Browser().get(reverse("open-sheet-link", args=[link.token()])).status_code == 404


def test_another_clients_sheet_is_not_found(as_ben, ana, sheet):
    other = ClientFactory(practice=ana.practice, coach=ana)
    session = session_for(other)
    add_line(session)
    theirs = handed_out(session)
    for name in ("sheet", "report-pain"):
        assert as_ben.get(reverse(name, args=[theirs.public_id])).status_code == 404
    assert as_ben.get(reverse("sheet-line", args=[theirs.public_id, 1])).status_code == 404
    response = as_ben.post(reverse("log-set", args=[theirs.public_id, 1, 1]), {"key": "k" * 12, "amount": "8"})
    assert response.status_code == 404
    assert not LoggedSet.objects.exists()


def test_leaving_a_shared_tablet_closes_the_sheets_here(as_ben, sheet):
    response = as_ben.post(reverse("leave"))
    assert response["Location"] == reverse("link-closed")
    assert as_ben.get(reverse("today")).status_code == 403
    assert "Closed on this device" in as_ben.get(reverse("link-closed")).content.decode()


@pytest.mark.parametrize(
    ("url", "host", "expected"),
    [
        ("https://desk.example.org", "testserver", "phones"),
        ("http://192.168.1.20:8000", "testserver", "phones_no_offline"),
        ("", "127.0.0.1:8000", "this_machine"),
        ("", "192.168.1.20:8000", "phones_no_offline"),
    ],
)
def test_the_page_can_say_whether_phones_reach_the_link(rf, settings, url, host, expected):
    settings.PUBLIC_URL = url
    settings.ALLOWED_HOSTS = ["*"]
    assert links.reach(rf.get("/", headers={"host": host})) == expected
