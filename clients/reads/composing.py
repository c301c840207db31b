"""What composing a client's week starts from, and a stored draft as engine terms."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from clients.models import Client, Draft, Place
from clients.reads.library import day_types_of, library_of
from programs.engine import terms
from programs.engine.compose.request import WeekRequest
from programs.models import Exercise, Outline


@dataclass(frozen=True, slots=True)
class ComposeInputs:
    """The request and what a page needs to name things: the library by key and the outline with its week."""

    request: WeekRequest
    library: Mapping[str, terms.Exercise]
    outline: Outline


def compose_inputs(
    client: Client, outline: Outline, place: Place, *, on: date, pins: tuple[terms.Pick, ...] = ()
) -> ComposeInputs:
    """Twelve queries however large the library: exercises, outline, stations, limits, priorities, tastes, health."""
    library = library_of(client.practice)
    by_pk = dict(_keys(client))
    outline = Outline.objects.with_week().get(pk=outline.pk)
    limits = [limit for limit in client.limits.all() if limit.holds_on(on)]
    tastes = list(client.tastes.all())
    request = WeekRequest(
        day_types=day_types_of(outline, client.experience),
        library=library,
        experience=client.experience,
        priorities={row.group: row.priority for row in client.priorities.all()},
        age=client.age_on(on),
        stations=stations_at(place, client, on),
        limits=tuple(terms.Limit(limit.joint, limit.strict, limit.side) for limit in limits if limit.joint),
        excluded=frozenset(by_pk[limit.exercise_id] for limit in limits if limit.exercise_id in by_pk),
        skill_allowed=skill_allowed_for(client),
        minutes_cap=float(client.minutes),
        pins=pins,
        likes=frozenset(by_pk[taste.exercise_id] for taste in tastes if taste.likes and taste.exercise_id in by_pk),
        dislikes=frozenset(
            by_pk[taste.exercise_id] for taste in tastes if not taste.likes and taste.exercise_id in by_pk
        ),
        cycle_days=7.0,
    )
    return ComposeInputs(request, library, outline)


def skill_allowed_for(client: Client) -> str:
    """Novices learn basic and, with a coach, intermediate lifts; advanced ones only when the coach allows."""
    return "advanced" if client.advanced_skills or client.experience == "advanced" else "intermediate"


def stations_at(place: Place, client: Client, day: date) -> frozenset[str]:
    """Kinds of station at the place, plus what the client brings, less what is not there that day."""
    away = {
        absence.station_id
        for station in place.stations.prefetch_related("absences")
        for absence in station.absences.all()
        if absence.day == day and not absence.plates
    }
    here = {station.kind for station in place.stations.all() if station.pk not in away and station.count > 0}
    return frozenset(here | {item.kind for item in client.items.all()})


def picks_of(document: Mapping[str, Any]) -> tuple[terms.Pick, ...]:
    """The picks of a stored draft or block."""
    return tuple(
        terms.Pick(
            slot=pick["slot"],
            occurrence=pick["occurrence"],
            exercise=pick["exercise"],
            sets=pick["sets"],
            pinned=bool(pick.get("pinned")),
        )
        for pick in document.get("picks", [])
    )


def draft_inputs(draft: Draft) -> ComposeInputs:
    """The inputs of a stored draft, its pins among them."""
    pins = tuple(pick for pick in picks_of(draft.document) if pick.pinned)
    return compose_inputs(draft.client, draft.outline, draft.place, on=draft.starts_on, pins=pins)


def _keys(client: Client) -> list[tuple[int, str]]:
    rows = Exercise.objects.for_practice(client.practice).values_list("pk", "public_id")
    return [(pk, str(public_id)) for pk, public_id in rows]
