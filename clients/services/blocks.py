"""Assigning a draft: what was on screen becomes a block with its sessions, lines and target sets."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction

from clients.models import Block, Client, Draft, Prescription, RecentSet, TargetSet, TrainingSession
from clients.reads.composing import ComposeInputs, compose_inputs, picks_of
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of
from clients.reads.library import exercise_term
from clients.reads.loads import FirstLoad, first_load
from clients.reads.racks import PlaceLoads
from clients.services.drafts import StaleDraft, locked
from coachdesk.practice import journal
from coachdesk.practice.models import Coach
from programs.engine import terms
from programs.engine.compose import assess, reps_for
from programs.engine.compose.request import Slot
from programs.engine.progress.steps import share_of_sets
from programs.engine.terms import Because
from programs.models import Exercise, OutlineDay
from programs.units import columns, load_of

WEEK_DAYS = 7
FIRST_SESSION_SETS = 0.65  # a first session has 60 to 70 % of the planned sets (coaching practice)
FIRST_SESSION_RIR = 3.0
DELOAD_SETS = 0.5
DELOAD_RIR = 2.0
MOST_RIR = 5.0
OCCURRENCES = "ABCDEFG"


@dataclass(frozen=True, slots=True)
class _Plan:
    """All that writing the sessions of a block needs, gathered once."""

    draft: Draft
    inputs: ComposeInputs
    standing: Standing
    loads: PlaceLoads
    history: History
    rows: dict[str, Exercise]
    recent: dict[int, list[RecentSet]]
    new_client: bool
    slots: dict[str, Slot]


def assign_block(draft: Draft, revision: int, coach: Coach) -> Block:
    """Writes exactly what was on screen. Raises StaleDraft when the draft has changed since; solves nothing again.

    The client's active block ends; one journal entry can put all of it back.
    """
    with transaction.atomic():
        newest = locked(draft)
        if newest.revision != revision or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        plan = _gather(newest)
        client = newest.client
        with journal.act(client.practice, coach, "block.assign", about=f"client:{client.public_id}") as entry:
            for active in client.blocks.filter(state=Block.State.ACTIVE):
                entry.change(active)
                active.state = Block.State.ENDED
                active.save(update_fields=["state"])
            entry.change(newest)
            newest.state = Draft.State.ASSIGNED
            newest.save(update_fields=["state", "changed_at"])
            block = Block.objects.create(
                client=client,
                outline=newest.outline,
                place=newest.place,
                number=(client.blocks.order_by("-number").values_list("number", flat=True).first() or 0) + 1,
                starts_on=newest.starts_on,
                weeks=newest.weeks,
                deload_weeks=newest.deload_weeks,
                document=newest.document,
            )
            entry.made(block)
            made = _write_sessions(block, plan)
            entry.made(*made)
            if client.outline_id != newest.outline_id or client.place_id != newest.place_id:
                entry.change(client)
                client.outline, client.place = newest.outline, newest.place
                client.save(update_fields=["outline", "place"])
    draft.refresh_from_db()
    return block


def _gather(draft: Draft) -> _Plan:
    client = draft.client
    inputs = compose_inputs(client, draft.outline, draft.place, on=draft.starts_on)
    rows = Exercise.objects.for_practice(client.practice).with_facts()
    recent: dict[int, list[RecentSet]] = {}
    for row in client.recent_sets.all():
        recent.setdefault(row.exercise_id, []).append(row)
    history = history_of(client, draft.place.unit)
    return _Plan(
        draft=draft,
        inputs=inputs,
        standing=standing_of(client, draft.starts_on),
        loads=PlaceLoads(draft.place, client, None),
        history=history,
        rows={row.key: row for row in rows},
        recent=recent,
        new_client=not history.by_exercise,
        slots={slot.key: slot for day in inputs.request.day_types for slot in day.slots},
    )


def session_dates(draft_start: date, weekdays: Sequence[int | None], week: int) -> list[date | None]:
    """The dates of one week's sessions, in the order of the week; None for clients without fixed days.

    Week 1 begins on the start date: a session whose weekday is already past falls into the days that follow.
    """
    first = draft_start + timedelta(days=WEEK_DAYS * (week - 1))
    return [
        None if weekday is None else first + timedelta(days=(weekday - first.weekday()) % WEEK_DAYS)
        for weekday in weekdays
    ]


def _write_sessions(block: Block, plan: _Plan) -> list[Any]:
    """Sessions, lines and sets of all weeks, in bulk: three inserts and the days of the outline."""
    draft = plan.draft
    picks = picks_of(draft.document)
    minutes = {
        (entry.day, entry.occurrence): math.ceil(entry.minutes) for entry in assess(plan.inputs.request, picks).minutes
    }
    days = {day.key: day for day in plan.inputs.outline.days.all()}
    placed = draft.document["days"]
    first_dates = session_dates(draft.starts_on, [row["weekday"] for row in placed], 1)
    first_week = sorted(zip(placed, first_dates, strict=True), key=lambda pair: pair[1] or draft.starts_on)
    order = [row for row, _day in first_week]
    sessions: list[TrainingSession] = []
    for week in range(1, draft.weeks + 1):
        dates = session_dates(draft.starts_on, [row["weekday"] for row in order], week)
        for position, (row, day) in enumerate(zip(order, dates, strict=True)):
            many = sum(other["day"] == row["day"] for other in order) > 1
            letter = f" {OCCURRENCES[row['occurrence']]}" if many else ""
            sessions.append(
                TrainingSession(
                    block=block,
                    cycle=week,
                    position=position,
                    day_key=row["day"],
                    occurrence=row["occurrence"],
                    name=f"{days[row['day']].name}{letter}",
                    planned_on=day,
                    minutes=minutes.get((row["day"], row["occurrence"])),
                    deload=week in draft.deload_weeks,
                )
            )
    TrainingSession.objects.bulk_create(sessions)
    lines: list[Prescription] = []
    targets: list[TargetSet] = []
    for index, session in enumerate(sessions):
        mine = _lines(session, plan, picks, days[session.day_key], first_ever=plan.new_client and index == 0)
        for position, (line, sets) in enumerate(mine):
            line.position = position
            lines.append(line)
            targets.extend(sets)
    Prescription.objects.bulk_create(lines)
    TargetSet.objects.bulk_create(targets)
    return [*sessions, *lines, *targets]


def _lines(
    session: TrainingSession, plan: _Plan, picks: Sequence[terms.Pick], day: OutlineDay, *, first_ever: bool
) -> list[tuple[Prescription, list[TargetSet]]]:
    here = {pick.slot: pick for pick in picks if pick.occurrence == session.occurrence}
    pinned = {(row["slot"], row["occurrence"]): row for row in plan.draft.document["picks"]}
    reasons = {slot.key: slot.reason for slot in day.slots.all()}
    free = [
        (line.at_start, Prescription(session=session, text=line.text, minutes=line.minutes)) for line in day.lines.all()
    ]
    lines: list[tuple[Prescription, list[TargetSet]]] = [(line, []) for at_start, line in free if at_start]
    for slot_key in plan.draft.document["order"][session.day_key]:
        pick = here.get(slot_key)
        if pick is None:
            continue
        slot, row = plan.slots[slot_key], plan.rows[pick.exercise]
        term = plan.inputs.library.get(pick.exercise) or exercise_term(row)  # hidden since it was picked
        offered = plan.loads.for_exercise(term)
        rir = max(float(slot.rir or 0), plan.standing.effort.rir)
        sets = pick.sets
        if first_ever:
            sets, rir = share_of_sets(sets, FIRST_SESSION_SETS), max(rir, FIRST_SESSION_RIR)
        if session.deload:
            sets, rir = share_of_sets(sets, DELOAD_SETS), min(rir + DELOAD_RIR, MOST_RIR)
        low, high = reps_for(slot, session.occurrence, term)
        start = _start(plan, term, row, (low, high), rir) if session.cycle == 1 else None
        choice = pinned[slot_key, session.occurrence]
        line = Prescription(
            session=session,
            slot_key=slot_key,
            slot_title=slot.title,
            role=slot.role,
            exercise=row,
            station=offered.station,
            superset=slot.superset,
            reason_text=reasons.get(slot_key, ""),
            reasons=[_because(reason) for reason in (start.reasons if start else ())],
            pinned=[name for name, key in (("exercise", "pinned"), ("sets", "pinned_sets")) if choice.get(key)],
            finds_load=bool(start and start.find),
        )
        load = load_of(start.load, offered.rack.unit) if start is not None and start.load is not None else None
        amounts = {
            "reps": {"reps_low": low, "reps_high": high},
            "seconds": {"seconds": low},
            "metres": {"metres": low},
        }[term.rep_unit]
        lines.append(
            (
                line,
                [
                    TargetSet(
                        prescription=line,
                        number=number,
                        rir=rir if term.rep_unit == "reps" else None,
                        rest_s=max(slot.rest_s or term.rest_s, plan.standing.effort.rest_s or 0),
                        tempo=slot.tempo or term.tempo,
                        **amounts,
                        **columns(load),
                    )
                    for number in range(1, sets + 1)
                ],
            )
        )
    lines.extend((line, []) for at_start, line in free if not at_start)
    return lines


def _start(plan: _Plan, term: terms.Exercise, row: Exercise, reps: tuple[int, int], rir: float) -> FirstLoad:
    client: Client = plan.draft.client
    return first_load(
        term,
        plan.loads.for_exercise(term).rack,
        reps=math.ceil(sum(reps) / 2) if term.rep_unit == "reps" else None,
        rir=rir,
        recent=plan.recent.get(row.pk, []),
        exposures=plan.history.of(row),
        bodyweight=plan.history.bodyweight,
        on=plan.draft.starts_on,
        age=client.age_on(plan.draft.starts_on),
        effort=plan.standing.effort,
    )


def _because(reason: Because) -> dict[str, Any]:
    return {"code": reason.code, "params": dict(reason.params)}
