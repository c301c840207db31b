"""What was decided of sessions still to come, on figures that have changed since: what it would be now.

Nothing of it changes by itself: a decision is the coach's, and a sheet that is out stays as it was handed out.
"""

from copy import copy
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.db.models import Prefetch

from clients.clock import today_for
from clients.models import Block, Client, Prescription, Proposal, TrainingSession
from clients.reads.reckoning import Bearing
from programs.engine import terms

DECIDED = (Proposal.State.ACCEPTED, Proposal.State.EDITED, Proposal.State.DECLINED)
# A test or a week of a wave is the coach's own plan: accepting it has moved what would come next.
PLANNED = ("test", "wave")


@dataclass(frozen=True, slots=True)
class Changed:
    """A decided proposal, and what would be proposed now, in the shape of ``Proposal.new``."""

    proposal: Proposal
    now: dict[str, Any]


def changed_since(client: Client) -> list[Changed]:
    """In the order of the sessions. One query where nothing was decided, else a number that does not grow with
    the history or the decisions."""
    decided = list(
        Proposal.objects.filter(
            client=client,
            state__in=DECIDED,
            session__state=TrainingSession.State.PLANNED,
            session__block__state=Block.State.ACTIVE,
        )
        .select_related("exercise", "session__block__place", "session__block__outline", "session__elsewhere")
        .order_by("session__cycle", "session__position", "pk")
    )
    rows = {(row.session_id, row.slot_key): row for row in decided if _may_be_asked(row)}
    if not rows:
        return []
    lines = _lines(rows)
    block = next(iter(rows.values())).session.block
    bearing = Bearing.gather(client, block, {row.session.place for row in rows.values()}, today_for(client))
    found = []
    for key, row in rows.items():
        line = lines.get(key)
        if line is None or line.exercise_id != row.exercise_id:
            continue
        now = _now(bearing, row, line)
        if now is not None:
            found.append(Changed(row, now))
    return found


def _may_be_asked(row: Proposal) -> bool:
    return "from" in row.new and not any(row.new.get(name) for name in PLANNED)


def _lines(rows: dict[tuple[int, str], Proposal]) -> dict[tuple[int, str], Prescription]:
    sessions = {session for session, _slot in rows}
    found = (
        Prescription.objects.filter(session__in=sessions, slot_key__in={slot for _session, slot in rows})
        .select_related("exercise")
        .prefetch_related(Prefetch("exercise__regions"), Prefetch("exercise__joints"))
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
