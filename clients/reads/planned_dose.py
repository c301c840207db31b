"""What the weeks of a block ask for, in counted sets by muscle group, as its sessions stand or with other numbers."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from django.db.models import Count

from clients.cycles import WEEK_DAYS
from clients.models import Block, TargetSet, TrainingSession
from clients.reads.block_work import NOT_WORK, exercises_of, regions_of
from programs.engine import dose, terms

Place = tuple[int, str]  # a session's key and a slot's


@dataclass(frozen=True, slots=True)
class PlannedWeeks:
    """Working sets by round and line, and what each line's exercise trains; missed and left-out sessions are none."""

    counts: Mapping[int, Mapping[Place, int]]
    regions: Mapping[Place, tuple[terms.RegionShare, ...]]
    cycle_days: int

    def dose(self, cycle: int, instead: Mapping[Place, int] | None = None) -> dict[str, dose.Dose]:
        """A round's dose brought to seven days, with other numbers of sets at the lines that ``instead`` names."""
        counts = {**self.counts.get(cycle, {}), **(instead or {})}
        factor = WEEK_DAYS / self.cycle_days
        return dose.weekly(
            dose.Work(self.regions[place], count * factor, place[0])
            for place, count in counts.items()
            if place in self.regions
        )

    def groups_of(self, place: Place) -> frozenset[str]:
        """Groups that the line's exercise counts for."""
        return frozenset(dose.group_shares(self.regions.get(place, ())))


def planned_weeks(block: Block, cycles: Collection[int]) -> PlannedWeeks:
    """Three queries, however many rounds and lines."""
    states = (TrainingSession.State.PLANNED, TrainingSession.State.TRAINED)
    rows = (
        TargetSet.objects.filter(
            prescription__session__block=block,
            prescription__session__cycle__in=cycles,
            prescription__session__state__in=states,
            prescription__exercise__isnull=False,
        )
        .exclude(kind__in=NOT_WORK)
        .order_by()
        .values_list(
            "prescription__session__cycle",
            "prescription__session",
            "prescription__slot_key",
            "prescription__exercise",
        )
        .annotate(count=Count("pk"))
    )
    counts: dict[int, dict[Place, int]] = {}
    exercises: dict[Place, int] = {}
    for cycle, session, slot_key, exercise, count in rows:
        counts.setdefault(cycle, {})[session, slot_key] = count
        exercises[session, slot_key] = exercise
    shares = {key: regions_of(row) for key, row in exercises_of(set(exercises.values())).items()}
    return PlannedWeeks(counts, {place: shares[key] for place, key in exercises.items()}, block.cycle_days)
