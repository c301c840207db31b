"""The private Python environment: made, brought up to the pins, remembered by a stamp."""

import contextlib
import hashlib
import importlib
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from coachdesk.bootstrap import packages
from coachdesk.bootstrap.problems import Problem, again, from_pip, no_venv_module, say

RUNTIME_PINS = "requirements.txt"
TEST_PINS = "requirements-test.txt"

STAMP = "coachdesk-stamp.json"
# Settings of the machine that would send packages elsewhere, or silence the lines that progress is read from.
UNSET_FOR_PIP = (
    "PIP_TARGET",
    "PIP_PREFIX",
    "PIP_ROOT",
    "PIP_QUIET",
    "PIP_VERBOSE",
    "PIP_LOG",
    "PYTHONHOME",
    "PYTHONPATH",
)


def python_identity() -> str:
    """What a compiled package depends on: implementation and minor version, platform, build flags."""
    return f"{sys.implementation.cache_tag}{getattr(sys, 'abiflags', '')} {sys.platform}"


class Environment:
    """One virtual environment at `folder`, installed from the pin files in `root`."""

    def __init__(self, folder: Path, root: Path) -> None:
        self.folder = folder.expanduser().absolute()
        self.root = root
        self.python = self.folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        self.stamp = self.folder / STAMP

    def is_current(self) -> bool:
        """Whether the running Python is this environment's own."""
        return os.path.realpath(sys.prefix) == os.path.realpath(self.folder)

    def ensure(self, pins: list[str]) -> None:
        """Make the environment and install the pins, unless the stamp says that all this is done."""
        if self.is_up_to_date(pins):
            return
        with self._alone():
            if self.is_up_to_date(pins):  # another command did it while this one waited
                return
            if not self.is_current():
                fault = self.fault()
                if fault:
                    say(fault)
                    self._make()
            self._install(pins)
            self._write_stamp(pins)

    def is_up_to_date(self, pins: list[str]) -> bool:
        """Whether Python and the pins are those that the stamp remembers."""
        stamp = self._read_stamp()
        return (
            self.python.exists()
            and stamp.get("python") == python_identity()
            and all(stamp.get(name) == self._fingerprint(name) for name in pins)
        )

    def fault(self) -> str:
        """Why the environment has to be made (again), as a line to show; "" if it need not be."""
        here = f"{sys.version_info.major}.{sys.version_info.minor}"
        if not self.folder.exists() or not any(self.folder.iterdir()):
            return f"Making a private Python {here} environment in {self.folder}"
        settings = self.folder / "pyvenv.cfg"
        if not settings.exists():
            raise Problem(
                f"{self.folder} is there but is no Python environment; name another folder for it:",
                f"COACHDESK_VENV={self.folder}-coachdesk {again()}",
            )
        made_for = re.search(r"^version(?:_info)? *= *(\d+\.\d+)", settings.read_text(errors="replace"), re.MULTILINE)
        if made_for and made_for.group(1) != here:
            return f"{self.folder} was made for Python {made_for.group(1)}; making it again for Python {here}"
        if not self._works():
            return f"{self.folder} is damaged; making it again"
        return ""

    def _works(self) -> bool:
        """Whether the environment's Python runs and has pip."""
        try:
            trial = subprocess.run([self.python, "-m", "pip", "--version"], capture_output=True, timeout=60)
        except (OSError, subprocess.TimeoutExpired):
            return False
        return trial.returncode == 0

    def _make(self) -> None:
        if not has_venv() and packages.is_debian_root() and sys.prefix == "/usr":
            packages.install(["python3-venv"], "the venv module of Python", say)
            importlib.invalidate_caches()
        if not has_venv():
            raise no_venv_module()
        if self.folder.exists():
            shutil.rmtree(self.folder)
        made = subprocess.run([sys.executable, "-m", "venv", self.folder], capture_output=True, text=True)
        if made.returncode == 0:
            return
        output = made.stdout + made.stderr
        if "ensurepip is not" in output:
            raise no_venv_module()
        raise from_pip(output, self._keep_log(output))

    def _install(self, pins: list[str]) -> None:
        """Run pip, one line a package; wheels of the machine's own may differ from the published."""
        files = [self.root / name for name in pins]
        say("Installing the packages that Coachdesk needs" + (", with those for tests" if TEST_PINS in pins else ""))
        while True:
            code, output = self._pip(files)
            log = self._keep_log(output)
            if code == 0:
                return
            own = own_wheel(output)
            if own is None:
                raise from_pip(output, log)
            name, wheel, digest = own
            say(f"  {wheel} lies in a wheel folder of this machine and is not the published {name}: taking it")
            files = [with_hash(file, name, digest, self.folder / f"own-{file.name}") for file in files]

    def _pip(self, files: list[Path]) -> tuple[int, str]:
        command: list[str | Path] = [
            self.python,
            "-m",
            "pip",
            "install",
            "--no-input",
            "--progress-bar=off",
            "--only-binary=:all:",
        ]
        command += ["--no-warn-script-location", "--retries=3"]
        for file in files:
            command += ["-r", file]
        variables = {name: value for name, value in os.environ.items() if name not in UNSET_FOR_PIP}
        variables |= {"PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_USER": "0", "PYTHONUNBUFFERED": "1"}
        progress = Progress(sum(count_pins(file.read_text()) for file in files))
        lines = []
        with subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            env=variables,
        ) as pip:
            assert pip.stdout is not None  # noqa: S101 - told to the type checker
            for line in pip.stdout:
                lines.append(line)
                shown = progress.read(line)
                if shown:
                    say(shown)
        return pip.returncode, "".join(lines)

    def _keep_log(self, output: str) -> Path:
        log = self.folder / "install.log"
        with contextlib.suppress(OSError):
            log.write_text(output)
        return log

    def _fingerprint(self, name: str) -> str:
        return hashlib.sha256((self.root / name).read_bytes()).hexdigest()

    def _read_stamp(self) -> dict[str, str]:
        try:
            stamp = json.loads(self.stamp.read_text())
        except (OSError, ValueError):
            return {}
        return stamp if isinstance(stamp, dict) else {}

    def _write_stamp(self, pins: list[str]) -> None:
        before = self._read_stamp()
        kept = before if before.get("python") == python_identity() else {}
        stamp = {**kept, "python": python_identity(), **{name: self._fingerprint(name) for name in pins}}
        draft = self.stamp.with_suffix(".new")
        draft.write_text(json.dumps(stamp, indent=1))
        draft.replace(self.stamp)

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """Hold a lock, so that two commands on a fresh machine don't build the same folder at once."""
        try:
            import fcntl
        except ImportError:  # Windows: two first starts at once are left to chance
            yield
            return
        self.folder.parent.mkdir(parents=True, exist_ok=True)
        with self.folder.with_name(self.folder.name + ".lock").open("w") as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                say("Another command is making the environment; waiting for it")
                fcntl.flock(lock, fcntl.LOCK_EX)
            yield


def has_venv() -> bool:
    """Whether this Python can make an environment with pip in it."""
    return all(importlib.util.find_spec(name) is not None for name in ("venv", "ensurepip"))


def count_pins(text: str) -> int:
    """How many packages a pin file names."""
    return len(re.findall(r"^[\w.-]+==", text, re.MULTILINE))


class Progress:
    """Turns pip's lines into one short line a package."""

    def __init__(self, total: int) -> None:
        self.total = total
        self.done = 0
        self.retried = False

    def read(self, line: str) -> str:
        """The line to show for one line of pip's; "" for nothing."""
        if match := re.match(r"(Collecting|Requirement already satisfied:|Ignoring) ([\w.-]+)(?:==([\w.]+))?", line):
            self.done += 1
            if match.group(1) != "Collecting":
                return ""
            return f"  {self.done} of {self.total}  {match.group(2)} {match.group(3) or ''}".rstrip()
        if match := re.match(r"Processing \S*?([^/\\\s]+?)-([\d.]+)[^/\\\s]*\.whl", line):  # off this machine's disk
            self.done += 1
            return f"  {self.done} of {self.total}  {match.group(1)} {match.group(2)}"
        if line.startswith("Installing collected packages"):
            return "  putting them in place"
        if "Retrying" in line and not self.retried:
            self.retried = True
            return "  the package index does not answer, trying again"
        return ""


def own_wheel(output: str) -> tuple[str, str, str] | None:
    """(package, address, SHA-256) of a wheel that pip found on this machine and refused by its hash, or None.

    Whoever set up such a folder chose its wheels; a file off the network with a wrong hash is never taken.
    """
    refused = re.search(
        r"DO NOT MATCH THE HASHES.*?^\s+([\w.-]+)\S* (?:from )?\S*?(file:\S+).*?Got\s+([0-9a-f]{64})",
        output,
        re.MULTILINE | re.DOTALL,
    )
    return (refused.group(1), refused.group(2), refused.group(3)) if refused else None


def with_hash(file: Path, name: str, digest: str, copy: Path) -> Path:
    """A copy of a pin file in which the named package may also have this SHA-256."""
    pattern = re.compile(rf"^({re.escape(name)}==[^\n]*\\\n)", re.MULTILINE | re.IGNORECASE)
    copy.write_text(pattern.sub(rf"\g<1>    --hash=sha256:{digest} \\\n", file.read_text()))
    return copy
