"""A coach composes for a client at home: what is asked for is impossible, and the least to give up mends it."""

import re
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from clients.clock import today_for
from clients.models import Block, Client, Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.services.places import fill
from clients.starting_sets import SETS
from coachdesk.practice.models import Coach
from programs.engine.compose import alternatives
from programs.engine.compose.solver import available
from tests.browser.windows import NARROW
from tests.factories import ClientFactory, HealthAnswersFactory, LimitFactory, PlaceFactory

pytestmark = [pytest.mark.journey, pytest.mark.skipif(not available(), reason="ways out need the solver")]
TEMPLATE = "Upper and lower, four days (4 a week)"
MINUTES = 45


@pytest.fixture
def at_home(sanna: Coach) -> Client:
    """Trains at home with dumbbells on four days, has 45 minutes and a shoulder to spare."""
    client: Client = ClientFactory(
        practice=sanna.practice,
        coach=sanna,
        name="Maren T.",
        experience="intermediate",
        days=[0, 1, 3, 4],
        sessions_per_week=4,
        minutes=MINUTES,
    )
    LimitFactory(client=client, joint="shoulder_overhead", strict=True)
    kitchen = PlaceFactory(practice=sanna.practice, name="Maren’s kitchen", owner=client)
    fill(kitchen, sanna, SETS["home-dumbbells"])
    client.place = kitchen
    client.save(update_fields=["place"])
    HealthAnswersFactory(client=client, answered_on=today_for(client))
    return client


def test_an_impossible_week_is_made_whole_steered_and_assigned(visit, sanna, at_home):
    page = visit(coach=sanna).go(reverse("compose-start", args=[at_home.public_id]))
    compose(page)
    take_the_cheapest_way_out(page, at_home)
    ask_why_not(page)
    name = swap_a_pick(page)
    pin_it(page, name)
    page.locator("#board-assign").click()
    expect(page.get_by_role("heading", name="Block 1")).to_be_visible()

    block, draft = Block.objects.get(), Draft.objects.get()
    assert block.document == draft.document and block.document["given_up"]
    assert not re.search("shoulder", " ".join(loaded_joints(block)))
    at_home.refresh_from_db()
    assert at_home.minutes == MINUTES


def test_the_ways_out_are_there_without_script_and_on_a_phone(visit, sanna, at_home):
    phone = visit(coach=sanna, size=NARROW, phone=True)
    compose(phone.go(reverse("compose-start", args=[at_home.public_id])))
    page = phone.page
    page.locator("#see-whole").click()
    expect(page.locator("#way-1")).to_be_in_viewport()
    assert page.evaluate("document.documentElement.scrollWidth") <= NARROW["width"]

    plain = visit(coach=sanna, script=False)
    board = plain.go(reverse("draft", args=[Draft.objects.get().public_id]))
    board.get_by_role("link", name="See the ways").click()
    board.locator("#way-1").click()
    expect(board.locator("#empty-places")).to_have_count(0)
    expect(board.get_by_role("heading", name="Given up for this draft alone")).to_be_visible()


def test_the_board_goes_on_after_a_way_out_is_refused(visit, sanna, at_home):
    page = visit(coach=sanna).go(reverse("compose-start", args=[at_home.public_id]))
    compose(page)
    page.locator("#way-1").evaluate("button => { button.value = 'no such way'; }")
    page.locator("#way-1").click()
    expect(page.locator("#whole .error")).to_be_visible()
    page.locator("a.pick-name").first.focus()
    page.keyboard.press("p")
    expect(page.get_by_role("status")).to_contain_text("is pinned")


def compose(page: Page) -> None:
    page.get_by_label("Template").select_option(label=TEMPLATE)
    page.get_by_label("Place", exact=True).select_option(label="Maren’s kitchen")
    page.get_by_role("button", name="Compose the week").click()
    expect(page.get_by_text("The best week by your rules.")).to_be_visible()


def take_the_cheapest_way_out(page: Page, client: Client) -> None:
    """One click; the places that were empty are filled and what stood elsewhere stays."""
    expect(page.locator("#empty-places")).to_be_visible()
    empty = page.locator(".unfilled").count()
    assert empty
    ways = page.locator(".ways-out > li")
    expect(ways.first).to_contain_text(re.compile(r"\d+ more minutes? on \w+day"))
    page.get_by_text("Which limits clash").click()
    expect(page.locator("#clashes")).to_contain_text(f"at most {MINUTES} minutes a session")
    before = exercises(page)

    page.locator("#way-1").click()
    expect(page.locator("#empty-places")).to_have_count(0)
    expect(page.locator(".unfilled")).to_have_count(0)
    expect(page.get_by_role("status")).to_contain_text("filled")
    expect(page.locator(".allowed")).to_contain_text(f"than the client’s {client.minutes} in a session")
    after = exercises(page)
    moved = [place for place in before if before[place] != after[place]]
    assert len(moved) <= empty + 2


def ask_why_not(page: Page) -> None:
    """What loads the sore shoulder says so, and offers no button."""
    page.locator("a.pick-name").first.click()
    box = page.get_by_label("Why not …")
    box.fill("dumbbell overhead press")
    answer = page.locator("#why-not-answer")
    first = answer.get_by_role("link").first
    expect(answer.locator("a, .reason").first).to_be_visible()
    if first.count():
        first.click()
    expect(answer.locator(".reason").first).to_contain_text("to be spared: shoulder, overhead")
    expect(answer.get_by_role("button")).to_have_count(0)


def swap_a_pick(page: Page) -> str:
    """The choice stands as it was shown, and every other pick keeps its exercise."""
    before = exercises(page)
    place, name = a_plain_swap(Draft.objects.get())
    page.locator(f'a.pick-name[data-place="{place}"]').click()
    page.get_by_role("button", name=f"Use {name}", exact=True).click()
    expect(page.locator(".occurrence-cell.chosen a.pick-name")).to_contain_text(name)
    after = exercises(page)
    assert [other for other in before if before[other] != after[other]] == [place]
    return name


def a_plain_swap(draft: Draft) -> tuple[str, str]:
    """A place whose next best exercise comes without anything in exchange, and that exercise's name."""
    inputs = draft_inputs(draft)
    picks = picks_of(draft.document)
    for pick in picks:
        for way in alternatives(inputs.request, picks, pick.slot, pick.occurrence).ranked[:1]:
            if way.swaps_with is None:
                return f"{pick.slot}:{pick.occurrence}", inputs.library[way.exercise].name
    raise AssertionError("no pick can be swapped")


def pin_it(page: Page, name: str) -> None:
    page.get_by_role("button", name="Pin the sets too").click()
    expect(page.locator(".occurrence-cell.chosen .sets.pinned")).to_be_visible()
    (row,) = [row for row in Draft.objects.get().document["picks"] if row["pinned_sets"]]
    assert row["pinned"] and page.locator(".occurrence-cell.chosen a.pick-name").inner_text().startswith(name)


def exercises(page: Page) -> dict[str, str]:
    """Place to the exercise that fills it; empty places are left out."""
    found: dict[str, str] = page.evaluate(
        "Object.fromEntries([...document.querySelectorAll('.occurrence-cell .pick:not(.empty-pick) a.pick-name')]"
        ".map((pick) => [pick.dataset.place, pick.firstChild.textContent.trim()]))"
    )
    return found


def loaded_joints(block: Any) -> list[str]:
    return [
        f"{joint.joint}"
        for session in block.sessions.prefetch_related("prescriptions__exercise__joints")
        for line in session.prescriptions.all()
        if line.exercise is not None
        for joint in line.exercise.joints.all()
        if joint.joint == "shoulder_overhead"
    ]
