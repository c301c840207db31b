"""The client's journey on a phone: log with and without signal, reload, undo, pain; and the same without script."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from clients.models import LoggedSet, PainReport, SessionNote, SheetVersion
from clients.services import links
from tests.browser.windows import NARROW
from tests.clients.sheets import add_line, handed_out, session_for

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.journey]

PHONE = {"size": NARROW, "phone": True}
KEPT = "html[data-kept]"


@pytest.fixture
def sheet(maren) -> SheetVersion:
    session = session_for(maren)
    add_line(session, sets=3)
    add_line(session, load=None, finds_load=True)
    return handed_out(session)


@pytest.fixture
def link(maren) -> str:
    return f"/c/{links.client_link(maren).token()}/"


def waiting(page):
    return page.locator("#waiting")


def done(page):
    return page.locator(".done-sets > li")


def open_line(window, sheet, number=1):
    return window.go(f"/sheet/{sheet.public_id}/{number}/")


def test_a_session_without_signal_arrives_whole_and_once(visit, link, sheet):
    window = visit(**PHONE)
    page = window.go(link)
    expect(page).to_have_url(re.compile("/today/$"))
    page.get_by_role("link", name="Open the sheet").click()
    page.wait_for_selector(KEPT)  # the session's pages are on the phone now
    page.get_by_role("link", name="Start").click()
    page.get_by_role("button", name="Set 1 done").wait_for()
    page.wait_for_load_state()  # before its script is there, the button sends a plain form
    page.get_by_role("button", name="Set 1 done").click()
    expect(waiting(page)).to_have_text("all sent")
    page.context.set_offline(True)
    page.locator("#set-2").get_by_role("button", name="more: Load").click()
    page.locator("#set-2 .rir label").nth(1).click()
    page.get_by_role("button", name="Set 2 done").click()
    page.get_by_role("button", name="Set 3 done").click()
    expect(waiting(page)).to_have_text("2 sets on this phone")
    expect(page.get_by_text("All sets done.")).to_be_visible()
    page.reload()
    expect(waiting(page)).to_have_text("2 sets on this phone")
    expect(done(page)).to_have_count(3)
    page.get_by_role("button", name="Undo").click()
    expect(waiting(page)).to_have_text("1 set on this phone")
    expect(page.get_by_role("button", name="Set 3 done")).to_be_visible()
    page.get_by_role("button", name="Set 3 done").click()
    page.context.set_offline(False)
    expect(waiting(page)).to_have_text("all sent")
    page.reload()
    expect(done(page)).to_have_count(3)
    stored = LoggedSet.objects.filter(state="counts").order_by("number")
    assert [(row.number, row.reps) for row in stored] == [(1, 6), (2, 6), (3, 6)]
    assert str(stored[1].load_value.normalize()) == "77.5"
    assert (stored[1].rir, stored[2].rir) == (1, 2)
    assert LoggedSet.objects.filter(state="back").count() == 1


def test_a_reply_that_was_lost_makes_no_second_set(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet)
    # The desk takes the set, and the phone never hears of it.
    page.route("**/set/1/", lambda route: (route.fetch(), route.abort())[-1], times=1)
    page.get_by_role("button", name="Set 1 done").click()
    expect(waiting(page)).to_have_text("1 set on this phone")
    page.reload()
    expect(waiting(page)).to_have_text("all sent")
    expect(done(page)).to_have_count(1)
    assert LoggedSet.objects.count() == 1


def test_pain_pauses_what_loads_the_place_before_the_desk_knows(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = window.go(f"/sheet/{sheet.public_id}/")
    page.wait_for_selector(KEPT)
    page = open_line(window, sheet)
    page.context.set_offline(True)
    page.get_by_role("link", name="Pain").click()
    page.get_by_label("Where?").select_option("knee")
    page.get_by_label("4 it bothers me").check()
    page.get_by_role("button", name="Tell my coach").click()
    expect(page.get_by_role("heading", name="Leave it or go lighter")).to_be_visible()
    expect(waiting(page)).to_have_text("a report on this phone")
    page.goto(f"{window.url}/sheet/{sheet.public_id}/1/")
    expect(page.get_by_text("Paused until your coach answers.")).to_be_visible()
    expect(page.get_by_role("button", name="Set 1 done")).to_be_hidden()
    page.context.set_offline(False)
    expect(waiting(page)).to_have_text("all sent")
    report = PainReport.objects.get()
    assert (report.body_part, report.score, report.action) == ("knee", 4, "freeze")
    page.reload()
    expect(page.get_by_text("Paused until your coach answers.")).to_be_visible()


def test_a_load_is_found_by_tries(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet, 2)
    steps = [step["value"] for step in sheet.line(2)["finding"]["loads"]]
    page.get_by_role("button", name="Try done").click()
    expect(page.get_by_role("alert")).to_contain_text("Say how many more you could have done")
    page.locator("#set-1 .rir label").nth(4).click()
    page.get_by_role("button", name="Try done").click()
    expect(page.get_by_role("heading", name="Try 2: find your load")).to_be_visible()
    expect(page.locator("#load-1")).to_have_value(steps[1])
    page.locator("#set-1 .rir label").nth(3).click()
    page.get_by_role("button", name="Try done").click()
    expect(page.get_by_role("heading", name="Set 2 of 3")).to_be_visible()
    expect(page.locator("#load-2")).to_have_value(steps[1])
    expect(waiting(page)).to_have_text("all sent")
    assert list(LoggedSet.objects.order_by("pk").values_list("kind", flat=True)) == ["warm_up", "work"]


def test_the_rest_is_reckoned_from_moments_and_shown_on_every_exercise(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet)
    bar = page.locator("#rest")
    expect(bar).to_be_hidden()
    page.get_by_role("button", name="Set 1 done").click()
    expect(bar).to_be_visible()
    expect(bar).to_contain_text("of 2:30, set 1 ended")
    # As if the phone had slept for 95 seconds.
    page.evaluate(
        """() => {
            const rest = JSON.parse(localStorage.getItem('coachdesk.rest'));
            const slept = { ...rest, seconds: 120, ended: Date.now() - 95000 };
            localStorage.setItem('coachdesk.rest', JSON.stringify(slept));
        }"""
    )
    page = open_line(window, sheet, 2)
    expect(page.locator("#rest b")).to_have_text(re.compile(r"^0:2[0-5]$"))
    page.get_by_role("button", name="+30 s").click()
    expect(page.locator("#rest b")).to_have_text(re.compile(r"^0:(5[0-5]|4\d)$"))


def test_warm_ups_are_ticked_on_the_phone_and_are_no_sets(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet)
    page.locator("[data-warm='w1']").check()
    expect(page.locator(".rung[data-rung='w1']")).to_have_attribute("data-state", "done")
    page.reload()
    expect(page.locator("[data-warm='w1']")).to_be_checked()
    assert not LoggedSet.objects.exists()


def test_words_that_must_not_wait_are_answered_on_the_page(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet)
    page.get_by_label("Note on this exercise").fill("chest pain in the last set")
    page.get_by_role("button", name="Save note").click()
    expect(page.get_by_role("alert")).to_contain_text("Stop now and get help")
    assert SessionNote.objects.get().flags[0]["urgency"] == "emergency"


def test_another_person_on_the_same_tablet_finds_nothing(visit, link, sheet, sanna):
    from tests.factories import ClientFactory

    window = visit(**PHONE)
    window.go(link)
    page = window.go(f"/sheet/{sheet.public_id}/")
    page.wait_for_selector(KEPT)
    page.goto(f"{window.url}/today/")
    page.get_by_role("button", name="Close my sheets here").click()
    expect(page.get_by_role("heading", name="Closed on this device")).to_be_visible()
    page.context.set_offline(True)
    with pytest.raises(Exception, match="ERR_"):
        page.goto(f"{window.url}/sheet/{sheet.public_id}/")
    page.context.set_offline(False)
    other = ClientFactory(practice=sanna.practice, coach=sanna)
    page = window.go(f"/c/{links.client_link(other).token()}/")
    page.wait_for_selector(KEPT)
    assert page.goto(f"{window.url}/sheet/{sheet.public_id}/").status == 404


def test_the_whole_way_works_without_script(visit, link, sheet):
    window = visit(script=False, **PHONE)
    page = window.go(link)
    page.get_by_role("link", name="Open the sheet").click()
    page.get_by_role("link", name="Start").click()
    page.locator("#load-1").fill("72,5")
    page.locator("#amount-1").fill("8")
    page.get_by_role("button", name="Set 1 done").click()
    expect(page.get_by_role("button", name="Set 2 done")).to_be_visible()
    expect(done(page)).to_have_count(1)
    page.locator("#amount-2").fill("many")
    page.get_by_role("button", name="Set 2 done").click()
    expect(page.get_by_role("alert")).to_contain_text("Reps are whole numbers, 0 to 100.")
    expect(page.locator("#amount-2")).to_have_value("many")
    page.locator("#amount-2").fill("7")
    page.get_by_role("button", name="Set 2 done").click()
    expect(done(page)).to_have_count(2)
    page.get_by_role("button", name="Undo").click()
    expect(done(page)).to_have_count(1)
    page.get_by_role("link", name="Pain").click()
    page.get_by_label("Where?").select_option("knee")
    page.get_by_label("6 strong").check()
    page.get_by_role("button", name="Tell my coach").click()
    expect(page.get_by_role("heading", name="Stop what loads this place")).to_be_visible()
    stored = LoggedSet.objects.get(state="counts")
    assert (str(stored.load_value.normalize()), stored.reps) == ("72.5", 8)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_page_has_a_barrier_or_scrolls_sideways(visit, link, sheet, theme):
    window = visit(theme=theme, **PHONE)
    window.go(link)
    for address in (
        "/today/",
        f"/sheet/{sheet.public_id}/",
        f"/sheet/{sheet.public_id}/1/",
        f"/sheet/{sheet.public_id}/2/",
        f"/sheet/{sheet.public_id}/pain/",
    ):
        page = window.go(address)
        found = Axe().run(page).response["violations"]
        assert not found, (address, [(one["id"], one["nodes"][0]["html"]) for one in found])
        assert page.evaluate("document.documentElement.scrollWidth") == NARROW["width"], address


def test_the_button_shows_above_the_rest_bar_on_a_small_phone(visit, link, sheet):
    window = visit(**PHONE)
    window.go(link)
    page = open_line(window, sheet)
    box = page.get_by_role("button", name="Set 1 done").bounding_box()
    assert box["y"] + box["height"] <= 560
    for control in page.locator("#set-1 .step button, #set-1 .rir > div label").all():
        size = control.bounding_box()
        assert size["width"] >= 44 and size["height"] >= 44
