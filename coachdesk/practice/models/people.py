import zoneinfo
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.owned import Owned, PublicId


def valid_time_zone(name: str) -> None:
    if name not in zoneinfo.available_timezones():
        raise ValidationError(_("Choose a time zone from the list, such as Europe/Helsinki."))


class Practice(PublicId):
    """The business: its coaches, its clients and the defaults they start from."""

    class Unit(models.TextChoices):
        KILOGRAM = "kg", _("kilograms (kg)")
        POUND = "lb", _("pounds (lb)")

    class WeekStart(models.IntegerChoices):
        MONDAY = 0, _("Monday")
        SATURDAY = 5, _("Saturday")
        SUNDAY = 6, _("Sunday")

    class Paper(models.TextChoices):
        A4 = "A4", _("A4")
        LETTER = "Letter", _("Letter")

    name = models.CharField(_("practice name"), max_length=80)
    unit = models.CharField(_("unit"), max_length=2, choices=Unit, default=Unit.KILOGRAM)
    language = models.CharField(_("language"), max_length=10, choices=settings.LANGUAGES, default="en")
    time_zone = models.CharField(_("time zone"), max_length=64, default="UTC", validators=[valid_time_zone])
    week_start = models.PositiveSmallIntegerField(
        _("first day of the week"), choices=WeekStart, default=WeekStart.MONDAY
    )
    paper = models.CharField(_("paper"), max_length=6, choices=Paper, default=Paper.A4)
    # Matters of judgement that this practice changed from the defaults: {name of the constant: value}.
    judgements = models.JSONField(default=dict, blank=True)
    is_demo = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = _("practice")
        verbose_name_plural = _("practices")
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(unit__in=["kg", "lb"]), name="practice_unit_known"),
            models.CheckConstraint(condition=models.Q(week_start__in=[0, 5, 6]), name="practice_week_start_known"),
        ]

    def __str__(self) -> str:
        return self.name


class CoachManager(BaseUserManager["Coach"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Coach":
        coach = self.model(email=self.normalize_email(email).lower(), **fields)
        coach.set_password(password)
        coach.save(using=self._db)
        return coach

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "Coach":
        fields.setdefault("practice", Practice.objects.order_by("pk").first())
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)

    def get_by_natural_key(self, username: str | None) -> "Coach":
        return self.select_related("practice").get(email__iexact=username or "")


class CoachWithPractice(CoachManager):
    """The practice is wanted on every page: one query brings both."""

    def get_queryset(self) -> models.QuerySet["Coach"]:
        return super().get_queryset().select_related("practice")


class Coach(PublicId, Owned, AbstractBaseUser, PermissionsMixin):
    """A person who signs in."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="coaches")
    email = models.EmailField(_("email address"), max_length=254, unique=True)
    name = models.CharField(_("name"), max_length=80)
    is_owner = models.BooleanField(_("owner of the practice"), default=False)
    # Health answers, conditions and pain notes sit behind a permission of their own.
    sees_health = models.BooleanField(_("may read health answers"), default=False)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)
    joined_at = models.DateTimeField(auto_now_add=True)

    objects = CoachWithPractice()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar = ["name"]

    class Meta:
        verbose_name = _("coach")
        verbose_name_plural = _("coaches")
        base_manager_name = "objects"
        constraints: ClassVar = [models.UniqueConstraint(Lower("email"), name="coach_email_unique")]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.email = self.email.lower()
        super().save(*args, **kwargs)
