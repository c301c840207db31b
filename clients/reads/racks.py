"""The loads that a place really offers for an exercise, for one client on one day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Protocol

from clients.models import Client, ClientItem, Place, Station
from programs.engine import racks, terms
from programs.engine.racks import Loading, Plate, Rack
from programs.engine.vocabulary import PLATE_LOADED

NO_WEIGHT_UNITS = ("setting", "band")
NOTHING = Rack((), "")
BELT = "dip_belt"
# The machine that takes weight off the body, by the movement it is for.
HELPERS = {"vertical_pull": "assisted_pull_up_machine", "decline_push": "assisted_dip_machine"}


@dataclass(frozen=True, slots=True)
class Loads:
    """A rack with the station it belongs to (None: bodyweight alone, or nothing known there), and its bar if any."""

    rack: Rack
    station: Station | None
    bar: "OnBar | None" = None

    def loading(self, load: float) -> Loading | None:
        """The plates for a load, one that the rack does not offer but its plates make all the same included."""
        made = self.rack.loading(load)
        return made if made is not None or self.bar is None else self.bar.loading(load)


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
        self._known: dict[tuple[str, str, bool, bool, str], Loads] = {}

    def for_exercise(self, exercise: terms.Exercise, *, helped: bool = False) -> Loads:
        """The rack for an exercise's implement and load entry.

        ``helped`` says that on this bodyweight exercise help is taken too: then the machine that gives it, where the
        place has one, and what can be added stand on one line, help with a minus.
        """
        helper = HELPERS.get(exercise.pattern, "") if helped else ""
        on_body = exercise.bodyweight_fraction > 0
        key = (exercise.implement, exercise.load_entry, anchored(exercise), on_body, helper)
        if key not in self._known:
            self._known[key] = self._loads(exercise, helper)
        return self._known[key]

    def of_station(self, station: Station) -> Rack:
        """The rack of one station of the place as it stands, with what the client brings for it."""
        return self._rack(station.kind, station, self._items.get(station.kind, []))

    def _loads(self, exercise: terms.Exercise, helper: str) -> Loads:
        if exercise.load_entry == "none":
            return Loads(Rack((), self.place.unit), None)
        kind = exercise.implement
        if kind == "bodyweight":
            return Loads(self._helped(self._on_top(self.place.unit), helper), None)
        stations = self._stations.get(kind, [])
        station = stations[0] if stations else None
        rack = self._rack(kind, station, self._items.get(kind, []), exercise)
        if exercise.load_entry == "assisted":
            rack = racks.assisted_rack(rack, self._on_top(rack.unit) if exercise.bodyweight_fraction > 0 else NOTHING)
        elif exercise.load_entry == "added" and exercise.bodyweight_fraction > 0:
            rack = self._helped(racks.added_rack(rack), helper)
        return Loads(rack, station, self._bar(kind, station, self._items.get(kind, []), exercise))

    def _helped(self, added: Rack, helper: str) -> Rack:
        """What can be added, with the help of a machine before it where that is weighed in the same unit."""
        station = next(iter(self._stations.get(helper, [])), None)
        if station is None:
            return added
        rack = self._rack(helper, station, self._items.get(helper, []))
        return added if rack.ordinal or rack.unit != added.unit else racks.through_zero(rack, added)

    def _on_top(self, unit: str) -> Rack:
        """What can be held or hung on for a bodyweight exercise: loose plates, a dumbbell, or nothing.

        Where there is a belt several plates hang on it.
        """
        if unit in NO_WEIGHT_UNITS:
            return NOTHING
        weights: set[float] = set()
        plates: list[Plate] = []
        for kind in ("plate", "dumbbell", "kettlebell"):
            for station in self._stations.get(kind, []):
                weights.update(_in(unit, load, station.unit) for load in _numbers(station.loads.get("list", [])))
            for item in self._items.get(kind, []):
                weights.update(_in(unit, load, own) for load, own in own_weights(item))
                plates += plates_of([item.loads])
        for station in self._stations.get("barbell", []):
            plates += plates_of([station.loads], self._missing.get(station.pk, []))
        belted = bool(self._stations.get(BELT) or self._items.get(BELT))
        weights.update(racks.belt_rack(plates, unit, racks.MOST_ON_A_BELT if belted else 1).loads)
        return racks.added_rack(racks.list_rack(weights, unit))

    def _bar(
        self, kind: str, station: Station | None, items: Sequence[ClientItem], exercise: terms.Exercise | None = None
    ) -> "OnBar | None":
        """The bar with its plates where that is what the kind is loaded by."""
        loads: Mapping[str, Any] = station.loads if station is not None else {}
        if "settings" in loads or not ("plates" in loads or (kind in PLATE_LOADED and "holes" not in loads)):
            return None
        missing = self._missing.get(station.pk, []) if station is not None else []
        # Small plates that a client brings go on any bar that is there, but are no bar themselves.
        small = [item for item in self._items.get("plate", []) if station is not None and item not in items]
        return on_bar(loads, self.place.unit, exercise, items=[*items, *small], missing=missing)

    def _rack(
        self, kind: str, station: Station | None, items: Sequence[ClientItem], exercise: terms.Exercise | None = None
    ) -> Rack:
        loads: Mapping[str, Any] = station.loads if station is not None else {}
        if "settings" in loads:
            return racks.numbered_rack(int(loads["settings"]))
        bar = self._bar(kind, station, items, exercise)
        if bar is not None:
            return bar.rack
        if kind == "band":
            names = [*loads.get("bands", []), *(name for item in items for name in item.loads.get("bands", []))]
            return racks.band_rack(names)
        unit = station.unit if station is not None else self.place.unit
        if "holes" in loads:
            return racks.stack_rack(_numbers(loads["holes"]), _numbers(loads.get("add_ons", [])), unit)
        own = [_in(unit, load, its) for item in items for load, its in own_weights(item)]
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


@dataclass(frozen=True, slots=True)
class OnBar:
    """A bar (or sled) with the plates that go on it, in the unit that its totals are told in."""

    plates: tuple[Plate, ...]
    bar: float | None  # None: nobody knows what it weighs, or it is not what counts
    bar_unit: str
    collars: float
    unit: str
    sides: int
    lighter: tuple["OnBar", ...] = ()  # other bars there, for what is lighter than this one alone

    @property
    def rack(self) -> Rack:
        own = racks.bar_rack(self.plates, **self._facts)
        return racks.with_lighter_bars(own, [bar.rack for bar in self.lighter]) if self.lighter else own

    def loading(self, total: float) -> Loading | None:
        """The plates for any total that they make, mixtures of units that the rack does not offer included."""
        made = racks.bar_loading(total, self.plates, **self._facts)
        return made or next(filter(None, (bar.loading(total) for bar in self.lighter)), None)

    @property
    def _facts(self) -> dict[str, Any]:
        return {
            "bar": self.bar,
            "bar_unit": self.bar_unit,
            "collars": self.collars,
            "unit": self.unit,
            "sides": self.sides,
        }


def on_bar(
    loads: Mapping[str, Any],
    unit: str,
    exercise: Needing | None = None,
    *,
    items: Iterable[ClientItem] = (),
    missing: Sequence[Mapping[str, Any]] = (),
) -> OnBar:
    """A station's first bar with its plates, what is brought included and what is away left out.

    Its lighter bars serve where the first one alone is too heavy. Of a bar in an anchor nobody lifts the whole: where
    an exercise counts what is put on, that is the plates of the free end.
    """
    plates = plates_of([loads, *(item.loads for item in items)], missing)
    bars = loads.get("bars", [])
    bar = bars[0] if bars else None
    one_end = exercise is not None and anchored(exercise)
    sides = 1 if one_end else int(loads.get("sides") or 2)
    plates_alone = one_end and exercise is not None and exercise.load_entry == "added"
    if plates_alone or bar is None or bar.get("weight") is None:
        return OnBar(tuple(plates), None, unit, 0.0, unit, sides)

    def with_it(one: Mapping[str, Any]) -> OnBar:
        return OnBar(tuple(plates), float(one["weight"]), one["unit"], collars_of(loads, one["unit"]), unit, sides)

    weight = racks.parts(float(bar["weight"]), bar["unit"])
    lighter = [
        one
        for one in bars[1:]
        if one.get("weight") is not None and racks.parts(float(one["weight"]), one["unit"]) < weight
    ]
    return replace(with_it(bar), lighter=tuple(with_it(one) for one in lighter))


def collars_of(loads: Mapping[str, Any], unit: str) -> float:
    """What the collars of a station weigh together, in the unit of the bar they go on: they are the same on every bar,
    and noted in the unit of the first."""
    noted = float(loads.get("collars") or 0)
    return round(racks.convert(noted, loads["bars"][0]["unit"], unit), 3) if noted and loads.get("bars") else noted


def plates_of(given: Iterable[Mapping[str, Any]], missing: Sequence[Mapping[str, Any]] = ()) -> list[Plate]:
    """The plates of stations and of what is brought, less those that are away, whatever rows they are noted in."""
    away: dict[tuple[float, str], int] = {}
    for row in missing:
        size = (float(row["weight"]), row["unit"])
        away[size] = away.get(size, 0) + int(row["count"])
    plates = []
    for row in (row for loads in given for row in loads.get("plates", [])):
        weight, unit = float(row["weight"]), row["unit"]
        gone = min(int(row["count"]), away.get((weight, unit), 0))
        if gone:
            away[weight, unit] -= gone
        plates.append(Plate(weight, unit, int(row["count"]) - gone))
    return plates


def own_weights(item: ClientItem) -> list[tuple[float, str]]:
    """What a client brings as single weights, each with its unit: dumbbells, loose plates."""
    if "plates" in item.loads:
        return [(float(row["weight"]), row["unit"]) for row in item.loads["plates"]]
    return [(load, item.loads.get("unit") or item.client.unit) for load in _numbers(item.loads.get("list", []))]


def _numbers(values: Iterable[Any]) -> list[float]:
    return [float(value) for value in values]


def _in(unit: str, load: float, own: str) -> float:
    if unit == own or own in NO_WEIGHT_UNITS:
        return load
    return round(racks.parts(load, own) / racks.parts(1, unit), 3)
