"""manage.py test: formatting, lint, types, migrations and every test."""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from coachdesk import chromium, fonts

# Settings of one's own instance that must not reach the tests. DATABASE_URL may: it picks the database.
INSTANCE_SETTINGS = (
    "COACHDESK_URL",
    "COACHDESK_HOSTED",
    "COACHDESK_HOSTS",
    "COACHDESK_DEBUG",
    "COACHDESK_SECRET_KEY",
)
FIRST, LAST = "engine", "browser"
MOST_WORKERS = 4

CHECKS = {
    "Formatting": ["-m", "ruff", "format", "--check", "--output-format=concise", "."],
    "Lint": ["-m", "ruff", "check", "--output-format=concise", "."],
    "Format of templates": ["-m", "djlint", "--check", "templates"],
    "Lint of templates": ["-m", "djlint", "--lint", "templates"],
    "Types": ["-m", "mypy"],
}
ALWAYS = {"Migrations": ["manage.py", "makemigrations", "--check", "--dry-run"]}


class Command(BaseCommand):
    help = "Checks formatting, lint, types and migrations, and runs all tests."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--quick", action="store_true", help="leave out lint, types and browser tests")
        parser.add_argument("arguments", nargs="*", metavar="-- ARGUMENT", help="handed to pytest")

    def handle(self, *args: Any, quick: bool, arguments: list[str], **options: Any) -> None:
        if not quick:
            chromium.ensure(self.say)
        fonts.build(settings.BASE_DIR)
        with tempfile.TemporaryDirectory(prefix="coachdesk-test-") as data:
            variables = {name: value for name, value in os.environ.items() if name not in INSTANCE_SETTINGS}
            variables["COACHDESK_DATA"] = data
            checks = ALWAYS if quick else {**CHECKS, **ALWAYS}
            failed = [name for name, command in checks.items() if not self.passes(name, command, variables)]
            if failed:
                self.say(f"Failed before the tests: {', '.join(failed)}. The tests run all the same.")
            self.say("Tests")
            targets = arguments
            if not names_tests(arguments):
                targets = [*arguments, *side_by_side(), *folders(settings.BASE_DIR / "tests", quick)]
            tests = subprocess.run([sys.executable, "-m", "pytest", *targets], cwd=settings.BASE_DIR, env=variables)
        if failed or tests.returncode:
            sys.exit(tests.returncode or 1)

    def passes(self, name: str, command: list[str], variables: dict[str, str]) -> bool:
        """Run one check, show its output only if it fails; whether it passed."""
        self.stdout.write(f"{name} ... ", ending="")
        self.stdout.flush()
        begun = time.monotonic()
        done = subprocess.run(
            [sys.executable, *command],
            cwd=settings.BASE_DIR,
            env=variables,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.say(f"{'failed' if done.returncode else 'ok'} ({time.monotonic() - begun:.1f} s)")
        if done.returncode:
            self.say(done.stdout.rstrip())
        return done.returncode == 0

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def names_tests(arguments: list[str]) -> bool:
    """Whether pytest's arguments say by themselves which tests to run."""
    return any(Path(argument.split("::")[0]).exists() for argument in arguments)


def side_by_side() -> list[str]:
    """How pytest spreads whole files of tests over the processors, each with a database of its own."""
    workers = min(MOST_WORKERS, os.cpu_count() or 1)
    return ["-n", str(workers), "--dist", "loadfile"] if workers > 1 else []


def folders(tests: Path, quick: bool) -> list[str]:
    """What pytest is to collect, in the order to run: the pure engine first, the browser last or never."""
    entries = sorted(
        entry.name
        for entry in tests.iterdir()
        if (entry.is_dir() and any(entry.rglob("test_*.py"))) or entry.match("test_*.py")
    )
    ordered = sorted(entries, key=lambda name: (name == LAST, name != FIRST))
    return [f"tests/{name}" for name in ordered if not (quick and name == LAST)]
