"""What a place offers, in words, for its own page."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise, product
from typing import Any

from django.db.models import Count, Q
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from clients.models import Place, Station
from clients.reads.racks import PlaceLoads, collars_of
from coachdesk.practice.models import Practice
from programs.engine import vocabulary
from programs.engine.racks import Rack, lopsided

EXACT = Decimal("0.001")
LIKE_WITHIN = 0.06  # 15 kg and 35 lb are 6 % apart and of one size to the eye; coaching practice
USUAL_STEPS = 2  # so many different steps are named; more become "from … to …"


@dataclass(frozen=True, slots=True)
class Offer:
    """One implement of a station: a bar, a stack, the rack of dumbbells. ``words`` say what can be loaded."""

    name: str
    words: str


def number(value: float | Decimal | str) -> str:
    exact = Decimal(str(value)).quantize(EXACT).normalize()
    return number_format(exact if exact != exact.to_integral() else exact.quantize(Decimal(1)))


def weight(value: float | Decimal | str, unit: str) -> str:
    return f"{number(value)} {unit}"


def rounded(value: float) -> str:
    """To a hundredth: what plates of two units come to has no end, and nobody reads on."""
    return number(round(value, 2))


def rack_words(rack: Rack) -> str:
    """“20–180 kg, steps of 2.5”; holes and bands are counted."""
    if not rack.loads:
        return _("nothing to load yet")
    if rack.names:
        return _("%(first)s to %(last)s, %(count)d bands") % {
            "first": rack.names[0],
            "last": rack.names[-1],
            "count": len(rack.names),
        }
    if rack.ordinal:
        return _("settings 1 to %d") % len(rack.loads)
    if len(rack.loads) == 1:
        return weight(rack.loads[0], rack.unit)
    words = {
        "low": rounded(rack.loads[0]),
        "high": f"{rounded(rack.loads[-1])} {rack.unit}",
        "steps": steps_words(rack.loads),
    }
    return _("%(low)s–%(high)s, steps of %(steps)s") % words


def steps_words(loads: Sequence[float]) -> str:
    """The steps between loads: all where there are two, else the least and the greatest."""
    steps = sorted({round(high - low, 3) for low, high in pairwise(loads)})
    if len(steps) <= USUAL_STEPS:
        return _(" and ").join(rounded(step) for step in steps)
    return _("%(least)s to %(most)s") % {"least": rounded(steps[0]), "most": rounded(steps[-1])}


def offers_of(station: Station, loads: PlaceLoads) -> list[Offer]:
    """What a station offers: one line a bar, else one."""
    if station.kind in vocabulary.APPARATUS:
        return []
    bars: list[dict[str, Any]] = station.loads.get("bars") or []
    if "plates" in station.loads and not bars:
        bars = [{"name": "", "weight": None, "unit": station.unit}]
    if not bars:
        return [Offer("", rack_words(loads.of_station(station)))]
    offers = []
    for bar in bars:
        only = Station(pk=station.pk, kind=station.kind, unit=station.unit, place=station.place)
        only.loads = {**station.loads, "bars": [bar], "collars": str(collars_of(station.loads, bar["unit"]))}
        if bar["weight"] is None:
            name = _("%s of unknown weight, plates alone") % (bar["name"] or _("sled"))
        else:
            name = f"{bar['name']} {weight(bar['weight'], bar['unit'])}"
        offers.append(Offer(name, rack_words(loads.of_station(only))))
    return offers


def plates_words(station: Station) -> str:
    """“25 kg × 4, 20 kg × 6”."""
    return ", ".join(
        f"{weight(row['weight'], row['unit'])} × {row['count']}" for row in station.loads.get("plates", [])
    )


def mistaken_words(station: Station) -> str:
    """Plates of two units that are taken for each other: how far one against the other puts the bar out of level."""
    sizes = sorted((float(row["weight"]), row["unit"]) for row in station.loads.get("plates", []) if int(row["count"]))
    kilos, pounds = ([size for size in sizes if size[1] == unit] for unit in ("kg", "lb"))
    found = []
    for one, other in product(kilos, pounds):
        off = lopsided([one], [other])
        if 0 < off <= LIKE_WITHIN * one[0]:
            words = {"one": weight(*one), "other": weight(*other), "off": weight(round(off, 2), "kg")}
            found.append(
                _("%(one)s and %(other)s look alike: one on each side leaves the bar %(off)s lopsided.") % words
            )
    return " ".join(found)


def places_with_counts(practice: Practice) -> list[Place]:
    """Places with ``stations_here`` and ``clients_here``: one query."""
    return list(
        Place.objects.for_practice(practice)
        .select_related("owner")
        .annotate(
            stations_here=Count("stations", filter=Q(stations__count__gt=0), distinct=True),
            clients_here=Count("clients", distinct=True),
        )
    )
