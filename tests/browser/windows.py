"""A window of the browser tests, its sizes, and the server's taking of turns."""

from collections.abc import Callable
from threading import Lock

from django.http import HttpRequest, HttpResponse
from playwright.sync_api import ConsoleMessage, Page, Response

DESK = {"width": 1440, "height": 900}
NARROW = {"width": 360, "height": 780}
PASSWORD = "quay lantern rope nine"
PATIENCE_MS = 15_000  # a machine with other work may be slow; nothing is ever measured against this
# The browser's own line about an answer of 400 or more: pages that refuse bad input are meant to, and answers of
# 500 and more are watched where they arrive.
REFUSED = "Failed to load resource"


class OneAtATime:
    """The test database lives in memory on one connection, so requests take turns, as transactions would."""

    lock = Lock()

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with self.lock:
            return self.get_response(request)


class Window:
    """One page of one person: ``go`` opens addresses, and what its console complains of is kept in ``said``."""

    def __init__(self, page: Page, url: str, allowed: tuple[str, ...] = ()) -> None:
        self.page, self.url = page, url
        self.allowed = (REFUSED, *allowed)
        self.said: list[str] = []
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.said.append(f"{page.url}: {error}"))
        page.on("response", self._see)

    def go(self, address: str) -> Page:
        self.page.goto(f"{self.url}{address}")
        return self.page

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not message.text.startswith(self.allowed):
            self.said.append(f"{self.page.url}: {message.text}")

    def _see(self, response: Response) -> None:
        missing = response.status == 404 and "/static/" in response.url
        if response.status >= 500 or missing:
            self.said.append(f"{self.page.url}: {response.status} for {response.url}")
