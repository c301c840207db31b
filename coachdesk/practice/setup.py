"""First run: the owner's account is made from this machine, or with a code that only its terminal shows."""

import hmac
import os
import secrets
import stat

from django.conf import settings
from django.http import HttpRequest

from coachdesk.practice.models import Coach

CODE_ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # nothing that is read two ways
CODE_LENGTH = 10
LOOPBACK = {"127.0.0.1", "::1"}
FORWARDED = ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED", "HTTP_X_REAL_IP", "HTTP_X_FORWARDED_HOST")


def needed() -> bool:
    """Whether nobody can sign in yet."""
    return not Coach.objects.exists()


def current_code() -> str:
    """The one-time code, made on first asking and kept beside the database for its owner alone."""
    path = settings.DATA_DIR / "setup-code"
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, stat.S_IRUSR | stat.S_IWUSR)
    except FileExistsError:
        return path.read_text().strip()
    code = "".join(secrets.choice(CODE_ALPHABET) for _ in range(CODE_LENGTH))
    with os.fdopen(descriptor, "w") as handle:
        handle.write(code)
    return code


def from_this_machine(request: HttpRequest) -> bool:
    """Loopback without a proxy in between: a proxy on the same machine also arrives from 127.0.0.1."""
    if settings.HOSTED or any(name in request.META for name in FORWARDED):
        return False
    host = request.get_host().rsplit(":", 1)[0].strip("[]")
    return request.META.get("REMOTE_ADDR") in LOOPBACK and host in {"127.0.0.1", "localhost", "::1"}


def code_matches(given: str) -> bool:
    typed = given.strip().upper().replace("-", "").replace(" ", "")
    return hmac.compare_digest(typed.encode(), current_code().encode())


def finished() -> None:
    (settings.DATA_DIR / "setup-code").unlink(missing_ok=True)
