"""The practice's places as the library asks for them: what stands there and, in words, the loads it offers."""

from collections.abc import Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.models import Place, Station
from clients.reads.racks import anchored, on_bar
from coachdesk.practice.models import Practice
from programs.models import Exercise
from programs.placed import Placed


def placed(practice: Practice) -> list[Placed]:
    """All places of the practice, two queries."""
    places = Place.objects.for_practice(practice).prefetch_related("stations")
    return [_placed(place) for place in places]


def _placed(place: Place) -> Placed:
    by_kind: dict[str, list[Station]] = {}
    for station in place.stations.all():
        if station.count:
            by_kind.setdefault(station.kind, []).append(station)

    def offers(exercise: Exercise) -> str:
        return "; ".join(
            filter(None, (_loads(place, station, exercise) for station in by_kind.get(exercise.implement, ())))
        )

    return Placed(str(place.public_id), place.name, frozenset(by_kind), offers)


def _loads(place: Place, station: Station, exercise: Exercise) -> str:
    """What a station offers: "2 bars, 15 to 180 kg", "2 to 40 kg", "15 settings"; "" where nothing is known."""
    loads = station.loads
    if loads.get("bars") or loads.get("plates"):
        return _bars(loads, place.unit, exercise)
    if "settings" in loads:
        count = int(loads["settings"])
        return ngettext("%(count)d setting", "%(count)d settings", count) % {"count": count}
    if "bands" in loads:
        count = len(loads["bands"])
        return ngettext("%(count)d band", "%(count)d bands", count) % {"count": count}
    numbers = [float(load) for load in loads.get("list") or loads.get("holes") or ()]
    if not numbers:
        return ""
    top = max(numbers) + (sum(float(load) for load in loads.get("add_ons", ())) if "holes" in loads else 0)
    return _span(min(numbers), top, station.unit)


def _bars(loads: Mapping[str, Any], unit: str, exercise: Exercise) -> str:
    bars = [bar for bar in loads.get("bars", ()) if bar.get("weight") is not None]
    racks = [on_bar({**loads, "bars": [bar]}, unit, exercise).rack for bar in bars]
    racks = racks or [on_bar({**loads, "bars": []}, unit, exercise).rack]
    lightest, heaviest = min(rack.loads[0] for rack in racks), max(rack.loads[-1] for rack in racks)
    count = len(loads.get("bars", ()))
    if not count or anchored(exercise):
        return _span(lightest, heaviest, unit)
    if not bars:
        return _("bar of unknown weight, plates to %(most)s") % {"most": _number(heaviest, unit)}
    words = ngettext("%(count)d bar", "%(count)d bars", count) % {"count": count}
    return f"{words}, {_span(lightest, heaviest, unit)}"


def _span(low: float, high: float, unit: str) -> str:
    if low == high:
        return _number(low, unit)
    return _("%(low)s to %(high)s") % {"low": _plain(low), "high": _number(high, unit)}


def _number(value: float, unit: str) -> str:
    return f"{_plain(value)}\u00a0{unit}"


def _plain(value: float) -> str:
    return number_format(f"{value:.2f}".rstrip("0").rstrip("."))
