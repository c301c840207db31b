"""What differs between two versions of a week, as reasons with names for every part."""

from collections.abc import Mapping
from typing import Any

from clients.cycles import day_of
from clients.reads.composing import ComposeInputs
from programs.engine.terms import Because, Params


def differences(old: Mapping[str, Any], new: Mapping[str, Any], inputs: ComposeInputs) -> list[Because]:
    """In the order of the week: exercises, sets, what is left out or filled, pins; then the order and the days."""
    found: list[Because] = []
    before, after = _by_place(old, inputs), _by_place(new, inputs)
    for day in inputs.request.day_types:
        for occurrence in range(day.occurrences):
            for slot in day.slots:
                place = (slot.key, occurrence)
                here: Params = {"day": day.key, "occurrence": occurrence, "slot": slot.key}
                found += _of_place(here, before.get(place), after.get(place))
    for day in inputs.request.day_types:
        if old.get("order", {}).get(day.key) != new.get("order", {}).get(day.key):
            found.append(Because("change.order", {"day": day.key}))
    return found + _days(old, new)


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
