from typing import ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models.people import Practice
from coachdesk.practice.owned import Owned, PublicId


class JournalQuerySet(models.QuerySet["JournalEntry"]):
    def for_practice(self, practice: Practice) -> "JournalQuerySet":
        return self.filter(practice=practice)

    def undoable(self) -> "JournalQuerySet":
        return self.filter(undone_by__isnull=True, undoes__isnull=True)


class JournalEntry(PublicId, Owned):
    """One act: who did what, when, and every row before and after. Undoing one is an act too."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="journal")
    act = models.CharField(max_length=60)
    params = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    # What the act was about ("draft:<id>", "client:<id>"), so that a page can offer its own undo list.
    about = models.CharField(max_length=80, blank=True)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    # [{"model": "app.model", "pk": 1, "before": {...} or null, "after": {...} or null}] in the order written.
    rows = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    # Many rows of which one field changed alike: [{"model", "field", "before", "after", "pks": [1, 2, ...]}].
    moves = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")

    objects = JournalQuerySet.as_manager()

    class Meta:
        verbose_name = _("journal entry")
        verbose_name_plural = _("journal entries")
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["practice", "about", "-id"], name="journal_about")]

    def __str__(self) -> str:
        return f"{self.act} {self.at:%Y-%m-%d %H:%M}"
