from collections.abc import Mapping
from typing import Any, ClassVar

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.blocks import TrainingSession
from clients.models.loads import WithLoad
from clients.models.people import Client
from clients.models.places import Place, Station
from clients.models.sheets import SheetVersion
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary
from programs.models import Exercise


class Original(PublicId, Owned):
    """What came in, as it came: the message, the form's fields, the rows typed by a coach. Kept, never rewritten."""

    practice_path = "client__practice"

    class Way(models.TextChoices):
        PHONE = "phone", _("phone page")
        FORM = "form", _("PDF form")
        MESSAGE = "message", _("message")
        PAPER = "paper", _("paper, typed by a coach")
        IMPORT = "import", _("spreadsheet")
        DEMO = "demo", _("demo")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="originals")
    session = models.ForeignKey(
        TrainingSession, on_delete=models.SET_NULL, null=True, blank=True, related_name="originals"
    )
    way = models.CharField(max_length=8, choices=Way)
    text = models.TextField(blank=True)
    fields = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    digest = models.CharField(max_length=64)
    received_at = models.DateTimeField(auto_now_add=True)
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["-received_at"]
        constraints: ClassVar = [
            # The same message or file a second time adds nothing.
            models.UniqueConstraint(
                fields=["client", "way", "digest"],
                condition=~models.Q(way="phone"),
                name="original_received_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.way} {self.received_at:%Y-%m-%d %H:%M}"


class LoggedSetQuerySet(models.QuerySet["LoggedSet"]):
    def for_client(self, client: Client) -> "LoggedSetQuerySet":
        return self.filter(client=client)

    def counting(self) -> "LoggedSetQuerySet":
        """Neither taken back nor waiting for an answer."""
        return self.filter(state=LoggedSet.State.COUNTS)

    def in_order(self) -> "LoggedSetQuerySet":
        return self.order_by("performed_on", "order", "pk")


class LoggedSet(PublicId, Owned, WithLoad):
    """One set that was done, with a key made where it was typed.

    The same key with the same content is the same set however often it arrives. Another key for the same line
    and set of a sheet with other values is kept beside the first, and both are asked about.
    """

    practice_path = "client__practice"

    class State(models.TextChoices):
        COUNTS = "counts", _("counts")
        ASKED = "asked", _("to be checked")
        TAKEN_BACK = "back", _("taken back")

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="logged_sets")
    key = models.CharField(max_length=64)
    session = models.ForeignKey(
        TrainingSession, on_delete=models.SET_NULL, null=True, blank=True, related_name="logged_sets"
    )
    version = models.ForeignKey(
        SheetVersion, on_delete=models.SET_NULL, null=True, blank=True, related_name="logged_sets"
    )
    line = models.PositiveSmallIntegerField(null=True, blank=True)
    number = models.PositiveSmallIntegerField(null=True, blank=True)
    exercise = models.ForeignKey(Exercise, on_delete=models.PROTECT, related_name="+")
    station = models.ForeignKey(Station, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    place = models.ForeignKey(Place, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    slot_key = models.SlugField(max_length=60, blank=True)
    occurrence = models.PositiveSmallIntegerField(null=True, blank=True)
    kind = models.CharField(max_length=10, choices=labels.choices(vocabulary.SET_KINDS), default="work")
    reps = models.PositiveSmallIntegerField(_("reps"), null=True, blank=True)
    seconds = models.PositiveIntegerField(_("seconds"), null=True, blank=True)
    metres = models.PositiveIntegerField(_("metres"), null=True, blank=True)
    rir = models.DecimalField(_("reps in reserve"), max_digits=3, decimal_places=1, null=True, blank=True)
    bodyweight_grams = models.PositiveIntegerField(null=True, blank=True)
    as_planned = models.BooleanField(default=False)  # confirmed in one tap, not typed
    stopped_for_pain = models.BooleanField(default=False)
    note = models.CharField(max_length=240, blank=True)
    order = models.PositiveIntegerField(default=0)
    performed_on = models.DateField()
    performed_at = models.DateTimeField(null=True, blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    way = models.CharField(max_length=8, choices=Original.Way)
    original = models.ForeignKey(Original, on_delete=models.SET_NULL, null=True, blank=True, related_name="sets")
    state = models.CharField(max_length=6, choices=State, default=State.COUNTS)
    doubts = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)  # [{"code", "params"}]
    revision = models.PositiveIntegerField(default=1)

    objects = LoggedSetQuerySet.as_manager()

    # The keys of what was merged into its exercise, where a reader has gathered them (``clients.reads.merged``).
    merged_from: frozenset[str] = frozenset()

    class Meta:
        verbose_name = _("logged set")
        verbose_name_plural = _("logged sets")
        ordering: ClassVar = ["performed_on", "order", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["client", "performed_on"], name="logged_client_day"),
            models.Index(fields=["client", "exercise", "performed_on"], name="logged_client_exercise_day"),
            models.Index(fields=["session", "line", "number"], name="logged_session_line"),
            # A handful among years of sets. The state stands in it so that SQLite prefers it to the client's own.
            models.Index(fields=["client", "state"], condition=models.Q(state="asked"), name="logged_asked"),
        ]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["client", "key"], name="logged_set_key_once_a_client"),
            models.CheckConstraint(
                condition=models.Q(reps__isnull=False)
                | models.Q(seconds__isnull=False)
                | models.Q(metres__isnull=False),
                name="logged_set_says_how_much",
            ),
            models.CheckConstraint(
                condition=models.Q(rir__isnull=True) | models.Q(rir__range=(0, 5)), name="logged_set_rir_in_range"
            ),
            models.CheckConstraint(
                condition=models.Q(line__isnull=True, number__isnull=True)
                | models.Q(line__isnull=False, number__isnull=False, session__isnull=False)
                | models.Q(session__isnull=True),
                name="logged_set_answers_a_whole_line",
            ),
            *WithLoad.load_constraints("logged_set"),
        ]

    def __str__(self) -> str:
        return f"{self.exercise_id} {self.load_value} × {self.reps}"

    def is_of(self, line: Mapping[str, Any]) -> bool:
        """Whether it was done with a sheet line's own exercise, under whatever name that stands today."""
        return line["exercise"]["id"] in {self.exercise.key, *self.merged_from}


class LoggedPart(Owned, WithLoad):
    """A part or side of a set: the drops after the first, the cluster's next reps, left and right."""

    practice_path = "logged_set__client__practice"

    class Sort(models.TextChoices):
        DROP = "drop", _("drop")
        REST_PAUSE = "pause", _("rest-pause")
        LEFT = "left", _("left")
        RIGHT = "right", _("right")

    logged_set = models.ForeignKey(LoggedSet, on_delete=models.CASCADE, related_name="parts")
    number = models.PositiveSmallIntegerField()
    sort = models.CharField(max_length=6, choices=Sort)
    reps = models.PositiveSmallIntegerField(null=True, blank=True)
    seconds = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["logged_set", "number"], name="logged_part_number_once"),
            *WithLoad.load_constraints("logged_part"),
        ]

    def __str__(self) -> str:
        return f"{self.sort} {self.reps}"


class LoggedSetRevision(Owned):
    """A logged set as it was before an edit."""

    practice_path = "logged_set__client__practice"

    logged_set = models.ForeignKey(LoggedSet, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    values = models.JSONField(encoder=DjangoJSONEncoder)
    replaced_at = models.DateTimeField(auto_now_add=True)
    replaced_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["logged_set", "number"], name="logged_revision_once")]

    def __str__(self) -> str:
        return f"{self.logged_set_id} r{self.number}"


class SessionNote(PublicId, Owned):
    """What the client said around a session: sleep and energy before, effort after, a note at any time."""

    practice_path = "session__block__client__practice"

    session = models.OneToOneField(TrainingSession, on_delete=models.CASCADE, related_name="said")
    sleep = models.PositiveSmallIntegerField(_("sleep"), null=True, blank=True)  # 1 poor, 2 usual, 3 good
    energy = models.PositiveSmallIntegerField(_("energy"), null=True, blank=True)
    effort = models.PositiveSmallIntegerField(_("how hard, 0 to 10"), null=True, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    text = models.TextField(_("note"), blank=True)
    # Words in notes that a coach must see at once: [{"code", "urgency", "words", "denied"}], from cautions.red_flags.
    flags = models.JSONField(default=list, blank=True)
    lines_ticked = models.JSONField(default=list, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(effort__isnull=True) | models.Q(effort__range=(0, 10)),
                name="session_effort_0_to_10",
            )
        ]

    def __str__(self) -> str:
        return f"{self.session_id}"


class Bodyweight(Owned):
    """One measurement a day."""

    practice_path = "client__practice"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="bodyweights")
    measured_on = models.DateField()
    grams = models.PositiveIntegerField()
    value = models.DecimalField(max_digits=6, decimal_places=2)
    unit = models.CharField(max_length=2)

    class Meta:
        ordering: ClassVar = ["-measured_on"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["client", "measured_on"], name="bodyweight_once_a_day"),
            models.CheckConstraint(condition=models.Q(unit__in=["kg", "lb"]), name="bodyweight_unit_known"),
        ]

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"
