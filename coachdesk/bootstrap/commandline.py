"""From the command line to Django: a private environment at the pins, entered, and a writable data folder.

When all is in place this costs two hashes and one exec.
"""

import os
import subprocess
import sys
from pathlib import Path

from coachdesk import textlibraries
from coachdesk.bootstrap.environment import RUNTIME_PINS, TEST_PINS, Environment
from coachdesk.bootstrap.places import ROOT, data_folder, environment_folder
from coachdesk.bootstrap.problems import Problem, again, from_os_error, say

REEXECUTED = "COACHDESK_REEXECUTED_AS"


def main(argv: list[str]) -> int:
    """Run the command line; the exit code. Prints a Problem instead of raising it."""
    try:
        return _run(argv)
    except Problem as problem:
        print(problem, file=sys.stderr)
        return 1
    except OSError as error:
        foreseen = from_os_error(error)
        if foreseen is None:
            raise
        print(foreseen, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130


def _run(argv: list[str]) -> int:
    command = argv[1] if len(argv) > 1 else ""
    pins = [RUNTIME_PINS, TEST_PINS] if command == "test" else [RUNTIME_PINS]
    environment = Environment(environment_folder(), ROOT)
    environment.ensure(pins)
    if not environment.is_current():
        return _run_inside(environment, argv)
    if command in {"start", "test"}:
        textlibraries.install_where_allowed(say)
    if command != "test":
        ensure_data_folder(data_folder())
    return _hand_to_django(argv)


def _run_inside(environment: Environment, argv: list[str]) -> int:
    """Run the same command line with the environment's own Python. On POSIX this never returns."""
    if os.environ.get(REEXECUTED) == str(os.getpid()):
        raise Problem(
            f"The Python in {environment.folder} does not run as that environment's own; remove it:",
            f"rm -r {environment.folder} && {again()}",
        )
    command_line = [str(environment.python), str(ROOT / "manage.py"), *argv[1:]]
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "nt":
        # Windows has no exec that keeps the console: wait for the child, and leave Ctrl-C to it.
        with subprocess.Popen(command_line) as child:
            while True:
                try:
                    return child.wait()
                except KeyboardInterrupt:
                    continue
    os.environ[REEXECUTED] = str(os.getpid())
    return os.execv(command_line[0], command_line)  # noqa: S606


def ensure_data_folder(folder: Path) -> None:
    """Make the data folder, for its owner alone, and prove that it can be written to."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        trial = folder / f".writable-{os.getpid()}"
        trial.write_bytes(b"x")
        trial.unlink()
    except OSError as error:
        problem = from_os_error(error)
        if problem is not None and problem.kind == "disk full":
            raise problem from error
        raise Problem(
            f"The data folder {folder} can't be written to ({error.strerror}); choose another one:",
            f"COACHDESK_DATA={Path.home() / 'coachdesk-data'} {again()}",
        ) from error


def _hand_to_django(argv: list[str]) -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachdesk.settings")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(argv)
    except ImproperlyConfigured as wrong:
        if "--traceback" in argv:
            raise
        raise Problem(f"A setting is wrong: {wrong} Mend it, then run:", again()) from wrong
    return 0
