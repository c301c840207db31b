"""A coach's first day: from an empty machine to the first week's sheets."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from clients.models import Block, Client, Draft, SheetVersion
from tests.browser.windows import PASSWORD

pytestmark = pytest.mark.journey
WEEKS = 6


def test_from_set_up_to_sheets(visit, live_server):
    window = visit()
    page = window.go("/")
    set_up(page)
    expect(page).to_have_url(f"{window.url}{reverse('desk')}")

    page.get_by_role("navigation").get_by_role("link", name="Clients").first.click()
    page.get_by_role("link", name="Add").first.click()
    take_in(page)
    maren = Client.objects.get()
    assert maren.recent_sets.get().exercise.name == "Barbell bench press"
    assert maren.health_answers.get().result == "cleared"

    window.go(reverse("places"))
    make_place(page)
    window.go(reverse("client", args=[maren.public_id]))
    start(page, maren)
    compose_and_assign(page)
    block = Block.objects.get()
    assert block.document == Draft.objects.get().document
    assert block.sessions.count() == WEEKS * 3

    page.get_by_role("link", name="Sheets", exact=True).click()
    page.get_by_role("button", name="Hand out week 1").click()
    expect(page.get_by_role("status")).to_contain_text("3 sheets handed out")
    handed_out = SheetVersion.objects.filter(session__block=block)
    assert {version.session.cycle for version in handed_out} == {1}
    # Bench press was told of, so its first load is reckoned and not to be found.
    lines = [line for version in handed_out for line in version.document["lines"]]
    assert any(line["exercise"]["name"] == "Barbell bench press" for line in lines if not line["free"])


def set_up(page: Page) -> None:
    """The owner's account, with what a browser cannot guess."""
    page.get_by_label("Your name").fill("Sanna K.")
    page.get_by_label("Email address").fill("sanna@example.org")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_label("Practice name").fill("Net Loft")
    page.get_by_label("Time zone").select_option("Europe/Helsinki")
    page.get_by_role("button", name="Start").click()


def take_in(page: Page) -> None:
    """Five steps; each is saved as it is left."""
    onward = page.get_by_role("button", name="Save and go on")
    page.get_by_label("Name", exact=True).fill("Maren T.")
    page.get_by_label("Date of birth").fill("1990-05-01")
    onward.click()

    page.get_by_label("intermediate").check()
    page.get_by_label("Sessions a week").fill("3")
    page.get_by_label("Minutes a session").fill("90")
    for day in ("Monday", "Wednesday", "Friday"):
        page.get_by_role("group", name="Training days").get_by_label(day).check()
    onward.click()

    page.get_by_role("radiogroup", name="Upper back").get_by_label("more").check()
    onward.click()

    first = page.get_by_role("table", name="Sets done lately").get_by_role("row").nth(1)
    a_week_ago = (timezone.localdate() - timedelta(days=7)).isoformat()
    typed = {
        "exercise": "Barbell bench press",
        "load": "60 kg",
        "reps": "8",
        "left in reserve": "2",
        "when": a_week_ago,
    }
    for label, text in typed.items():
        first.get_by_label(label).fill(text)
    onward.click()
    expect(page.get_by_text("Step 5 of 5")).to_be_visible()

    for question in page.get_by_role("radiogroup").all():
        question.get_by_label("no", exact=True).check()
    page.get_by_role("radiogroup").first.get_by_label("yes").check()  # active enough
    page.get_by_role("button", name="Save and finish").click()
    expect(page.get_by_text("Everything a first week needs is there.")).to_be_visible()
    page.get_by_role("button", name="Open the profile").click()
    expect(page.get_by_role("heading", name="Recent sets")).to_be_visible()


def make_place(page: Page) -> None:
    """The strength room in two clicks."""
    page.get_by_role("link", name="Add a place").first.click()
    page.get_by_label("Name", exact=True).fill("The loft")
    page.get_by_role("button", name="Add place").click()
    page.get_by_role("button", name="Strength room").click()
    expect(page.get_by_role("link", name="barbell", exact=True)).to_be_visible()


def start(page: Page, client: Client) -> None:
    """From the profile to the board."""
    page.get_by_role("link", name="Compose", exact=True).click()
    page.get_by_role("link", name=f"Compose for {client.name}").click()
    page.get_by_label("Template").select_option(label="Full body, three days (3 a week)")
    page.get_by_label("Weeks", exact=True).fill(str(WEEKS))
    page.get_by_role("button", name="Compose the week").click()
    expect(page.get_by_role("heading", name="Weekly sets by group")).to_be_visible()


def compose_and_assign(page: Page) -> None:
    """A swap is seen in the dose at once and can be taken back; a pinned pick stays; then it is assigned."""
    number, way = swap_that_moves_the_dose(page)
    pick = page.locator("a.pick-name").nth(number)
    was = pick.inner_text()
    assert page.locator("#pick .reason").count() >= 1
    wanted = way.locator(".name").inner_text().split("\n")[0]
    before = doses(page)
    way.get_by_role("button", name="Use").click()
    expect(pick).to_contain_text(wanted)
    assert doses(page) != before

    page.locator("#board-undo").click()
    expect(pick).to_contain_text(was)
    assert doses(page) == before

    page.locator("#pick-pin").click()
    expect(page.locator("#pick-pin")).to_have_text("Release")
    assert any(row["pinned"] for row in Draft.objects.get().document["picks"])

    page.locator("#board-assign").click()
    expect(page.get_by_role("heading", name="Block 1")).to_be_visible()


def doses(page: Page) -> list[str]:
    return page.locator("table.dose .count").all_inner_texts()


def swap_that_moves_the_dose(page: Page) -> tuple[int, Locator]:
    """Opens picks in turn: which of equal weeks was composed hangs on ids that differ from run to run."""
    picks = page.locator("a.pick-name")
    for number in range(picks.count()):
        was = picks.nth(number).inner_text()
        picks.nth(number).click()
        expect(page.locator("#pick").get_by_role("heading", name=was)).to_be_visible()
        ways = page.locator("#pick table.alternatives tbody tr:not(.chosen)")
        moving = ways.filter(has=page.locator(".changes .whole"))
        if moving.count():
            return number, moving.first
    raise AssertionError("no swap moves the dose")
