"""Health answers, conditions, clearances, pain: apart from everything else, behind their own permission.

The engine and the sheets get only what follows (limits, an effort floor, cleared or not), never the answers.
"""

from datetime import date
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.people import Client
from coachdesk.practice.owned import Owned, PublicId


class Kept(Owned):
    """Health data names its purpose and the day after which it is erased."""

    practice_path = "client__practice"

    purpose = models.CharField(max_length=80, default="planning training safely")
    keep_until = models.DateField(_("kept until"), null=True, blank=True)

    class Meta:
        abstract = True


class HealthAnswersQuerySet(models.QuerySet["HealthAnswers"]):
    def for_client(self, client: Client) -> "HealthAnswersQuerySet":
        return self.filter(client=client)


class HealthAnswers(PublicId, Kept):
    """One round of the health questions, as answered: question code to yes, no, or null for not answered.

    ``result`` is what the published logic makes of them alone; a clearance given since is weighed when asked.
    """

    class Result(models.TextChoices):
        CLEARED = "cleared", _("may start")
        MODERATE = "moderate_only", _("moderate effort; a professional’s word before hard work")
        REFER = "see_professional", _("a professional first")
        INCOMPLETE = "incomplete", _("questions left open")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="health_answers")
    answers = models.JSONField(default=dict)  # codes of cautions.SCREENING
    details = models.TextField(_("in their words"), blank=True)
    result = models.CharField(max_length=16, choices=Result)
    answered_on = models.DateField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = HealthAnswersQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-answered_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.client_id} {self.answered_on}"


class Condition(PublicId, Kept):
    """Something known that changes how this person trains (treated blood pressure, pregnancy, a joint implant)."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="conditions")
    code = models.CharField(max_length=40)
    since = models.DateField(null=True, blank=True)
    until = models.DateField(null=True, blank=True)
    details = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.code

    def holds_on(self, day: date) -> bool:
        return (self.since is None or self.since <= day) and (self.until is None or day <= self.until)


class Clearance(PublicId, Kept):
    """A professional's word that this person may train, as the coach recorded it."""

    class Scope(models.TextChoices):
        MODERATE = "moderate", _("moderate effort")
        VIGOROUS = "vigorous", _("hard work too")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="clearances")
    given_by = models.CharField(_("given by"), max_length=120)
    scope = models.CharField(_("covers"), max_length=8, choices=Scope)
    given_on = models.DateField(_("given on"))
    expires_on = models.DateField(_("valid until"))
    note = models.TextField(_("limits the professional set"), blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["-given_on", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(expires_on__gte=models.F("given_on")), name="clearance_ends_after_it_starts"
            )
        ]

    def __str__(self) -> str:
        return f"{self.client_id} {self.scope} to {self.expires_on}"


class PainReport(PublicId, Kept):
    """Pain during or the morning after a session, 0–10, and where. Soreness is not pain."""

    class State(models.TextChoices):
        OPEN = "open", _("open")
        ANSWERED = "answered", _("answered")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="pain_reports")
    session = models.ForeignKey(
        "clients.TrainingSession", on_delete=models.SET_NULL, null=True, blank=True, related_name="pain_reports"
    )
    exercise = models.ForeignKey(
        "programs.Exercise", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    key = models.CharField(max_length=64)  # made where it was typed: the same report twice is one
    body_part = models.CharField(_("where"), max_length=30)
    side = models.CharField(_("side"), max_length=5, default="both")
    score = models.PositiveSmallIntegerField(_("0 to 10"))
    alarms = models.JSONField(default=list, blank=True)  # codes of cautions.ALARMS: sharp, radiating, ...
    note = models.TextField(_("in their words"), blank=True)
    # What follows by the bands (cautions.ACTIONS), and what it holds back: {"joints", "patterns", "regions",
    # "everything"}. Kept, so that sheets and proposals need no health data to honour it.
    action = models.CharField(max_length=10, default="go_on")
    affected = models.JSONField(default=dict)
    felt_on = models.DateField()
    reported_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    answer = models.TextField(_("what the coach decided"), blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-felt_on", "-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["client", "key"], name="pain_report_key_once"),
            models.CheckConstraint(condition=models.Q(score__range=(0, 10)), name="pain_score_0_to_10"),
        ]

    def __str__(self) -> str:
        return f"{self.body_part} {self.score}"


class Illness(PublicId, Kept):
    """An illness that training waits for or goes easy after. Well is: no fever, and no medicine against it."""

    class Kind(models.TextChoices):
        ABOVE_NECK = "above_neck", _("a cold, above the neck, no fever")
        WHOLE_BODY = "whole_body", _("fever, chest, stomach or aches all over")
        ALARM = "alarm", _("chest pain, breathlessness or fainting")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="illnesses")
    kind = models.CharField(_("what kind"), max_length=10, choices=Kind)
    since = models.DateField(_("since"))
    well_on = models.DateField(_("well since"), null=True, blank=True)
    # A professional has said that training may go on.
    cleared_on = models.DateField(_("cleared by a professional on"), null=True, blank=True)
    details = models.TextField(_("details"), blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        verbose_name = _("illness")
        verbose_name_plural = _("illnesses")
        ordering: ClassVar = ["-since", "-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(well_on__isnull=True) | models.Q(well_on__gte=models.F("since")),
                name="illness_ends_after_it_began",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.since}"


class HealthNote(PublicId, Kept):
    """What a coach wrote down about a client's health."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="health_notes")
    text = models.TextField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    written_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["-written_at"]

    def __str__(self) -> str:
        return f"{self.client_id} {self.written_at:%Y-%m-%d}"


class HealthRead(Owned):
    """The trail: who looked at a client's health pages, and when."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="health_reads")
    coach = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    what = models.CharField(max_length=40)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["-at"]

    def __str__(self) -> str:
        return f"{self.coach_id} {self.what} {self.at:%Y-%m-%d %H:%M}"
