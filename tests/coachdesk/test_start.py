"""manage.py start as a person runs it: a process of its own, from an empty data folder to a clean end."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from coachdesk.bootstrap.places import ROOT

pytestmark = pytest.mark.skipif(os.name != "posix", reason="stops it with a POSIX signal")


def run(*arguments: str, data: Path) -> "subprocess.Popen[str]":
    variables = {name: value for name, value in os.environ.items() if not name.startswith("COACHDESK_")}
    variables |= {"COACHDESK_DATA": str(data), "COACHDESK_VENV": sys.prefix, "PYTHONUNBUFFERED": "1"}
    command = [sys.executable, "manage.py", "start", "--no-browser", *arguments]
    return subprocess.Popen(
        command, cwd=ROOT, env=variables, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )


def read_until(server: "subprocess.Popen[str]", pattern: str) -> tuple[str, "re.Match[str]"]:
    assert server.stdout is not None
    output = ""
    for line in server.stdout:
        output += line
        if found := re.search(pattern, line):
            return output, found
    raise AssertionError(output)


def status_of(address: str) -> int:
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(address) as answer:
            return answer.status
    except urllib.error.HTTPError as refused:
        return refused.code


def test_it_prepares_serves_and_stops_cleanly(tmp_path):
    data = tmp_path / "data"
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        with run("--port", str(taken), data=data) as server:
            try:
                said, address = read_until(server, r"runs at (http://127\.0\.0\.1:(\d+)/)")
                code = read_until(server, r"asks for this code: (\S+)")[1].group(1)
                status = status_of(address.group(1))
            finally:
                server.send_signal(signal.SIGTERM)
            rest = server.stdout.read()
    assert f"Port {taken} is taken, so this runs on port {address.group(2)}." in said
    assert "Bringing the database up to date" in said
    assert status == 200
    assert len(code) >= 8
    assert rest.splitlines()[-1] == "Stopping."
    assert "Traceback" not in said + rest
    assert server.returncode == 0
    assert (data / "secret-key").stat().st_mode & 0o077 == 0
    assert data.stat().st_mode & 0o077 == 0
