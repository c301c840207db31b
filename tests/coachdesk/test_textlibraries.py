"""Which text libraries are missing, and the line that brings them."""

import os
import sys

import pytest

from coachdesk import textlibraries
from coachdesk.bootstrap import packages, problems


@pytest.fixture
def lacks(monkeypatch):
    """Pretend that these libraries can't be loaded, on a Linux machine with the named tools."""

    def pretend(*names: str, tools: tuple[str, ...] = ("apt-get",), root: bool = False) -> None:
        files = {textlibraries.LIBRARIES[name][0] for name in names}
        monkeypatch.setattr(textlibraries, "_loads", lambda candidates: candidates not in files)
        found = {tool: f"/usr/bin/{tool}" for tool in tools}
        monkeypatch.setattr(textlibraries.shutil, "which", found.get)
        monkeypatch.setattr(sys, "platform", "linux")
        monkeypatch.setattr(problems.os, "geteuid", lambda: 0 if root else 1000, raising=False)
        monkeypatch.setattr(packages, "is_debian_root", lambda: root)

    return pretend


def test_nothing_is_missing_where_all_loads(lacks):
    lacks()
    assert textlibraries.missing() == []
    assert textlibraries.install_line() == ""
    assert textlibraries.can_render()


def test_without_the_subset_library_pdfs_still_render(lacks):
    lacks("HarfBuzz subset")
    assert textlibraries.missing() == ["HarfBuzz subset"]
    assert textlibraries.can_render()
    assert textlibraries.install_line() == "sudo apt install libharfbuzz-subset0"


def test_without_pango_they_do_not(lacks):
    lacks("Pango", "PangoFT2", "HarfBuzz subset", root=True)
    assert not textlibraries.can_render()
    assert textlibraries.install_line() == "apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"


@pytest.mark.parametrize(
    ("tools", "line"),
    [(("dnf",), "sudo dnf install pango harfbuzz"), (("apk",), "sudo apk add pango harfbuzz-subset")],
)
def test_each_system_gets_its_own_line(lacks, tools, line):
    lacks("Pango", tools=tools)
    assert textlibraries.install_line() == line


def test_macos_gets_homebrew(lacks, monkeypatch):
    lacks("Pango")
    monkeypatch.setattr(sys, "platform", "darwin")
    assert textlibraries.install_line() == "brew install pango"


def test_windows_gets_one_line_too(lacks, monkeypatch):
    lacks("Pango")
    monkeypatch.setattr(textlibraries.os, "name", "nt")
    line = textlibraries.install_line()
    monkeypatch.setattr(os, "name", "posix")
    assert "pango" in line
    assert "\n" not in line


def test_root_on_debian_gets_them_installed(lacks, monkeypatch):
    lacks("HarfBuzz subset", root=True)
    asked = []

    def install(names, what, say):
        asked.extend(names)
        lacks(root=True)
        return True

    monkeypatch.setattr(packages, "install", install)
    said: list[str] = []
    textlibraries.install_where_allowed(said.append)
    assert asked == ["libharfbuzz-subset0"]
    assert said == []


def test_others_are_told_the_line_and_go_on(lacks):
    lacks("Pango", "PangoFT2")
    said: list[str] = []
    textlibraries.install_where_allowed(said.append)
    assert said == [
        "Everything works but PDFs: Pango and PangoFT2 missing. This line installs what they need:",
        "  sudo apt install libpango-1.0-0 libpangoft2-1.0-0",
    ]


def test_apt_refreshes_its_lists_only_when_it_has_to(monkeypatch):
    """The first install fails for want of lists, the second works."""
    ran: list[str] = []

    def apt(command):
        ran.append(command[1])
        code = 100 if ran == ["install"] else 0
        return packages.subprocess.CompletedProcess(command, code, "", "E: Unable to locate package x")

    monkeypatch.setattr(packages, "_apt", apt)
    assert packages.install(["x"], "a thing", lambda line: None)
    assert ran == ["install", "update", "install"]


def test_apt_that_fails_says_its_last_line(monkeypatch):
    failed = packages.subprocess.CompletedProcess([], 100, "", "noise\nE: Could not resolve 'deb.example'")
    monkeypatch.setattr(packages, "_apt", lambda command: failed)
    said: list[str] = []
    assert not packages.install(["x"], "a thing", said.append)
    assert said[-1] == "  apt-get could not do it: E: Could not resolve 'deb.example'"
