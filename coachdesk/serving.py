"""The built-in server: a free port, the pages, and a background worker beside them."""

import errno
import os
import signal
import socket
import subprocess
import sys
import threading
import webbrowser
from collections.abc import Callable
from types import FrameType
from typing import Any, NoReturn

from django.conf import settings

from coachdesk import environment
from coachdesk.bootstrap.problems import Problem

PORTS_TRIED = 50
LARGEST_REQUEST_BYTES = 64 * 1024 * 1024
RESTART_PAUSES_S = (1, 2, 5, 10, 30)
STOP_PATIENCE_S = 20


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens on the first free port from `port` on. Raises Problem."""
    try:
        family, *_, address = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)[0]
    except socket.gaierror as error:
        raise Problem(
            f"There is no address {host}; leave --host out or give one of this machine's:", _start(port)
        ) from error
    last = min(port + PORTS_TRIED, 65536)
    for candidate in range(port, last):
        listener = socket.socket(family, socket.SOCK_STREAM)
        if os.name != "nt":  # on Windows this option would let two servers share a port
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address[0], candidate))
            listener.listen(1024)  # claims the port: binding alone would not
        except OSError as error:
            listener.close()
            if error.errno == errno.EADDRINUSE:
                continue
            if error.errno == errno.EACCES:
                raise Problem(f"Only root may open port {candidate}; choose one above 1023:", _start(8000)) from error
            if error.errno == errno.EADDRNOTAVAIL:
                raise Problem(f"{host} is no address of this machine; leave --host out:", _start(port)) from error
            raise
        return listener
    raise Problem(f"The ports {port} to {last - 1} are all taken; choose another one:", _start((port + 1000) % 60000))


def _start(port: int) -> str:
    return f"python3 manage.py start --port {port}"


def address_of(listener: socket.socket) -> str:
    """The address to open in a browser on this machine."""
    host, port = listener.getsockname()[:2]
    host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104 - compared with, not bound to
    return f"http://{f'[{host}]' if ':' in host else host}:{port}/"


def serve(application: Any, listener: socket.socket) -> None:
    """Answer requests until Ctrl-C or SIGTERM; requests under way are finished first."""
    import waitress

    signal.signal(signal.SIGTERM, _leave)
    proxy: dict[str, Any] = {"clear_untrusted_proxy_headers": False}  # seen by the first-run page, trusted by nobody
    if settings.HOSTED:
        proxy = {
            "trusted_proxy": environment.text("COACHDESK_PROXY", "127.0.0.1"),
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"},
            "clear_untrusted_proxy_headers": True,
        }
    waitress.serve(
        application,
        sockets=[listener],
        ident="",
        threads=4,
        asyncore_use_poll=True,
        max_request_body_size=LARGEST_REQUEST_BYTES,
        _quiet=True,
        **proxy,
    )


def _leave(_number: int, _frame: FrameType | None) -> NoReturn:
    raise SystemExit(0)


def open_browser(address: str) -> None:
    """Open the address in the person's browser, where there is one to see it with."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return  # a terminal browser would take the terminal over
    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


class Worker:
    """The background worker as a child process, started again when it dies."""

    def __init__(
        self, command: list[str], say: Callable[[str], None], pauses: tuple[float, ...] = RESTART_PAUSES_S
    ) -> None:
        self.command = command
        self.say = say
        self.pauses = pauses
        self.process: subprocess.Popen[bytes] | None = None
        self._stopping = threading.Event()
        self._watcher = threading.Thread(target=self._keep_alive, daemon=True)

    def start(self) -> None:
        self._watcher.start()

    def stop(self) -> None:
        """Let the job under way finish, then end the worker."""
        self._stopping.set()
        process = self.process
        if process is not None and process.poll() is None:
            process.terminate()
            try:
                process.wait(STOP_PATIENCE_S)
            except subprocess.TimeoutExpired:
                process.kill()
        self._watcher.join(STOP_PATIENCE_S)

    def _keep_alive(self) -> None:
        deaths = 0
        while not self._stopping.is_set():
            # A session of its own, so that Ctrl-C in the terminal reaches the server alone, which ends both.
            self.process = subprocess.Popen(self.command, stdin=subprocess.DEVNULL, start_new_session=True)
            if self._stopping.is_set():  # stop() may have looked just before the process was there
                self.process.terminate()
            code = self.process.wait()
            if self._stopping.is_set():
                return
            pause = self.pauses[min(deaths, len(self.pauses) - 1)]
            deaths += 1
            self.say(f"The background worker ended with code {code}; starting it again in {pause} s.")
            self._stopping.wait(pause)
