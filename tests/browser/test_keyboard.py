"""The keyboard alone: a paper log typed in and taken back, then a pick pinned on the board."""

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from clients.clock import today_for
from clients.models import Draft, LoggedSet
from clients.services.drafts import start_draft
from programs.models import Outline
from tests.browser.windows import PASSWORD

pytestmark = pytest.mark.journey
MOST_STOPS = 150
# What the focus is on: its name as it is read out, and whether an outline shows where it is. On a part of the browser's
# own, such as the calendar of a date, the browser draws it.
FOCUS = """() => {
  const here = document.activeElement;
  const named = here.getAttribute('aria-label') ?? here.labels?.[0]?.textContent ?? here.textContent;
  const outlined = (one) => getComputedStyle(one).outlineStyle !== 'none';
  const seen = !here.matches(':focus') || outlined(here) || outlined(here.closest('label, .box') ?? here);
  return {name: named.replace(/\\s+/g, ' ').trim(), seen, body: here === document.body};
}"""
# Presses Esc on the opened pick's cell once, after the board's new parts are shown and before htmx has taken them up; a
# page loaded anew would know nothing of it.
ESCAPE_AS_SOON_AS_SHOWN = """() => document.addEventListener('htmx:afterSwap', () => {
  document.documentElement.dataset.pressed = 'yes';
  const cell = document.querySelector('.occurrence-cell.chosen .pick-name');
  cell.dispatchEvent(new KeyboardEvent('keydown', {key: 'Escape', bubbles: true, cancelable: true}));
}, {once: true})"""


def test_a_log_is_typed_and_taken_back(visit, sanna, maren, last_week_out):
    version = last_week_out[1]
    page = visit().go("/")
    page.keyboard.type("sanna@example.org")  # the first field has the focus
    tab_to(page, "Password")
    page.keyboard.type(PASSWORD)
    enter(page)

    page.keyboard.press("/")
    page.keyboard.type("maren")
    enter(page)
    for name in (maren.name, "Logs", f"Type in: {version.session.name}"):
        tab_to(page, name)
        enter(page)
    first, second = [line["exercise"]["name"] for line in version.document["lines"] if not line["free"]][:2]
    tab_to(page, f"{first}, set 1")
    page.keyboard.type("30x8@2")
    page.keyboard.press("Enter")
    assert focus(page)["name"].startswith(f"{second}, set 1")
    page.keyboard.type("14x8@2")  # near what the demo's dumbbells are pressed with, so that nothing is asked
    tab_to(page, "Save sets")
    enter(page)
    expect(page.locator("#toasts")).to_contain_text("2 sets taken in")
    assert LoggedSet.objects.filter(client=maren).counting().count() == 2

    with page.expect_navigation():
        page.keyboard.press("Control+z")
    assert not LoggedSet.objects.filter(client=maren).counting().exists()


def test_a_pick_is_found_opened_and_pinned(visit, sanna, maren, room):
    outline = Outline.objects.get(practice=sanna.practice, seed_key="full-body-three-days")
    draft = start_draft(maren, sanna, outline=outline, place=room, starts_on=today_for(maren), weeks=4)
    page = visit(coach=sanna).go(reverse("draft", args=[draft.public_id]))
    tab_to(page, page.locator("a.pick-name").first.inner_text().split("\n")[0])
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    slot, occurrence = page.evaluate("document.activeElement.dataset.place").rsplit(":", 1)
    assert (slot, occurrence) == (draft.document["order"][draft.document["days"][0]["day"]][1], "1")
    page.keyboard.press("Enter")
    expect(page.locator("#pick")).to_be_visible()
    page.keyboard.press("p")
    expect(page.locator("#pick-pin")).to_have_text("Release")
    page.keyboard.press("Escape")
    expect(page.locator("#pick")).to_be_hidden()
    expect(page.locator(":focus")).to_have_attribute("data-place", f"{slot}:{occurrence}")
    pinned = [row for row in Draft.objects.get().document["picks"] if row["pinned"]]
    assert [(row["slot"], str(row["occurrence"])) for row in pinned] == [(slot, occurrence)]


def test_a_key_pressed_as_the_board_changes_loads_no_page(visit, sanna, maren, room):
    outline = Outline.objects.get(practice=sanna.practice, seed_key="full-body-three-days")
    draft = start_draft(maren, sanna, outline=outline, place=room, starts_on=today_for(maren), weeks=4)
    page = visit(coach=sanna).go(reverse("draft", args=[draft.public_id]))
    first = page.locator("a.pick-name").first
    place = first.get_attribute("data-place")
    page.evaluate(ESCAPE_AS_SOON_AS_SHOWN)
    first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("html")).to_have_attribute("data-pressed", "yes")
    expect(page.locator("#pick")).to_be_hidden()
    expect(page.locator(":focus")).to_have_attribute("data-place", place)


def focus(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(FOCUS)
    return found


def enter(page: Page) -> None:
    """Enter, and the page that it leads to."""
    with page.expect_navigation():
        page.keyboard.press("Enter")


def tab_to(page: Page, name: str) -> None:
    """Tab until what has the focus is called so; each stop on the way shows where the focus is."""
    passed = []
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        here = focus(page)
        assert here["body"] or here["seen"], f"no outline on “{here['name']}”"
        if here["name"].startswith(name):
            return
        passed.append("" if here["body"] else here["name"])
    raise AssertionError(f"“{name}” is not among {passed}")
