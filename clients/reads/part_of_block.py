"""Part of a running block as it would be under other limits: at another place for a while, or sparing a joint.

The sessions between two dates are composed again, and only what the limits forbid gives way: every other exercise
stays, with its sets. What stands in for another keeps the number of sets of the line.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from clients.cycles import first_day
from clients.models import Block, Client, Place, Prescription, SheetVersion, TrainingSession
from clients.reads.composing import ComposeInputs, allowances_of, compose_inputs, picks_of
from programs.engine import other_days, terms
from programs.engine.compose import Audit, assess, compose, given_up
from programs.engine.compose.candidates import PIN_SETS_ASIDE, pin_reasons, reasons_against
from programs.engine.compose.request import WeekRequest
from programs.engine.other_days import GroupShift
from programs.engine.terms import Because, Pick

EASY_FROM = 2  # severity from which an exercise is looked at again for a joint that is to be gone easy on

SlotPlace = tuple[str, int]  # a slot's key and its occurrence


@dataclass(frozen=True, slots=True)
class Asked:
    """What is done otherwise, from when until when (None: to the end of the block).

    ``place`` None leaves each session where it is; the block's own place brings sessions back. ``joints`` are spared
    strictly, or gone easy on.
    """

    since: date
    until: date | None = None
    place: Place | None = None
    joints: tuple[str, ...] = ()
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
class Step:
    """What becomes of one line: the exercise to do there (None: the line goes)."""

    session: TrainingSession
    line: Prescription
    exercise: terms.Exercise | None


@dataclass(slots=True)
class Week:
    """The sessions of the part that are trained at one place, and the week composed for it."""

    place: Place
    inputs: ComposeInputs
    request: WeekRequest
    rows: Sequence[TrainingSession]
    before: Audit
    after: Audit
    steps: list[Step] = field(default_factory=list)

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
    weeks: Sequence[Week]

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


def _week(client: Client, block: Block, place: Place, asked: Asked, rows: Sequence[TrainingSession]) -> Week:
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
    if place == block.place:  # what the coach gave up was given up for there
        request = given_up(request, allowances_of(block.document))
    spared = tuple(terms.Limit(joint, asked.strict, asked.side) for joint in asked.joints)
    request = replace(request, limits=(*request.limits, *spared))
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
    found = Week(place, inputs, request, rows, before, assess(request, then.values()))
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
    if asked.strict:
        return False
    return any(stress.joint in asked.joints and stress.severity >= EASY_FROM for stress in exercise.joints)


def _steps(
    week: Week, asked: Asked, planned: Mapping[SlotPlace, Pick], then: Mapping[SlotPlace, Pick]
) -> Iterable[Step]:
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
                yield Step(row, line, wanted)


def _changes(week: Week) -> list[Change]:
    """Each change of exercise once, with how many sessions it is made in."""
    counted: dict[tuple[str, int, str, str, str], list[Step]] = {}
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


def _digest(asked: Asked, weeks: Sequence[Week]) -> str:
    said: list[Any] = [str(asked.since), str(asked.until), *asked.joints, asked.strict, asked.side]
    for week in weeks:
        said += [week.place.pk, [row.pk for row in week.rows]]
        said += [[step.line.pk, step.exercise.key if step.exercise else ""] for step in week.steps]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _work_sets(line: Prescription) -> int:
    return sum(target.kind != "warm_up" for target in line.target_sets.all())
