"""A real browser against a real server. ``visit`` opens windows for people and watches what their consoles say.

A window fails its test when a script throws, when the page breaks its own content policy, or when the server
answers with an error of its own.
"""

import os
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.test import Client as Browser
from django.test import override_settings
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, expect
from pytest_django.live_server_helper import LiveServer

from clients.clock import today_for
from clients.models import Client, Place, SheetVersion
from clients.services.blocks import assign_block
from clients.services.drafts import start_draft
from clients.services.places import fill
from clients.services.sheets import issue_sheets
from clients.starting_sets import SETS
from coachdesk.chromium import find
from coachdesk.practice.models import Coach
from programs.models import Exercise, Outline
from programs.seeding import seed_practice
from programs.units import load_of
from tests.browser.windows import DESK, PASSWORD, PATIENCE_MS, OneAtATime, Window
from tests.factories import (
    ClientFactory,
    CoachFactory,
    HealthAnswersFactory,
    PlaceFactory,
    PracticeFactory,
    RecentSetFactory,
)

# Playwright's event loop runs in this thread, so Django takes every query of a test for an asynchronous one.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
expect.set_options(timeout=PATIENCE_MS)

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
Visit = Callable[..., Window]


@pytest.fixture(autouse=True)
def _no_pdfs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tasks run where they are asked for, and no window of these tests waits for a sheet's PDFs."""
    monkeypatch.setattr("clients.sheets.pdf.render_all", lambda version: 0)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": find(), "args": QUIET}


@pytest.fixture(scope="session")
def server(django_db_setup: None) -> Iterator[LiveServer]:
    """The server of all browser tests; what its database holds is for others to say."""
    middleware = [f"{OneAtATime.__module__}.{OneAtATime.__name__}", *settings.MIDDLEWARE]
    with override_settings(MIDDLEWARE=middleware):
        started = LiveServer("127.0.0.1")  # it answers, with these settings, once it is made
    yield started
    started.stop()


@pytest.fixture(scope="session")
def live_server(server: LiveServer) -> LiveServer:
    """The server with a database that each test finds empty and leaves empty (see pytest-django)."""
    return server


@pytest.fixture
def visit(browser: Chromium, server: LiveServer) -> Iterator[Visit]:
    """``visit(coach=…, size=…, theme=…, phone=…, script=…)`` opens a window of its own."""
    windows: list[Window] = []
    contexts: list[BrowserContext] = []

    def opened(
        *,
        coach: Coach | None = None,
        size: Any = DESK,
        theme: Any = "light",
        phone: bool = False,
        script: bool = True,
        allowed: tuple[str, ...] = (),
    ) -> Window:
        context = browser.new_context(
            viewport=size,
            color_scheme=theme,
            reduced_motion="reduce",
            is_mobile=phone,
            has_touch=phone,
            java_script_enabled=script,
            locale="en-GB",
            timezone_id="Europe/Helsinki",
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if coach is not None:
            context.add_cookies([{"name": "sessionid", "value": session_of(coach), "url": server.url}])
        window = Window(context.new_page(), server.url, allowed)
        windows.append(window)
        return window

    yield opened
    for context in contexts:
        context.close()
    assert not [line for window in windows for line in window.said]


def session_of(coach: Coach) -> str:
    browser = Browser()
    browser.force_login(coach)
    return browser.cookies["sessionid"].value


# People and places that a journey needs but is not about.


@pytest.fixture
def sanna(live_server: LiveServer) -> Coach:
    """A coach with a seeded library and templates, who signs in with PASSWORD."""
    practice = PracticeFactory(name="Net Loft")
    coach = CoachFactory(practice=practice, name="Sanna K.", email="sanna@example.org", is_owner=True)
    coach.set_password(PASSWORD)
    coach.save()
    seed_practice(practice)
    return coach


@pytest.fixture
def room(sanna: Coach) -> Place:
    """A place with the usual equipment of a strength room."""
    place: Place = PlaceFactory(practice=sanna.practice, name="The loft")
    fill(place, sanna, SETS["strength-room"])
    return place


@pytest.fixture
def maren(sanna: Coach, room: Place) -> Client:
    """A cleared client of Sanna's who trains three days a week."""
    client: Client = ClientFactory(
        practice=sanna.practice,
        coach=sanna,
        name="Maren T.",
        place=room,
        days=[0, 2, 4],
        sessions_per_week=3,
        minutes=75,
    )
    HealthAnswersFactory(client=client, answered_on=today_for(client) - timedelta(days=1))
    return client


@pytest.fixture
def week_out(sanna: Coach, room: Place, maren: Client) -> list[SheetVersion]:
    """The first week of a new block, handed out; its first session is today's."""
    return _hand_out(maren, sanna, room, today_for(maren))


@pytest.fixture
def last_week_out(sanna: Coach, room: Place, maren: Client) -> list[SheetVersion]:
    """The same, a week ago: all that was handed out is behind Maren, and nothing has come back yet."""
    return _hand_out(maren, sanna, room, today_for(maren) - timedelta(days=7))


def _hand_out(client: Client, coach: Coach, place: Place, starts_on: date) -> list[SheetVersion]:
    """Loads of dumbbells are known from the client's own word; the other loads are to be found."""
    client.days = sorted((starts_on.weekday() + days) % 7 for days in (0, 2, 4))
    client.save(update_fields=["days"])
    for exercise in Exercise.objects.filter(practice=coach.practice, implement="dumbbell", rep_unit="reps"):
        RecentSetFactory(client=client, exercise=exercise, reps=10, load=load_of(16, "kg"), done_on=starts_on)
    outline = Outline.objects.get(practice=coach.practice, seed_key="full-body-three-days")
    draft = start_draft(client, coach, outline=outline, place=place, starts_on=starts_on, weeks=4)
    block = assign_block(draft, draft.revision, coach)
    issued = issue_sheets(list(block.sessions.filter(cycle=1)), coach)
    return [one.version for one in issued]
