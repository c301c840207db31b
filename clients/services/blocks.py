"""Assigning a draft: what was on screen becomes a block with its sessions, lines and target sets."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from clients.cycles import WEEK_DAYS, cycle_days_of, laid_out
from clients.models import Block, Draft, Prescription, Proposal, SheetVersion, TargetSet, TrainingSession
from clients.reads.composing import LETTERS, ComposeInputs, draft_inputs, picks_of
from clients.reads.course import course_of, refused_rises, whole_minutes
from clients.reads.library import exercise_term
from clients.reads.starting import FIRST_SESSION_RIR, Starting
from clients.services.drafts import StaleDraft, locked
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import terms
from programs.engine.compose import reps_for
from programs.engine.compose.course import Course
from programs.engine.compose.request import Slot
from programs.engine.constants import FIRST_SESSION_SETS_SHARE
from programs.engine.terms import Because
from programs.models import Exercise, OutlineDay
from programs.units import columns, load_of

USUAL_WEEKS = 6
DELOAD_EVERY = 6  # planned easier weeks come about this often in practice (Rogerson et al. 2024)


class TooSteep(Exception):
    """The first round rises too steeply over the weeks before, and the coach has not pinned that; ``rises`` say by how
    much."""

    def __init__(self, rises: Sequence[Because]) -> None:
        super().__init__(", ".join(str(why.params["group"]) for why in rises))
        self.rises = tuple(rises)


@dataclass(frozen=True, slots=True)
class _Plan:
    """All that writing the sessions of a block needs, gathered once."""

    draft: Draft
    inputs: ComposeInputs
    starting: Starting
    flags: dict[tuple[str, int], dict[str, Any]]
    terms: dict[str, terms.Exercise]
    slots: dict[str, Slot]
    techniques: dict[str, str]
    course: Course


def assign_block(draft: Draft, revision: int, coach: Coach) -> Block:
    """Writes exactly what was on screen. Raises StaleDraft when the draft has changed since, and TooSteep where a
    group's weekly dose would rise too much at once; solves nothing again.

    The client's active block ends, and what of it would have come from the new one's start on is left out; one
    journal entry can put all of it back.
    """
    return assign(draft, revision, coach)[0]


def assign(draft: Draft, revision: int, coach: Coach) -> tuple[Block, JournalEntry | None]:
    """``assign_block`` with the journal entry that takes it back."""
    with transaction.atomic():
        newest = locked(draft)
        if newest.revision != revision or newest.state != Draft.State.OPEN:
            raise StaleDraft(newest)
        plan = _gather(newest)
        steep = refused_rises(plan.course, newest.document)
        if steep:
            raise TooSteep(steep)
        client = newest.client
        with journal.act(client.practice, coach, "block.assign", about=f"client:{client.public_id}") as entry:
            for active in client.blocks.filter(state=Block.State.ACTIVE):
                entry.change(active)
                active.state = Block.State.ENDED
                active.save(update_fields=["state"])
                _leave_out_rest(active, newest.starts_on, entry)
            entry.change(newest)
            newest.state = Draft.State.ASSIGNED
            newest.save(update_fields=["state", "changed_at"])
            block = Block.objects.create(
                client=client,
                outline=newest.outline,
                place=newest.place,
                number=(client.blocks.order_by("-number").values_list("number", flat=True).first() or 0) + 1,
                starts_on=newest.starts_on,
                weeks=newest.weeks,
                cycle_days=cycle_days_of(newest.document),
                deload_weeks=newest.deload_weeks,
                document=newest.document,
            )
            entry.made(block)
            made = _write_sessions(block, plan)
            entry.made(*made)
            if client.outline_id != newest.outline_id or client.place_id != newest.place_id:
                entry.change(client)
                client.outline, client.place = newest.outline, newest.place
                client.save(update_fields=["outline", "place"])
    draft.refresh_from_db()
    return block, entry.entry


def _leave_out_rest(block: Block, begins: date, entry: journal.Recording) -> None:
    """Of a block that ends, the sessions that the next one takes the place of: not trained, and on its first day or
    later, or without a date."""
    ahead = Q(planned_on__gte=begins) | Q(planned_on=None)
    leave_out(block.sessions.filter(ahead, state=TrainingSession.State.PLANNED, logged_sets=None), entry)


def leave_out(rest: QuerySet[TrainingSession], entry: journal.Recording) -> None:
    """Planned sessions that will not be trained: their sheets are withdrawn, and what was proposed for them waits no
    longer."""
    keys = list(rest.values_list("pk", flat=True))
    proposals = Proposal.objects.filter(session__in=keys)
    entry.move(proposals, "state", Proposal.State.WAITING.value, Proposal.State.SUPERSEDED.value)
    sheets = SheetVersion.objects.filter(session__in=keys)
    entry.move(sheets, "state", SheetVersion.State.ISSUED.value, SheetVersion.State.WITHDRAWN.value)
    planned = TrainingSession.objects.filter(pk__in=keys)
    entry.move(planned, "state", TrainingSession.State.PLANNED.value, TrainingSession.State.DROPPED.value)


def last_day(block: Block) -> date:
    return block.last_day


def usual_deloads(experience: str, weeks: int, cycle_days: int = WEEK_DAYS) -> list[int]:
    """Weeks that are easier by default; a novice's come when they are needed, not by the calendar.

    In a rolling block they are cycles: the last whole ones of such a time, about a week of them.
    """
    if experience == "novice":
        return []
    at_once = max(1, WEEK_DAYS // cycle_days)
    ends = [week * WEEK_DAYS // cycle_days for week in range(DELOAD_EVERY, weeks + 1, DELOAD_EVERY)]
    return [number for end in ends for number in range(end - at_once + 1, end + 1)]


def _gather(draft: Draft) -> _Plan:
    inputs = draft_inputs(draft)
    slots = {key: slot for key, (_day, slot) in inputs.slots().items()}
    picks = picks_of(draft.document, inputs.merged)
    # An exercise may have been hidden since it was picked; the coach saw it on the board, so it stays.
    hidden = {pick.exercise for pick in picks} - set(inputs.library)
    rows = Exercise.objects.for_practice(draft.client.practice).filter(public_id__in=hidden).with_facts()
    library = {**inputs.library, **{row.key: exercise_term(row) for row in rows}}
    starting = Starting.gather(draft.client, draft.place, draft.starts_on, inputs.ids)
    return _Plan(
        draft=draft,
        inputs=inputs,
        starting=starting,
        flags={(row["slot"], row["occurrence"]): row for row in draft.document["picks"]},
        terms=library,
        slots=slots,
        course=course_of(draft, inputs, picks, starting, library),
        techniques={
            slot.key: slot.technique for day in inputs.outline.days.all() for slot in day.slots.all() if slot.technique
        },
    )


def _write_sessions(block: Block, plan: _Plan) -> list[Any]:
    """Sessions, lines and sets of all rounds, in bulk: three inserts. Day types that the template lost are left out."""
    draft = plan.draft
    minutes = {
        (one.number, entry.day, entry.occurrence): whole_minutes(entry.minutes)
        for one in plan.course.rounds
        for entry in one.minutes
    }
    days = {day.key: day for day in plan.inputs.outline.days.all()}
    placed = [row for row in draft.document["days"] if row["day"] in days]
    sessions: list[TrainingSession] = []
    for laid in laid_out(placed, block.starts_on, block.weeks, block.cycle_days):
        day_key, occurrence = laid.row["day"], laid.row["occurrence"]
        many = sum(other["day"] == day_key for other in placed) > 1
        letter = f" {LETTERS[occurrence]}" if many else ""
        sessions.append(
            TrainingSession(
                block=block,
                cycle=laid.cycle,
                position=laid.position,
                day_key=day_key,
                occurrence=occurrence,
                name=f"{days[day_key].name}{letter}",
                planned_on=laid.day,
                minutes=minutes.get((laid.cycle, day_key, occurrence)),
                deload=laid.cycle in block.deload_weeks,
            )
        )
    TrainingSession.objects.bulk_create(sessions)
    lines: list[Prescription] = []
    targets: list[TargetSet] = []
    for index, session in enumerate(sessions):
        first_ever = index == 0 and plan.starting.new_client
        mine = _lines(session, plan, days[session.day_key], first_ever=first_ever)
        for position, (line, sets) in enumerate(mine):
            line.position = position
            lines.append(line)
            targets.extend(sets)
    Prescription.objects.bulk_create(lines)
    TargetSet.objects.bulk_create(targets)
    return [*sessions, *lines, *targets]


def _lines(
    session: TrainingSession, plan: _Plan, day: OutlineDay, *, first_ever: bool
) -> list[tuple[Prescription, list[TargetSet]]]:
    round_ = plan.course.rounds[session.cycle - 1]
    here = {pick.slot: pick for pick in round_.picks if pick.occurrence == session.occurrence}
    reasons = {slot.key: slot.reason for slot in day.slots.all()}
    free = [
        (line.at_start, Prescription(session=session, text=line.text, minutes=line.minutes)) for line in day.lines.all()
    ]
    lines: list[tuple[Prescription, list[TargetSet]]] = [(line, []) for at_start, line in free if at_start]
    for slot_key in plan.draft.document["order"][session.day_key]:
        pick, slot = here.get(slot_key), plan.slots.get(slot_key)
        if pick is not None and slot is not None and pick.exercise in plan.terms:
            lines.append(_line(session, plan, slot, pick, reasons.get(slot_key, ""), first_ever=first_ever))
    lines.extend((line, []) for at_start, line in free if not at_start)
    return lines


def _line(
    session: TrainingSession, plan: _Plan, slot: Slot, pick: terms.Pick, reason: str, *, first_ever: bool
) -> tuple[Prescription, list[TargetSet]]:
    starting = plan.starting
    term = plan.terms[pick.exercise]
    offered = starting.loads.for_exercise(term)
    rir = starting.rir(slot, first_ever=first_ever)
    why: list[Because] = []
    if first_ever:
        why.append(Because("first_session_fewer_sets", {"percent": round(100 * FIRST_SESSION_SETS_SHARE)}))
    # Later weeks start from what the first one showed: their loads are proposed then, not guessed now.
    start = starting.load(term, slot, session.occurrence, rir) if session.cycle == 1 else None
    least = max(starting.standing.effort.rir, FIRST_SESSION_RIR if first_ever else 0.0)
    rir = plan.course.rounds[session.cycle - 1].rir(rir, least)
    flags = plan.flags[slot.key, session.occurrence]
    line = Prescription(
        session=session,
        slot_key=slot.key,
        slot_title=slot.title,
        role=slot.role,
        exercise_id=plan.inputs.ids[term.key],
        station=offered.station,
        superset=slot.superset,
        reason_text=reason,
        technique=plan.techniques.get(slot.key, ""),
        reasons=[_stored(because) for because in (*why, *(start.reasons if start else ()))],
        pinned=[name for name, key in (("exercise", "pinned"), ("sets", "pinned_sets")) if flags.get(key)],
        finds_load=bool(start and start.find),
    )
    load = load_of(start.load, offered.rack.unit) if start is not None and start.load is not None else None
    low, high = reps_for(slot, session.occurrence, term)
    amounts = {
        "reps": {"reps_low": low, "reps_high": high},
        "seconds": {"seconds": low},
        "metres": {"metres": low},
    }[term.rep_unit]
    targets = [
        TargetSet(
            prescription=line,
            number=number,
            rir=rir if term.rep_unit == "reps" else None,
            rest_s=max(slot.rest_s or term.rest_s, starting.standing.effort.rest_s or 0),
            tempo=slot.tempo or term.tempo,
            **amounts,
            **columns(load),
        )
        for number in range(1, pick.sets + 1)
    ]
    return line, targets


def _stored(reason: Because) -> dict[str, Any]:
    return {"code": reason.code, "params": dict(reason.params)}
