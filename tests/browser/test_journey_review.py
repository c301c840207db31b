"""The weekly turn for a client on paper: logs typed in, progress seen, proposals decided, the next sheets."""

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from clients.models import Client, LoggedSet, Proposal, SheetVersion, TrainingSession
from clients.services import proposals
from clients.services.links import client_link
from coachdesk.practice.models import Coach
from tests.browser.windows import NARROW, PASSWORD, Window

pytestmark = pytest.mark.journey


@pytest.fixture
def from_paper(maren: Client, last_week_out: list[SheetVersion]) -> list[SheetVersion]:
    """Three sheets on paper, trained from and not typed in yet."""
    maren.by_paper = True
    maren.save(update_fields=["by_paper"])
    return last_week_out


def test_from_paper_to_the_next_weeks_sheets(visit, sanna, maren, from_paper):
    window = visit()
    page = window.go("/")
    sign_in(page)
    expect(page).to_have_url(f"{window.url}{reverse('desk')}")
    for version in from_paper:
        window.go(reverse("client-logs", args=[maren.public_id]))
        page.get_by_role("link", name=version.session.name, exact=True).last.click()
        type_sets(page, version)
        page.get_by_role("button", name="Save sets").click()
        expect(page.locator("#toasts")).to_contain_text("taken in")
    typed = LoggedSet.objects.filter(client=maren, session__cycle=1).counting()
    assert typed.count() == sum(len(line["sets"]) for version in from_paper for line in lines_of(version))
    assert {row.way for row in typed} == {"paper"}
    assert set(TrainingSession.objects.filter(block__client=maren, cycle=1).values_list("state")) == {("trained",)}

    page.get_by_role("link", name="Progress", exact=True).click()
    expect(page.get_by_role("heading", name="All lifts")).to_be_visible()
    decide(window, maren, sanna)

    window.go(reverse("client-progress", args=[maren.public_id]))
    page.get_by_role("button", name="Issue next week’s sheets").click()
    expect(page.locator("#toasts")).to_contain_text("Sent 3 sheets")
    supersede(window, visit, maren)


def sign_in(page: Page) -> None:
    page.get_by_label("Email address").fill("sanna@example.org")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def type_sets(page: Page, version: SheetVersion) -> None:
    for line in lines_of(version):
        for target in line["sets"]:
            page.locator(f"#c-{line['number']}-{target['number']}").fill(done(line, target))


def done(line: dict[str, Any], target: dict[str, Any]) -> str:
    """The top of what was asked, as a coach writes it; 30 kg where the load was still to be found."""
    if line["exercise"]["rep_unit"] != "reps":
        return str(target["seconds"] or target["metres"])
    return f"{'30x' if line['finding'] else ''}{target['reps'][1]}@3"


def lines_of(version: SheetVersion) -> list[dict[str, Any]]:
    return [line for line in version.document["lines"] if not line["free"]]


def decide(window: Window, client: Client, sanna: Coach) -> None:
    """One proposal is accepted as it stands, one gets the coach's own numbers, the rest goes at once."""
    page = window.page
    waiting = Proposal.objects.filter(client=client).waiting()
    some = page.locator("#proposals li.decision").filter(has=page.get_by_role("button", name="Accept"))
    first = Proposal.objects.get(public_id=some.first.get_attribute("id").removeprefix("p-"))
    some.first.get_by_role("button", name="Accept").click()
    expect(page.locator(f"#p-{first.public_id}.decided")).to_be_visible()
    first.refresh_from_db()
    assert (first.state, first.decided_by.name) == ("accepted", "Sanna K.")

    edited = waiting.filter(exercise__implement="dumbbell", session__position=1).first()
    window.go(reverse("proposal", args=[edited.public_id]))
    page.get_by_label("Sets").fill("4")
    page.get_by_role("button", name="Use these numbers").click()
    expect(page.locator("#toasts")).to_contain_text("Changed")
    edited.refresh_from_db()
    assert (edited.state, edited.decided["sets"]) == ("edited", 4)
    proposals.decide(list(waiting), sanna, edited={})


def supersede(window: Window, visit: Any, client: Client) -> None:
    """A session that is out moves to another day: the client's link shows the new version, the old one says so."""
    session = TrainingSession.objects.filter(block__client=client, cycle=2).order_by("position").last()
    first = session.versions.get()
    later = session.planned_on + timedelta(days=1)
    page = window.go(reverse("session", args=[session.public_id]))
    page.get_by_label("On").fill(later.isoformat())
    page.get_by_role("button", name=f"Move {session.name}").click()
    expect(page.locator("#toasts")).to_contain_text("moved")
    newest = session.versions.get(state="issued")
    assert newest.number == 2
    first.refresh_from_db()
    assert first.state == "superseded"

    phone = visit(size=NARROW, phone=True)
    page = phone.go(reverse("open-client-link", args=[client_link(client).token()]))
    page.get_by_role("link", name=session.name).click()
    expect(page).to_have_url(f"{phone.url}{reverse('sheet', args=[newest.public_id])}")
    phone.go(reverse("sheet", args=[first.public_id]))
    expect(page.get_by_text("This is version 1.")).to_be_visible()
    page.get_by_role("link", name="Open version 2").click()
    expect(page).to_have_url(f"{phone.url}{reverse('sheet', args=[newest.public_id])}")
