"""The template editor in a browser: a template from nothing, by keys and by dragging; late windows; every width."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from programs.models import Outline, OutlineSlot, SlotCandidate
from programs.services.outline_work import open_copy
from tests.browser.test_accessibility import faults
from tests.browser.windows import DESK, NARROW

pytestmark = pytest.mark.journey
TALL = {"width": 1440, "height": 2400}  # two day types at once


@pytest.fixture
def work(sanna):
    """The working copy of a seeded template."""
    return open_copy(Outline.objects.get(practice=sanna.practice, seed_key="upper-lower-four-days"), sanna)


def keys(work, day):
    return list(OutlineSlot.objects.filter(day__outline=work, day__key=day).values_list("key", flat=True))


def revision(page: Page) -> int:
    return int(page.locator("#status").get_attribute("data-revision") or 0)


def after(page: Page, act) -> None:
    """Does something and waits until the page stands at the revision that follows."""
    before = revision(page)
    act()
    expect(page.locator("#status")).to_have_attribute("data-revision", str(before + 1))


def add_slot(page: Page, day: str, region: str, role: str, title: str) -> None:
    """By keyboard alone: a letter chooses in a list, Enter in the last box adds."""
    page.locator(f"#add-{day}-region").focus()
    page.keyboard.type(region)
    page.keyboard.press("Tab")
    page.keyboard.type(role)
    page.keyboard.press("Tab")
    page.keyboard.type(title)
    after(page, lambda: page.keyboard.press("Enter"))


def test_a_template_is_written_from_nothing(visit, sanna):
    page = visit(coach=sanna).go(reverse("templates"))
    page.get_by_role("link", name="New template").click()
    page.get_by_label("Name").fill("Two days")
    page.get_by_label("Sessions a week").fill("2")
    page.get_by_label("novice").check()
    page.keyboard.press("Enter")
    expect(page.locator("#band-full")).to_be_visible()
    work = Outline.objects.filter(in_work=True).get()

    add_slot(page, "full", "mid chest", "main", "Press")
    add_slot(page, "full", "lats", "secondary", "Pull")
    add_slot(page, "full", "biceps", "isolation", "Curl")
    expect(page.locator("#slot-full-curl.open")).to_be_visible()
    expect(page.locator(".slot-item.open")).to_have_count(1)

    page.locator("#q-full-curl").focus()
    page.keyboard.type("incline")
    button = page.locator("#found-full-curl").get_by_role("button", name="Add to A: Incline dumbbell curl")
    expect(button).to_be_visible()
    button.focus()
    after(page, lambda: page.keyboard.press("Enter"))
    expect(page.locator("#ranked-full-curl")).to_contain_text("Incline dumbbell curl")
    expect(page.locator("#q-full-curl")).to_have_value("incline")
    expect(page.locator("#preview")).to_contain_text("Elbow flexors")
    page.keyboard.press("Escape")
    expect(page.locator(".slot-item.open")).to_have_count(0)
    expect(page.locator("#open-full-curl")).to_be_focused()

    after(page, lambda: page.keyboard.press("Alt+ArrowUp"))
    expect(page.locator("#open-full-curl")).to_be_focused()
    assert keys(work, "full") == ["full-press", "full-curl", "full-pull"]
    page.keyboard.press("ArrowUp")
    expect(page.locator("#open-full-press")).to_be_focused()
    after(
        page,
        lambda: page.locator("#slot-full-press .grip").first.drag_to(page.locator("#row-full-pull .row-sets li").last),
    )
    assert keys(work, "full") == ["full-curl", "full-pull", "full-press"]

    page.locator("#menu-full-pull-button").press("Enter")
    page.get_by_role("button", name="In turns with Press").press("Enter")
    expect(page.locator("#slot-full-press.superset-end")).to_be_visible()
    page.locator("#menu-full-curl-button").press("Enter")
    page.get_by_role("button", name="In turns with Pull").press("Enter")
    expect(page.locator("#slot-full-curl.superset-start")).to_be_visible()
    after(page, lambda: page.keyboard.press("Control+z"))
    expect(page.locator("#slot-full-curl")).not_to_have_class("superset-start")
    assert [slot.superset for slot in OutlineSlot.objects.filter(day__outline=work)] == ["", "A", "A"]

    page.locator("#editor-save").click()
    expect(page.locator("#toasts")).to_contain_text("Two days saved as version 1.")
    assert Outline.objects.current().filter(name="Two days", version=1).exists()


def test_what_is_typed_is_saved_field_by_field_and_the_focus_goes_on(visit, sanna, work):
    page = visit(coach=sanna).go(reverse("template-editor", args=[work.public_id]))
    page.locator("#open-upper-row").press("Enter")
    expect(page.locator("#slot-upper-row.open")).to_be_visible()
    before = page.locator("#preview .dose tbody").first.inner_text()
    page.locator("#f-upper-row-sets_novice").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("6-8")
    after(page, lambda: page.keyboard.press("Tab"))
    expect(page.locator("#f-upper-row-sets_intermediate")).to_be_focused()
    expect(page.locator("#row-upper-row")).to_contain_text("6–8")
    assert page.locator("#preview").inner_text() and before
    page.keyboard.press("Control+a")
    page.keyboard.type("many")
    page.keyboard.press("Tab")
    expect(page.locator("#slot-upper-row .error").first).to_be_visible()
    expect(page.locator("#f-upper-row-sets_intermediate")).to_have_value("many")
    expect(page.locator("#f-upper-row-sets_advanced")).to_be_focused()
    assert OutlineSlot.objects.get(day__outline=work, key="upper-row").sets["novice"] == [6, 8]


def test_slots_are_dragged_to_another_day_type_and_candidates_ranked_by_digit(visit, sanna, work):
    page = visit(coach=sanna, size=TALL).go(reverse("template-editor", args=[work.public_id]))
    after(
        page,
        lambda: page.locator("#slot-upper-side-shoulder .grip").drag_to(page.locator("#row-lower-squat .row-sets")),
    )
    assert "upper-side-shoulder" in keys(work, "lower")[:2]
    expect(page.locator("#band-lower #slot-upper-side-shoulder")).to_be_visible()

    page.locator("#open-upper-row").press("Enter")
    last = SlotCandidate.objects.filter(slot__day__outline=work, slot__key="upper-row", occurrence=0).last()
    page.locator(f"#candidate-{last.pk}-name").focus()
    after(page, lambda: page.keyboard.press("1"))
    expect(page.locator(f"#candidate-{last.pk}-name")).to_be_focused()
    first = SlotCandidate.objects.filter(slot__day__outline=work, slot__key="upper-row", occurrence=0).first()
    assert first.pk == last.pk
    after(page, lambda: page.keyboard.press("Alt+ArrowDown"))
    first = SlotCandidate.objects.filter(slot__day__outline=work, slot__key="upper-row", occurrence=0).first()
    assert first.pk != last.pk


def test_sessions_are_moved_and_the_focus_goes_with_them(visit, sanna, work):
    page = visit(coach=sanna).go(reverse("template-editor", args=[work.public_id]))
    page.locator("#do-session-down0").focus()
    after(page, lambda: page.keyboard.press("Enter"))
    expect(page.locator("#do-session-down1")).to_be_focused()
    work.refresh_from_db()
    assert work.order == ["lower", "upper", "upper", "lower"]
    page.locator("#do-session-down2").focus()
    after(page, lambda: page.keyboard.press("Alt+ArrowDown"))
    work.refresh_from_db()
    assert work.order == ["lower", "upper", "lower", "upper"]
    expect(page.locator("#session-3 :focus")).to_be_visible()
    after(page, lambda: page.locator("#session-3 .grip").drag_to(page.locator("#session-0 b")))
    work.refresh_from_db()
    assert work.order[0] == "upper"


def test_the_focus_stays_near_what_was_removed(visit, sanna, work):
    page = visit(coach=sanna).go(reverse("template-editor", args=[work.public_id]))
    page.locator("#menu-upper-row-button").press("Enter")
    down = page.get_by_role("button", name="Move down: Back, row")
    down.focus()
    after(page, lambda: page.keyboard.press("Enter"))
    expect(page.locator("#menu-upper-row-button")).to_be_focused()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Remove: Back, row").focus()
    after(page, lambda: page.keyboard.press("Enter"))
    expect(page.locator("#band-upper-title")).to_be_focused()


def test_keys_faster_than_the_answer_are_all_heard(visit, sanna, work):
    page = visit(coach=sanna).go(reverse("template-editor", args=[work.public_id]))
    page.locator("#open-upper-row").focus()
    for _ in range(3):
        page.keyboard.press("Alt+ArrowDown")
    expect(page.locator("#status")).to_have_attribute("data-revision", "4")
    assert keys(work, "upper").index("upper-row") == 3


def test_a_second_window_is_told_that_it_is_late_and_keeps_what_was_typed(visit, sanna, work):
    address = reverse("template-editor", args=[work.public_id])
    late = visit(coach=sanna).go(f"{address}?slot=upper-row")
    page = visit(coach=sanna).go(address)
    page.locator("#open-lower-squat").focus()
    after(page, lambda: page.keyboard.press("Alt+ArrowDown"))
    late.locator("#f-upper-row-technique").fill("Chest on the pad.")
    late.keyboard.press("Tab")
    expect(late.locator("#stale")).to_be_visible()
    expect(late.locator("#f-upper-row-technique")).to_have_value("Chest on the pad.")
    assert OutlineSlot.objects.get(day__outline=work, key="upper-row").technique == ""
    late.locator("#f-upper-row-technique").press("End")
    late.keyboard.type(" Slowly.")
    after(late, lambda: late.keyboard.press("Tab"))
    assert OutlineSlot.objects.get(day__outline=work, key="upper-row").technique == "Chest on the pad. Slowly."


@pytest.mark.parametrize(("size", "theme"), [(DESK, "light"), (NARROW, "dark")], ids=["wide-light", "narrow-dark"])
def test_the_page_can_be_used_by_everybody(visit, sanna, work, size, theme):
    window = visit(coach=sanna, size=size, theme=theme, phone=size == NARROW)
    page = window.go(f"{reverse('template-editor', args=[work.public_id])}?slot=upper-row")
    wrong = faults(page)
    page.locator("#menu-upper-row-button").click()
    page.locator("#day-menu-upper-button").click()
    page.locator("#cycle-fold > summary").click()
    page.locator("#words-fold > summary").click()
    wrong += faults(page)
    wrong += [f"new: {fault}" for fault in faults(window.go(reverse("template-new")))]
    assert not wrong, "\n".join(wrong)


def test_all_of_it_works_without_script(visit, sanna, work):
    page = visit(coach=sanna, script=False).go(reverse("template-editor", args=[work.public_id]))
    page.locator("#menu-upper-row-button").click()
    page.get_by_role("button", name="Move down: Back, row").click()
    expect(page.locator("#toasts")).to_contain_text("Back, row moved.")
    assert keys(work, "upper")[1] == "upper-row"
    page.locator("#open-upper-row").click()
    page.get_by_label("Technique note").fill("Chest on the pad.")
    page.get_by_role("button", name="Save slot").click()
    expect(page.locator("#row-upper-row")).to_contain_text("Chest on the pad.")
    page.get_by_label("Find a candidate that aims there").fill("row")
    page.get_by_role("button", name="Find", exact=True).click()
    page.locator("#found-upper-row").get_by_role("button", name="Add to B").first.click()
    expect(page.locator("#toasts")).to_contain_text("added.")
    page.locator("#toasts").get_by_role("button", name="Undo").click()
    expect(page.locator("#toasts")).to_contain_text("Taken back.")
    page.locator("#editor-discard").click()
    assert not Outline.objects.filter(in_work=True).exists()
