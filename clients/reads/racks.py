"""The loads that a place really offers for an exercise, for one client on one day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

from clients.models import Client, ClientItem, Place, Station
from programs.engine import racks, terms
from programs.engine.racks import Plate, Rack
from programs.engine.vocabulary import PLATE_LOADED

NO_WEIGHT_UNITS = ("setting", "band")


@dataclass(frozen=True, slots=True)
class Loads:
    """A rack with the station it belongs to (None: bodyweight alone, or nothing known there)."""

    rack: Rack
    station: Station | None


class PlaceLoads:
    """All stations of a place with the client's own items and what is not there that day: three queries.

    ``for_exercise`` answers from memory, so that a whole week costs no more.
    """

    def __init__(self, place: Place, client: Client | None = None, day: date | None = None) -> None:
        self.place = place
        stations = list(place.stations.prefetch_related("absences"))
        missing: dict[int, list[dict[str, Any]]] = {}
        gone: set[int] = set()
        for station in stations:
            for absence in station.absences.all():
                if absence.day != day:
                    continue
                if absence.plates:
                    missing[station.pk] = absence.plates
                else:
                    gone.add(station.pk)
        self._missing = missing
        self._stations: dict[str, list[Station]] = {}
        for station in stations:
            if station.pk not in gone and station.count > 0:
                self._stations.setdefault(station.kind, []).append(station)
        self._items: dict[str, list[ClientItem]] = {}
        for item in client.items.all() if client is not None else ():
            self._items.setdefault(item.kind, []).append(item)
        self._known: dict[tuple[str, str, bool], Loads] = {}

    def for_exercise(self, exercise: terms.Exercise) -> Loads:
        """The rack for an exercise's implement and load entry."""
        key = (exercise.implement, exercise.load_entry, anchored(exercise))
        if key not in self._known:
            self._known[key] = self._loads(exercise)
        return self._known[key]

    def of_station(self, station: Station) -> Rack:
        """The rack of one station of the place as it stands, with what the client brings for it."""
        return self._rack(station.kind, station, self._items.get(station.kind, []))

    def _loads(self, exercise: terms.Exercise) -> Loads:
        if exercise.load_entry == "none":
            return Loads(racks.EMPTY, None)
        kind = exercise.implement
        if kind == "bodyweight":
            return Loads(self._on_top(), None)
        stations = self._stations.get(kind, [])
        station = stations[0] if stations else None
        rack = self._rack(kind, station, self._items.get(kind, []), exercise)
        if exercise.load_entry == "assisted":
            rack = racks.assisted_rack(rack)
        elif exercise.load_entry == "added" and exercise.bodyweight_fraction > 0:
            rack = racks.added_rack(rack)
        return Loads(rack, station)

    def _on_top(self) -> Rack:
        """What can be held or hung on for a bodyweight exercise: loose plates, a dumbbell, or nothing."""
        unit = self.place.unit
        weights: set[float] = set()
        for kind in ("plate", "dumbbell", "kettlebell"):
            for station in self._stations.get(kind, []):
                weights.update(_in(unit, float(load), station.unit) for load in station.loads.get("list", []))
        for station in self._stations.get("barbell", []):
            weights.update(
                _in(unit, float(plate["weight"]), plate["unit"]) for plate in station.loads.get("plates", [])
            )
        return racks.added_rack(racks.list_rack(weights, unit))

    def _rack(
        self, kind: str, station: Station | None, items: Sequence[ClientItem], exercise: terms.Exercise | None = None
    ) -> Rack:
        loads: Mapping[str, Any] = station.loads if station is not None else {}
        if "settings" in loads:
            return racks.numbered_rack(int(loads["settings"]))
        if "plates" in loads or (kind in PLATE_LOADED and "holes" not in loads):
            missing = self._missing.get(station.pk, []) if station is not None else []
            # Small plates that a client brings go on any bar that is there, but are no bar themselves.
            small = [item for item in self._items.get("plate", []) if station is not None and item not in items]
            return plate_rack(loads, self.place.unit, exercise, items=[*items, *small], missing=missing)
        if kind == "band":
            names = [*loads.get("bands", []), *(name for item in items for name in item.loads.get("bands", []))]
            return racks.band_rack(names)
        unit = station.unit if station is not None else self.place.unit
        if "holes" in loads:
            return racks.stack_rack(_numbers(loads["holes"]), _numbers(loads.get("add_ons", [])), unit)
        own = [weight for item in items for weight in _numbers(item.loads.get("list", []))]
        return racks.list_rack([*_numbers(loads.get("list", [])), *own], unit)


class Needing(Protocol):
    """What an exercise says of its load, as term and as row of the library."""

    @property
    def load_entry(self) -> str: ...

    @property
    def needs_all(self) -> Sequence[str]: ...


def anchored(exercise: Needing) -> bool:
    """Whether one end of the bar stays in an anchor, so that plates go on the other alone."""
    return "bar_anchor" in exercise.needs_all


def plate_rack(
    loads: Mapping[str, Any],
    unit: str,
    exercise: Needing | None = None,
    *,
    items: Iterable[ClientItem] = (),
    missing: Sequence[Mapping[str, Any]] = (),
) -> Rack:
    """What a station's first bar and its plates make, with plates that are brought and without those that are away.

    Of a bar in an anchor nobody lifts the whole: where an exercise counts what is put on, that is the plates of the
    free end.
    """
    rows = [*loads.get("plates", []), *(plate for item in items for plate in item.loads.get("plates", []))]
    away = {(float(row["weight"]), row["unit"]): int(row["count"]) for row in missing}
    plates = []
    for row in rows:
        weight, plate_unit = float(row["weight"]), row["unit"]
        count = int(row["count"]) - away.pop((weight, plate_unit), 0)
        plates.append(Plate(weight, plate_unit, max(0, count)))
    bars = loads.get("bars", [])
    bar = bars[0] if bars else None
    one_end = exercise is not None and anchored(exercise)
    sides = 1 if one_end else int(loads.get("sides") or 2)
    plates_alone = one_end and exercise is not None and exercise.load_entry == "added"
    if plates_alone or bar is None or bar.get("weight") is None:
        return racks.bar_rack(plates, bar=None, unit=unit, sides=sides)
    return racks.bar_rack(
        plates,
        bar=float(bar["weight"]),
        bar_unit=bar["unit"],
        collars=float(loads.get("collars") or 0),
        unit=unit,
        sides=sides,
    )


def _numbers(values: Iterable[Any]) -> list[float]:
    return [float(value) for value in values]


def _in(unit: str, load: float, own: str) -> float:
    if unit == own or own in NO_WEIGHT_UNITS:
        return load
    return round(racks.parts(load, own) / racks.parts(1, unit), 3)
