"""A client at the gym: from the private link to sets, a note and a pain report that have arrived."""

import re
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from clients.models import Client, LoggedSet, PainReport, Proposal, SessionNote, SheetVersion
from clients.services.links import client_link
from tests.browser.windows import NARROW, Window

pytestmark = pytest.mark.journey
NOTE = "The bench wobbles."


def test_a_session_logged_with_the_buttons(visit, maren, week_out):
    version, line = todays(week_out)
    window = visit(size=NARROW, phone=True)
    page = open_line(window, maren, line)
    rest = page.locator("#rest")
    expect(rest).to_be_hidden()

    press(step(page, "load"), "more")
    press(step(page, "amount"), "less")
    last = len(line["sets"])
    typed = []
    for number in range(1, last + 1):
        typed.append(in_hand(page))
        set_done(page, number)
        expect(rest.get_by_role("timer")).to_have_text(re.compile(r"\d:\d\d"))
    expect(page.get_by_text("All sets done.")).to_be_visible()

    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("All sets done.")).to_be_hidden()
    set_done(page, last)
    page.get_by_label("Note on this exercise").fill(NOTE)
    page.get_by_role("button", name="Save note").click()

    page.get_by_role("link", name="Pain").click()
    report_pain(page)
    expect(page.locator("#pain-answer")).to_contain_text("Stop")
    expect(page.locator("#waiting")).to_contain_text("all sent")

    assert len({load for load, _reps in typed}) == 1  # the load that was changed stays for the next set
    arrived(maren, version, line, typed)
    assert LoggedSet.objects.filter(client=maren, state="back").count() == 1
    window.go(reverse("sheet", args=[version.public_id]))
    paused = page.get_by_role("listitem").filter(has_text=line["exercise"]["name"])
    expect(paused).to_contain_text("paused until your coach answers")


def test_a_session_logged_without_script(visit, maren, week_out):
    version, line = todays(week_out)
    page = open_line(visit(size=NARROW, script=False), maren, line)
    last = len(line["sets"])
    typed = []
    for number in range(1, last + 1):
        typed.append(in_hand(page))
        set_done(page, number)
        expect(page.locator(".done-sets").get_by_role("listitem")).to_have_count(number)
    expect(page.get_by_text("All sets done.")).to_be_visible()

    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".done-sets").get_by_role("listitem")).to_have_count(last - 1)
    set_done(page, last)
    page.get_by_label("Note on this exercise").fill(NOTE)
    page.get_by_role("button", name="Save note").click()

    page.get_by_role("link", name="Pain").click()
    report_pain(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Stop")
    expect(page.get_by_text("Paused until your coach answers:")).to_be_visible()
    arrived(maren, version, line, typed)


def todays(week_out: list[SheetVersion]) -> tuple[SheetVersion, dict[str, Any]]:
    """Today's sheet and its first line with a load."""
    version = week_out[0]
    lines = (line for line in version.document["lines"] if not line["free"])
    return version, next(line for line in lines if line["sets"][0]["load"])


def open_line(window: Window, client: Client, line: dict[str, Any]) -> Page:
    page = window.go(reverse("open-client-link", args=[client_link(client).token()]))
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    page.get_by_role("link", name="Open the sheet").click()
    expect(page.get_by_role("heading", name="When to stop")).to_be_visible()
    page.get_by_role("main").get_by_role("link", name=line["exercise"]["name"]).click()
    expect(page.get_by_role("heading", name=line["exercise"]["name"], level=1)).to_be_visible()
    return page


def step(page: Page, name: str) -> Locator:
    """The − number + of the set in hand."""
    return page.locator("form.log-set:visible .step").filter(has=page.locator(f"[name={name}]"))


def in_hand(page: Page) -> tuple[float, int]:
    """Load and reps of the set in hand, as they stand in the form."""
    load, reps = (step(page, name).locator("input").input_value() for name in ("load", "amount"))
    return float(load), int(reps)


def press(field: Locator, way: str) -> None:
    """ "more" or "less", once, which must be seen."""
    before = float(field.locator("input").input_value())
    field.get_by_role("button", name=re.compile(f"^{way}: ")).click()
    after = float(field.locator("input").input_value())
    assert after > before if way == "more" else after < before


def set_done(page: Page, number: int) -> None:
    page.get_by_role("button", name=f"Set {number} done").click()


def report_pain(page: Page) -> None:
    page.get_by_label("Where").select_option(label="shoulder")
    page.locator(".scores").get_by_text("5", exact=True).check()
    page.get_by_role("button", name="Tell my coach").click()


def arrived(client: Client, version: SheetVersion, line: dict[str, Any], typed: list[tuple[float, int]]) -> None:
    """The sets as typed, once each, the note, and the report with what it holds back."""
    sets = LoggedSet.objects.filter(client=client).counting().order_by("number")
    assert [(row.line, row.number) for row in sets] == [(line["number"], row["number"]) for row in line["sets"]]
    assert [(float(row.load_value), row.reps) for row in sets] == typed
    assert {row.session for row in sets} == {version.session}
    assert NOTE in SessionNote.objects.get(session=version.session).text
    report = PainReport.objects.get(client=client)
    assert (report.body_part, report.score, report.action) == ("shoulder", 5, "stop")
    assert report.affected["joints"]
    # What came in has been read: the coach has something to decide.
    assert Proposal.objects.filter(client=client).waiting().filter(slot_key=line["slot"]).exists()
