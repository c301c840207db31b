"""Doing part of a running block otherwise, as it was shown: lines, places, and the joint to spare.

Sheets that are out are superseded; what lies behind the last date is left alone, so that it goes on from before. One
undo takes all of it back.
"""

import math

from django.db import transaction

from clients.models import Block, Client, Limit, Prescription, SheetVersion, TargetSet, TrainingSession
from clients.reads.part_of_block import Asked, Part, Week, plan
from clients.reads.starting import Starting
from clients.services import logs
from clients.services.proposing import overtake
from clients.services.sheets import reissue_all_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import terms
from programs.engine.compose import reps_for
from programs.engine.compose.request import Slot
from programs.units import columns, load_of


class Otherwise(Exception):
    """What was shown is not what would be done: something changed in between."""


def change_part(client: Client, coach: Coach, asked: Asked, digest: str) -> JournalEntry | None:
    """Does what ``plan`` showed. Raises Otherwise when it would be something else by now."""
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.act(client.practice, coach, "sessions.part", about=about) as entry:
        part = plan(client, asked)
        if part is None or part.digest != digest:
            raise Otherwise
        for joint in asked.joints:
            _spare(client, asked, joint, entry)
        for week in part.weeks:
            _write(client, part, week, entry)
        touched = {step.session.pk: step.session for week in part.weeks for step in week.steps}
        touched |= {row.pk: row for week in part.weeks for row in week.rows if row.elsewhere_id or asked.place}
        reissue_all_out(touched.values(), coach, entry)
        overtake(touched)
        entry.params["count"] = len(touched)
    logs.reviewed_later(client.pk)
    return entry.entry


def _spare(client: Client, asked: Asked, joint: str, entry: journal.Recording) -> None:
    """Notes the joint as one to spare, where it is not noted already for all of that time."""
    for row in client.limits.filter(joint=joint, strict=asked.strict, side=asked.side):
        if row.holds_on(asked.since) and (row.until is None or (asked.until is not None and asked.until <= row.until)):
            return
    made = Limit.objects.create(
        client=client,
        joint=joint,
        strict=asked.strict,
        side=asked.side,
        since=asked.since,
        until=asked.until,
    )
    entry.made(made)


def _write(client: Client, part: Part, week: Week, entry: journal.Recording) -> None:
    elsewhere = None if week.place == part.block.place else week.place
    entry.change(*week.rows)
    changed = {step.session.pk for step in week.steps}
    for row in week.rows:
        row.elsewhere = elsewhere
        if row.pk in changed and row.minutes is not None:
            row.minutes = max(1, row.minutes + math.ceil(week.minutes_more(row.day_key, row.occurrence)))
    TrainingSession.objects.bulk_update(week.rows, ["elsewhere", "minutes"])
    if not week.steps:
        return
    starting = Starting.gather(client, week.place, part.asked.since, week.inputs.ids)
    slots = {key: slot for key, (_day, slot) in week.inputs.slots().items()}
    out = set(
        SheetVersion.objects.filter(session__in=week.rows, state=SheetVersion.State.ISSUED).values_list(
            "session", flat=True
        )
    )
    first: dict[tuple[str, int], int] = {}
    for row in week.rows:
        first.setdefault((row.day_key, row.occurrence), row.pk)
    for step in week.steps:
        row = step.session
        # Later sessions start from what the first one shows: their loads are proposed then.
        now = row.pk in out or first[row.day_key, row.occurrence] == row.pk
        slot = slots.get(step.line.slot_key)
        if step.exercise is None or slot is None:
            _take_out(step.line, entry)
        else:
            _rewrite(step.line, step.exercise, slot, row.occurrence, starting, entry, now=now)
    if elsewhere is None and (part.asked.until is None or part.asked.until >= part.block.last_day):
        _keep_in_document(part.block, week, entry)


def _take_out(line: Prescription, entry: journal.Recording) -> None:
    entry.change(line, *line.target_sets.all())
    Prescription.objects.filter(pk=line.pk).delete()


def _rewrite(
    line: Prescription,
    term: terms.Exercise,
    slot: Slot,
    occurrence: int,
    starting: Starting,
    entry: journal.Recording,
    *,
    now: bool,
) -> None:
    """The line for another exercise, or for the same one with the loads of another place."""
    present = list(line.target_sets.all())
    same = line.exercise is not None and line.exercise.key == term.key
    work = [target for target in present if target.kind != "warm_up"]
    rir = next((float(target.rir) for target in work if target.rir is not None), starting.rir(slot))
    offered = starting.loads.for_exercise(term)
    start = starting.load(term, slot, occurrence, rir) if now else None
    load = load_of(start.load, offered.rack.unit) if start is not None and start.load is not None else None
    entry.change(line, *present)
    line.exercise_id = starting.ids[term.key]
    line.station = offered.station
    line.finds_load = bool(start and start.find)
    line.reasons = [{"code": why.code, "params": dict(why.params)} for why in (start.reasons if start else ())]
    line.pinned = [name for name in line.pinned if name == "sets"]
    line.save(update_fields=["exercise", "station", "finds_load", "reasons", "pinned"])
    low, high = reps_for(slot, occurrence, term)
    amounts = {
        "reps": {"reps_low": low, "reps_high": high},
        "seconds": {"seconds": low},
        "metres": {"metres": low},
    }[term.rep_unit]
    targets = []
    for number, target in enumerate(work, start=1):
        own = {name: getattr(target, name) for name in ("reps_low", "reps_high", "seconds", "metres")}
        targets.append(
            TargetSet(
                prescription=line,
                number=number,
                kind=target.kind,
                rir=(target.rir if target.rir is not None else rir) if term.rep_unit == "reps" else None,
                rest_s=target.rest_s if same else max(slot.rest_s or term.rest_s, starting.standing.effort.rest_s or 0),
                tempo=target.tempo if same else slot.tempo or term.tempo,
                **(own if same else amounts),
                **columns(load),
            )
        )
    TargetSet.objects.filter(pk__in=[target.pk for target in present]).delete()
    entry.made(*TargetSet.objects.bulk_create(targets))


def _keep_in_document(block: Block, week: Week, entry: journal.Recording) -> None:
    """What holds to the end of the block is the week that a later one is compared with."""
    put = {
        (step.line.slot_key, step.session.occurrence): step.exercise.key
        for step in week.steps
        if step.exercise is not None
    }
    picks = [
        {**row, "exercise": put.get((row["slot"], row["occurrence"]), row["exercise"])}
        for row in block.document.get("picks", [])
    ]
    entry.change(block)
    block.document = {**block.document, "picks": picks}
    block.save(update_fields=["document"])
