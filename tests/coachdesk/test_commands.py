"""The commands test and worker, and the browser that tests drive."""

import os
import signal
from pathlib import Path

import pytest

from coachdesk import chromium
from coachdesk.bootstrap import packages
from coachdesk.bootstrap.problems import Problem
from coachdesk.management.commands import test as test_command
from coachdesk.management.commands import worker


@pytest.fixture
def tests(tmp_path) -> Path:
    for name in ("browser/test_journey.py", "clients/test_board.py", "engine/test_racks.py", "test_house.py"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    (tmp_path / "factories.py").touch()
    (tmp_path / "empty").mkdir()
    return tmp_path


def test_the_engine_is_tested_first_and_the_browser_last(tests):
    assert test_command.folders(tests, quick=False) == [
        "tests/engine",
        "tests/clients",
        "tests/test_house.py",
        "tests/browser",
    ]


def test_quick_leaves_the_browser_out(tests):
    assert "tests/browser" not in test_command.folders(tests, quick=True)


def test_named_tests_are_run_alone(tests):
    named = str(tests / "engine" / "test_racks.py")
    assert test_command.names_tests([f"{named}::test_plates"])
    assert not test_command.names_tests(["-x", "-k", "plates"])


def test_a_check_that_fails_shows_why(capsys):
    command = test_command.Command()
    assert command.passes("Sums", ["-c", "assert 1 + 1 == 2"], dict(os.environ))
    assert not command.passes("Sums", ["-c", "raise SystemExit('one and one is two')"], dict(os.environ))
    output = capsys.readouterr().out
    assert "Sums ... ok" in output
    assert output.endswith("one and one is two\n")


@pytest.fixture
def nothing_installed(monkeypatch):
    monkeypatch.delenv("COACHDESK_CHROMIUM", raising=False)
    monkeypatch.setattr(chromium.shutil, "which", lambda name: None)
    monkeypatch.setattr(chromium, "PLACES", ())
    monkeypatch.setattr(packages, "is_debian_root", lambda: False)


def test_a_named_browser_goes_before_an_installed_one(monkeypatch):
    monkeypatch.setenv("COACHDESK_CHROMIUM", "/opt/chromium")
    assert chromium.find() == "/opt/chromium"


def test_an_installed_browser_is_found(nothing_installed, monkeypatch):
    monkeypatch.setattr(chromium.shutil, "which", {"google-chrome": "/opt/chrome"}.get)
    assert chromium.find() == "/opt/chrome"


def test_a_stub_that_only_points_to_a_snap_is_no_browser(nothing_installed, monkeypatch, tmp_path):
    stub = tmp_path / "chromium-browser"
    stub.write_text('#!/bin/sh\nexec /snap/bin/chromium "$@"\n')
    monkeypatch.setattr(chromium, "STUBS_IN", str(tmp_path))
    monkeypatch.setattr(chromium.shutil, "which", {"chromium-browser": str(stub)}.get)
    assert chromium.find() is None


def test_no_browser_and_no_way_to_one_is_told(nothing_installed, monkeypatch):
    failed = chromium.subprocess.CompletedProcess([], 1, "", "")
    monkeypatch.setattr(chromium.subprocess, "run", lambda *args, **options: failed)
    with pytest.raises(Problem) as raised:
        chromium.ensure(lambda line: None)
    assert raised.value.command.endswith("--quick")


def test_root_on_debian_gets_chromium_from_debian(nothing_installed, monkeypatch):
    installed: list[str] = []
    monkeypatch.setattr(packages, "is_debian_root", lambda: True)
    monkeypatch.setattr(packages, "distribution", lambda: "debian")
    monkeypatch.setattr(packages, "install", lambda names, what, say: installed.extend(names))
    monkeypatch.setattr(chromium, "find", lambda: "/usr/bin/chromium" if installed else None)
    chromium.ensure(lambda line: None)
    assert installed == ["chromium"]


def test_a_worker_follows_its_parent(monkeypatch):
    sent: list[int] = []
    monkeypatch.setattr(worker.os, "kill", lambda process, number: sent.append(number))
    worker.follow_parent(parent=-1)  # no process has this number, so the parent is gone
    assert sent == [signal.SIGTERM]


@pytest.mark.parametrize(("processors", "workers"), [(None, []), (1, []), (2, ["2"]), (64, ["4"])])
def test_files_of_tests_run_side_by_side_where_there_are_processors(monkeypatch, processors, workers):
    monkeypatch.setattr(test_command.os, "cpu_count", lambda: processors)
    assert test_command.side_by_side()[1:2] == workers
