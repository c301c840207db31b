"""Reads settings from the environment, loudly: a value that makes no sense stops the start with one sentence."""

import os
import secrets
import stat
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default).strip()


def flag(name: str, default: bool = False) -> bool:
    """A yes/no value: 1, true, yes, on or 0, false, no, off."""
    raw = text(name).lower()
    if not raw:
        return default
    if raw in {"1", "true", "yes", "on"}:
        return True
    if raw in {"0", "false", "no", "off"}:
        return False
    raise ImproperlyConfigured(f"{name} is “{raw}”; it takes 1 or 0.")


def listing(name: str) -> list[str]:
    return [part.strip() for part in text(name).split(",") if part.strip()]


def folder(name: str, default: Path) -> Path:
    """A folder that exists when this returns; only its owner may look inside a new one."""
    path = Path(text(name) or default).expanduser()
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(f"{name}: the folder {path} can't be made ({error.strerror}).") from error
    return path


def secret_key(path: Path) -> str:
    """COACHDESK_SECRET_KEY, else the key kept in the data folder, made there on first use for its owner alone."""
    from_environment = text("COACHDESK_SECRET_KEY")
    if from_environment:
        if len(from_environment) < 50:
            raise ImproperlyConfigured("COACHDESK_SECRET_KEY is shorter than 50 characters.")
        return from_environment
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, stat.S_IRUSR | stat.S_IWUSR)
    except FileExistsError:
        pass
    else:
        with os.fdopen(descriptor, "w") as handle:
            handle.write(secrets.token_urlsafe(64))
    key = path.read_text().strip()
    if len(key) < 50:
        raise ImproperlyConfigured(f"The secret key in {path} is damaged; delete the file to make a new one.")
    return key
