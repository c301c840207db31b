"""What was decided of sessions still to come, on figures that have changed since: what it would be now.

Nothing of it changes by itself: a decision is the coach's, and a sheet that is out stays as it was handed out. It is
reckoned with what waits, after each log, and kept with the decision, so that pages read it and reckon nothing.
"""

from collections.abc import Sequence
from copy import copy
from dataclasses import asdict, replace
from typing import Any

from clients.models import Block, Client, Prescription, Proposal, TrainingSession
from clients.reads.reckoning import Bearing
from programs.engine import terms

# A test or a week of a wave is the coach's own plan: accepting it has moved what would come next.
PLANNED = ("test", "wave")


def decided_ahead(block: Block) -> list[Proposal]:
    """Decisions for sessions of the block that are still to come, in their order: one query."""
    rows = (
        Proposal.objects.decided()
        .filter(session__state=TrainingSession.State.PLANNED, session__block=block)
        .select_related("exercise", "session__block__place", "session__block__outline", "session__elsewhere")
        .order_by("session__cycle", "session__position", "pk")
    )
    return [row for row in rows if _may_be_asked(row)]


def would_be(bearing: Bearing, rows: Sequence[Proposal]) -> dict[int, dict[str, Any] | None]:
    """By key, what would be proposed now, in the shape of ``Proposal.new``; None where that is what was decided.

    ``bearing`` knows the places of the sessions. A number of queries that does not grow with the rows, none for none.
    """
    if not rows:
        return {}
    lines = _lines({(row.session_id, row.slot_key) for row in rows})
    found: dict[int, dict[str, Any] | None] = {}
    for row in rows:
        line = lines.get((row.session_id, row.slot_key))
        stands = line is not None and line.exercise_id == row.exercise_id
        found[row.pk] = _now(bearing, row, line) if line is not None and stands else None
    return found


def changed_since(client: Client) -> list[Proposal]:
    """Decisions for sessions still to come that would be others now, as it was last reckoned: one query."""
    rows = Proposal.objects.decided().filter(
        client=client,
        changed_to__isnull=False,
        session__state=TrainingSession.State.PLANNED,
        session__block__state=Block.State.ACTIVE,
    )
    return list(rows.select_related("exercise", "session__block").order_by("session__cycle", "session__position", "pk"))


def _may_be_asked(row: Proposal) -> bool:
    return "from" in row.new and not any(row.new.get(name) for name in PLANNED)


def _lines(keys: set[tuple[int, str]]) -> dict[tuple[int, str], Prescription]:
    sessions, slots = {session for session, _slot in keys}, {slot for _session, slot in keys}
    found = (
        Prescription.objects.filter(session__in=sessions, slot_key__in=slots)
        .select_related("exercise")
        .prefetch_related("exercise__regions", "exercise__joints")
    )
    return {(line.session_id, line.slot_key): line for line in found}


def _now(bearing: Bearing, row: Proposal, line: Prescription) -> dict[str, Any] | None:
    """What would be proposed instead; None where it is the same, or what the coach decided anyway."""
    before = copy(line)
    before.pinned = row.new["from"]["pinned"]  # the decision itself may have pinned the line
    inputs = bearing.inputs(row.session, before, ())
    inputs = replace(inputs, current=tuple(terms.TargetSet(**one) for one in row.new["from"]["sets"]))
    if inputs.digest == row.digest:
        return None
    step = inputs.step()
    work = [asdict(one) for one in step.sets]
    if work == row.new["work"] and step.find_load == bool(row.new.get("find_load")):
        return None
    now = {**asdict(step.new), "unit": inputs.rack.unit, "find_load": step.find_load}
    return None if _is_decided(now, row) else now


def _is_decided(now: dict[str, Any], row: Proposal) -> bool:
    decided: dict[str, Any] = row.decided or {}
    names = ("sets", "load", "reps_low", "reps_high", "seconds", "metres")
    return bool(decided) and all(now.get(name) == decided.get(name) for name in names)
