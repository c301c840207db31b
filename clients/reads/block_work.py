"""The working sets that a block's sessions ask for, as they stand."""

from collections.abc import Collection

from django.db.models import Count

from clients.models import Block, TargetSet
from programs.engine import terms
from programs.models import Exercise

NOT_WORK = ("warm_up", "drop")

LineSets = tuple[str, int, int]  # slot key, exercise id, working sets


def lines_of_block(block: Block) -> tuple[dict[int, list[LineSets]], dict[int, Exercise]]:
    """(slot, exercise id, working sets) by session, and the exercises with their regions: three queries."""
    counts = (
        TargetSet.objects.filter(prescription__session__block=block, prescription__exercise__isnull=False)
        .exclude(kind__in=NOT_WORK)
        .order_by("prescription__session", "prescription__position")
        .values_list("prescription__session", "prescription__slot_key", "prescription__exercise")
        .annotate(count=Count("pk"))
    )
    found: dict[int, list[LineSets]] = {}
    for session, slot, exercise, count in counts:
        found.setdefault(session, []).append((slot, exercise, count))
    return found, exercises_of({exercise for here in found.values() for _slot, exercise, _count in here})


def exercises_of(keys: Collection[int]) -> dict[int, Exercise]:
    """Exercises by key with their regions: two queries."""
    rows = Exercise.objects.filter(pk__in=keys).prefetch_related("regions")
    return {row.pk: row for row in rows}


def regions_of(exercise: Exercise) -> tuple[terms.RegionShare, ...]:
    """Reads the exercise's prefetched regions."""
    return tuple(terms.RegionShare(row.region, row.share, row.stretched) for row in exercise.regions.all())
