"""Every page of the address list: axe finds nothing, nothing is wider than the window, nothing too small to read."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse
from playwright.sync_api import Page, expect

from clients import intake
from clients.clock import today_for
from clients.demo.load import load_demo
from clients.models import Client, Draft, SheetVersion, TrainingSession
from clients.receiving import take_pain
from clients.services.drafts import start_draft
from clients.services.links import client_link
from programs.models import Exercise, Outline
from tests.browser.windows import DESK, NARROW, Window
from tests.factories import ClientFactory, CoachFactory, PracticeFactory
from tests.test_access import CONVERTER, ROUTES, World

STANDARD = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
AXE = Axe().axe_script
ASKED = {"runOnly": STANDARD, "resultTypes": ["violations"]}
FILES = "/pdf/"
# Swapped into the board, which is looked at itself.
FRAGMENTS = {f"drafts/<uuid:public_id>/{part}/" for part in ("slots/form", "why-not", "whole", "clashes")}
PICTURE = "sheet/<uuid:public_id>/<int:number>/photos/<uuid:photo_id>/"
LEAST_PX = 12
TABLET = {"width": 768, "height": 900}
CLIENT_PAGES = (
    "client",
    "client-block",
    "client-calendar",
    "client-sheets",
    "client-logs",
    "client-progress",
    "client-proposals",
    "client-decisions",
    "client-health",
    "client-notes",
    "client-documents",
)
WIDER = "document.documentElement.scrollWidth - innerWidth"
# Text that is drawn smaller than it may be.
SMALL = """least => {
  const small = new Set();
  const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (words.nextNode()) {
    const holder = words.currentNode.parentElement;
    const text = words.currentNode.textContent.trim();
    if (!text || !holder.getClientRects().length || holder.closest('script, style, template')) continue;
    const scale = holder.getScreenCTM?.()?.a ?? 1;
    const size = parseFloat(getComputedStyle(holder).fontSize) * scale;
    if (size < least - 0.01) small.add(`${size.toFixed(1)} px: ${text.slice(0, 30)}`);
  }
  return [...small];
}"""


@dataclass(frozen=True)
class Address:
    """A page and whose it is: "coach", "nobody", or the client whose link opens it."""

    path: str
    who: str | Client


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """A practice with the demo in it and one of everything beside, for all tests of this module that ask for it."""
    with django_db_blocker.unblock():
        coach = CoachFactory(practice=PracticeFactory(name="Net Loft"), name="Sanna K.", is_owner=True)
        load_demo(coach)
        yield World(coach, ClientFactory(practice=coach.practice, coach=coach, name="Ben Quay"))
        call_command("flush", interactive=False, verbosity=0)


@pytest.mark.django_db
@pytest.mark.parametrize(("size", "theme"), [(DESK, "light"), (NARROW, "dark")], ids=["wide-light", "narrow-dark"])
def test_every_page(visit, world, size, theme):
    wrong = []
    windows: dict[str | Client, Window] = {}
    for address in pages_of(world):
        if address.who not in windows:
            windows[address.who] = window_of(visit, world, address.who, size=size, theme=theme)
        window = windows[address.who]
        page = window.go(address.path)
        wrong += [f"{address.path}: {fault}" for fault in faults(page)]
        wrong += window.said
        window.said.clear()
    assert not wrong, "\n".join(wrong)


def test_every_first_page(visit, live_server):
    """Before there is anything: the set-up, then what each place says when it is empty, and forms sent empty."""
    window = visit(size=NARROW, theme="light")
    wrong = [f"set-up: {fault}" for fault in faults(window.go("/"))]
    coach = CoachFactory(practice=PracticeFactory(), is_owner=True)
    window = visit(coach=coach, size=NARROW, theme="light")
    for name in ("desk", "clients", "compose", "library", "templates", "places", "search"):
        wrong += [f"{name}: {fault}" for fault in faults(window.go(reverse(name)))]
    for name in ("client-new", "place-new", "exercise-new", "coach-new"):
        page = window.go(reverse(name))
        page.get_by_role("main").locator("form .button-filled").click()
        expect(page.get_by_role("main").locator(".error").first).to_be_visible()
        wrong += [f"{name}, sent empty: {fault}" for fault in faults(page)]
    assert not wrong, "\n".join(wrong)


def window_of(visit: Any, world: World, who: str | Client, **how: Any) -> Window:
    if not isinstance(who, Client):
        window: Window = visit(coach=world.ana if who == "coach" else None, **how)
        return window
    window = visit(**how)
    window.go(reverse("open-client-link", args=[client_link(who).token()]))
    return window


def faults(page: Page) -> list[str]:
    """What is wrong with the page in this window, in words."""
    page.evaluate(AXE)
    found = [
        f"{violation['help']}, {len(violation['nodes'])} times, first at {violation['nodes'][0]['target']}"
        for violation in page.evaluate("asked => axe.run(asked)", ASKED)["violations"]
    ]
    found += [f"text of {small}" for small in page.evaluate(SMALL, LEAST_PX)]
    size = page.viewport_size
    for width in (size["width"], TABLET["width"]) if size == DESK else (size["width"],):
        page.set_viewport_size({**size, "width": width})
        wider = page.evaluate(WIDER)
        if wider > 0:
            found.append(f"{wider} px wider than a window of {width}")
    page.set_viewport_size(size)
    return found


def pages_of(world: World) -> list[Address]:
    """Every address that answers with a page: those that ``named`` gives, and one of everything for the others.

    What answers with no page (a file, a redirect, a form that is only sent) is left out.
    """
    more = named(world)
    browsers: dict[str | Client, Browser] = {"coach": Browser(), world.ben: Browser(), "nobody": Browser()}
    browsers["coach"].force_login(world.ana)
    browsers[world.ben].get(reverse("open-client-link", args=[world.link.token()]))
    found = []
    for route, access in ROUTES:
        who = {"client": world.ben, "public": "nobody"}.get(access, "coach")
        path = world.address(route)
        alike = re.compile(f"/{CONVERTER.sub('[^/]+', route)}(\\?|$)")
        if (
            FILES in path
            or route in {*FRAGMENTS, PICTURE}
            or (path != "/" and any(alike.match(address.path) for address in more))
        ):
            continue
        answer = browsers[who].get(path)
        answer.close()  # of a file, what it is read from
        assert answer.status_code != 404, f"say which pages are under {route}"
        if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            found.append(Address(path, who))
    return [*found, *more, Address("/nowhere/", "coach"), Address(reverse("today"), "nobody")]


def named(world: World) -> list[Address]:
    """Pages that one of everything does not show: steps and parts, the demo's own rows, what is opened in place."""
    practice = world.ana.practice
    demo = Client.objects.for_practice(practice).filter(is_demo=True)
    pained = demo.filter(pain_reports__isnull=False).first()
    pounds = demo.get(unit="lb")
    nobody_answered = world.ben
    draft = Draft.objects.filter(client__in=demo).first()
    draft = start_draft(
        pounds, world.ana, outline=draft.outline, place=draft.place, starts_on=today_for(pounds), weeks=6
    )
    row = draft.document["picks"][0]
    version = SheetVersion.objects.standing().filter(session__block__client=pained).first()
    line = next(line["number"] for line in version.document["lines"] if not line["free"])
    felt_on = today_for(pained)
    report = take_pain(
        pained, key="seen", score=4, body_part="hip", side="left", felt_on=felt_on, session=version.session
    ).report
    trained = TrainingSession.objects.filter(block__client=pounds, state="trained").last()
    ahead = TrainingSession.objects.filter(block__client=pounds, state="planned").last()
    squat = Exercise.objects.get(practice=practice, seed_key="barbell-back-squat")
    outline = Outline.objects.current().get(practice=practice, seed_key="upper-lower-four-days")
    place = pained.place
    paused, left = (demo.get(status=status) for status in ("paused", "left"))
    CoachFactory(practice=practice, name="Mika L.")  # so that somebody could take over

    def coach(name: str, *rows: Any, query: str = "") -> Address:
        keys = [getattr(row, "public_id", row) for row in rows]
        return Address(f"{reverse(name, args=keys)}{query}", "coach")

    def client(name: str, *rows: Any) -> Address:
        keys = [getattr(row, "public_id", row) for row in rows]
        return Address(reverse(name, args=keys), pained)

    return [
        coach("desk", query="?one=1"),
        coach("search", query="?q=press"),
        *(coach("client-intake", nobody_answered, step.key) for step in intake.STEPS),
        coach("client-intake", nobody_answered, "done"),
        *(coach("client-change", nobody_answered, part) for part in intake.PROFILE),
        *(coach(name, pained) for name in CLIENT_PAGES),
        coach("client-progress", pounds, query="?table=1"),
        *(coach(f"client-{name}", pained) for name in ("pause", "leave", "coach", "report")),
        *(
            coach(name, paused)
            for name in ("client", "client-return", "client-wait", "client-block", "client-calendar")
        ),
        coach("client-return", left),
        *(coach("clients", query=f"?status={status}") for status in ("paused", "left")),
        coach("client-steer", pained, query=f"?act=shift&many=1&way=weeks_later&since={felt_on}"),
        coach("client-next", pained),
        coach("client-steer", pained, query=f"?act=end&since={felt_on}"),
        coach("session", trained),
        coach("session-shorten", ahead, query="?minutes=30"),
        coach("session-log", trained),
        coach("session-log", trained, query="?boxes=1"),
        coach("draft", draft, query=f"?open={row['slot']}:{row['occurrence']}"),
        coach("draft-recompose", draft),
        coach("draft-weeks", draft, query="?week=2"),
        coach("draft", draft, query=f"?add={draft.document['days'][0]['day']}"),
        coach("progression", pained, squat),
        coach("exercise", squat),
        coach("exercise-edit", squat),
        coach("template", outline),
        coach("template", outline, query="?composed=1"),
        coach("block-template", trained.block),
        coach("template-edit", outline),
        coach("place", place),
        *(
            coach("station-new", place, query=f"?kind={kind}")
            for kind in ("barbell", "kettlebell", "leg_press", "band")
        ),
        *(coach("station", place, place.stations.get(kind=kind)) for kind in ("barbell", "dumbbell", "cable")),
        client("today"),
        client("sheet", version),
        client("sheet-line", version, line),
        client("report-pain", version),
        client("pain-answer", version, report),
    ]
