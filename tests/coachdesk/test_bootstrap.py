"""What stands before Django: the environment, its stamp, and the sentence for each failure."""

import errno
import re
import subprocess
import sys
from pathlib import Path

import pytest

from coachdesk.bootstrap import commandline, environment, packages, problems
from coachdesk.bootstrap.environment import RUNTIME_PINS, TEST_PINS, Environment, Progress
from coachdesk.bootstrap.problems import Problem

ROOT = Path(__file__).resolve().parent.parent.parent
HERE = f"{sys.version_info.major}.{sys.version_info.minor}"


@pytest.fixture(autouse=True)
def _started_as(monkeypatch):
    monkeypatch.setattr(sys, "argv", ["manage.py", "start", "--port", "8000"])
    monkeypatch.setattr(sys, "executable", "/usr/bin/python3")


@pytest.fixture
def place(tmp_path) -> Environment:
    """An environment that was never made, for a project with two small pin files."""
    project = tmp_path / "project"
    project.mkdir()
    (project / RUNTIME_PINS).write_text(
        "django==5.2.19 \\\n    --hash=sha256:aa\nsegno==1.6.6 \\\n    --hash=sha256:bb\n"
    )
    (project / TEST_PINS).write_text("pytest==9.2.0 \\\n    --hash=sha256:cc\n")
    return Environment(tmp_path / "venv", project)


def made(place: Environment, version: str = HERE, pins: tuple[str, ...] = (RUNTIME_PINS,)) -> Environment:
    """The same environment as if it had been made and installed."""
    place.python.parent.mkdir(parents=True)
    place.python.touch()
    (place.folder / "pyvenv.cfg").write_text(f"home = /usr/bin\nversion = {version}.4\n")
    place._write_stamp(list(pins))
    return place


def test_a_fresh_environment_is_up_to_date_for_what_was_installed(place):
    made(place)
    assert place.is_up_to_date([RUNTIME_PINS])
    assert not place.is_up_to_date([RUNTIME_PINS, TEST_PINS])


def test_a_later_install_keeps_what_the_stamp_knew(place):
    made(place)
    place._write_stamp([TEST_PINS])
    assert place.is_up_to_date([RUNTIME_PINS, TEST_PINS])


def test_changed_pins_make_it_out_of_date(place):
    made(place)
    (place.root / RUNTIME_PINS).write_text("django==5.2.20\n")
    assert not place.is_up_to_date([RUNTIME_PINS])


def test_another_python_makes_it_out_of_date(place, monkeypatch):
    made(place)
    monkeypatch.setattr(environment, "python_identity", lambda: "cpython-399 linux")
    assert not place.is_up_to_date([RUNTIME_PINS])


@pytest.mark.parametrize("stamp", ["", "not json", "[]", "{}"])
def test_a_damaged_stamp_means_install_again(place, stamp):
    made(place).stamp.write_text(stamp)
    assert not place.is_up_to_date([RUNTIME_PINS])


def test_a_missing_environment_is_made(place):
    assert place.fault().startswith(f"Making a private Python {HERE} environment")


def test_an_environment_of_another_version_is_made_again(place):
    made(place, version="3.8")
    assert "was made for Python 3.8; making it again" in place.fault()


def test_an_environment_whose_python_does_not_run_is_made_again(place):
    made(place)  # an empty file does not run
    assert place.fault().endswith("is damaged; making it again")


def test_a_folder_that_is_no_environment_is_left_alone(place):
    place.folder.mkdir()
    (place.folder / "holiday.jpg").touch()
    with pytest.raises(Problem) as raised:
        place.fault()
    assert "is no Python environment" in raised.value.sentence
    assert raised.value.command.startswith("COACHDESK_VENV=")


def test_ensure_installs_once(place, monkeypatch):
    calls = []

    def make(self):
        calls.append("make")
        self.python.parent.mkdir(parents=True)
        self.python.touch()

    monkeypatch.setattr(Environment, "_make", make)
    monkeypatch.setattr(Environment, "_install", lambda self, pins: calls.append(pins))
    place.ensure([RUNTIME_PINS])
    place.ensure([RUNTIME_PINS])
    assert calls == ["make", [RUNTIME_PINS]]


def test_a_python_without_venv_names_the_package(place, monkeypatch):
    monkeypatch.setattr(environment, "has_venv", lambda: False)
    monkeypatch.setattr(packages, "is_debian_root", lambda: False)
    monkeypatch.setattr(problems.os, "geteuid", lambda: 1000, raising=False)
    monkeypatch.setattr(problems, "is_debian", lambda: True)
    with pytest.raises(Problem) as raised:
        place.ensure([RUNTIME_PINS])
    assert "without the venv module" in raised.value.sentence
    assert raised.value.command == "sudo apt install python3-venv && python3 manage.py start --port 8000"


def test_a_python_without_venv_elsewhere_asks_for_another_python(monkeypatch):
    monkeypatch.setattr(problems, "is_debian", lambda: False)
    assert "python.org" in problems.no_venv_module().sentence


PIP_FAILURES = {
    "network": (
        "WARNING: Retrying after 'NewConnectionError('<pip>: Failed to "
        "establish a new connection: [Errno -3] Name or service not known')': /simple/django/\n"
        "ERROR: Could not find a version that satisfies the requirement django==5.2.19 (none)\n"
        "ERROR: No matching distribution found for django==5.2.19\n"
    ),
    "disk full": "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device\n",
    "hash": (
        "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.\n"
        "    django==5.2.19 from https://index.example/django-5.2.19-py3-none-any.whl (from -r r.txt):\n"
        "        Expected sha256 aa\n             Got        " + "0" * 64 + "\n"
    ),
    "no wheel": "ERROR: No matching distribution found for cffi==2.1.1\n",
    "not usable": "ERROR: Could not install due to an OSError: [Errno 13] Permission denied: '/opt/x'\n",
    "pip": "ERROR: something that nobody has foreseen\n",
}


@pytest.mark.parametrize("kind", PIP_FAILURES)
def test_what_pip_says_becomes_one_sentence_and_a_command(place, monkeypatch, kind):
    made(place)
    monkeypatch.setattr(Environment, "_pip", lambda self, files: (1, PIP_FAILURES[kind]))
    with pytest.raises(Problem) as raised:
        place._install([RUNTIME_PINS])
    assert raised.value.kind == kind
    assert raised.value.sentence.endswith((":", "To try again:"))
    assert raised.value.sentence.count("\n") == 0
    assert "manage.py start --port 8000" in raised.value.command
    assert (place.folder / "install.log").read_text() == PIP_FAILURES[kind]


def test_a_certificate_failure_asks_for_the_certificate():
    problem = problems.from_pip("SSLError(SSLCertVerificationError(1, 'CERTIFICATE_VERIFY_FAILED'))", Path("log"))
    assert problem.command.startswith("PIP_CERT=")


def test_a_wheel_of_the_machines_own_is_taken_though_its_hash_differs(place, monkeypatch, capsys):
    made(place)
    digest = "ab" * 32
    refusal = (
        "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.\n"
        "    segno==1.6.6 from file:///srv/wheels/segno-1.6.6-py3-none-any.whl (from -r r.txt (line 3)):\n"
        f"        Expected sha256 bb\n             Got        {digest}\n"
    )
    seen = []

    def pip(self, files):
        seen.append([file.read_text() for file in files])
        return (0, "") if len(seen) == 2 else (1, refusal)

    monkeypatch.setattr(Environment, "_pip", pip)
    place._install([RUNTIME_PINS])
    assert f"--hash=sha256:{digest}" in seen[1][0].split("segno")[1]
    assert digest not in seen[1][0].split("segno")[0]
    assert "is not the published segno" in capsys.readouterr().out


def test_a_file_off_the_network_is_never_taken_with_another_hash():
    assert environment.own_wheel(PIP_FAILURES["hash"]) is None


def test_progress_shows_one_line_a_package():
    progress = Progress(4)
    lines = [
        "Looking in links: /srv/wheels",
        "Collecting django==5.2.19 (from -r requirements.txt (line 90))",
        "  Downloading django-5.2.19-py3-none-any.whl (8.3 MB)",
        "Requirement already satisfied: segno==1.6.6 in ./venv (from -r requirements.txt (line 2)) (1.6.6)",
        "Processing /srv/wheels/tinycss2-1.5.1-py3-none-any.whl (from -r requirements.txt (line 3))",
        "WARNING: Retrying (Retry(total=2)) after connection broken",
        "WARNING: Retrying (Retry(total=1)) after connection broken",
        "Collecting waitress==3.0.2 (from -r requirements.txt (line 3))",
        "Installing collected packages: waitress, django",
    ]
    assert [shown for line in lines if (shown := progress.read(line))] == [
        "  1 of 4  django 5.2.19",
        "  3 of 4  tinycss2 1.5.1",
        "  the package index does not answer, trying again",
        "  4 of 4  waitress 3.0.2",
        "  putting them in place",
    ]


def test_every_pin_is_exact_and_hashed_and_none_is_in_both_files():
    names: list[str] = []
    for file in (RUNTIME_PINS, TEST_PINS):
        text = (ROOT / file).read_text()
        entries = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
        assert len(entries) == environment.count_pins(text) > 20
        assert all(line.endswith("\\") for line in entries)
        names += [line.split("==")[0] for line in entries]
    assert len(names) == len(set(names))


def test_every_wanted_package_is_pinned():
    pinned = (ROOT / RUNTIME_PINS).read_text() + (ROOT / TEST_PINS).read_text()
    for source in ("requirements.in", "requirements-test.in"):
        for line in (ROOT / source).read_text().splitlines():
            if line and not line.startswith("#"):
                name = re.split(r"[\[~<]", line)[0]
                assert f"\n{name}==" in f"\n{pinned}", name


def test_a_full_disk_is_told(monkeypatch, capsys):
    def full(argv):
        raise OSError(errno.ENOSPC, "No space left on device", "/x")

    monkeypatch.setattr(commandline, "_run", full)
    assert commandline.main(["manage.py", "start"]) == 1
    assert capsys.readouterr().err == (
        "The disk is full; free about 1 GB, then run:\n  python3 manage.py start --port 8000\n"
    )


def test_an_unforeseen_error_is_not_swallowed(monkeypatch):
    def broken(argv):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(commandline, "_run", broken)
    with pytest.raises(OSError, match="Input/output"):
        commandline.main(["manage.py", "start"])


def test_ctrl_c_ends_without_a_traceback(monkeypatch, capsys):
    def interrupted(argv):
        raise KeyboardInterrupt

    monkeypatch.setattr(commandline, "_run", interrupted)
    assert commandline.main(["manage.py", "start"]) == 130
    assert capsys.readouterr().err.strip() == "Stopped."


def test_the_data_folder_is_made_for_its_owner_alone(tmp_path):
    commandline.ensure_data_folder(tmp_path / "a" / "data")
    assert (tmp_path / "a" / "data").stat().st_mode & 0o777 == 0o700
    assert list((tmp_path / "a" / "data").iterdir()) == []


def test_a_data_folder_that_cannot_be_written_to_is_told(tmp_path):
    (tmp_path / "data").write_text("a file stands in the way")
    with pytest.raises(Problem) as raised:
        commandline.ensure_data_folder(tmp_path / "data")
    assert "can't be written to" in raised.value.sentence
    assert raised.value.command.startswith("COACHDESK_DATA=")


def test_a_wrong_setting_is_told_in_one_sentence(tmp_path):
    """In a process of its own, as it is told."""
    run = subprocess.run(
        [Path(sys.prefix) / "bin" / "python", ROOT / "manage.py", "check"],
        env={
            "COACHDESK_DEBUG": "perhaps",
            "COACHDESK_DATA": str(tmp_path),
            "COACHDESK_VENV": sys.prefix,
            "PATH": "/usr/bin",
        },
        capture_output=True,
        text=True,
    )
    assert run.returncode == 1
    assert "Traceback" not in run.stderr
    assert run.stderr.startswith("A setting is wrong: COACHDESK_DEBUG")
    assert run.stderr.splitlines()[1].strip().endswith("manage.py check")


def test_a_python_that_is_too_old_is_told(monkeypatch, capsys):
    """The first lines of manage.py, with the version of an older Python."""
    monkeypatch.setattr(sys, "version_info", (3, 9, 18))
    monkeypatch.setenv("PATH", "")
    source = (ROOT / "manage.py").read_text()
    with pytest.raises(SystemExit) as left:
        exec(compile(source, "manage.py", "exec"), {"__name__": "__main__"})  # noqa: S102 - our own file
    assert left.value.code == 1
    assert capsys.readouterr().err == (
        "Coachdesk needs Python 3.11 or newer, and this is Python 3.9. Install a newer one from "
        "https://www.python.org/downloads/ and run:\n  python3.13 manage.py start --port 8000\n"
    )


def test_the_bootstrap_needs_nothing_but_the_standard_library():
    """In a Python that does not look into any site-packages."""
    alone = [Path(sys.prefix) / "bin" / "python", "-S", "-c", "import coachdesk.bootstrap.commandline"]
    run = subprocess.run(alone, cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
