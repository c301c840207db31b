"""From what was logged to what comes next: proposals with reasons, until the coach has decided each of them."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
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
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import terms
from programs.engine.progress import NextStep, next_prescription
from programs.engine.terms import Because
from programs.units import Load, columns, load_of

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
    cases = list(_open_cases(block))
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
            plain = step.plain and plain_allowed
            if present is not None and present.digest == digest:
                if present.plain != plain:
                    present.plain = plain
                    present.save(update_fields=["plain"])
                continue
            _store(client, case, step, digest, plain, loads, present)
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
    unit = session.block.place.unit
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
    plain: bool,
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
        plain=plain,
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


@dataclass(frozen=True, slots=True)
class Change:
    """A coach's own numbers for a line. ``reps_low`` and ``reps_high`` are left alone where seconds or metres count."""

    load: Load | None
    sets: int
    reps_low: int | None = None
    reps_high: int | None = None


class Overtaken(Exception):
    """The proposal is no longer open: decided elsewhere, overtaken by newer logs, or its session is behind."""


def accept(proposal: Proposal, coach: Coach, *, change: Change | None = None) -> JournalEntry | None:
    """Writes the new sets into the session, or the coach's own numbers. A sheet that is out is superseded.

    Raises Overtaken when the proposal is not open any more. Returns the journal's entry.
    """
    return _decide_one(proposal, coach, change=change)


def decline(proposal: Proposal, coach: Coach) -> JournalEntry | None:
    """Keeps what was done last time. Raises Overtaken."""
    return _decide_one(proposal, coach, declined=True)


def accept_plain(proposals: Iterable[Proposal], coach: Coach) -> tuple[int, JournalEntry | None]:
    """Accepts all plain proposals that still wait, as one act with one undo; how many, and the journal's entry.

    Whoever has reported pain or has sets to be checked is left out, even if that came in a moment ago.
    """
    rows = [row for row in proposals if row.plain]
    clients = {row.client_id for row in rows}
    held = set(PainReport.objects.filter(client__in=clients, state="open").values_list("client_id", flat=True))
    held |= set(
        LoggedSet.objects.filter(client__in=clients, state=LoggedSet.State.ASKED).values_list("client_id", flat=True)
    )
    return _decide([row for row in rows if row.client_id not in held], coach)


def _decide_one(
    proposal: Proposal, coach: Coach, *, change: Change | None = None, declined: bool = False
) -> JournalEntry | None:
    count, entry = _decide([proposal], coach, changes={proposal.pk: change} if change else {}, declined=declined)
    if not count:
        raise Overtaken
    return entry


def _decide(
    proposals: Sequence[Proposal],
    coach: Coach,
    *,
    changes: Mapping[int, Change] | None = None,
    declined: bool = False,
) -> tuple[int, JournalEntry | None]:
    """One transaction and one journal entry for any number of decisions; those not open any more are left out."""
    act = "proposal.decline" if declined else "proposal.accept"
    with transaction.atomic():
        rows = list(
            Proposal.objects.waiting()
            .filter(pk__in=[row.pk for row in proposals], session__state=TrainingSession.State.PLANNED)
            .select_related("client", "exercise", "session")
            .select_for_update(of=("self",))
        )
        about = {f"client:{row.client.public_id}" for row in rows}
        name = rows[0].exercise.name if len(rows) == 1 else ""
        with journal.act(
            coach.practice,
            coach,
            act,
            about=about.pop() if len(about) == 1 else "",
            count=len(rows),
            client=rows[0].client.name if len(rows) == 1 else "",
            exercise=name,
        ) as entry:
            touched: dict[int, TrainingSession] = {}
            for row in rows:
                line = _write(row, coach, (changes or {}).get(row.pk), declined, entry)
                touched[line.session_id] = line.session
            for session in touched.values():
                reissue_if_out(session, coach, entry)
    return len(rows), entry.entry


def _write(
    proposal: Proposal, coach: Coach, change: Change | None, declined: bool, entry: journal.Recording
) -> Prescription:
    line = (
        Prescription.objects.select_related("session__block__client", "exercise")
        .prefetch_related("target_sets")
        .get(session=proposal.session, slot_key=proposal.slot_key)
    )
    old = list(line.target_sets.all())
    entry.change(proposal, line, *old)
    sets = _decided_sets(proposal, line, change, declined)
    line.target_sets.all().delete()
    entry.made(*TargetSet.objects.bulk_create(sets))
    without_load = all(row.load_value is None for row in sets)
    line.finds_load = bool(proposal.new.get("find_load")) and without_load
    line.reasons = [_because(Because(_CODES[declined]))] if declined or change else proposal.reasons
    if change:
        fixed = {"load", "sets", "reps"} if change.reps_low is not None else {"load", "sets"}
        line.pinned = sorted({*line.pinned, *fixed})
    line.save(update_fields=["finds_load", "reasons", "pinned"])
    state = Proposal.State
    proposal.decided = _short(sets)
    proposal.decided_at = timezone.now()
    proposal.decided_by = coach
    proposal.state = state.DECLINED if declined else state.EDITED if change else state.ACCEPTED
    proposal.save(update_fields=["decided", "decided_at", "decided_by", "state"])
    return line


_CODES = {True: "declined_repeat", False: "set_by_coach"}


def follow_undo(entry: JournalEntry, actor: Coach | None) -> None:
    """Once a decision is taken back, the sheet that was sent with it must say so too.

    Refused when the session has been trained, or when sets were logged from a sheet that would be taken back.
    """
    keys: dict[str, list[int]] = {}
    for row in entry.rows:
        keys.setdefault(row["model"], []).append(row["pk"])
    if entry.act == "sheet.issue" and LoggedSet.objects.filter(version__in=keys.get(_VERSION, [])).exists():
        raise journal.CannotUndo("later", {"model": "clients.loggedset"})
    if entry.act.startswith("proposal."):
        lines = keys.get("clients.prescription", [])
        for session in TrainingSession.objects.filter(prescriptions__in=lines).distinct():
            if session.state == TrainingSession.State.TRAINED:
                raise journal.CannotUndo("later", {"model": "clients.trainingsession"})
            reissue_if_out(session, actor)


_VERSION = "clients.sheetversion"


def _decided_sets(proposal: Proposal, line: Prescription, change: Change | None, declined: bool) -> list[TargetSet]:
    present = list(line.target_sets.all())
    unit = proposal.new["unit"]
    if declined:
        load = proposal.old.get("load")
        kept = None if load is None else load_of(load, unit)
        return [_target(line, number, asdict(target_term(row, unit)), kept) for number, row in enumerate(present, 1)]
    work = proposal.new["work"]
    if change:
        rows = work or [asdict(target_term(row, unit)) for row in present]
        # More sets than proposed go on like the last one; a back-off set keeps its own load.
        rows = [rows[min(index, len(rows) - 1)] for index in range(change.sets)]
        top = rows[0]["load"]
        return [
            _target(
                line,
                number,
                {**row, **_reps(row, change)},
                change.load if row["load"] == top or row["load"] is None else load_of(row["load"], unit),
            )
            for number, row in enumerate(rows, start=1)
        ]
    return [
        _target(line, number, row, None if row["load"] is None else load_of(row["load"], unit))
        for number, row in enumerate(work, start=1)
    ]


def _target(line: Prescription, number: int, row: Mapping[str, Any], load: Load | None) -> TargetSet:
    """One target set from the engine's, as it was or as it was stored."""
    return TargetSet(
        prescription=line,
        number=number,
        **{name: row[name] for name in _AS_THEY_ARE},
        **columns(load),
    )


_AS_THEY_ARE = ("kind", "reps_low", "reps_high", "open_ended", "seconds", "metres", "rir", "rest_s", "tempo")


def _reps(row: Mapping[str, Any], change: Change) -> dict[str, Any]:
    if row["reps_low"] is None or change.reps_low is None:
        return {}
    return {"reps_low": change.reps_low, "reps_high": change.reps_high or change.reps_low}


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
