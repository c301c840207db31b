"""What a client has done, as engine terms: exposures by exercise, in the unit of the place that asks."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from clients.models import Client, LoggedPart, LoggedSet, TargetSet
from programs.engine import terms
from programs.units import GRAMS_PER_UNIT, Load

GRAMS_PER_KILOGRAM = 1000


@dataclass(frozen=True, slots=True)
class History:
    """Exposures by (exercise id), oldest first, and what was last weighed (in the asked unit).

    ``away`` are those that were trained elsewhere for once (exercise, day, slot, place): they count for what comes
    next at that place, and nowhere else. ``stations`` say on which station of its place an exposure was, where that
    was kept: one machine's figures say nothing of another's, though both stand in one room.
    """

    by_exercise: dict[int, tuple[terms.Exposure, ...]]
    bodyweight: float | None
    bodyweight_on: date | None
    away: frozenset[tuple[int, date, str, str]] = frozenset()
    stations: Mapping[tuple[int, date, str, str], int] = field(default_factory=dict)

    @property
    def first_day(self) -> date | None:
        """The day of the first log."""
        return min((rows[0].day for rows in self.by_exercise.values() if rows), default=None)

    def of(self, exercise: int, place: str = "", station: int | None = None) -> tuple[terms.Exposure, ...]:
        """The exercise's exposures as they count at a place (a row's key): a journey's are of one day elsewhere.

        With ``station``, a machine's key, what was done on another one of that place is of another place.
        """
        return tuple(self._seen_from(one, exercise, place, station) for one in self.by_exercise.get(exercise, ()))

    def on_latest_machine(self, exercise: int) -> tuple[terms.Exposure, ...]:
        """All exposures of an exercise whose figures hold on one machine only, seen from the one used last."""
        rows = self.by_exercise.get(exercise, ())
        used = [(one.place, self._station(one, exercise)) for one in rows if self._station(one, exercise) is not None]
        if not used:
            return rows
        place, station = used[-1]
        return tuple(self._on(one, exercise, place, station) for one in rows)

    def _seen_from(self, one: terms.Exposure, exercise: int, place: str, station: int | None) -> terms.Exposure:
        if one.place != place and (exercise, one.day, one.slot, one.place) in self.away:
            return replace(one, one_day=True)
        return self._on(one, exercise, place, station)

    def _on(self, one: terms.Exposure, exercise: int, place: str, station: int | None) -> terms.Exposure:
        own = self._station(one, exercise)
        if one.place != place or station is None or own is None or own == station:
            return one
        return replace(one, place=f"{place}/{own}")

    def _station(self, one: terms.Exposure, exercise: int) -> int | None:
        return self.stations.get((exercise, one.day, one.slot, one.place))


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
    sessions: dict[int, list[_Set]] = defaultdict(list)
    for values in rows.in_order().values_list(*_SET):
        one = _Set(*values)
        slot = slot_of(one.slot_key, one.occurrence) if one.slot_key else ""
        grouped[one.exercise, one.day, slot, str(one.place or "")].append(one)
        if one.session is not None:
            sessions[one.session].append(one)
    asked, filled = _asked(client, set(sessions), unit)
    places = {session: _positions(sets) for session, sets in sessions.items()}
    found: dict[int, list[terms.Exposure]] = defaultdict(list)
    away = set()
    stations = {}
    for (exercise_id, day, slot, place), sets in grouped.items():
        first = sets[0]
        if first.station is not None:
            stations[exercise_id, day, slot, place] = first.station
        meant = filled.get((first.session, first.slot_key))
        if first.elsewhere is not None:
            away.add((exercise_id, day, slot, place))
        found[exercise_id].append(
            terms.Exposure(
                day=day,
                done=tuple(done for one in _by_number(sets) for done in _done(one, later.get(one.pk, ()), unit)),
                asked=asked.get((first.session, exercise_id), ()),
                deload=bool(first.deload),
                slot=slot,
                place=place,
                bodyweight=_in_unit(first.bodyweight_grams, unit),
                one_day=meant is not None and exercise_id not in meant,
                position=places.get(first.session, {}).get(exercise_id) if first.session is not None else None,
            )
        )
    weighed = client.bodyweights.first()
    return History(
        {key: tuple(sorted(exposures, key=lambda one: one.day)) for key, exposures in found.items()},
        _in_unit(weighed.grams if weighed else None, unit),
        weighed.measured_on if weighed else None,
        frozenset(away),
        stations,
    )


def _by_number(sets: Sequence["_Set"]) -> list["_Set"]:
    """As the sheet numbers them, however they arrived; what has no number as it was typed."""
    return sorted(sets, key=lambda one: (one.number is None, one.number or 0))


def _positions(sets: Iterable["_Set"]) -> dict[int, int]:
    """Which place each exercise had in a session, from 1: by the clock where every set has its moment, else by the
    lines of the sheet. Nothing where neither is known for all."""
    moments: dict[int, datetime] = {}
    lines: dict[int, int] = {}
    timed = lined = True
    for one in sets:
        timed = timed and one.at is not None
        lined = lined and one.line is not None
        if one.at is not None:
            moments[one.exercise] = min(one.at, moments.get(one.exercise, one.at))
        if one.line is not None:
            lines[one.exercise] = min(one.line, lines.get(one.exercise, one.line))
    if timed:
        return {key: place for place, (_at, key) in enumerate(sorted((at, key) for key, at in moments.items()), 1)}
    if lined:
        return {key: place for place, (_line, key) in enumerate(sorted((at, key) for key, at in lines.items()), 1)}
    return {}


_LOAD = ("load_value", "load_unit")
_SET = (
    "pk",
    "exercise",
    "performed_on",
    "slot_key",
    "occurrence",
    "place",
    "station",
    "session",
    "session__deload",
    "session__elsewhere",
    "line",
    "number",
    "performed_at",
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
    station: int | None
    session: int | None
    deload: bool | None
    elsewhere: int | None
    line: int | None
    number: int | None
    at: datetime | None
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
) -> tuple[dict[tuple[int | None, int], tuple[terms.TargetSet, ...]], dict[tuple[int | None, str], set[int]]]:
    """What was asked for, by session and exercise; and which exercise filled each slot, by session and slot."""
    targets = TargetSet.objects.filter(
        prescription__session__in=sessions,
        prescription__session__block__client=client,
        prescription__exercise__isnull=False,
    ).order_by("prescription__position", "number")
    found: dict[tuple[int | None, int], list[terms.TargetSet]] = defaultdict(list)
    filled: dict[tuple[int | None, str], set[int]] = defaultdict(set)
    for (
        session,
        slot,
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
        "prescription__slot_key",
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
        if slot:
            filled[session, slot].add(exercise)
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
    return {key: tuple(sets) for key, sets in found.items()}, filled
