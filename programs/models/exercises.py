from typing import ClassVar
from urllib.parse import urlsplit

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Coach, Practice
from coachdesk.practice.owned import Owned, PublicId
from programs import labels
from programs.engine import vocabulary
from programs.models.seeded import Seeded

valid_tempo = RegexValidator(
    r"^[0-9X]{4}$", _("Four figures in seconds: lowering, pause, lifting, pause; X for as fast as possible.")
)


class ExerciseQuerySet(models.QuerySet["Exercise"]):
    def for_practice(self, practice: Practice) -> "ExerciseQuerySet":
        return self.filter(practice=practice)

    def shown(self) -> "ExerciseQuerySet":
        return self.filter(hidden_at__isnull=True)

    def with_facts(self) -> "ExerciseQuerySet":
        """With regions and joints: three queries however many exercises."""
        return self.prefetch_related("regions", "joints")

    def with_photo(self) -> "ExerciseQuerySet":
        """With what is known of the photo, without the picture itself."""
        return self.select_related("photo").defer("photo__image")


class Exercise(PublicId, Owned, Seeded):
    """A movement and what is known of it. Its identity never changes with its name."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="exercises")
    name = models.CharField(_("name"), max_length=120)
    aliases = models.JSONField(_("also called"), default=list, blank=True)
    pattern = models.CharField(_("pattern"), max_length=40, choices=labels.choices(vocabulary.PATTERNS))
    angle = models.CharField(_("angle"), max_length=30, blank=True)
    grip = models.CharField(_("grip"), max_length=30, blank=True)
    limbs = models.CharField(_("limbs"), max_length=3, choices=labels.choices(vocabulary.LIMBS), default="two")
    role = models.CharField(_("role"), max_length=12, choices=labels.choices(vocabulary.ROLES))
    skill = models.CharField(_("skill"), max_length=12, choices=labels.choices(vocabulary.SKILLS), default="basic")
    implement = models.CharField(
        _("implement"),
        max_length=40,
        choices=labels.choices((*vocabulary.LOADED_STATIONS, *vocabulary.EVERYWHERE)),
    )
    needs_all = models.JSONField(_("also needs"), default=list, blank=True)
    needs_one = models.JSONField(_("needs one of"), default=list, blank=True)
    load_entry = models.CharField(_("load means"), max_length=20, choices=labels.choices(vocabulary.LOAD_ENTRIES))
    rep_unit = models.CharField(_("counted in"), max_length=8, choices=labels.choices(vocabulary.REP_UNITS))
    bodyweight_fraction = models.DecimalField(
        _("share of bodyweight moved"),
        max_digits=3,
        decimal_places=2,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(1)],
    )
    rep_low = models.PositiveSmallIntegerField(_("from"))
    rep_high = models.PositiveSmallIntegerField(_("to"))
    rest_s = models.PositiveSmallIntegerField(_("rest, seconds"))
    tempo = models.CharField(_("tempo"), max_length=4, blank=True, validators=[valid_tempo])
    load_step = models.DecimalField(_("usual load step, kg"), max_digits=5, decimal_places=2, default=2.5)
    # A line drawing of its start and end: a key of programs.drawings.figures, "" where none would be true to it.
    figure = models.CharField(_("drawing"), max_length=60, blank=True)
    photo = models.ForeignKey(
        "programs.Photo", on_delete=models.SET_NULL, null=True, blank=True, related_name="exercises"
    )
    clip_url = models.URLField(_("link to a clip"), max_length=400, blank=True)
    hidden_at = models.DateTimeField(null=True, blank=True)
    # What this one was merged into; it stays, hidden, so that old sheets and addresses still lead somewhere.
    merged_into = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="merged")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = ExerciseQuerySet.as_manager()

    class Meta:
        verbose_name = _("exercise")
        verbose_name_plural = _("exercises")
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["practice", "seed_key"],
                condition=~models.Q(seed_key=""),
                name="exercise_seeded_once",
            ),
            models.UniqueConstraint(fields=["practice", "name"], name="exercise_name_once_a_practice"),
            models.CheckConstraint(
                condition=models.Q(rep_high__gte=models.F("rep_low")), name="exercise_reps_in_order"
            ),
            models.CheckConstraint(
                condition=models.Q(bodyweight_fraction__range=(0, 1)), name="exercise_bodyweight_fraction_is_a_share"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def clip_host(self) -> str:
        """Where the clip's address leads: shown beside the link."""
        return urlsplit(self.clip_url).hostname or ""

    @property
    def key(self) -> str:
        """The engine's key: stable, unique, independent of the name."""
        return str(self.public_id)


class Photo(PublicId, Owned):
    """A coach's own picture, written anew by us: bounded in size, without the metadata of the file it came from."""

    practice = models.ForeignKey(Practice, on_delete=models.CASCADE, related_name="photos")
    image = models.BinaryField()  # JPEG
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    shows = models.CharField(_("what it shows"), max_length=200)
    created_at = models.DateTimeField(auto_now_add=True)
    # When it was last put up or taken down. What nothing has shown for a while is emptied: ``image`` is b"" then.
    changed_at = models.DateTimeField(default=timezone.now)

    # The journal says which picture was shown, and never holds the picture.
    unjournalled = frozenset({"image", "changed_at"})

    class Meta:
        verbose_name = _("photo")
        verbose_name_plural = _("photos")

    def __str__(self) -> str:
        return self.shows


class FavouriteExercise(Owned):
    """An exercise that a coach keeps near."""

    practice_path = "exercise__practice"

    coach = models.ForeignKey(Coach, on_delete=models.CASCADE, related_name="favourites")
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="favoured_by")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["coach", "exercise"], name="favourite_once_a_coach"),
        ]

    def __str__(self) -> str:
        return f"{self.coach_id} {self.exercise_id}"


class ExerciseRegion(Owned):
    """How far one set counts for a region: in quarter sets (4, 2 or 1)."""

    practice_path = "exercise__practice"

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="regions")
    region = models.CharField(_("region"), max_length=20, choices=labels.choices(vocabulary.REGIONS))
    quarters = models.PositiveSmallIntegerField(
        _("counts as"), choices=[(4, _("1 set")), (2, _("½ set")), (1, _("¼ set"))]
    )
    stretched = models.BooleanField(_("loaded stretched"), default=False)

    class Meta:
        ordering: ClassVar = ["-quarters", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["exercise", "region"], name="exercise_region_once"),
            models.CheckConstraint(condition=models.Q(quarters__in=[1, 2, 4]), name="exercise_region_share_known"),
        ]

    def __str__(self) -> str:
        return f"{self.region} {self.quarters}/4"

    @property
    def share(self) -> float:
        return self.quarters / 4


class ExerciseJoint(Owned):
    """What the exercise asks of a joint or movement, 1 (some) to 3 (high)."""

    practice_path = "exercise__practice"

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="joints")
    joint = models.CharField(_("joint"), max_length=30, choices=labels.choices(vocabulary.JOINT_TAGS))
    severity = models.PositiveSmallIntegerField(_("asks"), choices=[(1, _("some")), (2, _("clearly")), (3, _("much"))])

    class Meta:
        ordering: ClassVar = ["-severity", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["exercise", "joint"], name="exercise_joint_once"),
            models.CheckConstraint(condition=models.Q(severity__range=(1, 3)), name="exercise_joint_severity_known"),
        ]

    def __str__(self) -> str:
        return f"{self.joint} {self.severity}"


class ExerciseText(Owned):
    """The words of an exercise in one language; another language falls back to the practice's, then to any."""

    practice_path = "exercise__practice"

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="texts")
    language = models.CharField(_("language"), max_length=10)
    name = models.CharField(_("name in this language"), max_length=120, blank=True)
    set_up = models.JSONField(_("set-up"), default=list, blank=True)
    execution = models.JSONField(_("execution"), default=list, blank=True)
    faults = models.JSONField(_("common faults"), default=list, blank=True)  # [[fault, correction], ...]
    cautions = models.TextField(_("cautions"), blank=True)
    reason = models.TextField(_("reason to choose it"), blank=True)
    evidence = models.CharField(_("evidence"), max_length=200, blank=True)
    range_note = models.TextField(_("range of motion"), blank=True)
    regression = models.TextField(_("easier"), blank=True)
    progression = models.TextField(_("harder"), blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["exercise", "language"], name="exercise_text_once_a_language")
        ]

    def __str__(self) -> str:
        return f"{self.exercise_id} {self.language}"
