"""What differs between two versions of a week, as reasons with names for every part."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from clients.cycles import day_of
from clients.reads.composing import ComposeInputs
from clients.reads.course import plan_of
from programs.engine.compose.request import DayType
from programs.engine.terms import Because, Params


def differences(old: Mapping[str, Any], new: Mapping[str, Any], inputs: ComposeInputs) -> list[Because]:
    """Slots that came or went and what is done in turns; then in the order of the week exercises, sets, what is left
    out or filled, pins; then the order, the days, and how the sets run over the block."""
    found = [*_slots(old, new), *_turns(inputs.day_types_in(old), inputs.request.day_types)]
    came = {row["key"] for row in _added(new)} - {row["key"] for row in _added(old)}
    came |= {row["slot"] for row in _removed(old)} - {row["slot"] for row in _removed(new)}
    before, after = _by_place(old, inputs), _by_place(new, inputs)
    for day in inputs.request.day_types:
        for occurrence in range(day.occurrences):
            for slot in day.slots:
                place = (slot.key, occurrence)
                if slot.key in came and place not in before:
                    continue
                here: Params = {"day": day.key, "occurrence": occurrence, "slot": slot.key}
                found += _of_place(here, before.get(place), after.get(place))
    for day in inputs.request.day_types:
        was, now = old.get("order", {}).get(day.key, []), new.get("order", {}).get(day.key, [])
        if [slot for slot in was if slot in now] != [slot for slot in now if slot in was]:
            found.append(Because("change.order", {"day": day.key}))
    return found + _days(old, new) + _course(old, new)


def _added(document: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return list(document.get("added_slots", []))


def _removed(document: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return list(document.get("removed_slots", []))


def _slots(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Because]:
    def missing(here: list[Mapping[str, Any]], there: list[Mapping[str, Any]], name: str) -> list[Mapping[str, Any]]:
        known = {row[name] for row in there}
        return [row for row in here if row[name] not in known]

    return [
        *(_of_slot("change.slot_added", row) for row in missing(_added(new), _added(old), "key")),
        *(_of_slot("change.slot_not_added", row) for row in missing(_added(old), _added(new), "key")),
        *(_of_slot("change.slot_removed", row) for row in missing(_removed(new), _removed(old), "slot")),
        *(_of_slot("change.slot_back", row) for row in missing(_removed(old), _removed(new), "slot")),
    ]


def _of_slot(code: str, row: Mapping[str, Any]) -> Because:
    return Because(code, {"day": row["day"], "title": row["title"]})


def _turns(old: Sequence[DayType], new: Sequence[DayType]) -> list[Because]:
    """New pairs of neighbours done in turns, and slots that are not any more."""
    paired, alone = [], []
    before = {pair for day in old for pair in _pairs(day)}
    were = {slot for pair in before for slot in pair}
    for day in new:
        pairs = _pairs(day)
        inside = {slot for pair in pairs for slot in pair}
        paired += [
            Because("change.paired", {"day": day.key, "slot": one, "other": other})
            for one, other in pairs
            if (one, other) not in before and (other, one) not in before
        ]
        alone += [
            Because("change.by_itself", {"day": day.key, "slot": slot.key})
            for slot in day.slots
            if slot.key in were - inside
        ]
    return [*paired, *alone]


def _pairs(day: DayType) -> list[tuple[str, str]]:
    neighbours = pairwise(day.slots)
    return [(one.key, other.key) for one, other in neighbours if one.superset and one.superset == other.superset]


def _by_place(document: Mapping[str, Any], inputs: ComposeInputs) -> dict[tuple[str, int], Mapping[str, Any]]:
    """What was merged into another exercise since is that exercise: no change."""
    return {
        (row["slot"], row["occurrence"]): {**row, "exercise": inputs.merged.get(row["exercise"], row["exercise"])}
        for row in document.get("picks", [])
    }


def _of_place(here: Params, before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> list[Because]:
    if before is None and after is None:
        return []
    if after is None:
        return [Because("change.left_out", {**here, "exercise": before["exercise"]})] if before else []
    if before is None:
        return [Because("change.filled", {**here, "exercise": after["exercise"], "sets": after["sets"]})]
    found = []
    if before["exercise"] != after["exercise"]:
        found.append(Because("change.exercise", {**here, "exercise": before["exercise"], "other": after["exercise"]}))
    if before["sets"] != after["sets"]:
        found.append(
            Because(
                "change.sets",
                {**here, "exercise": after["exercise"], "before": before["sets"], "after": after["sets"]},
            )
        )
    held, holds = bool(before["pinned"]), bool(after["pinned"])
    if held != holds and not found:
        code = "change.pinned" if holds else "change.released"
        found.append(Because(code, {**here, "exercise": after["exercise"]}))
    return found


def _days(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Because]:
    before = {(row["day"], row["occurrence"]): day_of(row) for row in old.get("days", [])}
    found = []
    for row in new.get("days", []):
        now = day_of(row)
        was = before.get((row["day"], row["occurrence"]), now)
        if was == now:
            continue
        where: Params = {"day": row["day"], "occurrence": row["occurrence"]}
        if "offset" in row and now is not None:
            found.append(Because("change.cycle_day", {**where, "on": now + 1}))
        else:
            found.append(Because("change.day", {**where, "weekday": now, "before": was}))
    return found


def _course(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Because]:
    was, now = plan_of(old), plan_of(new)
    if was == now:
        return []
    if now.kind == "flat":
        return [Because("change.course_flat", {})]
    return [Because("change.course_ramp", {"every": now.every})]
