"""The file between preview and decision: one a coach, gone when it is decided on or after a day."""

from datetime import timedelta
from typing import Any, Final

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from coachdesk.practice.models import Coach
from programs.exchange import documents, sheets
from programs.exchange.bounds import MOST_BYTES, FileRefused
from programs.exchange.photos import with_sealed_photos
from programs.models import Upload

KEPT: Final = timedelta(days=1)
NAME_LENGTH: Final = 120


def content_of(upload: Any) -> bytes:
    """An uploaded file's bytes, no more than a file may have. Raises FileRefused."""
    if upload.size > MOST_BYTES:
        raise FileRefused("too_large", most=MOST_BYTES // 2**20)
    data: bytes = upload.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise FileRefused("too_large", most=MOST_BYTES // 2**20)
    return data


def ready(data: bytes) -> bytes:
    """The library's file as it is kept: of a JSON document, the pictures of others written anew."""
    if not documents.is_json(data):
        return data
    entries = documents.loaded(data, documents.LIBRARY)
    if any(isinstance(entry, dict) and entry.get("photo") for entry in entries):
        with_sealed_photos(entries)
        return documents.dumped(documents.LIBRARY, entries)
    return data


def read_library(data: bytes) -> sheets.Sheet:
    return documents.read(data) if documents.is_json(data) else sheets.read(data)


@transaction.atomic
def keep(coach: Coach, kind: str, name: str, content: bytes, previewed: dict[str, str]) -> Upload:
    forget(coach)
    return Upload.objects.create(
        practice=coach.practice,
        coach=coach,
        kind=kind,
        name=name[:NAME_LENGTH],
        content=content,
        previewed=previewed,
    )


def forget(coach: Coach) -> None:
    """The coach's earlier file, and whatever of the practice nobody decided on in time."""
    old = Q(practice=coach.practice, created_at__lt=timezone.now() - KEPT)
    Upload.objects.filter(Q(coach=coach) | old).delete()
