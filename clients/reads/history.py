"""What a client has done, as engine terms: exposures by exercise, in the unit of the place that asks."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from clients.models import Client, LoggedPart, LoggedSet, TargetSet
from programs.engine import terms
from programs.models import Exercise
from programs.units import GRAMS_PER_UNIT, Load

GRAMS_PER_KILOGRAM = 1000
STALE_BODYWEIGHT_DAYS = 30


@dataclass(frozen=True, slots=True)
class History:
    """Exposures by (exercise id), oldest first, and what was last weighed (in the asked unit)."""

    by_exercise: dict[int, tuple[terms.Exposure, ...]]
    bodyweight: float | None
    bodyweight_on: date | None

    def of(self, exercise: Exercise, slot: str = "", place: str = "") -> tuple[terms.Exposure, ...]:
        """The exercise's exposures; with ``slot`` ("upper-row:0") only those of that slot and occurrence.

        With ``place``, a row's key, what was done elsewhere is left aside once there is anything from there: a
        fortnight with light dumbbells is no step back at home.
        """
        rows = self.by_exercise.get(exercise.pk, ())
        if slot:
            rows = tuple(row for row in rows if row.slot == slot)
        here = tuple(row for row in rows if row.place in (place, "")) if place else ()
        return here or rows


def slot_of(slot_key: str, occurrence: int | None) -> str:
    return f"{slot_key}:{occurrence}"


def history_of(client: Client, unit: str, *, since: date | None = None) -> History:
    """Everything that counts, in four queries however long it is: sets with their sessions, parts, targets, bodyweight.

    Rows are read as plain values, not made into models: three years are some ten thousand sets.
    """
    rows = LoggedSet.objects.for_client(client).counting()
    parts = LoggedPart.objects.filter(logged_set__client=client, logged_set__state=LoggedSet.State.COUNTS)
    if since is not None:
        rows = rows.filter(performed_on__gte=since)
        parts = parts.filter(logged_set__performed_on__gte=since)
    later: dict[int, list[_Part]] = defaultdict(list)
    for pk, *rest in parts.order_by("logged_set", "number").values_list("logged_set", "sort", "reps", *_LOAD):
        later[pk].append(_Part(*rest))
    grouped: dict[tuple[int, date, str, str], list[_Set]] = defaultdict(list)
    for values in rows.in_order().values_list(*_SET):
        one = _Set(*values)
        slot = slot_of(one.slot_key, one.occurrence) if one.slot_key else ""
        grouped[one.exercise, one.day, slot, str(one.place or "")].append(one)
    asked = _asked(client, {sets[0].session for sets in grouped.values() if sets[0].session is not None}, unit)
    found: dict[int, list[terms.Exposure]] = defaultdict(list)
    for (exercise_id, day, slot, place), sets in grouped.items():
        first = sets[0]
        found[exercise_id].append(
            terms.Exposure(
                day=day,
                done=tuple(done for one in sets for done in _done(one, later.get(one.pk, ()), unit)),
                asked=asked.get((first.session, exercise_id), ()),
                deload=bool(first.deload),
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


_LOAD = ("load_value", "load_unit")
_SET = (
    "pk",
    "exercise",
    "performed_on",
    "slot_key",
    "occurrence",
    "place",
    "session",
    "session__deload",
    "bodyweight_grams",
    "reps",
    "seconds",
    "metres",
    "rir",
    "kind",
    "as_planned",
    "stopped_for_pain",
    *_LOAD,
)


class _Set(NamedTuple):
    """One logged set as read, in the order of ``_SET``."""

    pk: int
    exercise: int
    day: date
    slot_key: str
    occurrence: int | None
    place: int | None
    session: int | None
    deload: bool | None
    bodyweight_grams: int | None
    reps: int | None
    seconds: int | None
    metres: int | None
    rir: Decimal | None
    kind: str
    as_planned: bool
    stopped_for_pain: bool
    load: Decimal | None
    load_unit: str


class _Part(NamedTuple):
    sort: str
    reps: int | None
    load: Decimal | None
    load_unit: str


def _done(one: _Set, parts: Sequence[_Part], unit: str) -> Iterator[terms.SetDone]:
    """One logged set as the engine reads it, its later parts behind it; where sides differ the weaker one counts."""
    sides = [part.reps for part in parts if part.sort in ("left", "right") and part.reps is not None]
    load = _load(one.load, one.load_unit, unit)
    yield terms.SetDone(
        reps=min(sides) if sides else one.reps,
        load=load,
        rir=None if one.rir is None else float(one.rir),
        kind=one.kind,
        seconds=one.seconds,
        metres=one.metres,
        as_planned=one.as_planned,
        stopped_for_pain=one.stopped_for_pain,
    )
    for part in parts:
        if part.sort in ("drop", "pause"):
            own = _load(part.load, part.load_unit, unit) if part.load is not None else load
            yield terms.SetDone(reps=part.reps, load=own, kind="drop")


def _load(value: Decimal | None, own: str, unit: str) -> float | None:
    """In the asked unit; what has no weight (a hole, a band) as its number."""
    if value is None:
        return None
    if own == unit or own not in GRAMS_PER_UNIT or unit not in GRAMS_PER_UNIT:
        return float(value)
    return Load(value, own).in_unit(unit)


def target_term(row: TargetSet, unit: str) -> terms.TargetSet:
    return terms.TargetSet(
        kind=row.kind,
        reps_low=row.reps_low,
        reps_high=row.reps_high,
        open_ended=row.open_ended,
        seconds=row.seconds,
        metres=row.metres,
        load=_load(row.load_value, row.load_unit, unit),
        rir=None if row.rir is None else float(row.rir),
        rest_s=row.rest_s,
        tempo=row.tempo,
    )


def _in_unit(grams: int | None, unit: str) -> float | None:
    if grams is None:
        return None
    return grams / GRAMS_PER_KILOGRAM if unit != "lb" else round(grams / 453.59237, 2)


def _asked(
    client: Client, sessions: Collection[int], unit: str
) -> dict[tuple[int | None, int], tuple[terms.TargetSet, ...]]:
    """What was asked for, by session and exercise."""
    targets = TargetSet.objects.filter(
        prescription__session__in=sessions,
        prescription__session__block__client=client,
        prescription__exercise__isnull=False,
    ).order_by("prescription__position", "number")
    found: dict[tuple[int | None, int], list[terms.TargetSet]] = defaultdict(list)
    for (
        session,
        exercise,
        low,
        high,
        rir,
        value,
        own,
        kind,
        opened,
        seconds,
        metres,
        rest,
        tempo,
    ) in targets.values_list(
        "prescription__session",
        "prescription__exercise",
        "reps_low",
        "reps_high",
        "rir",
        *_LOAD,
        "kind",
        "open_ended",
        "seconds",
        "metres",
        "rest_s",
        "tempo",
    ):
        found[session, exercise].append(
            terms.TargetSet(
                kind=kind,
                reps_low=low,
                reps_high=high,
                open_ended=opened,
                seconds=seconds,
                metres=metres,
                load=_load(value, own, unit),
                rir=None if rir is None else float(rir),
                rest_s=rest,
                tempo=tempo,
            )
        )
    return {key: tuple(sets) for key, sets in found.items()}
