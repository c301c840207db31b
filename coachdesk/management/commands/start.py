"""manage.py start: brings everything up to date and serves it on this machine."""

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from coachdesk import fonts, serving
from coachdesk.bootstrap.problems import Problem, again, disk_full


class Command(BaseCommand):
    help = "Prepares the database, serves Coachdesk on this machine and works its background jobs."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the next free one is taken (default: 8000)")
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default: 127.0.0.1)")
        parser.add_argument("--no-browser", action="store_true", help="don't open a browser")
        parser.add_argument("--demo", action="store_true", help="load the demo practice")

    def handle(self, *args: Any, **options: Any) -> None:
        listener = serving.listen(options["host"], options["port"])
        address = serving.address_of(listener)
        if listener.getsockname()[1] != options["port"]:
            self.say(f"Port {options['port']} is taken, so this runs on port {listener.getsockname()[1]}.")
        with explained_database_errors():
            self.prepare(options["demo"])
        from coachdesk.wsgi import application

        worker = serving.Worker(
            [sys.executable, str(settings.BASE_DIR / "manage.py"), "worker", "--no-reload", "--with-parent"],
            self.say,
        )
        worker.start()
        try:
            self.announce(address, options["host"])
            if not options["no_browser"]:
                serving.open_browser(address)
            serving.serve(application, listener)
        finally:
            self.say("Stopping.")
            worker.stop()

    def prepare(self, demo: bool) -> None:
        """Database, seed, fonts, demo: each quick when there is nothing to do."""
        executor = MigrationExecutor(connection)
        steps = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if steps:
            self.say(f"Bringing the database up to date ({len(steps)} steps)")
            call_command("migrate", interactive=False, verbosity=0)
        try:
            if not (settings.BUILD_DIR / "pdf-fonts" / fonts.STAMP).exists():
                self.say("Making the font files, once")
            fonts.build(settings.BASE_DIR)
        except fonts.FontsUnavailable as missing:
            self.say(str(missing))
        call_command("seed", stdout=self.stdout)
        if demo:
            call_command("demo", stdout=self.stdout)

    def announce(self, address: str, host: str) -> None:
        from coachdesk.practice import setup

        self.say(f"Coachdesk runs at {settings.PUBLIC_URL or address} (stop it with Ctrl-C)")
        if settings.PUBLIC_URL:
            self.say(f"On this machine: {address}")
        elif host not in {"127.0.0.1", "::1", "localhost"}:
            self.say("Other machines reach it only under the names in COACHDESK_HOSTS or under COACHDESK_URL.")
        if setup.needed():
            self.say("First run: open that address to set it up.")
            self.say(f"From another machine it asks for this code: {setup.current_code()}")

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


@contextlib.contextmanager
def explained_database_errors() -> Iterator[None]:
    """Turn what the database says about its surroundings into a Problem."""
    try:
        yield
    except OperationalError as error:
        text = str(error)
        if "disk is full" in text or "No space left" in text:
            raise disk_full() from error
        if connection.vendor == "postgresql":
            first_line = text.strip().splitlines()[0]
            sentence = f"The database that DATABASE_URL names does not answer ({first_line}); start it, then run:"
            raise Problem(sentence, again()) from error
        if "readonly" in text or "unable to open" in text:
            sentence = f"The database in {settings.DATA_DIR} can't be written to; choose another data folder:"
            raise Problem(sentence, f"COACHDESK_DATA={Path.home() / 'coachdesk-data'} {again()}") from error
        if "locked" in text:
            raise Problem("Another program holds the database; stop it, then run:", again()) from error
        raise
