"""Packages of the operating system, where this program may install them: as root on Debian or Ubuntu."""

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path


def is_debian_root() -> bool:
    """Whether apt-get is here and this is root."""
    return os.name == "posix" and os.geteuid() == 0 and shutil.which("apt-get") is not None


def distribution() -> str:
    """The ID in os-release: "debian", "ubuntu", ...; "" where there is none."""
    try:
        lines = Path("/etc/os-release").read_text().splitlines()
    except OSError:
        return ""
    return next((line[3:].strip("\"'") for line in lines if line.startswith("ID=")), "")


def install(names: list[str], what: str, say: Callable[[str], None]) -> bool:
    """Install Debian packages quietly; whether it worked. Refreshes apt's lists only when it has to."""
    say(f"Installing {what} with apt-get ({', '.join(names)})")
    command = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *names]
    done = _apt(command)
    if done.returncode != 0:
        _apt(["apt-get", "update", "-qq"])
        done = _apt(command)
    if done.returncode != 0:
        lines = (done.stderr or done.stdout).strip().splitlines()
        say(f"  apt-get could not do it: {lines[-1] if lines else 'no reason given'}")
    return done.returncode == 0


def _apt(command: list[str]) -> subprocess.CompletedProcess[str]:
    variables = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    return subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL, env=variables)
