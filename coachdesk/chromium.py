"""The browser that browser tests drive: found where it is installed, or installed."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from coachdesk.bootstrap import packages
from coachdesk.bootstrap.problems import Problem, again

COMMANDS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
STUBS_IN = "/usr/bin/"
PLACES = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
)


def find() -> str | None:
    """Path of an installed Chromium or Chrome; None where only Playwright's own download may serve.

    COACHDESK_CHROMIUM names another one.
    """
    named = os.environ.get("COACHDESK_CHROMIUM")
    if named:
        return named
    for command in COMMANDS:
        path = shutil.which(command)
        if path and not _is_snap_stub(path):
            return path
    return next((place for place in PLACES if Path(place).exists()), None)


def ensure(say: Callable[[str], None]) -> None:
    """Make sure that browser tests have a browser. Raises Problem."""
    if find():
        return
    if packages.is_debian_root() and packages.distribution() == "debian":
        packages.install(["chromium"], "Chromium for the browser tests, about a minute,", say)
        if find():
            return
    say("Fetching Playwright's own Chromium for the browser tests")
    fetched = subprocess.run(
        [sys.executable, "-m", "playwright", "install", "chromium"], capture_output=True, text=True
    )
    if fetched.returncode != 0:
        raise Problem(
            "No Chromium or Chrome is installed for the browser tests and none could be fetched; install "
            "one, or leave these tests out:",
            f"{again()} --quick",
        )


def _is_snap_stub(path: str) -> bool:
    """Ubuntu's chromium-browser package is a script that only points to a snap."""
    if not path.startswith(STUBS_IN):
        return False
    try:
        with Path(path).open("rb") as program:
            start = program.read(4096)
    except OSError:
        return False
    return start.startswith(b"#!") and b"snap" in start and shutil.which("snap") is None
