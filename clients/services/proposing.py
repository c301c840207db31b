"""From what was logged to what comes next: proposals with reasons, for the coach to decide."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from django.db import transaction

from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, Prescription, Proposal, TargetSet, TrainingSession
from clients.reads.fatigue import DUE, deload_reasons
from clients.reads.reckoning import Bearing, Inputs
from clients.reads.since_decided import decided_ahead, would_be
from clients.services import plainness
from clients.services.lists import lapse
from clients.services.progressions import settle_tests, wave_of_step
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.progress import NextStep
from programs.engine.terms import Because

SUPERSEDED = Proposal.State.SUPERSEDED


@dataclass(frozen=True, slots=True)
class _Case:
    """One line to decide: where it stands, the sets the engine starts from, and those of the slot's last usual
    session as they were decided then."""

    session: TrainingSession
    line: Prescription
    planned: tuple[TargetSet, ...]
    before: tuple[TargetSet, ...]


def refresh(client: Client) -> int:
    """Reckons all lines of the client's next sessions that are not decided yet; returns how many proposals wait.

    A proposal whose inputs are unchanged stays as it is; one whose inputs changed is superseded. What was decided
    or handed out is never touched; where it would be different now, that is kept beside it. A fixed number of
    queries, however long the history.
    """
    block = client.blocks.filter(state=Block.State.ACTIVE).select_related("place", "outline").first()
    if block is None:
        Proposal.objects.filter(client=client).waiting().update(state=SUPERSEDED)
        return 0
    on = today_for(client)
    lapse(client, block, on)
    cases = list(_open_cases(block))
    decided = decided_ahead(block)
    places = {case.session.place for case in cases} | {row.session.place for row in decided}
    bearing = Bearing.gather(client, block, places, on)
    settle_tests(bearing.decided, bearing.progressions)
    waiting = {(row.session_id, row.slot_key): row for row in Proposal.objects.filter(client=client).waiting()}
    reckoned = []
    for case in cases:
        inputs = bearing.inputs(case.session, case.line, case.planned, case.before)
        reckoned.append((case, inputs, inputs.step()))
    lines = [plainness.Line(case.session, case.line, step) for case, _inputs, step in reckoned]
    against = plainness.against(client, bearing.standing, bearing.history, on, lines)
    easier = deload_reasons(bearing)
    would = would_be(bearing, decided)
    with transaction.atomic():
        kept: set[tuple[int, str]] = set()
        for case, inputs, step in reckoned:
            key = (case.session.pk, case.line.slot_key)
            kept.add(key)
            present = waiting.get(key)
            due = (Because(DUE), *easier) if easier and not case.session.deload else ()
            not_plain = [_because(reason) for reason in (*against[key], *due)]
            # The exercise too: one that was merged or split since has the same past under another name.
            same = present is not None and present.exercise_id == case.line.exercise_id
            if present is not None and same and present.digest == inputs.digest:
                plainness.keep(present, not_plain)
                continue
            steer = bearing.progressions.get(case.line.exercise_id or 0)
            decides = {"wave": wave_of_step(steer, inputs, step), "test": _tested(inputs, step)}
            _store(client, case, inputs, step, not_plain, decides, present)
        stale = [row.pk for key, row in waiting.items() if key not in kept]
        Proposal.objects.filter(pk__in=stale).waiting().update(state=SUPERSEDED)
        for row in decided:
            if row.changed_to != would[row.pk]:
                row.changed_to = would[row.pk]
                row.save(update_fields=["changed_to"])
    return len(cases)


def overtake(sessions: Iterable[int]) -> None:
    """What waits for these sessions was reckoned for other sets: nobody can accept it any more, and it is made again.

    Proposals follow from the rest, so that nothing of them is kept for an undo.
    """
    Proposal.objects.filter(session__in=list(sessions)).waiting().update(state=SUPERSEDED)


@journal.follows_undo
def overtake_what_an_undo_changed(entry: JournalEntry, _actor: Coach | None) -> None:
    """What was reckoned since is for other sets than those put back. Decisions put their own proposals back."""
    if entry.act.startswith("proposal."):
        return
    fields = [row["before"] or row["after"] for row in entry.rows if row["model"] == TargetSet._meta.label_lower]
    lines = Prescription.objects.filter(pk__in={one["prescription"] for one in fields if one})
    if fields:
        overtake(lines.values_list("session", flat=True))


@journal.clears_before_undo
def clear_reckoned(entry: JournalEntry) -> None:
    """What was only reckoned for sessions that an undo takes away goes with them; what was decided holds it up."""
    made = [
        row["pk"] for row in entry.rows if row["model"] == TrainingSession._meta.label_lower and row["before"] is None
    ]
    if made and not LoggedSet.objects.filter(session__in=made).exists():
        undecided = (Proposal.State.WAITING, Proposal.State.SUPERSEDED)
        Proposal.objects.filter(session__in=made, state__in=undecided).delete()


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
        elif not session.deload and (key not in usual or session.state_reason != TrainingSession.CUT_FOR_TIME):
            usual[key] = session
    wanted = [session.pk for session in upcoming.values()]
    wanted += [usual[key].pk for key in upcoming if key in usual]
    rows = {
        row.pk: row
        for row in TrainingSession.objects.filter(pk__in=wanted)
        .with_lines()
        .prefetch_related("prescriptions__exercise__regions", "prescriptions__exercise__joints")
    }
    for key, session in upcoming.items():
        yield from _cases_of(rows[session.pk], rows[usual[key].pk] if key in usual else None)


def _cases_of(session: TrainingSession, last: TrainingSession | None) -> Iterable[_Case]:
    """``last`` is the one before it that was no easier one. A deload is made by the engine from the usual sets, as the
    block has its own cut already."""
    before = {line.slot_key: line for line in last.prescriptions.all()} if last is not None else {}
    for line in session.prescriptions.all():
        if line.exercise is None or line.reasons or "load" in line.pinned:
            continue
        then = before.get(line.slot_key)
        own = then is not None and then.exercise_id == line.exercise_id
        usual = tuple(then.target_sets.all()) if then is not None and own else ()
        planned = tuple(line.target_sets.all())
        yield _Case(session, line, usual if session.deload and usual else planned, usual)


def _tested(inputs: Inputs, step: NextStep) -> str:
    """The test that the step really holds; "" where none was asked for or it does not belong there."""
    asked = str(inputs.options["test"])
    return asked if any(reason.code == asked for reason in step.reasons) else ""


def _store(
    client: Client,
    case: _Case,
    inputs: Inputs,
    step: NextStep,
    not_plain: list[dict[str, Any]],
    decides: Mapping[str, Any],
    present: Proposal | None,
) -> None:
    """``decides`` is what accepting it writes down besides: where a wave stands, and the test that was asked for."""
    exercise = case.line.exercise
    if exercise is None:
        raise ValueError("a free line has no proposal")
    unit = inputs.rack.unit
    if present is not None and not Proposal.objects.filter(pk=present.pk).waiting().update(state=SUPERSEDED):
        return  # decided while this was reckoned: the decision stands
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
            # What it was reckoned from, so that it can be asked again once it is decided.
            "from": {"sets": [asdict(one) for one in inputs.current], "pinned": list(case.line.pinned)},
            **{name: value for name, value in decides.items() if value},
        },
        reasons=[_because(reason) for reason in step.reasons],
        plain=not not_plain,
        digest=inputs.digest,
    )
    if present is not None:
        Proposal.objects.filter(pk=present.pk).update(superseded_by=made)


def _because(reason: Because) -> dict[str, Any]:
    return {"code": reason.code, "params": dict(reason.params)}
