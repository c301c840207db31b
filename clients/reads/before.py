"""The weeks before a block in counted sets: what a new block's weeks rise from."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from django.db.models import Count, Q, QuerySet

from clients.cycles import WEEK_DAYS, first_day
from clients.models import Client, TargetSet, TrainingSession
from clients.reads.block_work import NOT_WORK, exercises_of, regions_of
from clients.reads.history import History
from programs.engine import dose, terms

WEEKS = 4

Weeks = tuple[Mapping[str, float], ...]


def weeks_before(client: Client, day: date, history: History) -> Weeks:
    """Counted sets by group of the four weeks before ``day``, the oldest first: four queries.

    What was trained counts as logged; what is planned and still to come, or not logged yet, as planned. Rolling cycles
    count by the days that they fall on. A client's first four weeks are no four weeks yet: they are told as what their
    first block planned for its first, at four queries more. () where nothing is known.
    """
    since = day - timedelta(days=WEEKS * WEEK_DAYS)
    work: list[list[tuple[int, float]]] = [[] for _ in range(WEEKS)]  # (exercise id, counted sets) by week
    earliest = day
    for pk, exposures in history.by_exercise.items():
        for exposure in exposures:
            earliest = min(earliest, exposure.day)
            if since <= exposure.day < day:
                work[(exposure.day - since).days // WEEK_DAYS].append((pk, dose.counted_sets(exposure.done)))
    for planned_on, pk, count in _planned(client, since, day):
        work[(planned_on - since).days // WEEK_DAYS].append((pk, float(count)))
        earliest = min(earliest, planned_on)
    regions = _regions({pk for week in work for pk, _count in week})
    weeks = [{group: found.counted for group, found in dose.weekly(_as_work(week, regions)).items()} for week in work]
    return tuple(weeks) if earliest <= since else _first_plan(client, day)


def _first_plan(client: Client, day: date) -> Weeks:
    """Counted sets by group of the first round that was ever planned to begin before ``day``, for seven days."""
    block = client.blocks.filter(starts_on__lt=day).order_by("number").first()
    if block is None:
        return ()
    counts = (
        _work_sets()
        .filter(prescription__session__block=block, prescription__session__cycle=1)
        .values_list("prescription__exercise")
        .annotate(count=Count("pk"))
    )
    work = [(exercise, count * WEEK_DAYS / block.cycle_days) for exercise, count in counts]
    regions = _regions({exercise for exercise, _count in work})
    return ({group: found.counted for group, found in dose.weekly(_as_work(work, regions)).items()},) if work else ()


def _work_sets() -> QuerySet[TargetSet]:
    return TargetSet.objects.filter(prescription__exercise__isnull=False).exclude(kind__in=NOT_WORK).order_by()


def _as_work(
    week: Sequence[tuple[int, float]], regions: Mapping[int, tuple[terms.RegionShare, ...]]
) -> list[dose.Work]:
    return [dose.Work(regions[pk], count, pk) for pk, count in week]


def _planned(client: Client, since: date, day: date) -> list[tuple[date, int, int]]:
    """(day, exercise id, working sets) of sessions in the window that are planned; without a date by their round."""
    window = Q(planned_on__gte=since, planned_on__lt=day) | Q(planned_on=None)
    rows = TrainingSession.objects.for_client(client).filter(
        window, state=TrainingSession.State.PLANNED, logged_sets=None
    )
    days: dict[int, date] = {}
    for pk, planned_on, starts_on, cycle, cycle_days in rows.values_list(
        "pk", "planned_on", "block__starts_on", "cycle", "block__cycle_days"
    ):
        found = planned_on or first_day(starts_on, cycle, cycle_days)
        if since <= found < day:
            days[pk] = found
    counts = (
        _work_sets()
        .filter(prescription__session__in=days)
        .values_list("prescription__session", "prescription__exercise")
        .annotate(count=Count("pk"))
    )
    return [(days[session], exercise, count) for session, exercise, count in counts]


def _regions(keys: set[int]) -> dict[int, tuple[terms.RegionShare, ...]]:
    return {key: regions_of(row) for key, row in exercises_of(keys).items()}
