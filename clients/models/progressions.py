from typing import ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.people import Client
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs.models import Exercise


class ProgressionQuerySet(models.QuerySet["Progression"]):
    def for_practice(self, practice: Practice) -> "ProgressionQuerySet":
        return self.filter(client__practice=practice)


class Progression(PublicId, Owned):
    """What the coach has decided about how one exercise goes on for one client; without a row, the usual rules hold.

    ``weeks`` and the working max belong to percentage waves alone: per week a list of
    {"share": 0.75, "reps": 5, "open_ended": false}, and the week that comes next, counted from 0.
    """

    practice_path = "client__practice"

    class Policy(models.TextChoices):
        USUAL = "", _("as usual for the role and experience")
        FIXED = "fixed_steps", _("a fixed step each time")
        DOUBLE = "double_progression", _("repetitions first, then load")
        EFFORT = "effort_led", _("led by what was left in reserve")
        WAVES = "percentage_waves", _("waves on a working max")

    class Test(models.TextChoices):
        NONE = "none", _("no test")
        CHECK_SET = "check_set", _("a check set next time")
        TEST_DAY = "test_day", _("a test of strength next time")

    class Baseline(models.TextChoices):
        TECHNIQUE = "technique", _("the technique changed")
        MACHINE = "machine", _("the equipment changed")
        OTHER = "other", _("another reason")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="progressions")
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="+")
    policy = models.CharField(_("how it progresses"), max_length=20, choices=Policy, default=Policy.USUAL, blank=True)
    # Sessions before this day say nothing any more.
    baseline_on = models.DateField(_("new baseline from"), null=True, blank=True)
    baseline_reason = models.CharField(_("why"), max_length=10, choices=Baseline, blank=True)
    test = models.CharField(_("test"), max_length=10, choices=Test, default=Test.NONE)
    weeks = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    working_max = models.DecimalField(
        _("working max"), max_digits=7, decimal_places=3, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    working_max_unit = models.CharField(max_length=2, choices=Practice.Unit, blank=True)
    # Of the estimate, for a working max taken from it.
    fraction = models.DecimalField(
        _("share of the estimated maximum"),
        max_digits=3,
        decimal_places=2,
        default="0.90",
        validators=[MinValueValidator(0.85), MaxValueValidator(1)],
    )
    week = models.PositiveSmallIntegerField(default=0)
    rounds = models.PositiveSmallIntegerField(default=0)

    objects = ProgressionQuerySet.as_manager()

    class Meta:
        verbose_name = _("progression")
        verbose_name_plural = _("progressions")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["client", "exercise"], name="progression_once_an_exercise"),
            models.CheckConstraint(
                condition=~models.Q(policy="percentage_waves")
                | models.Q(working_max__isnull=False, working_max_unit__in=["kg", "lb"]),
                name="progression_waves_have_a_max",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.exercise_id} {self.policy}"
