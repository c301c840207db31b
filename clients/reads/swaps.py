"""Approved stand-ins for a station that is taken: the same intent filled from the same place."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from clients.models import Client, TrainingSession
from clients.reads.composing import allowances_of, compose_inputs, picks_of
from programs.engine import terms
from programs.engine.compose import given_up
from programs.engine.compose.evaluate import Rules, by_place
from programs.engine.compose.explain import stand_ins
from programs.engine.terms import Pick
from programs.models import Exercise

SWAPS_A_LINE = 2
LOOKED_AT = 8  # the best of them, among which another implement comes first
AGREED_STATIONS = ("free.add_station", "free.add_one_station")


def swaps_for(
    session: TrainingSession, client: Client, library: Mapping[str, terms.Exercise] | None = None
) -> dict[str, Sequence[Exercise]]:
    """Slot key to at most two exercises that honour every limit and are not in the session already.

    ``library`` is the practice's, for a caller that asks for many sessions.
    """
    block = session.block
    day = session.planned_on
    inputs = compose_inputs(
        client,
        block.outline,
        session.place,
        on=day or block.starts_on,
        order=block.document.get("order"),
        only_day=day,
        own=block.document,
        library=library,
    )
    # A minute more does not matter when the station is taken; every other limit holds. Stations that were agreed
    # for the block are there; a joint that may be loaded by agreement is not loaded by a stand-in for all that.
    stations = [step for step in allowances_of(block.document) if step.code in AGREED_STATIONS]
    request = replace(given_up(inputs.request, stations if session.place == block.place else ()), minutes_cap=None)
    # The session's own lines before what was planned: part of a block may be done otherwise.
    own = {
        (row.slot_key, session.occurrence): Pick(
            row.slot_key,
            session.occurrence,
            inputs.merged.get(row.exercise.key, row.exercise.key),
            sum(target.kind != "warm_up" for target in row.target_sets.all()),
        )
        for row in session.prescriptions.all()
        if row.exercise is not None
    }
    planned = {(pick.slot, pick.occurrence): pick for pick in picks_of(block.document, inputs.merged)}
    rules = Rules.of(request)
    at = by_place(request, {**planned, **own}.values())
    present = {str(row.exercise.public_id) for row in session.prescriptions.all() if row.exercise is not None}
    # The template may have lost a slot since: then nothing says what else would do.
    slots = {slot.key for day in inputs.request.day_types for slot in day.slots}
    chosen: dict[str, list[str]] = {}
    for row in session.prescriptions.all():
        if row.exercise is None or row.slot_key not in slots:
            continue
        own_implement = row.exercise.implement
        tried, _left_out = stand_ins(rules, at, row.slot_key, session.occurrence)
        ranked = [trial.exercise for trial in tried[:LOOKED_AT] if trial.exercise not in present]
        # A taken station calls for another implement first.
        ranked.sort(key=lambda key: inputs.library[key].implement == own_implement)
        chosen[row.slot_key] = ranked[:SWAPS_A_LINE]
    keys = {key for keys in chosen.values() for key in keys}
    rows = (
        Exercise.objects.for_practice(client.practice).filter(public_id__in=keys).with_facts().prefetch_related("texts")
    )
    by_key = {row.key: row for row in rows}
    return {slot: [by_key[key] for key in keys if key in by_key] for slot, keys in chosen.items()}
