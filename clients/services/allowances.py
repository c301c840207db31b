"""What a coach gives up so that a draft's week gets whole, and takes back again: limits of this draft alone.

A week that cannot be filled is offered ways out (``programs.engine.compose.ways_out``). Taking one releases pins or
leaves slots out where it says so, and writes the other limits into the draft as allowances: the client, the place and
the library stay as they are. Each is one journalled change.
"""

import hashlib
import json
from collections.abc import Mapping
from copy import copy
from dataclasses import replace
from typing import Any

from clients.models import Draft
from clients.reads.composing import ComposeInputs, draft_inputs, picks_of
from clients.services.drafts import editing
from clients.services.settling import (
    Place,
    proof_row,
    row_at,
    settle_anew,
    settle_around,
    settle_to,
    unfilled_places,
    with_pins,
)
from coachdesk.practice.models import Coach
from programs.engine.compose import WayOut, assess, given_up, ways_out
from programs.engine.compose.candidates import PIN_SETS_ASIDE, reasons_against
from programs.engine.compose.evaluate import Rules
from programs.engine.compose.solver import available
from programs.engine.compose.solver.relax import LEAVE, MINUTES, PIN
from programs.engine.compose.week import best_picks
from programs.engine.terms import Because


class NotOffered(Exception):
    """The way out is not among those that are open now: the draft, the client or the library changed in between."""


class NotAgreed(Exception):
    """The way would load a joint that is to be spared, and the coach has not ticked that this is agreed."""


def key_of(way: WayOut) -> str:
    """Names a way out by what it gives up."""
    steps = [[step.code, sorted(step.params.items())] for step in way.steps]
    return hashlib.sha256(json.dumps(steps).encode()).hexdigest()[:16]


def open_ways(inputs: ComposeInputs) -> tuple[WayOut, ...]:
    """The ways to a whole week, the cheapest first; none without the solver."""
    return ways_out(inputs.request) if available() else ()


def take_way_out(draft: Draft, revision: int, coach: Coach, key: str, *, agreed: bool = False) -> None:
    """Gives up what a way out says and fills what was empty; other picks stay.

    Raises NotOffered, or NotAgreed for one that loads a spared joint without ``agreed``.
    """
    inputs = draft_inputs(draft)
    way = next((way for way in open_ways(inputs) if key_of(way) == key), None)
    if way is None:
        raise NotOffered
    if way.needs_tick and not agreed:
        raise NotAgreed
    with editing(draft, revision, coach, "draft.give_up") as newest:
        document = newest.document
        for step in way.steps:
            _give_up(document, step)
        kept = tuple(step for step in way.steps if step.code not in (PIN, LEAVE))
        wider = replace(inputs, request=given_up(inputs.request, kept))
        settle_around(document, draft.document, wider, (), unfilled_places(document, wider))
        if unfilled_places(document, wider):
            _compose_whole(document, wider)


def take_back(draft: Draft, revision: int, coach: Coach, number: int) -> None:
    """An allowance, by its number in the list, is no more: what stood only by it is chosen anew, and stays empty
    where nothing else fits."""
    allowed = draft.document.get("given_up", [])
    kept = [row for index, row in enumerate(allowed) if index != number]
    narrower = copy(draft)
    narrower.document = {**draft.document, "given_up": kept}
    inputs = draft_inputs(narrower)
    with editing(draft, revision, coach, "draft.take_back") as newest:
        document = newest.document
        if len(kept) == len(allowed):
            return
        document["given_up"] = kept
        forbidden = _forbidden(document, inputs)
        document["picks"] = [row for row in document["picks"] if (row["slot"], row["occurrence"]) not in forbidden]
        settle_anew(document, inputs, forbidden | _in_long_sessions(document, inputs))


def _give_up(document: dict[str, Any], step: Because) -> None:
    rows = document["picks"]
    if step.code in (PIN, LEAVE):
        slot, occurrence = str(step.params["slot"]), int(step.params["occurrence"] or 0)
        present = row_at(rows, slot, occurrence)
        if present is not None and step.code == PIN:
            present.update(pinned=False, pinned_sets=False)
        elif present is not None:
            rows.remove(present)
        if step.code == LEAVE:
            document.setdefault("left_out", []).append([slot, occurrence])
        return
    allowed = document.setdefault("given_up", [])
    there = next((row for row in allowed if row["code"] == step.code == MINUTES), None)
    if there is not None:
        there["params"] = {**there["params"], "minutes": there["params"]["minutes"] + step.params["minutes"]}
    else:
        allowed.append({"code": step.code, "params": dict(step.params)})


def _forbidden(document: Mapping[str, Any], inputs: ComposeInputs) -> set[Place]:
    """Places whose exercise the client, the place or the library forbids now."""
    found = set()
    for pick in picks_of(document, inputs.merged):
        exercise = inputs.library.get(pick.exercise)
        if exercise is None:
            continue
        against = reasons_against(exercise, inputs.request)
        if any(not pick.pinned or why.code not in PIN_SETS_ASIDE for why in against):
            found.add((pick.slot, pick.occurrence))
    return found


def _in_long_sessions(document: Mapping[str, Any], inputs: ComposeInputs) -> set[Place]:
    """The places of sessions that take longer than they may."""
    week = assess(
        inputs.request, [pick for pick in picks_of(document, inputs.merged) if pick.exercise in inputs.library]
    )
    days = {day.key: day for day in inputs.request.day_types}
    long = [entry for entry in week.minutes if entry.cap is not None and entry.minutes > entry.cap]
    return {(slot.key, entry.occurrence) for entry in long for slot in days[entry.day].slots}


def _compose_whole(document: dict[str, Any], inputs: ComposeInputs) -> None:
    """The week anew around what is pinned, where only that fills it."""
    picks, proof = best_picks(Rules.of(with_pins(inputs, document)))
    before = len(unfilled_places(document, inputs))
    changed = {**document, "picks": [dict(row) for row in document["picks"]]}
    settle_to(changed, picks)
    if len(unfilled_places(changed, inputs)) < before:
        document["picks"] = changed["picks"]
        document["proof"] = proof_row(proof)
