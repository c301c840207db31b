"""The links a client is given. A token is derived from the secret key, the link's id and its revision; only its
hash is stored, so that it can be printed again, checked, and revoked by raising the revision."""

import base64
import hashlib
import hmac
from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone

from clients.models.blocks import TrainingSession
from clients.models.people import Client
from coachdesk.practice.owned import Owned, PublicId

CLIENT_LINK_DAYS = 400  # a year and a month: renewed long before in practice
SHEET_LINK_DAYS_AFTER = 14


class Link(PublicId, Owned):
    practice_path = "client__practice"
    purpose: ClassVar[str]

    revision = models.PositiveIntegerField(default=1)
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True

    def token(self) -> str:
        """The secret part of the address: 32 characters that cannot be guessed and are not stored."""
        message = f"{self.purpose}:{self.public_id}:{self.revision}".encode()
        digest = hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).digest()
        return base64.urlsafe_b64encode(digest[:24]).decode()

    @staticmethod
    def hash_of(token: str) -> str:
        return hashlib.sha256(token.encode()).hexdigest()

    def seal(self) -> None:
        """Sets the stored hash to the current token's; call before saving a new link or revision."""
        self.token_hash = self.hash_of(self.token())

    @property
    def alive(self) -> bool:
        return self.revoked_at is None and self.expires_at > timezone.now()


class ClientLink(Link):
    """Opens the sheets of one client."""

    purpose = "client-link"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="links")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["client"], condition=models.Q(revoked_at=None), name="client_link_one_alive"
            )
        ]

    def __str__(self) -> str:
        return f"{self.client_id} r{self.revision}"


class SheetLink(Link):
    """On paper as a QR code: opens that session only, until two weeks after its date."""

    purpose = "sheet-link"
    practice_path = "session__block__client__practice"

    session = models.OneToOneField(TrainingSession, on_delete=models.CASCADE, related_name="link")

    def __str__(self) -> str:
        return f"{self.session_id} r{self.revision}"


class CalendarFeed(Link):
    """A calendar address with neutral titles."""

    purpose = "calendar-feed"

    client = models.OneToOneField(Client, on_delete=models.CASCADE, related_name="calendar_feed")

    def __str__(self) -> str:
        return f"{self.client_id} r{self.revision}"


def form_identity(version_id: str) -> str:
    """What a fillable PDF carries: the sheet version and a signature. It opens nothing; it only says which
    sheet a form that comes back belongs to."""
    signature = hmac.new(settings.SECRET_KEY.encode(), f"form:{version_id}".encode(), hashlib.sha256).hexdigest()
    return f"{version_id}.{signature[:32]}"


def version_of_form(identity: str) -> str | None:
    """The sheet version's id when the signature holds, else None."""
    version_id = identity.partition(".")[0]
    return version_id if hmac.compare_digest(form_identity(version_id), identity) else None


def client_link_end() -> timedelta:
    return timedelta(days=CLIENT_LINK_DAYS)
