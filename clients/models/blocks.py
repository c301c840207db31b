from datetime import date, timedelta
from typing import ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from clients.cycles import NO_ROUND, first_day, is_rolling, rounds_in
from clients.models.loads import WithLoad
from clients.models.people import Client
from clients.models.places import Place, Station
from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary
from programs.models import Exercise, Outline


class BlockQuerySet(models.QuerySet["Block"]):
    def for_practice(self, practice: Practice) -> "BlockQuerySet":
        return self.filter(client__practice=practice)

    def active(self) -> "BlockQuerySet":
        return self.filter(state=Block.State.ACTIVE)


class Block(PublicId, Owned):
    """A template made real for one client: weeks of sessions.

    One round of the sessions takes ``cycle_days``: a week, or a rolling cycle that runs past the week's end. ``weeks``
    is how long the block lasts in any case; ``deload_weeks`` are numbers of rounds, so that in an easier cycle every
    session is easier once.
    """

    practice_path = "client__practice"

    class State(models.TextChoices):
        ACTIVE = "active", pgettext_lazy("state", "active")
        ENDED = "ended", _("ended")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="blocks")
    outline = models.ForeignKey(Outline, on_delete=models.PROTECT, related_name="blocks")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="blocks")
    number = models.PositiveSmallIntegerField()
    starts_on = models.DateField()
    weeks = models.PositiveSmallIntegerField()
    cycle_days = models.PositiveSmallIntegerField(default=7)
    deload_weeks = models.JSONField(default=list, blank=True)  # 1-based
    # The week as it was assigned: the draft's document, kept so that a later week can be compared with it.
    document = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    state = models.CharField(max_length=8, choices=State, default=State.ACTIVE)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = BlockQuerySet.as_manager()

    class Meta:
        verbose_name = _("block")
        verbose_name_plural = _("blocks")
        ordering: ClassVar = ["-starts_on", "-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["client"], condition=models.Q(state="active"), name="block_one_active_a_client"
            ),
            models.UniqueConstraint(fields=["client", "number"], name="block_number_once_a_client"),
            models.CheckConstraint(condition=models.Q(cycle_days__range=(2, 14)), name="block_cycle_in_range"),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} block {self.number}"

    @property
    def last_day(self) -> date:
        return first_day(self.starts_on, self.weeks + 1) - timedelta(days=1)

    @property
    def rolling(self) -> bool:
        """Whether its sessions come round in a cycle of its own rather than week by week."""
        return is_rolling(self.cycle_days)

    @property
    def rounds(self) -> int:
        """Weeks, or cycles: a last one that the block's end cuts short counts."""
        return rounds_in(self.weeks, self.cycle_days)


class TrainingSessionQuerySet(models.QuerySet["TrainingSession"]):
    def for_practice(self, practice: Practice) -> "TrainingSessionQuerySet":
        return self.filter(block__client__practice=practice)

    def for_client(self, client: Client) -> "TrainingSessionQuerySet":
        return self.filter(block__client=client)

    def to_train(self) -> "TrainingSessionQuerySet":
        """Without rows that only keep a missed day."""
        return self.filter(cycle__gt=NO_ROUND)

    def with_lines(self) -> "TrainingSessionQuerySet":
        """With everything a sheet needs: four queries however many exercises."""
        lines = Prescription.objects.select_related("exercise", "station").prefetch_related("target_sets")
        return self.select_related("block__client__practice", "block__place", "elsewhere").prefetch_related(
            models.Prefetch("prescriptions", lines)
        )


class TrainingSession(PublicId, Owned):
    """One session of a block. Its date is a plain local date that never moves with clocks; it may be empty.

    What was missed and done later keeps its missed day as a row of its own, of no round and without lines.
    """

    practice_path = "block__client__practice"
    CUT_FOR_TIME = "cut_for_time"  # a ``state_reason``: it asks for fewer sets than were planned, this once

    class State(models.TextChoices):
        PLANNED = "planned", _("planned")
        TRAINED = "trained", _("trained")
        MISSED = "missed", _("missed")
        DROPPED = "dropped", _("left out")
        HELD = "held", pgettext_lazy("session", "on hold")  # the client pauses: neither due nor missed

    class Delivery(models.TextChoices):
        IN_PERSON = "in_person", _("in person")
        REMOTE = "remote", _("remote")
        SHARED = "shared", _("shared hour")

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="sessions")
    cycle = models.PositiveSmallIntegerField()  # the block's round, from 1: "by week" means by cycle
    position = models.PositiveSmallIntegerField()  # within the cycle, 0-based
    day_key = models.SlugField(max_length=40)
    occurrence = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)  # "Upper A"
    planned_on = models.DateField(null=True, blank=True)
    # Where it is trained for once, as on a journey; None: where the block is.
    elsewhere = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    start_time = models.TimeField(null=True, blank=True)
    # As it was assigned; how long it takes as it stands is asked of ``reads.lengths``.
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    delivery = models.CharField(max_length=9, choices=Delivery, default=Delivery.REMOTE)
    deload = models.BooleanField(default=False)
    state = models.CharField(max_length=8, choices=State, default=State.PLANNED)
    state_reason = models.CharField(max_length=40, blank=True)
    trained_on = models.DateField(null=True, blank=True)

    objects = TrainingSessionQuerySet.as_manager()

    class Meta:
        verbose_name = _("session")
        verbose_name_plural = _("sessions")
        ordering: ClassVar = ["block", "cycle", "position"]
        indexes: ClassVar = [models.Index(fields=["planned_on", "state"], name="session_planned_on")]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["block", "cycle", "position"], name="session_place_in_block_once"),
            models.CheckConstraint(
                condition=~models.Q(state="trained") | models.Q(trained_on__isnull=False),
                name="session_trained_has_a_date",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def only_kept(self) -> bool:
        """Whether the row only keeps that its day was missed: the session itself was put on another day."""
        return self.cycle == NO_ROUND

    @property
    def place(self) -> Place:
        """Where it is trained."""
        return self.elsewhere or self.block.place


class Prescription(PublicId, Owned):
    """What to do for one pick in one session; or a free line (no exercise, no dose)."""

    practice_path = "session__block__client__practice"

    session = models.ForeignKey(TrainingSession, on_delete=models.CASCADE, related_name="prescriptions")
    position = models.PositiveSmallIntegerField()
    slot_key = models.SlugField(max_length=60, blank=True)
    slot_title = models.CharField(max_length=60, blank=True)
    role = models.CharField(max_length=12, blank=True)
    exercise = models.ForeignKey(Exercise, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    station = models.ForeignKey(Station, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    superset = models.CharField(max_length=1, blank=True)
    reasons = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)  # [{"code", "params"}]
    reason_text = models.CharField(max_length=240, blank=True)  # the slot's own reason, for the client
    technique = models.CharField(max_length=160, blank=True)  # the slot's technique note, for the client
    # What the coach fixed and recomputation leaves alone: names of "exercise", "sets", "load", "reps".
    pinned = models.JSONField(default=list, blank=True)
    finds_load = models.BooleanField(default=False)  # no load yet: the sheet tells how to find one
    text = models.CharField(max_length=240, blank=True)
    minutes = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["session", "position"], name="prescription_position_once"),
            models.CheckConstraint(
                condition=models.Q(exercise__isnull=False) | ~models.Q(text=""), name="prescription_says_something"
            ),
        ]

    def __str__(self) -> str:
        return str(self.exercise or self.text)

    @property
    def is_free_line(self) -> bool:
        return self.exercise_id is None


class TargetSet(Owned, WithLoad):
    """One set to do: reps, seconds or metres; a load that can be put together at that place, or none yet."""

    practice_path = "prescription__session__block__client__practice"

    prescription = models.ForeignKey(Prescription, on_delete=models.CASCADE, related_name="target_sets")
    number = models.PositiveSmallIntegerField()  # 1-based within its prescription
    kind = models.CharField(max_length=10, choices=labels.choices(vocabulary.SET_KINDS), default="work")
    reps_low = models.PositiveSmallIntegerField(null=True, blank=True)
    reps_high = models.PositiveSmallIntegerField(null=True, blank=True)
    open_ended = models.BooleanField(default=False)
    seconds = models.PositiveSmallIntegerField(null=True, blank=True)
    metres = models.PositiveSmallIntegerField(null=True, blank=True)
    rir = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    rest_s = models.PositiveSmallIntegerField(null=True, blank=True)
    tempo = models.CharField(max_length=4, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["prescription", "number"], name="target_set_number_once"),
            models.CheckConstraint(
                condition=models.Q(reps_low__isnull=False, seconds=None, metres=None)
                | models.Q(reps_low=None, seconds__isnull=False, metres=None)
                | models.Q(reps_low=None, seconds=None, metres__isnull=False),
                name="target_set_counts_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(reps_high__isnull=True) | models.Q(reps_high__gte=models.F("reps_low")),
                name="target_set_reps_in_order",
            ),
            *WithLoad.load_constraints("target_set"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.reps_low}–{self.reps_high}"
