from typing import ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Coach, Practice
from coachdesk.practice.owned import Owned, PublicId


class Upload(PublicId, Owned):
    """A file that a coach is about to import: kept from the preview to the decision, one a coach at a time."""

    KINDS: ClassVar = [("library", _("library")), ("templates", _("templates"))]

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="+")
    coach = models.ForeignKey(Coach, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=10, choices=KINDS)
    name = models.CharField(max_length=120)
    content = models.BinaryField()
    # What the preview said of each row, shortened to a digest: what has come out otherwise since is told.
    previewed = models.JSONField(default=dict)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = _("upload")
        verbose_name_plural = _("uploads")

    def __str__(self) -> str:
        return self.name
