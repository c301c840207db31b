from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Practice
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary
from programs.models.exercises import Exercise, valid_tempo
from programs.models.seeded import Seeded


class OutlineQuerySet(models.QuerySet["Outline"]):
    def for_practice(self, practice: Practice) -> "OutlineQuerySet":
        return self.filter(practice=practice)

    def current(self) -> "OutlineQuerySet":
        """What may be composed from: the newest versions, neither archived nor still being worked on."""
        return self.saved().filter(archived_at__isnull=True, replaced_by__isnull=True)

    def saved(self) -> "OutlineQuerySet":
        """Versions, of whatever age; not what is still being worked on."""
        return self.filter(in_work=False)

    def with_week(self) -> "OutlineQuerySet":
        """Everything composing needs: five queries however many slots."""
        return self.prefetch_related("days__slots__candidates__exercise", "days__lines")

    def with_preview(self) -> "OutlineQuerySet":
        """With the week and the facts of its candidates: seven queries however many slots."""
        exercise = "days__slots__candidates__exercise"
        return self.with_week().prefetch_related(f"{exercise}__regions", f"{exercise}__joints")

    def with_slots(self) -> "OutlineQuerySet":
        """With days and slots, for a list: three queries however many templates."""
        return self.prefetch_related("days__slots")


class Outline(PublicId, Owned, Seeded):
    """A reusable program: a split, its day types and their slots. Shown as a template."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="outlines")
    name = models.CharField(_("name"), max_length=80)
    summary = models.TextField(_("whom it serves and why"), blank=True)
    serves = models.JSONField(_("serves"), default=list)
    # Day type keys in the order they come in a week: ["upper", "lower", "upper", "lower"].
    order = models.JSONField(_("order in the week"), default=list)
    # How many days one round of all the day types takes. Seven: a week on the client's own days. Anything else
    # is a rolling cycle that runs past the week's end, its sessions ``offsets`` days from the cycle's first day.
    cycle_days = models.PositiveSmallIntegerField(
        _("days in the cycle"), default=7, validators=[MinValueValidator(2), MaxValueValidator(14)]
    )
    offsets = models.JSONField(_("days of the sessions in the cycle"), default=list, blank=True)
    version = models.PositiveIntegerField(default=1)
    replaced_by = models.OneToOneField(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="replaces"
    )
    # A working copy is what the editor changes: the next version of ``draft_of``, or a new template (None). Nothing is
    # composed from it. ``revision`` rises with every change and every undo of one.
    in_work = models.BooleanField(default=False)
    draft_of = models.OneToOneField(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="working_copy"
    )
    revision = models.PositiveIntegerField(default=1)
    archived_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    unjournalled: ClassVar = frozenset({"revision"})

    objects = OutlineQuerySet.as_manager()

    class Meta:
        verbose_name = _("template")
        verbose_name_plural = _("templates")
        ordering: ClassVar = ["name", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["practice", "seed_key", "version"],
                condition=~models.Q(seed_key=""),
                name="outline_seeded_once",
            ),
            models.CheckConstraint(condition=models.Q(cycle_days__range=(2, 14)), name="outline_cycle_in_range"),
            models.CheckConstraint(
                condition=models.Q(draft_of__isnull=True) | models.Q(in_work=True), name="outline_draft_in_work"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def days_per_week(self) -> int:
        return len(self.order)

    def sets_a_week(self, experience: str) -> tuple[int, int]:
        """Fewest and most working sets of a week, all day types as often as they come; reads days and slots."""
        low = high = 0
        for day in self.days.all():
            times = self.order.count(day.key)
            for slot in day.slots.all():
                fewest, most = slot.sets.get(experience, (0, 0))
                low, high = low + times * fewest, high + times * most
        return low, high


class OutlineDay(Owned):
    """A day type, such as Upper; it comes round as A, B, C as often as it stands in the outline's order."""

    practice_path = "outline__practice"

    KEY_LENGTH = 40

    outline = models.ForeignKey(Outline, on_delete=models.CASCADE, related_name="days")
    key = models.SlugField(max_length=KEY_LENGTH)
    name = models.CharField(_("day type"), max_length=40)
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["position", "pk"]
        constraints: ClassVar = [
            # Positions are not unique: moving a day type, or taking that back, writes one row after the other.
            models.UniqueConstraint(fields=["outline", "key"], name="outline_day_key_once"),
        ]

    def __str__(self) -> str:
        return self.name


class OutlineSlot(Owned):
    """One line of a day type: an intent. An exercise is one way to fill it."""

    practice_path = "day__outline__practice"

    KEY_LENGTH = 60

    day = models.ForeignKey(OutlineDay, on_delete=models.CASCADE, related_name="slots")
    key = models.SlugField(max_length=KEY_LENGTH)
    position = models.PositiveSmallIntegerField()
    title = models.CharField(_("intent"), max_length=60)
    region = models.CharField(_("target region"), max_length=20, choices=labels.choices(vocabulary.REGIONS))
    also_regions = models.JSONField(_("equally good regions"), default=list, blank=True)
    patterns = models.JSONField(_("preferred patterns"), default=list, blank=True)
    role = models.CharField(_("role"), max_length=12, choices=labels.choices(vocabulary.ROLES))
    sets = models.JSONField(_("sets by experience"))  # {"novice": [2, 3], ...}
    reps = models.JSONField(_("rep range by occurrence"))  # [[6, 8], [8, 12], ...]
    rir = models.DecimalField(_("reps in reserve"), max_digits=3, decimal_places=1)
    rest_s = models.PositiveSmallIntegerField(_("rest, seconds"))
    tempo = models.CharField(_("tempo"), max_length=4, blank=True, validators=[valid_tempo])
    technique = models.CharField(_("technique note"), max_length=160, blank=True)
    superset = models.CharField(_("superset"), max_length=1, blank=True)
    priority = models.PositiveSmallIntegerField(_("keep when minutes are short"), default=2)
    reason = models.CharField(_("reason"), max_length=240, blank=True)

    class Meta:
        ordering: ClassVar = ["position", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "key"], name="outline_slot_key_once"),
            models.CheckConstraint(condition=models.Q(rir__range=(0, 5)), name="outline_slot_rir_in_range"),
        ]

    def __str__(self) -> str:
        return self.title


class SlotCandidate(Owned):
    """An exercise the coach would fill a slot with, ranked, for one occurrence (0 for A, 1 for B, 2 for C)."""

    practice_path = "slot__day__outline__practice"

    slot = models.ForeignKey(OutlineSlot, on_delete=models.CASCADE, related_name="candidates")
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="+")
    occurrence = models.PositiveSmallIntegerField()
    rank = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["occurrence", "rank", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["slot", "occurrence", "exercise"], name="slot_candidate_once")
        ]

    def __str__(self) -> str:
        return f"{self.slot_id} {self.occurrence}.{self.rank}"


class OutlineLine(Owned):
    """A line without dose: mobility, conditioning or a note, with minutes and a tick."""

    practice_path = "day__outline__practice"

    day = models.ForeignKey(OutlineDay, on_delete=models.CASCADE, related_name="lines")
    at_start = models.BooleanField(_("before the exercises"), default=True)
    position = models.PositiveSmallIntegerField(default=0)
    text = models.CharField(_("text"), max_length=240)
    minutes = models.PositiveSmallIntegerField(_("minutes"), default=0)

    class Meta:
        ordering: ClassVar = ["-at_start", "position", "pk"]

    def __str__(self) -> str:
        return self.text
