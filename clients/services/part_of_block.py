"""Part of a running block done otherwise: at another place for a while, or sparing a joint from a day on.

The sessions between two dates are composed again under the new limits, and only what these forbid gives way: every
other exercise stays, with its sets. What stands in for another keeps the number of sets of the line. Sheets that are
out are superseded; what lies behind the last date is left alone, so that it goes on from before. One undo takes all
of it back.
"""

import hashlib
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from django.db import transaction

from clients.cycles import first_day
from clients.models import Block, Client, Limit, Place, Prescription, SheetVersion, TargetSet, TrainingSession
from clients.reads.composing import ComposeInputs, compose_inputs, picks_of
from clients.reads.starting import Starting
from clients.services import logs
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import other_days, terms
from programs.engine.compose import Audit, assess, compose, reps_for
from programs.engine.compose.candidates import PIN_SETS_ASIDE, pin_reasons, reasons_against
from programs.engine.compose.request import Slot, WeekRequest
from programs.engine.other_days import GroupShift
from programs.engine.terms import Because, Pick
from programs.units import columns, load_of

EASY_FROM = 2  # severity from which an exercise is looked at again for a joint that is to be gone easy on

SlotPlace = tuple[str, int]  # a slot's key and its occurrence


class Otherwise(Exception):
    """What was shown is not what would be done: something changed in between."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is done otherwise, from when until when (None: to the end of the block).

    ``place`` None leaves each session where it is; the block's own place brings sessions back. ``joint`` is spared
    strictly, or gone easy on.
    """

    since: date
    until: date | None = None
    place: Place | None = None
    joint: str = ""
    strict: bool = True
    side: str = "both"


@dataclass(frozen=True, slots=True)
class Change:
    """One slot of a day type that gives way; ``after`` None where nothing fills it. ``sessions`` are how many."""

    session: str
    slot: str
    before: terms.Exercise
    after: terms.Exercise | None
    sets: int
    sessions: int
    reasons: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    """What becomes of one line: the exercise to do there (None: the line goes)."""

    session: TrainingSession
    line: Prescription
    exercise: terms.Exercise | None


@dataclass(slots=True)
class _Week:
    """The sessions of the part that are trained at one place, and the week composed for it."""

    place: Place
    inputs: ComposeInputs
    request: WeekRequest
    rows: Sequence[TrainingSession]
    before: Audit
    after: Audit
    steps: list[_Step] = field(default_factory=list)

    def minutes_more(self, day: str, occurrence: int) -> float:
        def of(audit: Audit) -> float:
            return sum(one.minutes for one in audit.minutes if (one.day, one.occurrence) == (day, occurrence))

        return of(self.after) - of(self.before)


@dataclass(frozen=True, slots=True)
class Part:
    """What would be done, as a page shows it."""

    block: Block
    asked: Asked
    sessions: Sequence[TrainingSession]
    changes: Sequence[Change]
    moved: int  # sessions that are trained at another place than before
    shifts: Sequence[GroupShift]
    sheets_out: int
    digest: str
    weeks: Sequence[_Week]

    @property
    def nothing(self) -> bool:
        return not self.changes and not self.moved


def plan(client: Client, asked: Asked) -> Part | None:
    """What the part would become; nothing is written. None where no session lies in it."""
    block = client.blocks.active().select_related("outline", "place").first()
    rows = _rows(block, asked) if block is not None else []
    if block is None or not rows:
        return None
    by_place: dict[Place, list[TrainingSession]] = {}
    for row in rows:
        by_place.setdefault(asked.place or row.place, []).append(row)
    weeks = [_week(client, block, place, asked, here) for place, here in by_place.items()]
    largest = max(weeks, key=lambda week: len(week.rows))
    shifts = other_days.shifts(largest.before, largest.after, client.experience)
    return Part(
        block=block,
        asked=asked,
        sessions=rows,
        changes=[change for week in weeks for change in _changes(week)],
        moved=sum(row.place != week.place for week in weeks for row in week.rows),
        shifts=[one for one in shifts if one.changed],
        sheets_out=SheetVersion.objects.filter(session__in=rows, state=SheetVersion.State.ISSUED).count(),
        digest=_digest(asked, weeks),
        weeks=weeks,
    )


def change_part(client: Client, coach: Coach, asked: Asked, digest: str) -> JournalEntry | None:
    """Does what ``plan`` showed. Raises Otherwise when it would be something else by now."""
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.act(client.practice, coach, "sessions.part", about=about) as entry:
        part = plan(client, asked)
        if part is None or part.digest != digest:
            raise Otherwise
        if asked.joint:
            _spare(client, asked, entry)
        for week in part.weeks:
            _write(client, part, week, entry)
        touched = {step.session.pk: step.session for week in part.weeks for step in week.steps}
        touched |= {row.pk: row for week in part.weeks for row in week.rows if row.elsewhere_id or asked.place}
        for row in touched.values():
            reissue_if_out(row, coach, entry)
        entry.params["count"] = len(touched)
    logs.reviewed_later(client.pk)
    return entry.entry


def _rows(block: Block, asked: Asked) -> list[TrainingSession]:
    """Sessions of the part that nobody has begun; one without a date counts where its round touches the part."""
    open_rows = block.sessions.filter(state=TrainingSession.State.PLANNED, logged_sets=None).distinct()
    rows = (
        TrainingSession.objects.filter(pk__in=open_rows.values("pk"))
        .with_lines()
        .prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
        .order_by("cycle", "position")
    )
    until = asked.until or date.max

    def inside(row: TrainingSession) -> bool:
        if row.planned_on is not None:
            return asked.since <= row.planned_on <= until
        begins = first_day(block.starts_on, row.cycle, block.cycle_days)
        ends = first_day(block.starts_on, row.cycle + 1, block.cycle_days) - timedelta(days=1)
        return begins <= until and asked.since <= ends

    return [row for row in rows if inside(row)]


def _week(client: Client, block: Block, place: Place, asked: Asked, rows: Sequence[TrainingSession]) -> _Week:
    inputs = compose_inputs(
        client,
        block.outline,
        place,
        on=asked.since,
        order=block.document.get("order"),
        cycle_days=block.cycle_days,
        own=block.document,
    )
    planned = {(pick.slot, pick.occurrence): pick for pick in picks_of(block.document, inputs.merged)}
    standing = {**planned, **_standing(rows, planned, place, inputs)}
    request = inputs.request
    if asked.joint:
        spared = terms.Limit(asked.joint, asked.strict, asked.side)
        request = replace(request, limits=(*request.limits, spared))
    before = assess(inputs.request, standing.values())
    longest = max((one.minutes for one in before.minutes), default=0.0)
    cap = None if request.minutes_cap is None else max(request.minutes_cap, longest)
    pins = tuple(replace(pick, pinned=True) for pick in standing.values() if _may_stay(request, pick, asked))
    week = compose(replace(request, pins=pins, minutes_cap=cap))
    chosen = {(pick.slot, pick.occurrence): pick for pick in week.picks}
    then = {
        at: replace(pick, sets=standing[at].sets) if at in standing else pick
        for at, pick in chosen.items()
        if at in standing
    }
    found = _Week(place, inputs, request, rows, before, assess(request, then.values()))
    found.steps = list(_steps(found, asked, planned, then))
    return found


def _standing(
    rows: Sequence[TrainingSession], planned: Mapping[SlotPlace, Pick], place: Place, inputs: ComposeInputs
) -> dict[SlotPlace, Pick]:
    """What the sessions ask for at present, by the first ordinary one of each day and occurrence. Who comes back to
    the block's own place has there what was planned."""
    found: dict[SlotPlace, Pick] = {}
    for row in sorted(rows, key=lambda row: row.deload):
        back = row.elsewhere is not None and row.block.place == place
        for line in row.prescriptions.all():
            at = (line.slot_key, row.occurrence)
            if line.exercise is None or at in found or (back and at in planned):
                continue
            key = inputs.merged.get(line.exercise.key, line.exercise.key)
            found[at] = Pick(*at, key, _work_sets(line))
    return found


def _may_stay(request: WeekRequest, pick: Pick, asked: Asked) -> bool:
    """Whether nothing forbids the exercise. One that is hidden from the library cannot be judged, so it stays out of
    the pins, and its lines are left alone."""
    exercise = request.library.get(pick.exercise)
    return exercise is not None and not pin_reasons(request, pick) and not _to_look_at(exercise, asked)


def _to_look_at(exercise: terms.Exercise, asked: Asked) -> bool:
    if not asked.joint or asked.strict:
        return False
    return any(stress.joint == asked.joint and stress.severity >= EASY_FROM for stress in exercise.joints)


def _steps(
    week: _Week, asked: Asked, planned: Mapping[SlotPlace, Pick], then: Mapping[SlotPlace, Pick]
) -> Iterable[_Step]:
    library = week.request.library
    for row in week.rows:
        moved = row.place != week.place
        back = row.elsewhere is not None and row.block.place == week.place
        for line in row.prescriptions.all():
            if line.exercise is None:
                continue
            key = week.inputs.merged.get(line.exercise.key, line.exercise.key)
            present = library.get(key)
            if present is None:
                continue
            at = (line.slot_key, row.occurrence)
            pick = then.get(at)
            stays = _may_stay(week.request, Pick(*at, key, 1), asked) and not (back and at in planned)
            wanted = present if stays else library.get(pick.exercise) if pick is not None else None
            if wanted is not present or moved:
                yield _Step(row, line, wanted)


def _changes(week: _Week) -> list[Change]:
    """Each change of exercise once, with how many sessions it is made in."""
    counted: dict[tuple[str, int, str, str, str], list[_Step]] = {}
    for step in week.steps:
        before = step.line.exercise
        if before is None or (step.exercise is not None and step.exercise.key == before.key):
            continue
        key = (step.session.day_key, step.session.occurrence, step.line.slot_key, before.key)
        counted.setdefault((*key, step.exercise.key if step.exercise else ""), []).append(step)
    found = []
    for steps in counted.values():
        first = steps[0]
        before = first.line.exercise
        known = week.request.library[week.inputs.merged.get(before.key, before.key)] if before else None
        if known is None:
            continue
        reasons = tuple(why for why in reasons_against(known, week.request) if why.code not in PIN_SETS_ASIDE)
        found.append(
            Change(
                session=first.session.name,
                slot=first.line.slot_title,
                before=known,
                after=first.exercise,
                sets=max(_work_sets(step.line) for step in steps),
                sessions=len(steps),
                reasons=reasons,
            )
        )
    return found


def _digest(asked: Asked, weeks: Sequence[_Week]) -> str:
    said: list[Any] = [str(asked.since), str(asked.until), asked.joint, asked.strict, asked.side]
    for week in weeks:
        said += [week.place.pk, [row.pk for row in week.rows]]
        said += [[step.line.pk, step.exercise.key if step.exercise else ""] for step in week.steps]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _spare(client: Client, asked: Asked, entry: journal.Recording) -> None:
    """Notes the joint as one to spare, where it is not noted already for all of that time."""
    for row in client.limits.filter(joint=asked.joint, strict=asked.strict, side=asked.side):
        if row.holds_on(asked.since) and (row.until is None or (asked.until is not None and asked.until <= row.until)):
            return
    made = Limit.objects.create(
        client=client,
        joint=asked.joint,
        strict=asked.strict,
        side=asked.side,
        since=asked.since,
        until=asked.until,
    )
    entry.made(made)


def _write(client: Client, part: Part, week: _Week, entry: journal.Recording) -> None:
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


def _keep_in_document(block: Block, week: _Week, entry: journal.Recording) -> None:
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


def _work_sets(line: Prescription) -> int:
    return sum(target.kind != "warm_up" for target in line.target_sets.all())
