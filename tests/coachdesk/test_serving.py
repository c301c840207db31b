"""Ports, addresses and the worker that is kept alive."""

import errno
import socket
import sys
import threading

import pytest

from coachdesk import serving
from coachdesk.bootstrap.problems import Problem


@pytest.fixture
def taken():
    """A port that somebody else listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_a_free_port_is_taken_as_asked(taken):
    with serving.listen("127.0.0.1", taken) as first:
        free = first.getsockname()[1]
    with serving.listen("127.0.0.1", free) as second:
        assert second.getsockname() == ("127.0.0.1", free)


def test_a_taken_port_gives_way_to_the_next_free_one(taken):
    with serving.listen("127.0.0.1", taken) as first, serving.listen("127.0.0.1", taken) as second:
        assert taken < first.getsockname()[1] < second.getsockname()[1]


class Refusing(socket.socket):
    """A socket that no port is good enough for."""

    number = errno.EADDRINUSE

    def bind(self, address):
        raise OSError(self.number, "refused")


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.EADDRINUSE, "The ports 8000 to 8049 are all taken"),
        (errno.EACCES, "Only root may open port 8000"),
        (errno.EADDRNOTAVAIL, "127.0.0.1 is no address of this machine"),
    ],
)
def test_each_refusal_has_its_sentence_and_command(monkeypatch, number, sentence):
    monkeypatch.setattr(Refusing, "number", number)
    monkeypatch.setattr(serving.socket, "socket", Refusing)
    with pytest.raises(Problem) as raised:
        serving.listen("127.0.0.1", 8000)
    assert raised.value.sentence.startswith(sentence)
    assert raised.value.command.startswith("python3 manage.py start --port")


def test_a_host_that_does_not_exist_is_told(monkeypatch):
    def unknown(*args, **kwargs):
        raise socket.gaierror(-2, "Name or service not known")

    monkeypatch.setattr(serving.socket, "getaddrinfo", unknown)
    with pytest.raises(Problem, match="There is no address harrowmouth"):
        serving.listen("harrowmouth", 8000)


class Bound:
    def __init__(self, *name):
        self.name = name

    def getsockname(self):
        return self.name


@pytest.mark.parametrize(
    ("name", "address"),
    [
        (("127.0.0.1", 8000), "http://127.0.0.1:8000/"),
        (("0.0.0.0", 8001), "http://127.0.0.1:8001/"),  # noqa: S104
        (("::", 8000, 0, 0), "http://[::1]:8000/"),
    ],
)
def test_the_address_opens_on_this_machine(name, address):
    assert serving.address_of(Bound(*name)) == address


def test_no_browser_is_opened_without_a_screen(monkeypatch):
    opened = threading.Event()
    monkeypatch.setattr(serving.webbrowser, "open", lambda address: opened.set())
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    serving.open_browser("http://127.0.0.1:8000/")
    assert not opened.wait(0.05)
    monkeypatch.setenv("DISPLAY", ":0")
    serving.open_browser("http://127.0.0.1:8000/")
    assert opened.wait(5)


def test_a_worker_that_dies_is_started_again_and_told():
    said: list[str] = []
    again = threading.Event()

    def say(line: str) -> None:
        said.append(line)
        if len(said) == 2:
            again.set()

    worker = serving.Worker([sys.executable, "-c", "raise SystemExit(3)"], say, pauses=(0.01,))
    worker.start()
    assert again.wait(30)
    worker.stop()
    assert said[0] == "The background worker ended with code 3; starting it again in 0.01 s."


def test_a_stopped_worker_stays_stopped():
    said: list[str] = []
    worker = serving.Worker([sys.executable, "-c", "import time; time.sleep(600)"], said.append)
    worker.start()
    worker.stop()
    assert worker.process is not None
    assert worker.process.poll() is not None
    assert said == []
