"""Steering a running block exactly as it was shown: one act, one undo.

What was trained is never touched. Sheets that are out are withdrawn with a session that is left out, and superseded
where a session's day or its sets change.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from itertools import groupby

from django.db import transaction

from clients.models import (
    Block,
    Client,
    Place,
    Prescription,
    Station,
    TargetSet,
    TrainingSession,
)
from clients.reads.history import history_of, target_term
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.reads.steering import Asked, Plan, plan
from clients.services import logs
from clients.services.blocks import leave_out
from clients.services.proposals import target_row
from clients.services.proposing import overtake
from clients.services.sheets import reissue_all_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.progress import deload
from programs.engine.progress.steps import DELOAD_LOAD, DELOAD_RIR
from programs.engine.progress.terms import Lever, work_sets
from programs.engine.steering import Copy
from programs.engine.terms import Because
from programs.units import Load, columns, load_of

# The journal's name of each act.
NAMES = {
    "shift": "sessions.shift",
    "again": "sessions.again",
    "insert": "sessions.insert",
    "drop": "sessions.drop",
    "ease": "sessions.ease",
    "end": "sessions.end",
}


# What a line done again has of the one before it, beside its sets.
KEPT = (
    "position",
    "slot_key",
    "slot_title",
    "role",
    "exercise_id",
    "station_id",
    "superset",
    "reason_text",
    "technique",
    "text",
    "minutes",
)


class Otherwise(Exception):
    """What was shown is not what would be done: something changed in between."""


def steer(client: Client, coach: Coach, asked: Asked, digest: str) -> tuple[Plan, JournalEntry | None]:
    """Does what ``plan`` showed. Raises Otherwise when it would be something else by now."""
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.act(client.practice, coach, NAMES[asked.act], about=about) as entry:
        found = plan(client, asked)
        if found is None or isinstance(found, Because) or found.digest != digest:
            raise Otherwise
        _write_block(found, entry)
        moved = _move(found, entry)
        block, left_out = found.course.block, found.steered.left_out
        if left_out:
            leave_out(block.sessions.filter(pk__in=[int(key) for key in left_out]), entry)
        eased = _ease(found, client, entry)
        _add(found, client, entry)
        reissue_all_out((*moved, *eased), coach, entry)
        entry.params["count"] = len(found.changes)
    logs.reviewed_later(client.pk)
    return found, entry.entry


def _write_block(found: Plan, entry: journal.Recording) -> None:
    block, steered = found.course.block, found.steered
    entry.change(block)
    block.starts_on, block.weeks, block.deload_weeks = steered.starts_on, steered.weeks, list(steered.easier)
    if steered.ended:
        block.state = Block.State.ENDED
    block.save(update_fields=["starts_on", "weeks", "deload_weeks", "state"])


def _move(found: Plan, entry: journal.Recording) -> list[TrainingSession]:
    """Round by round, in the order in which each place is free; noted so, which lets an undo go back likewise."""
    rows = []
    for number, moves in groupby(found.steered.moves, lambda move: move.round):
        here = []
        for move in moves:
            row = found.course.rows[move.key]
            entry.change(row)
            row.cycle, row.planned_on = number, move.day
            here.append(row)
        TrainingSession.objects.bulk_update(here, ["cycle", "planned_on"])
        rows += here
    return [row for row in rows if str(row.pk) not in found.steered.left_out]


def _ease(found: Plan, client: Client, entry: journal.Recording) -> list[TrainingSession]:
    if not found.steered.eased:
        return []
    rows = _with_lines(found.steered.eased)
    entry.change(*rows)
    gathered = _Deloads(client)
    for row in rows:
        for line in row.prescriptions.all():
            if line.exercise is not None:
                gathered.write(line, row, entry)
        row.deload = True
    TrainingSession.objects.bulk_update(rows, ["deload"])
    overtake(row.pk for row in rows)
    return rows


class _Deloads:
    """The engine's deload of lines that stand; what each needs is gathered once a place."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.loads: dict[int, PlaceLoads] = {}
        self.weights: dict[str, float | None] = {}

    def station_of(self, line: Prescription, place: Place) -> Station | None:
        """The one that the line's exercise is done on at the place."""
        if line.exercise is None:
            return None
        return self._at(place).for_exercise(exercise_term(line.exercise)).station

    def _at(self, place: Place) -> PlaceLoads:
        if place.pk not in self.loads:
            self.loads[place.pk] = PlaceLoads(place, self.client, None)
        return self.loads[place.pk]

    def sets_of(self, line: Prescription, place: Place) -> list[TargetSet]:
        """What is left of a line there, not yet written."""
        if line.exercise is None:
            return []
        present = [target_term(target, place.unit) for target in line.target_sets.all()]
        term = exercise_term(line.exercise)
        if place.unit not in self.weights:
            self.weights[place.unit] = history_of(self.client, place.unit).bodyweight
        rack = self._at(place).for_exercise(term).rack
        lever = Lever(
            term.load_entry,
            self.weights[place.unit],
            term.bodyweight_fraction,
            rack.ordinal,
            term.load_entry == "assisted",
        )
        eased = deload(present, rack, lever)
        if "load" in line.pinned:  # the coach's load stays; sets and reserve give way
            eased = tuple(replace(one, load=was.load) for one, was in zip(eased, work_sets(present), strict=False))
        units = next((target.load_unit for target in line.target_sets.all() if target.load_unit), rack.unit)
        unit = place.unit if units in ("kg", "lb") else units
        return [
            target_row(line, number, asdict(one), None if one.load is None else load_of(one.load, unit))
            for number, one in enumerate(eased, start=1)
        ]

    def write(self, line: Prescription, session: TrainingSession, entry: journal.Recording) -> None:
        present = list(line.target_sets.all())
        made = self.sets_of(line, session.place)
        entry.change(line, *present)
        TargetSet.objects.filter(pk__in=[target.pk for target in present]).delete()
        entry.made(*TargetSet.objects.bulk_create(made))
        if any(target.load_value is not None for target in made):
            percent = round(100 * (1 - DELOAD_LOAD))
            params = {"sets": len(made), "percent": percent, "rir": DELOAD_RIR}
            line.reasons = [{"code": "deload", "params": params}]
        line.save(update_fields=["reasons"])


def _with_lines(keys: Iterable[str]) -> list[TrainingSession]:
    rows = TrainingSession.objects.with_lines().filter(pk__in=[int(key) for key in keys])
    rows = rows.prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
    return list(rows.order_by("cycle", "position"))


def _add(found: Plan, client: Client, entry: journal.Recording) -> None:
    """The copies with their lines and sets, in bulk."""
    copies = found.steered.copies
    if not copies:
        return
    sources = {str(row.pk): row for row in _with_lines(one.source for one in copies)}
    again = _loads_in_force(found) if found.asked.act == "again" else {}
    gathered, place = _Deloads(client), found.course.block.place
    sessions: list[TrainingSession] = []
    lines: list[Prescription] = []
    targets: list[TargetSet] = []
    for copy in copies:
        source = sources[copy.source]
        session = _session_like(source, copy)
        sessions.append(session)
        for line in source.prescriptions.all():
            made = _line_like(line, session)
            if source.elsewhere_id:  # it is done again where the block is
                made.station = gathered.station_of(line, place)
            eased = copy.easy and not source.deload and line.exercise is not None
            present = list(line.target_sets.all())
            sets = gathered.sets_of(line, place) if eased else present
            decided = any(one.load_value is not None for one in present)
            key = (line.slot_key, source.occurrence, line.exercise_id, source.deload)
            loads = again.get(key, []) if decided else []
            _put_loads(made, line, loads)
            targets += [_set_like(one, made, index, loads) for index, one in enumerate(sets)]
            lines.append(made)
    entry.made(*TrainingSession.objects.bulk_create(sessions))
    entry.made(*Prescription.objects.bulk_create(lines))
    entry.made(*TargetSet.objects.bulk_create(targets))


LineKey = tuple[str, int, int | None, bool]  # slot, occurrence, exercise, deload


def _loads_in_force(found: Plan) -> Mapping[LineKey, list[Load | None]]:
    """The loads of the newest session of each kind that has any, by slot and exercise: deloads apart from others."""
    rows = (
        TargetSet.objects.filter(prescription__session__block=found.course.block, load_value__isnull=False)
        .filter(prescription__session__elsewhere=None)
        .exclude(kind="warm_up")
        .exclude(prescription__session__state=TrainingSession.State.DROPPED)
        .order_by("prescription__session__cycle", "prescription__session__position", "number")
        .select_related("prescription__session")
    )
    newest: dict[LineKey, tuple[int, list[Load | None]]] = {}
    for row in rows:
        line = row.prescription
        key = (line.slot_key, line.session.occurrence, line.exercise_id, line.session.deload)
        if key not in newest or newest[key][0] != line.pk:
            newest[key] = (line.pk, [])
        newest[key][1].append(row.load)
    return {key: loads for key, (_pk, loads) in newest.items()}


def _session_like(source: TrainingSession, copy: Copy) -> TrainingSession:
    return TrainingSession(
        block_id=source.block_id,
        cycle=copy.round,
        position=copy.position,
        day_key=source.day_key,
        occurrence=source.occurrence,
        name=source.name,
        planned_on=copy.day,
        start_time=source.start_time,
        minutes=source.minutes,
        delivery=source.delivery,
        deload=copy.easy,
    )


def _line_like(line: Prescription, session: TrainingSession) -> Prescription:
    return Prescription(
        session=session,
        **{name: getattr(line, name) for name in KEPT},
        pinned=[name for name in line.pinned if name in ("exercise", "sets")],
    )


def _put_loads(made: Prescription, line: Prescription, loads: Sequence[Load | None]) -> None:
    """A line done again with the loads in force is settled; any other has its load proposed when its turn comes."""
    if loads:
        made.pinned = list(line.pinned)
        made.reasons = [{"code": "steer.again", "params": {}}]
    else:
        made.finds_load = line.finds_load


def _set_like(one: TargetSet, line: Prescription, index: int, loads: Sequence[Load | None]) -> TargetSet:
    load = loads[min(index, len(loads) - 1)] if loads else None
    amounts = ("reps_low", "reps_high", "open_ended", "seconds", "metres", "rir", "rest_s", "tempo")
    return TargetSet(
        prescription=line,
        number=one.number,
        kind=one.kind,
        **{name: getattr(one, name) for name in amounts},
        **columns(load),
    )
