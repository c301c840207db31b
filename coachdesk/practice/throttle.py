"""Stored counters that slow down guessing: shared by all processes, kept as hashes, forgotten after a day."""

import hashlib
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from coachdesk.practice.models import Throttle

KEPT = timedelta(days=1)


def _key(scope: str, subject: str) -> str:
    return hashlib.sha256(f"{settings.SECRET_KEY}:{scope}:{subject.lower()}".encode()).hexdigest()


def _window(seconds: int) -> datetime:
    now = int(timezone.now().timestamp())
    return datetime.fromtimestamp(now - now % seconds, tz=UTC)


def exceeded(scope: str, subject: str, limit: int, seconds: int) -> bool:
    """Whether ``subject`` has used up its ``limit`` tries in the current window. Counts nothing."""
    row = Throttle.objects.filter(key=_key(scope, subject), window_start=_window(seconds)).first()
    return row is not None and row.count >= limit


def count(scope: str, subject: str, seconds: int) -> int:
    """Counts one try and returns how many there were in this window."""
    key, window = _key(scope, subject), _window(seconds)
    for _ in range(2):
        if Throttle.objects.filter(key=key, window_start=window).update(count=F("count") + 1):
            return Throttle.objects.values_list("count", flat=True).get(key=key, window_start=window)
        try:
            with transaction.atomic():
                Throttle.objects.create(key=key, window_start=window, count=1)
            Throttle.objects.filter(window_start__lt=timezone.now() - KEPT).delete()
            return 1
        except IntegrityError:
            continue  # another process made the row a moment ago
    return 1


def clear(scope: str, subject: str) -> None:
    Throttle.objects.filter(key=_key(scope, subject)).delete()
