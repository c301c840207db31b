from typing import Any, ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from clients.models.blocks import TrainingSession
from clients.models.people import Client
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId


class SheetVersionQuerySet(models.QuerySet["SheetVersion"]):
    def for_practice(self, practice: Practice) -> "SheetVersionQuerySet":
        return self.filter(session__block__client__practice=practice)

    def for_client(self, client: Client) -> "SheetVersionQuerySet":
        return self.filter(session__block__client=client)

    def standing(self) -> "SheetVersionQuerySet":
        return self.filter(state=SheetVersion.State.ISSUED)


class SheetVersion(PublicId, Owned):
    """A session as it was handed to the client. The document never changes; a later version supersedes it.

    The document holds everything that page, PDF and form reader need; ``clients.sheets.document`` describes it.
    """

    practice_path = "session__block__client__practice"

    class State(models.TextChoices):
        ISSUED = "issued", _("issued")
        SUPERSEDED = "superseded", _("replaced by a newer one")
        WITHDRAWN = "withdrawn", _("withdrawn")

    session = models.ForeignKey(TrainingSession, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveSmallIntegerField()
    document = models.JSONField(encoder=DjangoJSONEncoder)
    digest = models.CharField(max_length=64)  # of the document: the key of its PDFs
    state = models.CharField(max_length=10, choices=State, default=State.ISSUED)
    issued_at = models.DateTimeField(auto_now_add=True)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = SheetVersionQuerySet.as_manager()

    class Meta:
        verbose_name = _("sheet")
        verbose_name_plural = _("sheets")
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["session", "number"], name="sheet_version_number_once"),
            models.UniqueConstraint(
                fields=["session"], condition=models.Q(state="issued"), name="sheet_version_one_standing"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.session_id} v{self.number}"

    def line(self, number: int) -> dict[str, Any]:
        """The line of that number. Raises Http404 for one the sheet does not have."""
        for line in self.document["lines"]:
            if line["number"] == number:
                return line
        raise Http404

    def target_set(self, line: int, number: int) -> dict[str, Any]:
        """The target set of a line. Raises Http404 for one the sheet does not have."""
        for target in self.line(line).get("sets", []):
            if target["number"] == number:
                return target
        raise Http404
