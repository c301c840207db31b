"""The slots of one client's week: added, removed, put back, reordered and done in turns, each one journalled change.

Every function names the revision that was on screen, as those in ``drafts`` do. Where a slot comes or goes,
what that makes worth changing beside it changes too; everything else stays.
"""

from collections.abc import Mapping, Sequence
from copy import copy, deepcopy
from itertools import product
from string import ascii_uppercase
from typing import Any

from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs, picks_of
from clients.services.drafts import NotPossible, editing
from clients.services.settling import places_in, settle_around, settle_filled
from coachdesk.practice.models import Coach
from programs.engine.compose.pairing import pair_clash
from programs.engine.compose.request import DayType, Slot
from programs.engine.terms import Because
from programs.models import OutlineSlot
from programs.services.outline_slots import MOST_SLOTS
from programs.services.outline_work import free_key


def pair(draft: Draft, revision: int, coach: Coach, slot: str, *, above: bool = False) -> None:
    """A slot and its neighbour below, or above, are done in turns. NotPossible where their picks tire the same part."""
    inputs = draft_inputs(draft)
    day, first, second = _neighbours(inputs, slot, above=above)
    already = bool(first.superset) and first.superset == second.superset
    clash = None if already else _clash(draft, inputs, day, _with_partners(day, first), _with_partners(day, second))
    if clash is not None:
        raise NotPossible([clash])
    with editing(draft, revision, coach, "draft.pair", name=first.title, other=second.title) as newest:
        if already:
            return
        joined = {letter for letter in (first.superset, second.superset) if letter}
        wanted = newest.document.setdefault("supersets", {})
        letter = min(joined) if joined else _free_letter(day, wanted)
        template = {row.key: row.superset for rows in inputs.outline.days.all() for row in rows.slots.all()}
        for each in day.slots:
            if each in (first, second) or (each.superset and each.superset in joined):
                wanted[each.key] = letter
            elif not each.superset and wanted.get(each.key, template.get(each.key)) == letter:
                # What was parted from a superset of this letter is not taken into the new one unasked.
                wanted[each.key] = ""


def release(draft: Draft, revision: int, coach: Coach, slot: str) -> None:
    """Takes a slot out of its superset."""
    found = draft_inputs(draft).slots()[slot][1]
    with editing(draft, revision, coach, "draft.unpair", name=found.title) as newest:
        if found.superset:
            newest.document.setdefault("supersets", {})[slot] = ""


def place(draft: Draft, revision: int, coach: Coach, slot: str, to: int) -> None:
    """Puts a slot on another place of its day type, counted from 0, on every occurrence."""
    day, _slot = draft_inputs(draft).slots()[slot]
    with editing(draft, revision, coach, "draft.move") as newest:
        order = [each.key for each in day.slots]
        order.remove(slot)
        order.insert(min(max(to, 0), len(order)), slot)
        newest.document["order"][day.key] = order


def add(draft: Draft, revision: int, coach: Coach, day: str, values: Mapping[str, Any]) -> str:
    """A slot for this client alone at the end of a day type, filled with what fits best. Its key.

    ``values`` are title, region, role, sets and reps (lowest and highest), rir, rest_s and priority.
    """
    inputs = draft_inputs(draft)
    there = _day(inputs, day)
    if len(there.slots) >= MOST_SLOTS:
        raise NotPossible([Because("slot.day_full", {"day": day, "most": MOST_SLOTS})])
    key = free_key(f"{day} {values['title']}", _taken(draft, inputs), OutlineSlot.KEY_LENGTH, "slot")
    document = deepcopy(draft.document)
    document.setdefault("added_slots", []).append({**values, "key": key, "day": day})
    document["order"][day] = [*(slot.key for slot in there.slots), key]
    settle_filled(document, draft.document, _inputs(draft, document), [(key, n) for n in range(there.occurrences)])
    with editing(draft, revision, coach, "draft.slot_add", name=values["title"]) as newest:
        newest.document = document
    return key


def remove(draft: Draft, revision: int, coach: Coach, slot: str) -> None:
    """Takes a slot out of the client's week on every occurrence; what filled it is kept for putting it back."""
    inputs = draft_inputs(draft)
    day, found = inputs.slots()[slot]
    others = [each.key for each in day.slots if each.key != slot]
    if not others:
        raise NotPossible([Because("slot.last_one", {"day": day.key, "slot": slot})])
    document = deepcopy(draft.document)
    document.setdefault("removed_slots", []).append(
        {
            "slot": slot,
            "day": day.key,
            "title": found.title,
            "at": [each.key for each in day.slots].index(slot),
            "picks": [row for row in document["picks"] if row["slot"] == slot],
        }
    )
    document["picks"] = [row for row in document["picks"] if row["slot"] != slot]
    document["order"][day.key] = others
    settle_around(document, draft.document, _inputs(draft, document), ())
    with editing(draft, revision, coach, "draft.slot_remove", name=found.title) as newest:
        newest.document = document


def put_back(draft: Draft, revision: int, coach: Coach, slot: str) -> None:
    """Brings a removed slot back to its place with what filled it, unless another slot of the session has that now."""
    document = deepcopy(draft.document)
    removed = document.get("removed_slots", [])
    held = next((row for row in removed if row["slot"] == slot), None)
    if held is None:
        return
    removed.remove(held)
    order = document["order"].setdefault(held["day"], [])
    order.insert(min(held["at"], len(order)), slot)
    taken = {
        (row["occurrence"], row["exercise"])
        for row in document["picks"]
        if row["slot"] in document["order"][held["day"]]
    }
    document["picks"] += [row for row in held["picks"] if (row["occurrence"], row["exercise"]) not in taken]
    inputs = _inputs(draft, document)
    if slot in inputs.slots():
        day, _slot = inputs.slots()[slot]
        back = {(slot, occurrence) for occurrence in range(day.occurrences)}
        empty = sorted(back - places_in(document))
        settle_filled(document, draft.document, inputs, empty, touched=back.difference(empty))
    with editing(draft, revision, coach, "draft.slot_back", name=held["title"]) as newest:
        newest.document = document


def _inputs(draft: Draft, document: dict[str, Any]) -> ComposeInputs:
    """What the draft would be with another document."""
    changed = copy(draft)
    changed.document = document
    return draft_inputs(changed)


def _neighbours(inputs: ComposeInputs, slot: str, *, above: bool) -> tuple[DayType, Slot, Slot]:
    day, _slot = inputs.slots()[slot]
    at = [each.key for each in day.slots].index(slot) - (1 if above else 0)
    if not 0 <= at < len(day.slots) - 1:
        raise NotPossible([Because("pair.nothing_there", {"slot": slot})])
    return day, day.slots[at], day.slots[at + 1]


def _with_partners(day: DayType, slot: Slot) -> list[Slot]:
    """The slot with those it takes turns with already."""
    return [each for each in day.slots if each == slot or (slot.superset and each.superset == slot.superset)]


def _clash(
    draft: Draft, inputs: ComposeInputs, day: DayType, ones: Sequence[Slot], others: Sequence[Slot]
) -> Because | None:
    """Why slots should not be done in turns: on some occurrence a pick of the one side tires what one of the other
    needs. Turns come round, so that every pair of a longer superset meets."""
    at = {(pick.slot, pick.occurrence): pick.exercise for pick in picks_of(draft.document, inputs.merged)}
    for occurrence, first, second in product(range(day.occurrences), ones, others):
        both = (at.get((first.key, occurrence), ""), at.get((second.key, occurrence), ""))
        one, other = (inputs.library.get(key) for key in both)
        if one is not None and other is not None:
            found = pair_clash(one, other, day=day.key, occurrence=occurrence)
            if found is not None:
                return found
    return None


def _free_letter(day: DayType, wanted: Mapping[str, str]) -> str:
    taken = {slot.superset for slot in day.slots} | {wanted.get(slot.key, "") for slot in day.slots}
    return next(letter for letter in ascii_uppercase if letter not in taken)


def _day(inputs: ComposeInputs, key: str) -> DayType:
    return next(day for day in inputs.request.day_types if day.key == key)


def _taken(draft: Draft, inputs: ComposeInputs) -> set[str]:
    """Keys of slots that are or were in the client's week."""
    rows: Sequence[Mapping[str, Any]] = draft.document.get("removed_slots", [])
    added: Sequence[Mapping[str, Any]] = draft.document.get("added_slots", [])
    outline = {slot.key for day in inputs.outline.days.all() for slot in day.slots.all()}
    return outline | {row["slot"] for row in rows} | {row["key"] for row in added}
