"""The seeded templates as what composing is asked, straight from the seed files, and the weeks that come of them."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from clients.starting_sets import SETS
from programs.engine import vocabulary
from programs.engine.calendar import (
    DAY_HOURS,
    USUAL_START_HOUR,
    WEEK_DAYS,
    Gap,
    PlacedSession,
    recovery_gaps,
    usual_offsets,
)
from programs.engine.compose import ComposedWeek, DayType, Slot, WeekRequest, compose
from programs.engine.compose.outlook import Outlook, outlook
from programs.engine.compose.recovering import session_loads
from programs.engine.terms import Exercise, JointStress, RegionShare
from programs.seeding import exercise_entries, outline_entries

Entry = dict[str, Any]


def slots_of(entry: Entry) -> Iterator[tuple[Entry, Entry]]:
    """(day, slot) of a template."""
    for day in entry["day"]:
        for slot in day["slot"]:
            yield day, slot


@cache
def library() -> dict[str, Exercise]:
    return {
        key: Exercise(
            key=key,
            name=entry["name"],
            pattern=entry["pattern"],
            role=entry["role"],
            regions=tuple(
                RegionShare(region, share, region in entry["stretched"]) for region, share in entry["regions"].items()
            ),
            implement=entry["implement"],
            load_entry=entry["load_entry"],
            skill=entry["skill"],
            angle=entry["angle"],
            grip=entry["grip"],
            limbs=entry["limbs"],
            needs_all=tuple(entry["needs_all"]),
            needs_one=tuple(tuple(choice) for choice in entry["needs_one"]),
            joints=tuple(JointStress(joint, severity) for joint, severity in entry["joints"].items()),
            rep_unit=entry["rep_unit"],
            rep_low=entry["rep_low"],
            rep_high=entry["rep_high"],
            rest_s=entry["rest_s"],
            tempo=entry["tempo"],
            load_step=float(entry["load_step_kg"]),
            bodyweight_fraction=float(entry["bodyweight_fraction"]),
        )
        for key, entry in exercise_entries().items()
    }


def day_types(entry: Entry, level: str) -> tuple[DayType, ...]:
    return tuple(
        DayType(
            key=day["key"],
            name=day["name"],
            occurrences=entry["order"].count(day["key"]),
            slots=tuple(_slot(day["key"], slot, level) for slot in day["slot"]),
            extra_minutes=float(sum(line["minutes"] for line in day.get("line", []))),
        )
        for day in entry["day"]
    )


def _slot(day: str, slot: Entry, level: str) -> Slot:
    low, high = slot["sets"][level]
    return Slot(
        key=slot["key"],
        day=day,
        title=slot["title"],
        regions=(slot["region"], *slot["also_regions"]),
        patterns=tuple(slot["patterns"]),
        role=slot["role"],
        sets_low=low,
        sets_high=high,
        reps=tuple((reps[0], reps[1]) for reps in slot["reps"]),
        rir=float(slot["rir"]),
        rest_s=slot["rest_s"],
        tempo=slot["tempo"],
        superset=slot["superset"],
        priority=slot["priority"],
        candidates=tuple(tuple(keys) for keys in slot["candidates"]),
    )


def stations_of(place: str) -> frozenset[str]:
    """Station kinds of one of the ready-made places; of the full gym, named by nothing, all there are."""
    if not place:
        return frozenset(vocabulary.STATION_KINDS)
    return frozenset(SETS[place].loaded) | frozenset(SETS[place].apparatus)


def asked(key: str, level: str, place: str) -> WeekRequest:
    entry = outline_entries()[key]
    return WeekRequest(
        day_types=day_types(entry, level),
        library=library(),
        experience=level,
        stations=stations_of(place),
        minutes_cap=entry.get("minutes"),
        cycle_days=float(cycle_of(entry)),
    )


@cache
def composed(key: str, level: str, place: str = "") -> ComposedWeek:
    return compose(asked(key, level, place))


def cycle_of(entry: Entry) -> int:
    return entry.get("cycle_days", WEEK_DAYS)


def short_gaps(key: str, level: str, place: str) -> list[Gap]:
    """Where a group is loaded again too soon, on the days that so many sessions usually fall on."""
    entry, week = outline_entries()[key], composed(key, level, place)
    loads = session_loads(asked(key, level, place), week.picks, entry["order"], week.audit)
    days = usual_offsets(len(loads), cycle_of(entry), entry.get("offsets", ()))
    placed = [PlacedSession(load, day * DAY_HOURS + USUAL_START_HOUR) for load, day in zip(loads, days, strict=True)]
    return [gap for gap in recovery_gaps(placed, cycle_of(entry) * DAY_HOURS) if not gap.enough]


def shown(key: str, level: str) -> Outlook:
    """What the template's own page shows before anything is composed."""
    entry = outline_entries()[key]
    days, offsets = day_types(entry, level), tuple(entry.get("offsets", ()))
    return outlook(days, library(), level, entry["order"], cycle_of(entry), offsets)
