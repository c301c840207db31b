"""What composing a client's week starts from, and a stored draft as engine terms."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from clients.cycles import cycle_days_of
from clients.models import Client, Draft, Place
from clients.reads.library import day_types_of, library_of
from clients.reads.own_slots import in_turns, with_own_slots
from programs.engine import terms
from programs.engine.compose import given_up
from programs.engine.compose.request import DayType, Slot, WeekRequest
from programs.merged import ends
from programs.models import Exercise, Outline
from programs.reads import weights_of

LETTERS = "ABCDEFG"


@dataclass(frozen=True, slots=True)
class ComposeInputs:
    """The request and what a page needs to name things: the library and the rows' ids by key, the outline's week.

    ``ids`` has hidden exercises too, which a pick may still hold; ``merged`` says what those stand for today that
    were merged into others.
    """

    request: WeekRequest
    library: Mapping[str, terms.Exercise]
    outline: Outline
    ids: Mapping[str, int]
    merged: Mapping[str, str]

    @property
    def cycle_days(self) -> int:
        """How long one round of the day types takes."""
        return round(self.request.cycle_days)

    def slots(self) -> dict[str, tuple[DayType, Slot]]:
        return {slot.key: (day, slot) for day in self.request.day_types for slot in day.slots}

    def day_types_in(self, document: Mapping[str, Any]) -> tuple[DayType, ...]:
        """The day types as they were with another document of the same draft."""
        return _day_types(self.outline, self.request.experience, document, document.get("order"))

    def session_name(self, day_key: str, occurrence: int) -> str:
        """ "Upper B", or the day type's name alone where it comes once a week."""
        day = next(day for day in self.request.day_types if day.key == day_key)
        return f"{day.name} {LETTERS[occurrence]}" if day.occurrences > 1 else day.name

    def names(self) -> dict[str, str]:
        """Names for the keys that reasons mention: exercises, slots, day types, and sessions as "upper:1"."""
        named = {key: exercise.name for key, exercise in self.library.items()}
        for day in self.request.day_types:
            named[day.key] = day.name
            named |= {slot.key: slot.title for slot in day.slots}
            named |= {f"{day.key}:{n}": self.session_name(day.key, n) for n in range(day.occurrences)}
        return named


def compose_inputs(
    client: Client,
    outline: Outline,
    place: Place,
    *,
    on: date,
    pins: tuple[terms.Pick, ...] = (),
    order: Mapping[str, Sequence[str]] | None = None,
    only_day: date | None = None,
    cycle_days: int | None = None,
    own: Mapping[str, Any] | None = None,
    rotated: Mapping[str, Any] | None = None,
    library: Mapping[str, terms.Exercise] | None = None,
) -> ComposeInputs:
    """Seventeen queries however large the library: exercises, outline, stations, limits, priorities, tastes, last
    block, the practice's weights.

    ``on`` is the day for age and limits. ``order`` lists slot keys by day type as the coach put them. What is away
    from the place on one day counts only with ``only_day``: a block lasts longer than that. ``cycle_days`` is how
    long a stored round takes, where that is not what the template says now; the dose is judged for seven days.
    ``own`` is a draft's or block's document with the slots that this client alone has, has not, or does in turns.
    ``rotated`` says which exercises of the last block no longer serve: {"stalled": [keys], "due": [keys]}.
    ``library`` is the practice's, where the caller has read it already.
    """
    library = library_of(client.practice) if library is None else library
    by_pk, merged = _keys(client)
    ids = {key: pk for pk, key in by_pk.items()}
    outline = Outline.objects.with_week().get(pk=outline.pk)
    limits = [limit for limit in client.limits.all() if limit.holds_on(on)]
    tastes = list(client.tastes.all())
    gone = {
        name: frozenset(merged.get(key, key) for key in (rotated or {}).get(name, [])) for name in ("stalled", "due")
    }
    request = WeekRequest(
        day_types=_day_types(outline, client.experience, own or {}, order),
        library=library,
        experience=client.experience,
        priorities={row.group: row.priority for row in client.priorities.all()},
        age=client.age_on(on),
        stations=stations_at(place, client, only_day),
        limits=tuple(terms.Limit(limit.joint, limit.strict, limit.side) for limit in limits if limit.joint),
        excluded=frozenset(by_pk[limit.exercise_id] for limit in limits if limit.exercise_id in by_pk),
        skill_allowed=skill_allowed_for(client),
        minutes_cap=float(client.minutes),
        pins=tuple(replace(pin, exercise=merged.get(pin.exercise, pin.exercise)) for pin in pins),
        likes=frozenset(by_pk[taste.exercise_id] for taste in tastes if taste.likes and taste.exercise_id in by_pk),
        dislikes=frozenset(
            by_pk[taste.exercise_id] for taste in tastes if not taste.likes and taste.exercise_id in by_pk
        ),
        previous=_of_last_block(client, merged) - gone["stalled"] - gone["due"],
        stalled=gone["stalled"],
        due=gone["due"],
        cycle_days=float(cycle_days or outline.cycle_days),
        weights=weights_of(client.practice),
    )
    return ComposeInputs(request, library, outline, ids, merged)


def skill_allowed_for(client: Client) -> str:
    """Novices learn basic and, with a coach, intermediate lifts; advanced ones only when the coach allows."""
    return "advanced" if client.advanced_skills or client.experience == "advanced" else "intermediate"


def stations_at(place: Place, client: Client, day: date | None) -> frozenset[str]:
    """Kinds of station at the place, plus what the client brings, less what is not there on ``day``."""
    stations = list(place.stations.prefetch_related("absences"))
    away = {
        absence.station_id
        for station in stations
        for absence in station.absences.all()
        if absence.day == day and not absence.plates
    }
    here = {station.kind for station in stations if station.pk not in away and station.count > 0}
    return frozenset(here | {item.kind for item in client.items.all()})


def picks_of(document: Mapping[str, Any], merged: Mapping[str, str] | None = None) -> tuple[terms.Pick, ...]:
    """The picks of a stored draft or block; ``merged`` says what its exercises stand for today."""
    now = merged or {}
    return tuple(
        terms.Pick(
            slot=pick["slot"],
            occurrence=pick["occurrence"],
            exercise=now.get(pick["exercise"], pick["exercise"]),
            sets=pick["sets"],
            pinned=bool(pick.get("pinned")),
        )
        for pick in document.get("picks", [])
    )


def pins_of(document: Mapping[str, Any]) -> tuple[terms.Pick, ...]:
    """What composing again must leave alone: pinned picks, their sets too where these are pinned, and what the
    coach left out."""
    pinned = [
        terms.Pick(row["slot"], row["occurrence"], row["exercise"], row["sets"] if row["pinned_sets"] else 0, (), True)
        for row in document.get("picks", [])
        if row["pinned"]
    ]
    left_out = [terms.Pick(slot, occurrence, "", 0, (), True) for slot, occurrence in document.get("left_out", [])]
    return (*pinned, *left_out)


def allowances_of(document: Mapping[str, Any]) -> tuple[terms.Because, ...]:
    """The limits that the coach has given up for a draft or block, in the words of what to do ("free.…")."""
    return tuple(terms.Because(**row) for row in document.get("given_up", []))


def draft_inputs(draft: Draft) -> ComposeInputs:
    """The inputs of a stored draft, its pins, its order of slots and what was given up for it among them."""
    inputs = compose_inputs(
        draft.client,
        draft.outline,
        draft.place,
        on=draft.starts_on,
        pins=pins_of(draft.document),
        order=draft.document.get("order"),
        cycle_days=cycle_days_of(draft.document),
        own=draft.document,
        rotated=draft.document.get("rotated"),
    )
    return replace(inputs, request=given_up(inputs.request, allowances_of(draft.document)))


def _day_types(
    outline: Outline, experience: str, own: Mapping[str, Any], order: Mapping[str, Sequence[str]] | None
) -> tuple[DayType, ...]:
    return in_turns(_ordered(with_own_slots(day_types_of(outline, experience), own), order or {}), own)


def _ordered(days: Sequence[DayType], order: Mapping[str, Sequence[str]]) -> tuple[DayType, ...]:
    """The coach's order; a slot that came to the template later stands at the end."""

    def place(day: DayType, slot: Slot) -> int:
        listed = list(order.get(day.key, ()))
        return listed.index(slot.key) if slot.key in listed else len(listed)

    return tuple(replace(day, slots=tuple(sorted(day.slots, key=lambda slot: place(day, slot)))) for day in days)


def _of_last_block(client: Client, merged: Mapping[str, str]) -> frozenset[str]:
    document = client.blocks.order_by("-number").values_list("document", flat=True).first()
    return frozenset(pick.exercise for pick in picks_of(document or {}, merged))


def _keys(client: Client) -> tuple[dict[int, str], dict[str, str]]:
    """The keys of all exercises by their rows' ids, and what merged ones stand for today. One query."""
    rows = list(Exercise.objects.for_practice(client.practice).values_list("pk", "public_id", "merged_into"))
    keys = {pk: str(public_id) for pk, public_id, _into in rows}
    return keys, ends({keys[pk]: keys[into] for pk, _public_id, into in rows if into is not None})
