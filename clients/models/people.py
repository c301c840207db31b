from datetime import date
from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from clients.models.loads import WithLoad
from coachdesk.practice.models import Coach, Practice
from coachdesk.practice.models.people import valid_time_zone
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary
from programs.models import Exercise, Outline

ADULT_AGE = 18


class ClientQuerySet(models.QuerySet["Client"]):
    def for_practice(self, practice: Practice) -> "ClientQuerySet":
        return self.filter(practice=practice)

    def active(self) -> "ClientQuerySet":
        return self.filter(status=Client.Status.ACTIVE)


class Client(PublicId, Owned):
    """A person being coached. Health answers are kept elsewhere, behind their own permission."""

    class Status(models.TextChoices):
        ENQUIRY = "enquiry", _("enquiry")
        ACTIVE = "active", pgettext_lazy("state", "active")
        PAUSED = "paused", _("paused")
        LEFT = "left", _("left")

    class OrderMode(models.TextChoices):
        FIXED = "fixed", _("on fixed days: a missed session is left out")
        NEXT = "next", _("next in line: a missed session moves to the next training day")
        LIST = "list", _("a list for the week, any days")

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="clients")
    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="clients")
    name = models.CharField(_("name"), max_length=80)
    date_of_birth = models.DateField(_("date of birth"), null=True, blank=True)
    email = models.EmailField(_("email address"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    language = models.CharField(_("language"), max_length=10, choices=settings.LANGUAGES, default="en")
    unit = models.CharField(_("unit"), max_length=2, choices=Practice.Unit, default=Practice.Unit.KILOGRAM)
    time_zone = models.CharField(_("time zone"), max_length=64, default="UTC", validators=[valid_time_zone])
    experience = models.CharField(
        _("experience"), max_length=12, choices=labels.choices(vocabulary.EXPERIENCES), default="novice"
    )
    training_since = models.DateField(_("training since"), null=True, blank=True)
    # Weekday numbers, Monday 0. Empty: no fixed days.
    days = models.JSONField(_("training days"), default=list, blank=True)
    days_liked = models.JSONField(_("days they like best"), default=list, blank=True)
    days_never = models.JSONField(_("days that are impossible"), default=list, blank=True)
    sessions_per_week = models.PositiveSmallIntegerField(
        _("sessions a week"), default=2, validators=[MinValueValidator(1), MaxValueValidator(7)]
    )
    # For whom the days are never known ahead: so many sessions make a week complete; None: all of them.
    week_minimum = models.PositiveSmallIntegerField(
        _("sessions that make a week complete"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(7)],
    )
    minutes = models.PositiveSmallIntegerField(
        _("minutes a session"), default=60, validators=[MinValueValidator(15), MaxValueValidator(180)]
    )
    order_mode = models.CharField(_("when a session is missed"), max_length=5, choices=OrderMode, default="fixed")
    place = models.ForeignKey("clients.Place", on_delete=models.SET_NULL, null=True, blank=True, related_name="clients")
    outline = models.ForeignKey(Outline, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    advanced_skills = models.BooleanField(_("may learn advanced lifts"), default=False)
    rir_trusted = models.BooleanField(_("reps in reserve agree with a check set"), default=False)
    by_paper = models.BooleanField(_("trains from paper"), default=False)
    large_print = models.BooleanField(_("large print"), default=False)
    goal = models.CharField(_("what they want"), max_length=240, blank=True)
    note = models.TextField(_("notes for coaches"), blank=True)
    guardian_name = models.CharField(_("guardian"), max_length=80, blank=True)
    guardian_contact = models.CharField(_("guardian’s contact"), max_length=120, blank=True)
    guardian_consent_on = models.DateField(_("guardian’s consent given on"), null=True, blank=True)
    status = models.CharField(max_length=8, choices=Status, default=Status.ACTIVE)
    status_since = models.DateField(null=True, blank=True)
    # While paused: the day they mean to come back on, where it is known.
    paused_until = models.DateField(_("paused until"), null=True, blank=True)
    # Set by a return: health answers from before this day don't count any more.
    answers_from = models.DateField(_("health answers count from"), null=True, blank=True)
    # Once somebody has left: the day from which their data may be erased.
    keep_until = models.DateField(_("kept until"), null=True, blank=True)
    # Plain changes go out to this client without waiting for the coach, who can see and undo them.
    plain_goes_out = models.BooleanField(_("plain changes go out by themselves"), default=False)
    # How far the new-client form has come, so that it can be taken up again; 0 when finished.
    intake_step = models.PositiveSmallIntegerField(default=0)
    is_demo = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ClientQuerySet.as_manager()

    class Meta:
        verbose_name = _("client")
        verbose_name_plural = _("clients")
        ordering: ClassVar = ["name", "pk"]
        indexes: ClassVar = [models.Index(fields=["practice", "status"], name="client_practice_status")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(minutes__range=(15, 180)), name="client_minutes_in_range"),
            models.CheckConstraint(
                condition=models.Q(sessions_per_week__range=(1, 7)), name="client_sessions_in_range"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def age_on(self, day: date) -> int | None:
        born = self.date_of_birth
        if born is None:
            return None
        return day.year - born.year - ((day.month, day.day) < (born.month, born.day))

    def is_minor_on(self, day: date) -> bool:
        age = self.age_on(day)
        return age is not None and age < ADULT_AGE

    @property
    def ratings_count(self) -> bool:
        """Whether what the client says was left in reserve may drive loads: a beginner's once a check set agreed."""
        return self.rir_trusted or self.experience != "novice"

    @property
    def initials(self) -> str:
        """The first name and the first letter of the last: enough to hand a sheet to the right person."""
        first, *rest = self.name.split()
        return f"{first} {rest[-1][0]}." if rest else first


class Limit(PublicId, Owned):
    """A joint or movement to spare, as the coach decided it; the health behind it is kept elsewhere."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="limits")
    joint = models.CharField(
        _("joint or movement"), max_length=30, choices=labels.choices(vocabulary.JOINT_TAGS), blank=True
    )
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    side = models.CharField(_("side"), max_length=5, choices=labels.choices(vocabulary.SIDES), default="both")
    strict = models.BooleanField(_("how strictly"), default=True, choices=[(True, _("avoid")), (False, _("go easy"))])
    since = models.DateField(_("since"))
    until = models.DateField(_("until"), null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(joint="", exercise__isnull=False) | ~models.Q(joint="") & models.Q(exercise=None),
                name="limit_names_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(until__isnull=True) | models.Q(until__gte=models.F("since")),
                name="limit_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return self.joint or str(self.exercise)

    def holds_on(self, day: date) -> bool:
        return self.since <= day and (self.until is None or day <= self.until)


class GroupPriority(Owned):
    """How much a muscle group matters to this client when it is not the usual."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="priorities")
    group = models.CharField(_("group"), max_length=20, choices=labels.choices(vocabulary.AUDITED_GROUPS))
    priority = models.CharField(_("priority"), max_length=6, choices=labels.choices(vocabulary.PRIORITIES))

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["client", "group"], name="group_priority_once"),
        ]

    def __str__(self) -> str:
        return f"{self.group} {self.priority}"


class Taste(Owned):
    """An exercise the client likes or dislikes."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="tastes")
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="+")
    likes = models.BooleanField(_("likes it"))

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["client", "exercise"], name="taste_once")]

    def __str__(self) -> str:
        return f"{self.exercise_id} {self.likes}"


class RecentSet(Owned, WithLoad):
    """A set the client did before coming here: the start of their loads."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="recent_sets")
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="+")
    reps = models.PositiveSmallIntegerField(_("reps"))
    rir = models.DecimalField(_("reps in reserve"), max_digits=3, decimal_places=1, null=True, blank=True)
    done_on = models.DateField(_("when"))

    class Meta:
        ordering: ClassVar = ["-done_on", "pk"]
        constraints: ClassVar = [*WithLoad.load_constraints("recent_set")]

    def __str__(self) -> str:
        return f"{self.exercise_id} {self.load_value} × {self.reps}"
