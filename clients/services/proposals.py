"""From what was logged to what comes next: proposals with reasons, until the coach has decided each of them."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.utils import timezone

from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, PainReport, Prescription, Proposal, TargetSet, TrainingSession
from clients.reads.health import Standing, standing_of
from clients.reads.history import History, history_of, slot_of, target_term
from clients.reads.library import exercise_term
from clients.reads.racks import PlaceLoads
from clients.receiving.pain import is_held
from clients.services.sheets import reissue_if_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach
from programs.engine import terms
from programs.engine.progress import NextStep, next_prescription
from programs.engine.terms import Because
from programs.units import columns, load_of

OLDER_FROM = 65
NEWCOMER_DAYS = 28  # a client's first four weeks: nothing is plain yet
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
    sessions = list(
        TrainingSession.objects.filter(block=block)
        .with_lines()
        .prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
        .order_by("cycle", "position")
    )
    cases = list(_open_cases(sessions))
    on = today_for(client)
    standing = standing_of(client, on)
    loads = PlaceLoads(block.place, client, None)
    history = history_of(client, block.place.unit)
    holds = _holds(client)
    plain_allowed = _plain_allowed(client, standing, history, on)
    waiting = {(row.session_id, row.slot_key): row for row in Proposal.objects.filter(client=client).waiting()}
    with transaction.atomic():
        kept: set[tuple[int, str]] = set()
        for case in cases:
            key = (case.session.pk, case.line.slot_key)
            kept.add(key)
            step, digest = _reckon(case, client, standing, loads, history, holds)
            present = waiting.get(key)
            if present is not None and present.digest == digest:
                continue
            _store(client, case, step, digest, plain_allowed, loads, present)
        stale = [row.pk for key, row in waiting.items() if key not in kept]
        Proposal.objects.filter(pk__in=stale).update(state=Proposal.State.SUPERSEDED)
    return len(cases)


def _open_cases(sessions: Sequence[TrainingSession]) -> Iterable[_Case]:
    """Lines without a decision in the next planned session of each day and occurrence.

    The session before it (same day, same occurrence) must be behind the client: trained, missed or left out.
    """
    seen: set[tuple[str, int]] = set()
    full: dict[tuple[str, int], dict[str, tuple[terms.TargetSet, ...]]] = {}
    for session in sessions:
        key = (session.day_key, session.occurrence)
        unit = session.block.place.unit
        if session.state != TrainingSession.State.PLANNED:
            _remember(session, full, unit)
            continue
        if key in seen:
            continue
        seen.add(key)
        for line in session.prescriptions.all():
            if line.exercise is None or line.reasons or "load" in line.pinned:
                continue
            current = tuple(target_term(target, unit) for target in line.target_sets.all())
            if session.deload:
                # The engine makes the deload from the usual sets; the block has them cut already.
                current = full.get(key, {}).get(line.slot_key, current)
            yield _Case(session, line, current)
        _remember(session, full, unit)


def _remember(
    session: TrainingSession, full: dict[tuple[str, int], dict[str, tuple[terms.TargetSet, ...]]], unit: str
) -> None:
    if session.deload:
        return
    lines = full.setdefault((session.day_key, session.occurrence), {})
    for line in session.prescriptions.all():
        lines[line.slot_key] = tuple(target_term(target, unit) for target in line.target_sets.all())


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
    own = history.of(exercise, slot_of(case.line.slot_key, case.session.occurrence))
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
    )
    inputs = repr((own, case.current, policy, rack.loads, on, pain, standing.effort, client.experience))
    return step, hashlib.sha256(inputs.encode()).hexdigest()


def _store(
    client: Client,
    case: _Case,
    step: NextStep,
    digest: str,
    plain_allowed: bool,
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
        },
        reasons=[_because(reason) for reason in step.reasons],
        plain=step.plain and plain_allowed,
        digest=digest,
    )
    if present is not None:
        present.superseded_by = made
        present.save(update_fields=["superseded_by"])


def _plain_allowed(client: Client, standing: Standing, history: History, on: date) -> bool:
    """Whether any proposal of this client may be accepted along with others, unseen."""
    age = client.age_on(on)
    days = [exposures[0].day for exposures in history.by_exercise.values() if exposures]
    newcomer = not days or (on - min(days)).days < NEWCOMER_DAYS
    doubtful = LoggedSet.objects.for_client(client).filter(state=LoggedSet.State.ASKED).exists()
    hurt = client.pain_reports.filter(state=PainReport.State.OPEN).exists()
    bounded = standing.effort.share_of_max is not None or not standing.effort.progression
    old_enough_to_ask = age is not None and (age < 18 or age >= OLDER_FROM)
    return not (newcomer or doubtful or hurt or bounded or old_enough_to_ask)


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


def accept(proposal: Proposal, coach: Coach, *, edited: dict[str, Any] | None = None) -> None:
    """Writes the new sets into the session, or the coach's own numbers: {"load": Decimal or None, "reps_low",
    "reps_high", "sets"}. A sheet that is out is superseded."""
    decide([proposal], coach, edited={proposal.pk: edited} if edited else {})


def accept_plain(proposals: Iterable[Proposal], coach: Coach) -> int:
    """Accepts all plain proposals that still wait, as one act with one undo; returns how many."""
    rows = [row for row in proposals if row.plain and row.state == Proposal.State.WAITING]
    decide(rows, coach, edited={})
    return len(rows)


def decline(proposal: Proposal, coach: Coach) -> None:
    """Keeps what was done last time."""
    decide([proposal], coach, edited={}, declined=True)


def decide(
    proposals: Sequence[Proposal], coach: Coach, *, edited: dict[int, dict[str, Any]], declined: bool = False
) -> None:
    """One transaction and one journal entry for any number of decisions."""
    touched: dict[int, TrainingSession] = {}
    act = "proposal.decline" if declined else "proposal.accept"
    about = {f"client:{row.client.public_id}" for row in proposals}
    with journal.act(
        coach.practice, coach, act, about=about.pop() if len(about) == 1 else "", count=len(proposals)
    ) as entry:
        for proposal in proposals:
            line = (
                Prescription.objects.select_related("session__block__client")
                .prefetch_related("target_sets")
                .get(session=proposal.session, slot_key=proposal.slot_key)
            )
            entry.change(proposal, line)
            change = edited.get(proposal.pk)
            sets = _decided_sets(proposal, line, change, declined)
            old = list(line.target_sets.all())
            entry.change(*old)
            line.target_sets.all().delete()
            made = TargetSet.objects.bulk_create(sets)
            entry.made(*made)
            line.finds_load = bool(proposal.new.get("find_load")) and not change and not declined
            line.reasons = [{"code": "declined_repeat", "params": {}}] if declined else proposal.reasons
            line.save(update_fields=["finds_load", "reasons"])
            proposal.decided = _short(sets)
            proposal.decided_at = timezone.now()
            proposal.decided_by = coach
            proposal.state = (
                Proposal.State.DECLINED if declined else Proposal.State.EDITED if change else Proposal.State.ACCEPTED
            )
            proposal.save(update_fields=["decided", "decided_at", "decided_by", "state"])
            touched[line.session_id] = line.session
        for session in touched.values():
            reissue_if_out(session, coach)


def _decided_sets(
    proposal: Proposal, line: Prescription, change: dict[str, Any] | None, declined: bool
) -> list[TargetSet]:
    present = list(line.target_sets.all())
    unit = proposal.new["unit"]
    if declined:
        load = proposal.old.get("load")
        return [_like(row, line, number, load, unit) for number, row in enumerate(present, start=1)]
    work = proposal.new["work"]
    if change:
        template = work[0] if work else None
        count = change["sets"]
        rows = [template or asdict(target_term(present[0], unit))] * count
        work = [{**row, "load": change["load"], **_reps(row, change)} for row in rows]
    return [
        TargetSet(
            prescription=line,
            number=number,
            kind=row["kind"],
            reps_low=row["reps_low"],
            reps_high=row["reps_high"],
            open_ended=row["open_ended"],
            seconds=row["seconds"],
            metres=row["metres"],
            rir=row["rir"],
            rest_s=row["rest_s"],
            tempo=row["tempo"],
            **columns(None if row["load"] is None else load_of(row["load"], unit)),
        )
        for number, row in enumerate(work, start=1)
    ]


def _reps(row: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    if row["reps_low"] is None:
        return {}
    return {"reps_low": change["reps_low"], "reps_high": change["reps_high"]}


def _like(row: TargetSet, line: Prescription, number: int, load: float | None, unit: str) -> TargetSet:
    return TargetSet(
        prescription=line,
        number=number,
        kind=row.kind,
        reps_low=row.reps_low,
        reps_high=row.reps_high,
        open_ended=row.open_ended,
        seconds=row.seconds,
        metres=row.metres,
        rir=row.rir,
        rest_s=row.rest_s,
        tempo=row.tempo,
        **columns(None if load is None else load_of(load, unit)),
    )


def _short(sets: Sequence[TargetSet]) -> dict[str, Any]:
    first = sets[0] if sets else None
    if first is None:
        return {"sets": 0}
    return {
        "sets": len(sets),
        "load": None if first.load_value is None else float(first.load_value),
        "unit": first.load_unit,
        "reps_low": first.reps_low,
        "reps_high": first.reps_high,
        "seconds": first.seconds,
        "metres": first.metres,
    }


def _because(reason: Because) -> dict[str, Any]:
    return {"code": reason.code, "params": dict(reason.params)}
