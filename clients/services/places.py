"""Places, their stations and what clients bring along, changed by one journalled act each."""

from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from clients.models import Client, ClientItem, LoggedSet, Place, Prescription, Station, StationAbsence
from clients.starting_sets import StationSet
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import vocabulary


def about(place: Place) -> str:
    return f"place:{place.public_id}"


def save_place(place: Place, coach: Coach, values: Mapping[str, Any]) -> JournalEntry | None:
    """Makes a new place or changes one."""
    known = place.pk is not None
    act = "place.change" if known else "place.add"
    with journal.act(place.practice, coach, act, about=about(place), name=values["name"]) as entry:
        row = Place.objects.select_for_update().get(pk=place.pk) if known else place
        if known:
            entry.change(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save()
        if not known:
            entry.made(row)
    return entry.entry


def save_station(station: Station, coach: Coach, values: Mapping[str, Any]) -> JournalEntry | None:
    """Makes a new station or changes one."""
    known = station.pk is not None
    act = "station.change" if known else "station.add"
    with journal.act(station.place.practice, coach, act, about=about(station.place), kind=station.kind) as entry:
        row = Station.objects.select_for_update().get(pk=station.pk) if known else station
        if known:
            entry.change(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save()
        if not known:
            entry.made(row)
    return entry.entry


def remove_station(station: Station, coach: Coach) -> JournalEntry | None:
    """Takes a station away. One that sets were logged or planned on stays in the records as no longer there."""
    used = Prescription.objects.filter(station=station).exists() or LoggedSet.objects.filter(station=station).exists()
    with journal.act(
        station.place.practice, coach, "station.remove", about=about(station.place), kind=station.kind
    ) as entry:
        if used:
            entry.change(station)
            station.count = 0
            station.save(update_fields=["count"])
        else:
            entry.change(station, *station.absences.all())
            Station.objects.filter(pk=station.pk).delete()
    return entry.entry


def set_apparatus(place: Place, coach: Coach, here: Collection[str]) -> JournalEntry | None:
    """What only has to be there: ticked kinds get a station, unticked ones lose theirs."""
    wanted = [kind for kind in vocabulary.APPARATUS if kind in here]
    with journal.act(place.practice, coach, "place.apparatus", about=about(place)) as entry:
        present: dict[str, Station] = {}
        for station in place.stations.filter(kind__in=vocabulary.APPARATUS):
            present[station.kind] = station
            if (station.count > 0) != (station.kind in wanted):
                entry.change(station)
                station.count = 1 if station.kind in wanted else 0
                station.save(update_fields=["count"])
        for kind in wanted:
            if kind not in present:
                entry.made(Station.objects.create(place=place, kind=kind, unit=place.unit))
    return entry.entry


def fill(place: Place, coach: Coach, ready: StationSet) -> JournalEntry | None:
    """Adds the stations of a ready-made set that the place does not have yet."""
    with journal.act(place.practice, coach, "place.fill", about=about(place), name=str(ready.title)) as entry:
        present = set(place.stations.values_list("kind", flat=True))
        for kind, count, loads in ready.stations(place.unit):
            if kind not in present:
                station = Station.objects.create(place=place, kind=kind, count=count, unit=place.unit, loads=loads)
                entry.made(station)
    return entry.entry


def set_away(station: Station, coach: Coach, day: date, plates: list[dict[str, Any]]) -> JournalEntry | None:
    """Not here on a day: the whole station, or some plates."""
    with journal.act(
        station.place.practice, coach, "station.away", about=about(station.place), kind=station.kind
    ) as entry:
        absence = StationAbsence.objects.filter(station=station, day=day).first()
        if absence is None:
            entry.made(StationAbsence.objects.create(station=station, day=day, plates=plates))
        else:
            entry.change(absence)
            absence.plates = plates
            absence.save(update_fields=["plates"])
    return entry.entry


def set_back(station: Station, coach: Coach, day: date) -> JournalEntry | None:
    """It is here after all."""
    with journal.act(
        station.place.practice, coach, "station.back", about=about(station.place), kind=station.kind
    ) as entry:
        for absence in StationAbsence.objects.filter(station=station, day=day):
            entry.change(absence)
            StationAbsence.objects.filter(pk=absence.pk).delete()
    return entry.entry


def add_item(item: ClientItem, coach: Coach) -> JournalEntry | None:
    client: Client = item.client
    with journal.act(client.practice, coach, "item.add", about=f"client:{client.public_id}", kind=item.kind) as entry:
        item.save()
        entry.made(item)
    return entry.entry


def remove_item(item: ClientItem, coach: Coach) -> JournalEntry | None:
    client: Client = item.client
    with journal.act(
        client.practice, coach, "item.remove", about=f"client:{client.public_id}", kind=item.kind
    ) as entry:
        entry.change(item)
        ClientItem.objects.filter(pk=item.pk).delete()
    return entry.entry
