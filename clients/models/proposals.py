from typing import ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.blocks import TrainingSession
from clients.models.people import Client
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs.models import Exercise


class ProposalQuerySet(models.QuerySet["Proposal"]):
    def for_practice(self, practice: Practice) -> "ProposalQuerySet":
        return self.filter(client__practice=practice)

    def waiting(self) -> "ProposalQuerySet":
        return self.filter(state=Proposal.State.WAITING)

    def decided(self) -> "ProposalQuerySet":
        """What was accepted, changed or declined, by a coach or by itself."""
        return self.filter(state__in=(Proposal.State.ACCEPTED, Proposal.State.EDITED, Proposal.State.DECLINED))


class Proposal(PublicId, Owned):
    """A change the engine suggests, with reasons, until the coach accepts, edits or declines it.

    ``old`` and ``new`` are {"load", "unit", "sets", "reps_low", "reps_high", "rir", ...} in short; ``new`` also holds
    the whole sets as ``work``, other ways on as ``offers``, and as ``not_plain`` the reasons that keep it for the
    coach's own eye; ``wave`` says which week of a wave it is and what the working max becomes, ``test`` which test it
    holds. ``decided`` is what was written, with ``by_itself`` where the program did it. ``digest`` names
    the inputs it was reckoned from, so that a stale one is noticed and reckoned again.
    """

    practice_path = "client__practice"
    # Reckoned beside the decision, which can be taken back all the same.
    unjournalled = frozenset({"changed_to"})

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        ACCEPTED = "accepted", _("accepted")
        EDITED = "edited", _("accepted with changes")
        DECLINED = "declined", _("declined")
        SUPERSEDED = "superseded", _("overtaken by newer logs")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="proposals")
    session = models.ForeignKey(TrainingSession, on_delete=models.CASCADE, related_name="proposals")
    slot_key = models.SlugField(max_length=60)
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20)  # "step_up", "repeat", "step_down", "deload", "find_load", "hold", ...
    old = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    new = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    decided = models.JSONField(null=True, blank=True, encoder=DjangoJSONEncoder)
    reasons = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    plain = models.BooleanField(default=False)
    digest = models.CharField(max_length=64)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    made_at = models.DateTimeField(auto_now_add=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # What would be proposed now, in the shape of ``new``, where figures have changed since it was decided.
    changed_to = models.JSONField(null=True, blank=True, encoder=DjangoJSONEncoder)
    superseded_by = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="supersedes"
    )

    objects = ProposalQuerySet.as_manager()

    class Meta:
        verbose_name = _("proposal")
        verbose_name_plural = _("proposals")
        ordering: ClassVar = ["pk"]
        indexes: ClassVar = [models.Index(fields=["client", "state"], name="proposal_client_state")]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["session", "slot_key"],
                condition=models.Q(state="waiting"),
                name="proposal_one_waiting_a_slot",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.exercise_id}"

    @property
    def by_itself(self) -> bool:
        """Whether it went out without a coach."""
        return bool((self.decided or {}).get("by_itself"))
