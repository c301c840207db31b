"""From what was logged to what comes next: proposals with reasons, for the coach to decide."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.models import Block, Client, PainReport, Prescription, Proposal, TrainingSession
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of, slot_of, target_term
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.receiving.pain import is_held
from clients.services import plainness
from clients.services.lists import lapse
from programs.engine import terms
from programs.engine.progress import NextStep, next_prescription
from programs.engine.terms import Because

ACTION_ORDER = ("go_on", "return", "freeze", "stop")


@dataclass(frozen=True, slots=True)
class _Case:
    """One line to decide: where it stands, and the sets the engine starts from."""

    session: TrainingSession
    line: Prescription
    current: tuple[terms.TargetSet, ...]


def refresh(client: Client) -> int:
    """Reckons all lines of the client's next sessions that are not decided yet; returns how many proposals wait.

    A proposal whose inputs are unchanged stays as it is; one whose inputs changed is superseded. What was decided
    or handed out is never touched. A fixed number of queries, however long the history.
    """
    block = client.blocks.filter(state=Block.State.ACTIVE).select_related("place", "outline").first()
    if block is None:
        Proposal.objects.filter(client=client).waiting().update(state=Proposal.State.SUPERSEDED)
        return 0
    lapse(client, block, today_for(client))
    cases = list(_open_cases(block))
    places = {case.session.place for case in cases}
    on = today_for(client)
    standing = standing_of(client, on)
    loads = {place.pk: PlaceLoads(place, client, None) for place in {block.place, *places}}
    histories = {unit: history_of(client, unit) for unit in {place.unit for place in (block.place, *places)}}
    history = histories[block.place.unit]
    holds = _holds(client)
    waiting = {(row.session_id, row.slot_key): row for row in Proposal.objects.filter(client=client).waiting()}
    reckoned = []
    for case in cases:
        here = case.session.place
        reckoned.append((case, *_reckon(case, client, standing, loads[here.pk], histories[here.unit], holds)))
    lines = [plainness.Line(case.session, case.line, step) for case, step, _digest in reckoned]
    against = plainness.against(client, standing, history, on, lines)
    with transaction.atomic():
        kept: set[tuple[int, str]] = set()
        for case, step, digest in reckoned:
            key = (case.session.pk, case.line.slot_key)
            kept.add(key)
            present = waiting.get(key)
            not_plain = [_because(reason) for reason in against[key]]
            # The exercise too: one that was merged or split since has the same past under another name.
            same = present is not None and present.exercise_id == case.line.exercise_id
            if present is not None and same and present.digest == digest:
                plainness.keep(present, not_plain)
                continue
            _store(client, case, step, digest, not_plain, loads[case.session.place.pk], present)
        stale = [row.pk for key, row in waiting.items() if key not in kept]
        Proposal.objects.filter(pk__in=stale).update(state=Proposal.State.SUPERSEDED)
    return len(cases)


def _open_cases(block: Block) -> Iterable[_Case]:
    """Lines without a decision in the next planned session of each day and occurrence.

    The sessions before it (same day, same occurrence) are behind the client: trained, missed or left out. Only
    these sessions are read with their lines, however long the block.
    """
    upcoming: dict[tuple[str, int], TrainingSession] = {}
    usual: dict[tuple[str, int], TrainingSession] = {}
    for session in block.sessions.order_by("cycle", "position"):
        key = (session.day_key, session.occurrence)
        if key in upcoming:
            continue
        if session.state == TrainingSession.State.PLANNED:
            upcoming[key] = session
        elif not session.deload:
            usual[key] = session
    wanted = [session.pk for session in upcoming.values()]
    wanted += [usual[key].pk for key, session in upcoming.items() if session.deload and key in usual]
    rows = {
        row.pk: row
        for row in TrainingSession.objects.filter(pk__in=wanted)
        .with_lines()
        .prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
    }
    for key, session in upcoming.items():
        before = rows.get(usual[key].pk) if session.deload and key in usual else None
        yield from _cases_of(rows[session.pk], _sets_by_slot(before) if before is not None else {})


def _cases_of(session: TrainingSession, full: dict[str, tuple[terms.TargetSet, ...]]) -> Iterable[_Case]:
    """``full`` are the slot's usual sets: the engine makes a deload from them, as the block has them cut already."""
    present = _sets_by_slot(session)
    for line in session.prescriptions.all():
        if line.exercise is None or line.reasons or "load" in line.pinned:
            continue
        yield _Case(session, line, full.get(line.slot_key, present[line.slot_key]))


def _sets_by_slot(session: TrainingSession) -> dict[str, tuple[terms.TargetSet, ...]]:
    unit = session.place.unit
    return {
        line.slot_key: tuple(target_term(target, unit) for target in line.target_sets.all())
        for line in session.prescriptions.all()
        if line.exercise is not None
    }


def _reckon(
    case: _Case,
    client: Client,
    standing: Standing,
    loads: PlaceLoads,
    history: History,
    holds: Sequence[dict[str, Any]],
) -> tuple[NextStep, str]:
    exercise = case.line.exercise
    if exercise is None:
        raise ValueError("a free line has nothing to progress")
    term = exercise_term(exercise)
    rack = loads.for_exercise(term).rack
    own = history.of(exercise, slot_of(case.line.slot_key, case.session.occurrence), str(case.session.place.pk))
    on = case.session.planned_on or today_for(client)
    pain = _pain_on(term, holds)
    policy = "fixed_steps" if client.experience == "novice" and case.line.role == "main" else "double_progression"
    step = next_prescription(
        own,
        case.current,
        policy,
        rack,
        role=case.line.role,
        experience=client.experience,
        load_entry=term.load_entry,
        on=on,
        pattern=term.pattern,
        rep_unit=term.rep_unit,
        bodyweight=history.bodyweight,
        bodyweight_fraction=term.bodyweight_fraction,
        age=client.age_on(on),
        rir_trusted=client.rir_trusted or client.experience != "novice",
        deload=case.session.deload,
        pain=pain,
        floor=standing.effort,
        every_days=case.session.block.cycle_days,
    )
    inputs = repr((own, case.current, policy, rack.loads, on, pain, standing.effort, client.experience))
    return step, hashlib.sha256(inputs.encode()).hexdigest()


def _store(
    client: Client,
    case: _Case,
    step: NextStep,
    digest: str,
    not_plain: list[dict[str, Any]],
    loads: PlaceLoads,
    present: Proposal | None,
) -> None:
    exercise = case.line.exercise
    if exercise is None:
        raise ValueError("a free line has no proposal")
    unit = loads.for_exercise(exercise_term(exercise)).rack.unit
    if present is not None:
        present.state = Proposal.State.SUPERSEDED
        present.save(update_fields=["state"])
    made = Proposal.objects.create(
        client=client,
        session=case.session,
        slot_key=case.line.slot_key,
        exercise=exercise,
        kind=step.change,
        old={**asdict(step.old), "unit": unit},
        new={
            **asdict(step.new),
            "unit": unit,
            "find_load": step.find_load,
            "work": [asdict(one) for one in step.sets],
            "offers": [{"code": offer.code, "params": dict(offer.params)} for offer in step.offers],
            "not_plain": not_plain,
        },
        reasons=[_because(reason) for reason in step.reasons],
        plain=not not_plain,
        digest=digest,
    )
    if present is not None:
        present.superseded_by = made
        present.save(update_fields=["superseded_by"])


def _holds(client: Client) -> list[dict[str, Any]]:
    rows = client.pain_reports.filter(state=PainReport.State.OPEN)
    return [{"action": row.action, **row.affected} for row in rows]


def _pain_on(exercise: terms.Exercise, holds: Sequence[dict[str, Any]]) -> str:
    """The strictest action in force on what this exercise loads."""
    facts = {
        "pattern": exercise.pattern,
        "joints": [stress.joint for stress in exercise.joints],
        "regions": [share.region for share in exercise.regions if share.share >= 0.5],
    }
    actions = [hold["action"] for hold in holds if is_held(facts, [hold])]
    return max(actions, key=ACTION_ORDER.index, default="go_on")


def _because(reason: Because) -> dict[str, Any]:
    return {"code": reason.code, "params": dict(reason.params)}
