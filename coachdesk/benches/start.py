"""How long a coach waits: from the command line to the first answered page, any time but the first."""

import os
import re
import statistics
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from coachdesk.benches import Result, Run, bench

RUNS, RUNS_FULL = 5, 20
PATIENCE_S = 180.0
POLL_S = 0.01


@bench("start", "second start to first answered request, whole process, median of several runs")
def start(run: Run) -> Iterator[Result]:
    run.say("first start, which makes the database")
    time_start(run.folder)
    times = []
    for number in range(RUNS_FULL if run.full else RUNS):
        times.append(time_start(run.folder))
        run.say(f"start {number + 2}: {times[-1]:.2f} s")
    yield Result("second start to first answer", round(statistics.median(times), 3), "s")


def time_start(data: Path) -> float:
    """Seconds from starting `manage.py start` to the first page it shows; the process is stopped again."""
    # The machine's own Python, as a coach would call it, not that of the environment this runs in.
    python = getattr(sys, "_base_executable", sys.executable)
    variables = {**os.environ, "COACHDESK_DATA": str(data), "PYTHONUNBUFFERED": "1"}
    command = [python, "manage.py", "start", "--no-browser", "--port", "8600"]
    begun = time.perf_counter()
    with subprocess.Popen(
        command,
        cwd=settings.BASE_DIR,
        env=variables,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as server:
        try:
            wait_for_answer(announced_port(server), begun + PATIENCE_S)
            return time.perf_counter() - begun
        finally:
            server.terminate()
            server.communicate()


def announced_port(server: "subprocess.Popen[str]") -> int:
    """The port in the line that says where it runs. Raises RuntimeError with the output if there is none."""
    assert server.stdout is not None  # noqa: S101 - told to the type checker
    output = ""
    for line in server.stdout:
        output += line
        if match := re.search(r"runs at http://[^ ]*?:(\d+)/", line):
            return int(match.group(1))
    raise RuntimeError(f"The server did not start:\n{output}")


def wait_for_answer(port: int, until: float) -> None:
    """Ask for the first page, wherever it leads, until it is there. Raises RuntimeError for any other answer."""
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))  # never through the machine's proxy
    while time.perf_counter() < until:
        try:
            with opener.open(f"http://127.0.0.1:{port}/", timeout=PATIENCE_S) as answer:
                answer.read()
        except urllib.error.HTTPError as refused:
            raise RuntimeError(f"The first page answered with status {refused.code}.") from refused
        except (urllib.error.URLError, ConnectionError):
            time.sleep(POLL_S)
            continue
        return
    raise RuntimeError("The server did not answer.")
