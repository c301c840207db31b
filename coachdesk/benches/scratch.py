"""A scratch database with the demo in it, and CPU time of pages, for the benchmarks of pages and sheets."""

import random
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import render
from django.test import Client as Browser
from django.test import override_settings
from django.test.utils import CaptureQueriesContext, setup_databases, teardown_databases
from django.urls import include, path

from clients.models import Block, Client, Proposal, TrainingSession
from coachdesk.practice.access import CoachRequest, coach_required
from coachdesk.practice.models import Coach, Practice
from programs.seeding import seed_practice

WARM = 3
SEED = 11


@coach_required
def empty(request: CoachRequest) -> HttpResponse:
    """The base template with the session and user queries only: what every page is measured against."""
    return render(request, "base.html", {})


urlpatterns = [path("", include("coachdesk.urls")), path("bench/empty/", empty)]
EMPTY = "/bench/empty/"


@contextmanager
def database() -> Iterator[Coach]:
    """An empty database of its own with one seeded practice; nothing of the real one is touched or left."""
    from django.db import connection

    with (
        tempfile.TemporaryDirectory(prefix="bench-") as folder,
        override_settings(
            ROOT_URLCONF=__name__,
            DATA_DIR=Path(folder),
            PDF_DIR=Path(folder) / "pdf",
            ALLOWED_HOSTS=["testserver"],
            TASKS={"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}},
        ),
    ):
        old = setup_databases(verbosity=0, interactive=False)
        try:
            practice = Practice.objects.create(name="Bench", time_zone="Europe/Helsinki")
            # Ids decide between weeks of equal cost: the same ones each time, so that runs can be compared.
            with mock.patch("uuid.os.urandom", random.Random(SEED).randbytes):
                seed_practice(practice)
            yield Coach.objects.create_user(
                "bench@example.org", None, practice=practice, name="Bench", is_owner=True, sees_health=True
            )
        finally:
            connection.close()
            teardown_databases(old, verbosity=0)


def browser_of(coach: Coach) -> Browser:
    browser = Browser()
    browser.force_login(coach)
    return browser


def cpu_ratio(one: Callable[[], object], other: Callable[[], object], runs: int) -> float:
    """Median of one call's CPU time over another's, taken in turn, so that a drifting machine cancels out."""
    ratios = []
    for number in range(WARM + runs):
        begun = time.process_time()
        one()
        middle = time.process_time()
        other()
        if number >= WARM:
            ratios.append((middle - begun) / (time.process_time() - middle))
    return statistics.median(ratios)


def cpu_ms(action: Callable[[], object], runs: int) -> float:
    """Median CPU time of one call, in ms, after a warm-up."""
    for _ in range(WARM):
        action()
    times = []
    for _ in range(runs):
        begun = time.process_time()
        action()
        times.append((time.process_time() - begun) * 1000)
    return statistics.median(times)


def showing(browser: Browser, address: str) -> Callable[[], None]:
    """Asks for a page. Raises RuntimeError when it isn't shown."""

    def show() -> None:
        answer = browser.get(address)
        if answer.status_code != 200 or not answer.getvalue():
            raise RuntimeError(f"{address} answered {answer.status_code}")

    return show


def page_ratio(browser: Browser, address: str, runs: int) -> float:
    """A page's CPU time as a multiple of the empty page's."""
    return cpu_ratio(showing(browser, address), showing(browser, EMPTY), runs)


def queries(browser: Browser, address: str) -> int:
    from django.db import connection

    browser.get(address)
    with CaptureQueriesContext(connection) as seen:
        browser.get(address)
    return len(seen)


def twins(client: Client, count: int) -> None:
    """So many more clients like this one, each with an active block, today's sessions and waiting proposals."""
    block = client.blocks.get(state=Block.State.ACTIVE)
    sessions = list(block.sessions.all())
    proposals = list(Proposal.objects.filter(client=client).waiting()[:6])
    for number in range(1, count + 1):
        twin = Client.objects.get(pk=client.pk)
        twin.pk, twin.public_id = None, uuid.uuid4()
        twin.name = f"{client.name} {number}"
        twin.save(force_insert=True)
        copy = Block.objects.create(
            client=twin,
            outline=block.outline,
            place=block.place,
            number=1,
            starts_on=block.starts_on,
            weeks=block.weeks,
            document=block.document,
        )
        made = {session.pk: TrainingSession(**columns(session, "block"), block=copy) for session in sessions}
        TrainingSession.objects.bulk_create(made.values())
        Proposal.objects.bulk_create(
            Proposal(
                **columns(proposal, "client", "session", "superseded_by"),
                client=twin,
                session=made[proposal.session_id],
            )
            for proposal in proposals
        )


def columns(row: Model, *but: str) -> dict[str, Any]:
    """A row's values for a copy of it, without its ids and the named fields."""
    left_out = {"id", "public_id", *but}
    return {
        field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if field.name not in left_out
    }
