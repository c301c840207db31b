from typing import ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.people import Client
from clients.models.places import Place
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs.models import Outline


class DraftQuerySet(models.QuerySet["Draft"]):
    def for_practice(self, practice: Practice) -> "DraftQuerySet":
        return self.filter(client__practice=practice)


class Draft(PublicId, Owned):
    """The week being composed. Every edit is one journalled change and raises the revision.

    ``document`` is {"picks": [{"slot", "occurrence", "exercise" (key), "sets", "pinned", "pinned_sets"}],
    "order": {day key: [slot keys]}, "days": [{"day", "occurrence", "weekday"}], "left_out": [[slot, occurrence]],
    "days_chosen"}. The days stand in the order of the week; weekday 0 is Monday, None for clients without fixed days.
    A rolling cycle adds "cycle_days", and to each of its days "offset": days from the cycle's first (None likewise).
    Solving again never happens behind the coach's back: assigning names the revision that was on screen.
    """

    practice_path = "client__practice"
    unjournalled: ClassVar = frozenset({"revision", "changed_at"})

    class State(models.TextChoices):
        OPEN = "open", _("being composed")
        ASSIGNED = "assigned", _("assigned")
        DROPPED = "dropped", _("dropped")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="drafts")
    outline = models.ForeignKey(Outline, on_delete=models.PROTECT, related_name="drafts")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="drafts")
    starts_on = models.DateField(_("starts on"))
    weeks = models.PositiveSmallIntegerField(_("weeks"), default=6)
    deload_weeks = models.JSONField(_("deload weeks"), default=list, blank=True)  # rounds, as a block's
    document = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    revision = models.PositiveIntegerField(default=1)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    objects = DraftQuerySet.as_manager()

    class Meta:
        verbose_name = _("draft")
        verbose_name_plural = _("drafts")
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(weeks__range=(1, 26)), name="draft_weeks_in_range"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} r{self.revision}"
