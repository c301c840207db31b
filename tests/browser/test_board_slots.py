"""The slots on the board in a browser: dragged, moved by keys faster than the answers, paired, added, removed."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from clients.clock import today_for
from clients.models import Draft
from clients.services.drafts import start_draft
from coachdesk.practice.models import Coach
from programs.models import Outline
from tests.browser.test_accessibility import faults
from tests.browser.windows import DESK, NARROW
from tests.factories import CoachFactory

pytestmark = pytest.mark.journey


@pytest.fixture
def draft(sanna, maren, room):
    outline = Outline.objects.get(practice=sanna.practice, seed_key="upper-lower-four-days")
    return start_draft(maren, sanna, outline=outline, place=room, starts_on=today_for(maren), weeks=4)


@pytest.fixture
def board(visit, sanna, draft):
    return visit(coach=sanna).go(reverse("draft", args=[draft.public_id]))


def order(day: str) -> list[str]:
    return list(Draft.objects.get().document["order"][day])


def revision(page: Page) -> int:
    return int(page.locator("#board").get_attribute("data-revision") or 0)


def after(page: Page, act, edits: int = 1) -> None:
    """Does something and waits until the board stands at the revision that follows."""
    before = revision(page)
    act()
    expect(page.locator("#board")).to_have_attribute("data-revision", str(before + edits))


def cell(page: Page, slot: str):
    return page.locator(f"#pick-{slot}-0")


def drag(page: Page, slot: str, onto: Locator) -> None:
    """By the number of the slot's row to the upper edge of something in sight."""
    held, there = page.locator(f'tr[data-item="{slot}"] .grip').bounding_box(), onto.bounding_box()
    assert held and there
    page.mouse.move(held["x"] + held["width"] / 2, held["y"] + held["height"] / 2)
    page.mouse.down()
    for rest in (12, 8, 4):
        page.mouse.move(there["x"] + 40, there["y"] + rest)
    page.mouse.up()


def test_slots_are_moved_by_keys_and_by_dragging_and_the_place_stays(board):
    first, second, third = order("upper")[:3]
    cell(board, first).focus()
    board.evaluate("window.scrollTo(0, 120)")
    # Faster than the answers: each key counts.
    after(board, lambda: [board.keyboard.press("Alt+ArrowDown") for _ in range(2)], edits=2)
    assert order("upper")[:3] == [second, third, first]
    expect(cell(board, first)).to_be_focused()
    assert board.evaluate("window.scrollY") == 120
    after(board, lambda: drag(board, first, board.locator(f'tr[data-item="{second}"] .slot')))
    assert order("upper")[:3] == [first, second, third]
    assert board.evaluate("window.scrollY") == 120
    drag(board, second, board.locator("#dose-title"))
    assert order("upper")[:3] == [first, second, third]

    # All of it taken back and done again by keys, without loading a page.
    board.evaluate("document.documentElement.dataset.here = 'yes'")
    after(board, lambda: [board.keyboard.press("Control+z") for _ in range(3)], edits=3)
    assert order("upper")[:3] == [first, second, third]
    after(board, lambda: [board.keyboard.press("Control+Shift+z") for _ in range(2)], edits=2)
    assert order("upper")[:3] == [second, third, first]
    expect(board.locator("html")).to_have_attribute("data-here", "yes")


def test_a_slot_is_added_paired_removed_and_put_back(board):
    board.locator("#add-to-lower").press("Enter")
    board.locator("#add-slot select").first.focus()
    board.locator("#add-slot select").first.select_option("gastroc")
    expect(board.get_by_label("Called")).to_have_value("Calf, two-joint")
    expect(board.get_by_label("Target region")).to_be_focused()
    board.get_by_label("Called").fill("Calves again")
    board.get_by_label("Target region").select_option("soleus")
    expect(board.locator("#add-slot [name=usual]")).not_to_have_value(re.compile("two-joint"))
    expect(board.get_by_label("Called")).to_have_value("Calves again")
    board.get_by_label("Target region").select_option("gastroc")
    expect(board.locator("#add-slot [name=usual]")).to_have_value(re.compile("two-joint"))
    after(board, lambda: board.get_by_label("Reps").press("Enter"))
    expect(board.locator("#pick")).to_be_visible()
    added = Draft.objects.get().document["added_slots"][0]
    assert (added["title"], added["region"]) == ("Calves again", "gastroc")
    expect(board.locator(f'tr[data-item="{added["key"]}"]')).to_contain_text("added for this client")

    minutes = board.locator(".sessions td.number").all_inner_texts()
    after(board, lambda: board.locator("#pick-up").click())
    expect(board.locator("#pick-up")).to_be_focused()
    after(board, lambda: board.locator("#pair-below").click())
    expect(board.locator(f'tr[data-item="{added["key"]}"]')).to_have_class("superset-start")
    assert board.locator(".sessions td.number").all_inner_texts() != minutes
    after(board, lambda: board.locator("#pair-alone").click())
    expect(board.locator(f'tr[data-item="{added["key"]}"]')).not_to_have_class("superset-start")

    after(board, lambda: board.locator("#slot-remove").click())
    expect(board.locator(f'tr[data-item="{added["key"]}"]')).to_have_count(0)
    after(board, lambda: board.get_by_role("button", name="Put back: Calves again").click())
    expect(board.locator(f'tr[data-item="{added["key"]}"]')).to_be_visible()


def press(page: Page, *ids: str) -> None:
    """One after the other within a moment that no answer fits into."""
    page.evaluate("ids => { for (const id of ids) document.getElementById(id).click(); }", list(ids))


def test_buttons_pressed_faster_than_the_answers_count(board):
    cell(board, "upper-flat-press").click()
    shown = board.locator("#pick output")
    expect(shown).to_have_text("3 sets")
    after(board, lambda: press(board, "sets-fewer", "sets-fewer"), edits=2)
    expect(shown).to_have_text("1 set")
    after(board, lambda: press(board, "sets-more", "pick-down"), edits=2)
    expect(shown).to_have_text("2 sets")
    assert order("upper")[2] == "upper-flat-press"
    # Twice by mistake is once: what the button would do by then is another thing.
    after(board, lambda: press(board, "pick-pin", "pick-pin", "pick-pin"))
    expect(board.locator("#pick-pin")).to_have_text("Pin")
    # What is opened meanwhile is opened, and the button of what was open goes for that alone.
    before = int(shown.inner_text()[0])
    after(board, lambda: press(board, "sets-more", "pick-upper-row-0", "sets-more"))
    expect(board.locator("#pick-title")).to_have_text(cell(board, "upper-row").inner_text())
    changed = Draft.objects.get().document["picks"]
    assert [row["sets"] for row in changed if (row["slot"], row["occurrence"]) == ("upper-flat-press", 0)] == [
        before + 1
    ]


def test_the_focus_stays_near_what_is_gone(board):
    first, second = order("upper")[:2]
    cell(board, second).press("Enter")
    after(board, lambda: board.locator("#pick-up").press("Enter"))
    expect(board.locator("#pick-up")).to_be_disabled()
    expect(board.locator("#pick")).to_be_focused()
    board.locator("#why-not-query").fill("squat")
    board.locator("#ask-1").press("Enter")
    expect(board.locator("#why-not-answer h4")).to_be_visible()
    expect(board.locator("#why-not-answer")).to_be_focused()
    after(board, lambda: board.locator("#slot-remove").press("Enter"))
    expect(cell(board, first)).to_be_focused()
    after(board, lambda: board.get_by_role("button", name="Put back").press("Enter"))
    expect(cell(board, second)).to_be_focused()
    after(board, lambda: [board.keyboard.press("Control+z") for _ in range(3)], edits=3)
    after(board, lambda: [board.keyboard.press("Control+Shift+z") for _ in range(2)], edits=2)
    after(board, lambda: board.locator("#board-undo").press("Enter"))
    after(board, lambda: board.locator("#board-undo").press("Enter"))
    expect(board.locator("#board-undo")).to_be_disabled()
    expect(board.locator("body")).not_to_be_focused()


def test_a_choice_made_the_moment_the_new_boxes_show_counts(board):
    board.locator("#add-to-lower").press("Enter")
    regions = board.locator("#add-slot select").first
    regions.focus()
    board.evaluate("""
      document.addEventListener('htmx:afterSwap', () => setTimeout(() => {
        const regions = document.querySelector('#add-slot select');
        regions.value = 'soleus';
        regions.dispatchEvent(new Event('change', { bubbles: true }));
      }), { once: true })
    """)
    with board.expect_response(re.compile("region=soleus")):
        regions.select_option("gastroc")
    expect(board.get_by_label("Target region")).to_have_value("soleus")
    expect(board.locator("#add-slot [name=usual]")).not_to_have_value(re.compile("two-joint"))


def test_a_pair_that_tires_the_same_part_is_refused_with_the_reason(board):
    before = revision(board)
    cell(board, "lower-squat").click()
    board.locator("#pair-below").click()
    expect(board.locator("#toasts")).to_contain_text("both main lifts")
    assert revision(board) == before


def test_the_second_coach_is_told_and_loses_nothing_typed(visit, sanna, draft, board):
    other: Coach = CoachFactory(practice=sanna.practice, name="Jonne R.")
    late = visit(coach=other).go(f"{reverse('draft', args=[draft.public_id])}?add=upper")
    late.get_by_label("Target region").select_option("biceps")
    expect(late.get_by_label("Called")).not_to_have_value("")
    late.get_by_label("Called").fill("Arms, my way")
    cell(board, "upper-row").focus()
    after(board, lambda: board.keyboard.press("p"))
    late.locator("#add-slot-button").click()
    expect(late.locator("#stale")).to_contain_text("is pinned")
    expect(late.locator("#stale")).to_be_focused()
    expect(late.get_by_label("Called")).to_have_value("Arms, my way")
    after(late, lambda: late.locator("#add-slot-button").click())
    assert Draft.objects.get().document["added_slots"][0]["title"] == "Arms, my way"


@pytest.mark.parametrize(("size", "theme"), [(DESK, "dark"), (NARROW, "light")], ids=["wide-dark", "narrow-light"])
def test_the_board_can_be_used_by_everybody(visit, sanna, draft, size, theme):
    window = visit(coach=sanna, size=size, theme=theme, phone=size == NARROW)
    address = reverse("draft", args=[draft.public_id])
    wrong = [f"adding: {fault}" for fault in faults(window.go(f"{address}?add=upper"))]
    page = window.go(f"{address}?open=upper-row:0")
    wrong += [f"opened: {fault}" for fault in faults(page)]
    if size == NARROW:
        after(page, lambda: page.locator("#pick-down").tap())
        assert order("upper")[1] == "upper-row"
    assert not wrong, "\n".join(wrong)


def test_slots_are_changed_without_script(visit, sanna, draft):
    page = visit(coach=sanna, script=False).go(reverse("draft", args=[draft.public_id]))
    page.get_by_role("link", name="Add a slot to Upper").click()
    page.get_by_label("Target region").select_option("biceps")
    page.get_by_role("button", name="Add the slot").click()
    expect(page.locator("#toasts")).to_contain_text("added for this client")
    page.locator("#slot-remove").click()
    expect(page.locator("#toasts")).to_contain_text("removed for this client")
    page.get_by_role("button", name="Put back").click()
    expect(page.locator("#toasts")).to_contain_text("is back")
