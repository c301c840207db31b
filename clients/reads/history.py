"""What a client has done, as engine terms: exposures by exercise, in the unit of the place that asks."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clients.models import Client, LoggedSet, TargetSet
from programs.engine import terms
from programs.models import Exercise

GRAMS_PER_KILOGRAM = 1000
STALE_BODYWEIGHT_DAYS = 30


@dataclass(frozen=True, slots=True)
class History:
    """Exposures by (exercise id), oldest first, and what was last weighed (in the asked unit)."""

    by_exercise: dict[int, tuple[terms.Exposure, ...]]
    bodyweight: float | None
    bodyweight_on: date | None

    def of(self, exercise: Exercise, slot: str = "") -> tuple[terms.Exposure, ...]:
        """The exercise's exposures; with ``slot`` ("upper-row:0") only those of that slot and occurrence."""
        rows = self.by_exercise.get(exercise.pk, ())
        return tuple(row for row in rows if row.slot == slot) if slot else rows


def slot_of(slot_key: str, occurrence: int | None) -> str:
    return f"{slot_key}:{occurrence}"


def history_of(client: Client, unit: str, *, since: date | None = None) -> History:
    """Everything that counts, in five queries however long it is: sets, their parts, targets, bodyweight, sessions."""
    rows = LoggedSet.objects.for_client(client).counting().select_related("session").prefetch_related("parts")
    if since is not None:
        rows = rows.filter(performed_on__gte=since)
    grouped: dict[tuple[int, date, str, str], list[LoggedSet]] = defaultdict(list)
    for row in rows.in_order():
        slot = slot_of(row.slot_key, row.occurrence) if row.slot_key else ""
        grouped[row.exercise_id, row.performed_on, slot, str(row.place_id or "")].append(row)
    asked = _asked(client, grouped.values(), unit)
    found: dict[int, list[terms.Exposure]] = defaultdict(list)
    for (exercise_id, day, slot, place), sets in grouped.items():
        first = sets[0]
        found[exercise_id].append(
            terms.Exposure(
                day=day,
                done=tuple(set_done(row, unit) for row in sets),
                asked=asked.get((first.session_id, exercise_id), ()),
                deload=first.session.deload if first.session is not None else False,
                slot=slot,
                place=place,
                bodyweight=_in_unit(first.bodyweight_grams, unit),
            )
        )
    weighed = client.bodyweights.first()
    return History(
        {key: tuple(sorted(exposures, key=lambda one: one.day)) for key, exposures in found.items()},
        _in_unit(weighed.grams if weighed else None, unit),
        weighed.measured_on if weighed else None,
    )


def set_done(row: LoggedSet, unit: str) -> terms.SetDone:
    """One logged set as the engine reads it; the weaker side counts where the sides differ."""
    sides = [part.reps for part in row.parts.all() if part.sort in ("left", "right") and part.reps is not None]
    load = row.load
    return terms.SetDone(
        reps=min(sides) if sides else row.reps,
        load=load.in_unit(unit) if load is not None and load.unit in ("kg", "lb") else _bare(row),
        rir=None if row.rir is None else float(row.rir),
        kind=row.kind,
        seconds=row.seconds,
        metres=row.metres,
        as_planned=row.as_planned,
        stopped_for_pain=row.stopped_for_pain,
    )


def target_term(row: TargetSet, unit: str) -> terms.TargetSet:
    load = row.load
    value = None
    if load is not None:
        value = load.in_unit(unit) if load.unit in ("kg", "lb") else float(load.value)
    return terms.TargetSet(
        kind=row.kind,
        reps_low=row.reps_low,
        reps_high=row.reps_high,
        open_ended=row.open_ended,
        seconds=row.seconds,
        metres=row.metres,
        load=value,
        rir=None if row.rir is None else float(row.rir),
        rest_s=row.rest_s,
        tempo=row.tempo,
    )


def _bare(row: LoggedSet) -> float | None:
    return None if row.load_value is None else float(row.load_value)


def _in_unit(grams: int | None, unit: str) -> float | None:
    if grams is None:
        return None
    return grams / GRAMS_PER_KILOGRAM if unit != "lb" else round(grams / 453.59237, 2)


def _asked(
    client: Client, groups: Iterable[list[LoggedSet]], unit: str
) -> dict[tuple[int | None, int], tuple[terms.TargetSet, ...]]:
    sessions = {row.session_id for group in groups for row in group if row.session_id is not None}
    targets = TargetSet.objects.filter(
        prescription__session__in=sessions, prescription__session__block__client=client
    ).select_related("prescription")
    found: dict[tuple[int | None, int], list[terms.TargetSet]] = defaultdict(list)
    for target in targets.order_by("prescription__position", "number"):
        exercise_id = target.prescription.exercise_id
        if exercise_id is not None:
            found[target.prescription.session_id, exercise_id].append(target_term(target, unit))
    return {key: tuple(sets) for key, sets in found.items()}
