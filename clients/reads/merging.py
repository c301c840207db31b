"""What hangs on an exercise, and what merging it into another one comes to: counted before anything is changed."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q

from clients.models import (
    Draft,
    Limit,
    LoggedSet,
    PainReport,
    Prescription,
    Progression,
    Proposal,
    RecentSet,
    SheetVersion,
    Taste,
    TrainingSession,
)
from programs.merged import COUNTED_BY, ON_BODYWEIGHT
from programs.models import Exercise, FavouriteExercise, SlotCandidate

REFUSED, MINDED, PLAIN = "refused", "minded", "plain"
COMPARED = (
    *COUNTED_BY,
    "bodyweight_fraction",
    "implement",
    "pattern",
    "angle",
    "grip",
    "role",
    "skill",
    "regions",
)


@dataclass(frozen=True, slots=True)
class Held:
    """How much hangs on an exercise. ``loaded`` are those of the sets, done, planned or from before, with a load."""

    sets: int
    clients: int
    recent: int
    planned: int
    past: int
    loaded: int
    sheets_out: int
    waiting: int
    pain: int
    likes: int
    dislikes: int
    limits: int
    steered: int  # clients for whom a coach has decided how it progresses
    favourites: int
    candidates: int
    templates: tuple[str, ...]
    drafts: int

    @property
    def counted(self) -> int:
        """Rows whose figures mean what the exercise says they mean."""
        return self.sets + self.recent + self.planned + self.past

    @property
    def nothing(self) -> bool:
        kinds = (self.counted, self.waiting, self.pain, self.likes, self.dislikes, self.limits, self.steered)
        return not any((*kinds, self.favourites, self.candidates, self.drafts))


def held_by(exercise: Exercise) -> Held:
    """Thirteen queries however much there is."""
    own = Q(exercise=exercise)
    done = LoggedSet.objects.filter(own).aggregate(
        sets=Count("pk"), clients=Count("client", distinct=True), loaded=Count("load_value")
    )
    recent = RecentSet.objects.filter(own).aggregate(count=Count("pk"), loaded=Count("load_value"))
    ahead = Q(session__state=TrainingSession.State.PLANNED)
    lines = Prescription.objects.filter(own).aggregate(
        planned=Count("pk", filter=ahead), past=Count("pk", filter=~ahead)
    )
    asked = Prescription.objects.filter(own, target_sets__load_value__isnull=False)
    tastes = Taste.objects.filter(own).aggregate(
        liked=Count("pk", filter=Q(likes=True)), disliked=Count("pk", filter=Q(likes=False))
    )
    places = list(SlotCandidate.objects.filter(own).values_list("slot__day__outline__name", flat=True))
    return Held(
        sets=done["sets"],
        clients=done["clients"],
        recent=recent["count"],
        planned=lines["planned"],
        past=lines["past"],
        loaded=done["loaded"] + recent["loaded"] + asked.count(),
        sheets_out=sheets_out(exercise).count(),
        waiting=Proposal.objects.waiting().filter(own).count(),
        pain=PainReport.objects.filter(own).count(),
        likes=tastes["liked"],
        dislikes=tastes["disliked"],
        limits=Limit.objects.filter(own).values("client").distinct().count(),
        steered=Progression.objects.filter(own).count(),
        favourites=FavouriteExercise.objects.filter(own).count(),
        candidates=len(places),
        templates=tuple(sorted(set(places))),
        drafts=_drafts_with(exercise),
    )


def sheets_out(exercise: Exercise) -> Any:
    """Lines in sessions to come whose sheet is out."""
    issued = SheetVersion.objects.standing().filter(session=OuterRef("session"))
    ahead = Prescription.objects.filter(exercise=exercise, session__state=TrainingSession.State.PLANNED)
    return ahead.filter(Exists(issued)).values("session").distinct()


def _drafts_with(exercise: Exercise) -> int:
    """Weeks in hand that hold it; they are few, and what they hold stands in their documents."""
    rows = Draft.objects.for_practice(exercise.practice).filter(state=Draft.State.OPEN)
    documents = rows.values_list("document", flat=True)
    return sum(any(pick["exercise"] == exercise.key for pick in each.get("picks", [])) for each in documents)


# What speaks against it


@dataclass(frozen=True, slots=True)
class Difference:
    """Where two exercises differ, and what that means for what hangs on the first: refused, minded or plain."""

    name: str  # of COMPARED
    weight: str


def differences(one: Exercise, other: Exercise, held: Held) -> list[Difference]:
    """In the order of COMPARED; the exercises come with their facts."""
    return [
        Difference(name, _weight(name, one, other, held))
        for name in COMPARED
        if _value(one, name) != _value(other, name)
    ]


def refused(found: Iterable[Difference]) -> bool:
    return any(one.weight == REFUSED for one in found)


def _value(exercise: Exercise, name: str) -> Any:
    if name == "regions":
        return {row.region: row.quarters for row in exercise.regions.all()}
    return getattr(exercise, name)


def _weight(name: str, one: Exercise, other: Exercise, held: Held) -> str:
    """Figures that would mean something else are never joined; where there are none, nothing can be falsified."""
    if not held.counted:
        return PLAIN
    if name == "load_entry":
        # A set without a load stays one, whatever loads mean from now on.
        return MINDED if one.load_entry == "none" and not held.loaded else REFUSED
    if name in COUNTED_BY:
        return REFUSED
    if name == "bodyweight_fraction":
        on_body = one.load_entry == other.load_entry and one.load_entry in ON_BODYWEIGHT
        return REFUSED if on_body and bool(one.bodyweight_fraction) != bool(other.bodyweight_fraction) else MINDED
    if name == "implement" and held.loaded and "numbered_setting" in (one.load_entry, other.load_entry):
        return REFUSED
    return MINDED if name in ("implement", "pattern", "regions") else PLAIN


# Where both have something already


@dataclass(frozen=True, slots=True)
class Both:
    """Where both exercises have a row for which there is one place only, by the names of whose they are."""

    tastes: tuple[tuple[str, bool], ...]  # client, and whether the two disagreed
    limits: tuple[str, ...]
    newly_spared: tuple[str, ...]  # clients who spare the first and have the other planned
    steered: tuple[str, ...]  # clients for whom a coach has decided how each of the two progresses
    favourites: int
    slots: tuple[tuple[str, str], ...]  # template, intent
    sessions: int  # to come, with both

    @property
    def nothing(self) -> bool:
        clients = self.tastes or self.limits or self.newly_spared or self.steered
        return not (clients or self.favourites or self.slots or self.sessions)


def both_have(one: Exercise, other: Exercise) -> Both:
    """Seven queries however much there is."""
    likes = dict(Taste.objects.filter(exercise=one).values_list("client", "likes"))
    tastes = Taste.objects.filter(exercise=other, client__in=likes).order_by("client__name")
    spared = set(Limit.objects.filter(exercise=one).values_list(*LIMIT))
    limits = Limit.objects.filter(exercise=other, client__in={row[0] for row in spared})
    both_limits = {name for *row, name in limits.values_list(*LIMIT, "client__name") if tuple(row) in spared}
    ahead = Prescription.objects.filter(session__state=TrainingSession.State.PLANNED)
    planned = ahead.filter(exercise=other, session__block__client__in={row[0] for row in spared})
    fans = FavouriteExercise.objects.filter(exercise=one).values("coach")
    mine = SlotCandidate.objects.filter(exercise=one, slot=OuterRef("slot"), occurrence=OuterRef("occurrence"))
    slots = SlotCandidate.objects.filter(Exists(mine), exercise=other)
    steered = Progression.objects.filter(
        exercise=other, client__in=Progression.objects.filter(exercise=one).values("client")
    )
    twice = ahead.filter(exercise=one, session__prescriptions__exercise=other)
    return Both(
        tastes=tuple((name, likes[pk] != value) for pk, name, value in _named(tastes)),
        limits=tuple(sorted(both_limits)),
        newly_spared=tuple(
            planned.order_by("session__block__client__name")
            .values_list("session__block__client__name", flat=True)
            .distinct()
        ),
        steered=tuple(steered.order_by("client__name").values_list("client__name", flat=True)),
        favourites=FavouriteExercise.objects.filter(exercise=other, coach__in=fans).count(),
        slots=tuple(dict.fromkeys(slots.order_by("slot__day__outline__name", "slot__position").values_list(*SLOT))),
        sessions=twice.values("session").distinct().count(),
    )


LIMIT = ("client", "side", "strict", "since", "until")
SLOT = ("slot__day__outline__name", "slot__title")


def _named(rows: Any) -> Any:
    return rows.values_list("client", "client__name", "likes")
