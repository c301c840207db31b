"""manage.py worker: works background jobs until it is told to stop."""

import logging
import os
import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django_tasks_db.management.commands.db_worker import Command as DatabaseWorker

CHECK_PARENT_EVERY_S = 2.0


class Command(DatabaseWorker):
    help = "Works background jobs, such as rendering sheets, until it is told to stop."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--with-parent", action="store_true", help="stop when the process that started this one is gone"
        )

    def configure_logging(self, verbosity: int) -> None:
        """Only failures are worth a line beside the server's; -v 2 and up show every job."""
        if verbosity > 1:
            super().configure_logging(verbosity)
            return
        for name in ("django_tasks", "django_tasks_db"):
            logging.getLogger(name).setLevel(logging.ERROR)

    def handle(self, *args: Any, with_parent: bool, **options: Any) -> None:  # type: ignore[override]
        if with_parent and os.name == "posix":
            threading.Thread(target=follow_parent, args=(os.getppid(),), daemon=True).start()
        super().handle(**options)


def follow_parent(parent: int) -> None:
    """End this process, as a stop signal would, once its parent has died without telling it."""
    pause = threading.Event()
    while os.getppid() == parent:
        pause.wait(CHECK_PARENT_EVERY_S)
    os.kill(os.getpid(), signal.SIGTERM)
