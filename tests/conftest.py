"""Ana (coach), Ben (her client) and Cleo (coach in another practice) are everywhere.

pytest's ``client`` is a browser; ``as_ana``, ``as_ben`` and ``as_cleo`` are browsers that belong to them.
"""

import hypothesis
import pytest
from django.test import Client as Browser

from clients.models import Client
from coachdesk.practice.models import Coach
from tests.factories import ClientFactory, ClientLinkFactory, CoachFactory, PracticeFactory

# The same examples on every run, and no limit on how long one may take: a busy machine is no failure.
hypothesis.settings.register_profile("coachdesk", derandomize=True, deadline=None)
hypothesis.settings.load_profile("coachdesk")


@pytest.hookimpl(trylast=True)  # after pytest-django, which would run tests without a database last
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The pure engine first, the browser last."""
    items.sort(key=lambda item: ("tests/browser/" in item.nodeid, "/engine/" not in item.nodeid))


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    """Nothing that a test writes reaches the real data folder, and tasks run where they are asked for."""
    settings.DATA_DIR = tmp_path
    settings.PDF_DIR = tmp_path / "pdf"
    settings.MEDIA_ROOT = tmp_path / "uploads"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}


@pytest.fixture
def ana(db) -> Coach:
    practice = PracticeFactory(name="Net Loft")
    return CoachFactory(practice=practice, name="Ana", email="ana@example.org", is_owner=True)


@pytest.fixture
def ben(ana: Coach) -> Client:
    return ClientFactory(practice=ana.practice, coach=ana, name="Ben Quay")


@pytest.fixture
def cleo(db) -> Coach:
    return CoachFactory(
        practice=PracticeFactory(name="Other room"), name="Cleo", email="cleo@example.org", is_owner=True
    )


def _browser_of(coach: Coach) -> Browser:
    browser = Browser()
    browser.force_login(coach)
    return browser


@pytest.fixture
def as_ana(ana: Coach) -> Browser:
    return _browser_of(ana)


@pytest.fixture
def as_cleo(cleo: Coach) -> Browser:
    return _browser_of(cleo)


@pytest.fixture
def as_ben(ben: Client) -> Browser:
    browser = Browser()
    browser.get(f"/c/{ClientLinkFactory(client=ben).token()}/")
    return browser
