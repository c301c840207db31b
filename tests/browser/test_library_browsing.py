"""The library by hand: a part of the body touched, a name mistyped, a favourite kept and let go, two compared."""

import re

import pytest
from playwright.sync_api import expect

from programs.models import Exercise, FavouriteExercise
from tests.browser.windows import DESK, NARROW

pytestmark = pytest.mark.journey


def touch(page, group):
    """Touches the middle of one of the group's shapes."""
    shape = page.locator(f".part-{group} path").last
    shape.scroll_into_view_if_needed()
    box = shape.bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.85, box["y"] + box["height"] * 0.4)


@pytest.mark.parametrize("size", [DESK, NARROW], ids=["wide", "narrow"])
def test_a_touched_part_of_the_body_is_the_filter(visit, sanna, size):
    page = visit(coach=sanna, size=size).go("/library/")
    if size is NARROW:
        expect(page.locator(".finder-fields")).to_be_hidden()
        page.locator(".finder-fold-label").click()
    touch(page, "hamstrings")
    expect(page).to_have_url(re.compile(r"/library/\?group=hamstrings$"))
    expect(page.get_by_role("radio", name="Hamstrings")).to_be_checked()
    page.get_by_role("radio", name="Hamstrings").press("ArrowRight")
    expect(page.get_by_role("radio", name="Calves")).to_be_checked()
    expect(page.locator("#exercises")).to_contain_text("Seated calf raise")
    expect(page.locator("#exercises")).not_to_contain_text("Barbell bench press")


def test_words_filters_and_a_favourite_at_once(visit, sanna):
    page = visit(coach=sanna).go("/library/")
    page.get_by_label("Name, region or implement").press_sequentially("deadlfit")
    expect(page.locator("#library-state")).to_contain_text("showing “deadlift”")
    row = page.get_by_role("row", name="Trap bar deadlift")
    row.get_by_role("button", name="Favourite").click()
    expect(row.get_by_role("button", name="Favourite")).to_have_attribute("aria-pressed", "true")
    exercise = Exercise.objects.get(practice=sanna.practice, name="Trap bar deadlift")
    assert FavouriteExercise.objects.filter(coach=sanna, exercise=exercise).exists()
    page.locator("#toasts").get_by_role("button", name="Undo").click()
    expect(row.get_by_role("button", name="Favourite")).to_have_attribute("aria-pressed", "false")
    assert not FavouriteExercise.objects.exists()


def test_two_ticked_rows_are_compared_without_script(visit, sanna):
    page = visit(coach=sanna, script=False).go("/library/?q=deadlift")
    for name in ("Trap bar deadlift", "Kettlebell deadlift"):
        page.get_by_role("row", name=name).get_by_role("checkbox").check()
    page.get_by_role("button", name="Compare two").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Compare two exercises")
    expect(page.locator(".compare-table thead")).to_contain_text("Kettlebell deadlift")
    expect(page.locator("tr.unlike").first).to_contain_text("differs")
