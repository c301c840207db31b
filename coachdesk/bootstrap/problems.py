"""What can go wrong before Django runs, each as one plain sentence and the command that mends it."""

import errno
import os
import re
import shlex
import shutil
import sys
from pathlib import Path

from coachdesk.bootstrap.places import environment_folder


class Problem(Exception):
    """A foreseen failure. Its text is the sentence and, on a line of its own, the command."""

    def __init__(self, sentence: str, command: str, kind: str = "") -> None:
        super().__init__(f"{sentence}\n  {command}")
        self.sentence = sentence
        self.command = command
        self.kind = kind


def say(line: str) -> None:
    print(line, flush=True)


def again() -> str:
    """The command line that is running now, as a person would type it."""
    name = Path(sys.executable or "python3").name
    python = "python3" if os.name == "posix" and name == "python" else name  # an environment's own is "python"
    return f"{python} {shlex.join(['manage.py', *sys.argv[1:]])}"


def with_python(name: str) -> str:
    """The command line that is running now, with another Python."""
    return f"{name} {shlex.join(['manage.py', *sys.argv[1:]])}"


def from_os_error(error: OSError) -> Problem | None:
    """The Problem behind an operating system's error; None where a traceback tells more."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return disk_full()
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return not_usable(Path(error.filename or "."), error.strerror or "refused")
    return None


def not_usable(path: Path, why: str) -> Problem:
    """For a file or folder that this person may not use."""
    path = path.absolute()
    if path.is_relative_to(environment_folder()):
        sentence = f"{path} can't be used ({why}); keep the environment in a folder of yours:"
        mend = f"COACHDESK_VENV={Path.home() / 'coachdesk-venv'} {again()}"
    else:
        existing = next(place for place in (path, *path.parents) if os.path.lexists(place))
        sentence = f"{path} can't be used ({why}); make it yours:"
        mend = f"{as_root(f'chown -R $(id -un) {existing}')} && {again()}"
    return Problem(sentence, mend, kind="not usable")


def disk_full() -> Problem:
    return Problem("The disk is full; free about 1 GB, then run:", again(), kind="disk full")


def is_debian() -> bool:
    """Whether this is Debian or one of its kin, such as Ubuntu."""
    return Path("/etc/debian_version").exists()


def is_full(folder: Path) -> bool:
    """Whether the disk has no room left for even one package: some tools fail of it without saying so."""
    try:
        return shutil.disk_usage(folder).free < 4 * 1024 * 1024
    except OSError:
        return False


def no_venv_module() -> Problem:
    """For a Python without venv or ensurepip, as Debian and its kin ship it."""
    if is_debian():
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        package = "python3-venv" if sys.executable.endswith("python3") else f"python{version}-venv"
        sentence = "This Python comes without the venv module that makes private environments; add it:"
        return Problem(sentence, f"{as_root('apt install ' + package)} && {again()}", kind="no venv")
    sentence = "This Python comes without the venv module; install https://www.python.org/downloads/ and run:"
    return Problem(sentence, with_python("python3.13"), kind="no venv")


def as_root(command: str) -> str:
    """The command with sudo in front of each step where this person is not root."""
    if os.name == "nt" or os.geteuid() == 0:
        return command
    return " && ".join("sudo " + step for step in command.split(" && "))


NO_NETWORK = re.compile(
    r"NewConnectionError|NameResolutionError|Temporary failure in name resolution|Name or service not known"
    r"|nodename nor servname|getaddrinfo failed|Network is unreachable|No route to host|Connection refused"
    r"|ConnectTimeoutError|ReadTimeoutError|Read timed out|timed out|ProxyError|Connection aborted"
    r"|Connection reset|RemoteDisconnected|ProtocolError|Connection broken|HTTP error 50\d|50\d Server Error"
)
CERTIFICATE = re.compile(r"CERTIFICATE_VERIFY_FAILED|SSLCertVerificationError|certificate verify failed")
NO_WHEEL = re.compile(r"No matching distribution found for (\S+)")


def from_pip(output: str, log: Path) -> Problem:
    """The Problem that pip's output tells of."""
    if re.search(r"No space left on device|Disk quota exceeded|not enough space on the disk", output):
        return disk_full()
    if "DO NOT MATCH THE HASHES" in output:
        return Problem(
            "A downloaded package is not the file that was published under its name, so nothing was "
            "installed; leave out any package mirror, then empty the cache and try again:",
            f"{sys.executable} -m pip cache purge && {again()}",
            kind="hash",
        )
    if CERTIFICATE.search(output):
        return Problem(
            "The package index's certificate could not be verified; if this network has a certificate of "
            "its own, name its file:",
            f"PIP_CERT=/path/to/certificates.pem {again()}",
            kind="network",
        )
    if NO_NETWORK.search(output):
        return Problem(
            "The package index could not be reached, so the packages Coachdesk needs are not all installed; "
            "connect this machine to the internet, then run:",
            again(),
            kind="network",
        )
    if denied := re.search(r"(Permission denied|Read-only file system): '([^']+)'", output):
        return not_usable(Path(denied.group(2)), denied.group(1))
    if missing := NO_WHEEL.search(output):
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        return Problem(
            f"There is no ready-made {missing.group(1)} for Python {version} on this machine; use a Python "
            "from 3.11 to 3.14:",
            with_python("python3.13"),
            kind="no wheel",
        )
    if is_full(log.parent):
        return disk_full()
    return Problem(f"Installing the packages failed; {log} tells why. To try again:", again(), kind="pip")
