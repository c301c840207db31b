"""The next block from one that runs or ran: its week composed again with what the coach had of their own in it.

Slots that this client alone has or has not go along, with their order, supersets and priorities; so do pins, what was
left out, limits that were given up, chosen days, and how the sets run. Exercises stay, or give way where they no longer
serve; what is pinned always stays, unless the client's limits or the place forbid it by now.
"""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from datetime import date
from typing import Any

from clients.models import Block, Draft
from clients.reads.composing import ComposeInputs, allowances_of, compose_inputs, picks_of
from clients.reads.rotating import rotated_of
from clients.services.drafts import composed, open_draft
from clients.services.settling import row_at
from coachdesk.practice.models import Coach
from programs.engine.compose import given_up
from programs.engine.compose.candidates import pin_reasons
from programs.engine.compose.request import WeekRequest
from programs.engine.compose.rotation import KEEP, ROTATE
from programs.engine.terms import Pick
from programs.services.outline_work import newest_version

ALL = "all"  # every exercise stays
WAYS = (ALL, KEEP, ROTATE)
# Parts of a document that are the coach's own and not the composer's.
CARRIED = ("added_slots", "removed_slots", "supersets", "order", "left_out", "given_up", "course")


def next_from(
    block: Block, coach: Coach, *, starts_on: date, weeks: int, deload_weeks: Sequence[int], way: str = KEEP
) -> Draft:
    """Opens a draft like the block, from the template's newest version. Open drafts of the client are dropped.

    ``way``: "all" exercises stay; "keep": those that stalled give way; "rotate": also those done long enough.
    ValueError for another.
    """
    if way not in WAYS:
        raise ValueError(f"no such way to go on: {way}")
    client, outline = block.client, newest_version(block.outline)
    rotated = {} if way == ALL else rotated_of(client, starts_on, way)
    own = {name: deepcopy(block.document[name]) for name in CARRIED if name in block.document}
    inputs = compose_inputs(
        client,
        outline,
        block.place,
        on=starts_on,
        order=own.get("order"),
        cycle_days=block.cycle_days,
        own=own,
        rotated=rotated,
    )
    request = given_up(inputs.request, allowances_of(own))
    gone = _giving_way(block.document, inputs, rotated)
    request = replace(request, pins=_held(block.document, inputs, request, gone))
    inputs = replace(inputs, request=request)
    week = composed(client, replace(inputs, request=replace(request, excluded=request.excluded | gone)), rotated)
    if gone and len(week["picks"]) < len(block.document.get("picks", [])):
        week = _fuller(week, composed(client, inputs, rotated))
    document = {**week, **{name: own[name] for name in own if name != "order"}}
    _put_pins(document, block.document, inputs)
    _put_days(document, block.document)
    return open_draft(
        client,
        coach,
        document,
        outline=outline,
        place=block.place,
        starts_on=starts_on,
        weeks=weeks,
        deload_weeks=deload_weeks,
    )


def _giving_way(
    before: Mapping[str, Any], inputs: ComposeInputs, rotated: Mapping[str, Sequence[str]]
) -> frozenset[str]:
    """The exercises that are exchanged: what stalled or is due, less what the coach pinned."""
    pinned = {pick.exercise for pick in picks_of(before, inputs.merged) if pick.pinned}
    return frozenset(inputs.merged.get(key, key) for keys in rotated.values() for key in keys) - pinned


def _fuller(without: dict[str, Any], with_all: dict[str, Any]) -> dict[str, Any]:
    """What would give way stays where nothing else could fill its place."""
    return with_all if len(with_all["picks"]) > len(without["picks"]) else without


def _held(
    before: Mapping[str, Any], inputs: ComposeInputs, request: WeekRequest, gone: frozenset[str]
) -> tuple[Pick, ...]:
    """What composing leaves where it is: all that does not give way.

    Sets are held where the coach pinned them; others follow from the week.
    """
    fixed = {(row["slot"], row["occurrence"]) for row in before.get("picks", []) if row.get("pinned_sets")}
    picks = [
        replace(pick, sets=pick.sets if (pick.slot, pick.occurrence) in fixed else 0, pinned=True)
        for pick in picks_of(before, inputs.merged)
        if pick.exercise not in gone
    ]
    empty = [Pick(slot, occurrence, "", 0, (), True) for slot, occurrence in before.get("left_out", [])]
    return (*(pick for pick in picks if not pin_reasons(request, pick)), *empty)


def _put_pins(document: dict[str, Any], before: Mapping[str, Any], inputs: ComposeInputs) -> None:
    """Only the coach's pins are pins of the new draft; all else may move when it is edited."""
    held = {(row["slot"], row["occurrence"]): row for row in before.get("picks", [])}
    for row in document["picks"]:
        was = held.get((row["slot"], row["occurrence"]))
        same = was is not None and inputs.merged.get(was["exercise"], was["exercise"]) == row["exercise"]
        row["pinned"] = bool(same and was and was.get("pinned"))
        row["pinned_sets"] = bool(same and was and was.get("pinned_sets"))
    document["left_out"] = [place for place in before.get("left_out", []) if row_at(document["picks"], *place) is None]


def _put_days(document: dict[str, Any], before: Mapping[str, Any]) -> None:
    """Days that the coach chose stay, where the sessions are the same."""

    def sessions(rows: Sequence[Mapping[str, Any]]) -> set[tuple[str, int]]:
        return {(row["day"], row["occurrence"]) for row in rows}

    days = before.get("days", [])
    if before.get("days_chosen") and sessions(days) == sessions(document["days"]):
        document["days"], document["days_chosen"] = deepcopy(days), True
