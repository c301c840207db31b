"""Which part of an exercise's history is meant: whose, when and where, and how much that is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Exists, Max, Min, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from clients.models import LoggedSet, PainReport, Prescription, RecentSet, SheetVersion, TrainingSession
from programs.models import Exercise, Outline


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a history by the clients' and places' ids and by days; what is empty leaves nothing out."""

    clients: tuple[int, ...] = ()
    since: date | None = None
    until: date | None = None
    places: tuple[int, ...] = ()

    @property
    def everything(self) -> bool:
        return not (self.clients or self.since or self.until or self.places)

    def of(self, *, client: str, day: str, place: str = "") -> Q:
        """The condition on rows with these lookups. Without a place's lookup, nothing is in a part by places."""
        wanted = Q(**{f"{client}__in": self.clients}) if self.clients else Q()
        if self.since is not None:
            wanted &= Q(**{f"{day}__gte": self.since})
        if self.until is not None:
            wanted &= Q(**{f"{day}__lte": self.until})
        if self.places:
            wanted &= Q(**{f"{place}__in": self.places}) if place else Q(pk__in=[])
        return wanted


@dataclass(frozen=True, slots=True)
class Portion:
    """How much of a history is in the part, and how many sets and lines are left."""

    sets: int
    clients: int
    planned: int
    past: int
    recent: int
    pain: int
    sets_left: int
    sheets_out: int  # lines to come that stay, as their sheet is out

    @property
    def nothing(self) -> bool:
        return not (self.sets or self.planned or self.past or self.recent)


@dataclass(frozen=True, slots=True)
class Whole:
    """What there is to choose from: (id, name, how many sets) of clients and places, days, templates (id, name)."""

    clients: Sequence[tuple[int, str, int]]
    places: Sequence[tuple[int, str, int]]
    first: date | None
    last: date | None
    outlines: Sequence[tuple[int, str]]


def sets_in(exercise: Exercise, part: Part) -> QuerySet[LoggedSet]:
    return LoggedSet.objects.filter(
        part.of(client="client", day="performed_on", place="place"), exercise=exercise
    ).order_by()


def lines_in(exercise: Exercise, part: Part) -> QuerySet[Prescription]:
    """Lines whose sets are in the part; of those without sets, the ones whose session is, but for sheets that are
    out: what comes back from them is for the exercise they name."""
    return _lines(exercise, part).filter(Q(in_part=True) & ~Q(out=True) | Q(done=True))


def sheets_kept(exercise: Exercise, part: Part) -> QuerySet[Prescription]:
    """Lines that would be in the part if their sheet were not out."""
    return _lines(exercise, part).filter(in_part=True, out=True, done=False)


def _lines(exercise: Exercise, part: Part) -> QuerySet[Any]:
    client, place = "session__block__client", "session__block__place"
    here = LoggedSet.objects.filter(session=OuterRef("session"), exercise=exercise)
    wanted = part.of(client=client, day="day", place=place)
    if part.until is None:
        # A session without a day is still to come.
        wanted |= Part(part.clients, places=part.places).of(client=client, day="day", place=place) & Q(day=None)
    issued = SheetVersion.objects.standing().filter(session=OuterRef("session"))
    rows = Prescription.objects.filter(exercise=exercise).order_by()
    rows = rows.annotate(
        day=Coalesce("session__trained_on", "session__planned_on"),
        done=Exists(here.filter(part.of(client="client", day="performed_on", place="place"))),
        elsewhere=Exists(here),
        issued=Exists(issued),
    )
    return rows.annotate(
        in_part=Q(wanted & Q(elsewhere=False)),
        out=Q(issued=True, session__state=TrainingSession.State.PLANNED),
    )


def recent_in(exercise: Exercise, part: Part) -> QuerySet[RecentSet]:
    """Sets from before know no place: they stay where places are chosen."""
    return RecentSet.objects.filter(part.of(client="client", day="done_on"), exercise=exercise).order_by()


def pain_in(exercise: Exercise, part: Part) -> QuerySet[PainReport]:
    wanted = part.of(client="client", day="felt_on", place="session__block__place")
    return PainReport.objects.filter(wanted, exercise=exercise).order_by()


def portion_of(exercise: Exercise, part: Part) -> Portion:
    """Six queries however much there is."""
    done = sets_in(exercise, part).aggregate(sets=Count("pk"), clients=Count("client", distinct=True))
    ahead = Q(session__state=TrainingSession.State.PLANNED)
    lines = lines_in(exercise, part).aggregate(planned=Count("pk", filter=ahead), past=Count("pk", filter=~ahead))
    return Portion(
        sets=done["sets"],
        clients=done["clients"],
        planned=lines["planned"],
        past=lines["past"],
        recent=recent_in(exercise, part).count(),
        pain=pain_in(exercise, part).count(),
        sets_left=LoggedSet.objects.filter(exercise=exercise).count() - done["sets"],
        sheets_out=sheets_kept(exercise, part).count(),
    )


def whole_of(exercise: Exercise) -> Whole:
    """Six queries however much there is."""
    done = LoggedSet.objects.filter(exercise=exercise).order_by()
    days = done.aggregate(first=Min("performed_on"), last=Max("performed_on"))
    ahead = Prescription.objects.filter(exercise=exercise).order_by()
    clients = {row[0]: row for row in _counted(done, "client", "client__name")}
    earlier = RecentSet.objects.filter(exercise=exercise).order_by()
    for pk, name, _count in (
        *_counted(ahead, "session__block__client", "session__block__client__name"),
        *_counted(earlier, "client", "client__name"),
    ):
        clients.setdefault(pk, (pk, name, 0))
    outlines = Outline.objects.for_practice(exercise.practice).current()
    outlines = outlines.filter(days__slots__candidates__exercise=exercise).distinct().order_by("name")
    return Whole(
        clients=sorted(clients.values(), key=lambda row: (row[1].casefold(), row[0])),
        places=sorted(_counted(done.exclude(place=None), "place", "place__name"), key=lambda row: row[1].casefold()),
        first=days["first"],
        last=days["last"],
        outlines=list(outlines.values_list("pk", "name")),
    )


def _counted(rows: Any, key: str, name: str) -> list[tuple[int, str, int]]:
    return list(rows.values_list(key, name).annotate(count=Count("pk")))
