"""Other days for what is left of a block: the same sessions in turn on them, or a week built anew for so many.

Both ways are offered with the dose before and after; the coach takes one. What was trained stays as it was, sheets
that are out are superseded or withdrawn, and one undo puts everything back.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil
from typing import Any

from django.db import transaction
from django.db.models import Count, Q

from clients.cycles import WEEK_DAYS, first_day
from clients.models import Block, Client, Draft, SheetVersion, TrainingSession
from clients.reads.composing import compose_inputs, picks_of
from clients.services import blocks, logs
from clients.services.calendar import session_loads
from clients.services.drafts import start_draft
from clients.services.sheets import reissue_all_out
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine import calendar, other_days
from programs.engine.compose import Audit, assess, compose
from programs.engine.other_days import GroupShift
from programs.engine.terms import Pick
from programs.models import Outline

LONGEST_ROUND = 14


class Otherwise(Exception):
    """What was shown is not what would be done: something changed in between."""


class NotLaid(Exception):
    """The sessions cannot go on the days; ``code`` says why: "none_left", "no_dates" or "too_few"."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True, slots=True)
class InTurn:
    """The sessions that are left, in their order, on the days there are. ``round_days`` is how long a round takes."""

    moved: Sequence[tuple[TrainingSession, date]]
    round_days: float
    end_before: date
    end_after: date
    shifts: Sequence[GroupShift]
    sheets_out: int

    @property
    def stretched(self) -> bool:
        return self.round_days > WEEK_DAYS

    @property
    def days_later(self) -> int:
        return (self.end_after - self.end_before).days


@dataclass(frozen=True, slots=True)
class Anew:
    """A template for so many days, composed for what is left of the block."""

    outline: Outline
    shifts: Sequence[GroupShift]
    weeks: int
    digest: str
    unfilled: int


@dataclass(frozen=True, slots=True)
class Offers:
    """``anew`` is None where the practice has no template for so many days, or none is needed."""

    block: Block
    since: date
    days: tuple[int, ...]
    in_turn: InTurn
    anew: Anew | None
    sessions_a_round: int


def templates_for(client: Client, block: Block, sessions: int) -> list[Outline]:
    """Current templates of so many sessions a week: those that serve the client's experience first, and of these the
    ones that know most of the exercises in the block."""
    rows = Outline.objects.for_practice(client.practice).current().filter(cycle_days=WEEK_DAYS)
    here = {row["exercise"] for row in block.document.get("picks", [])}
    known = Count(
        "days__slots__candidates__exercise",
        filter=Q(days__slots__candidates__exercise__public_id__in=here),
        distinct=True,
    )
    fitting = [row for row in rows.annotate(known=known).order_by("-known", "name") if len(row.order) == sessions]
    return sorted(fitting, key=lambda row: client.experience not in row.serves)


def offers(client: Client, since: date, days: Sequence[int], outline: Outline | None = None) -> Offers:
    """What is left of the running block from ``since`` on, laid on other weekdays; nothing is written.

    ``outline`` is the template for building anew; None: the first that fits. Raises NotLaid.
    """
    block = client.blocks.active().select_related("outline", "place").first()
    left = _left(block, since) if block is not None else []
    if block is None or not left:
        raise NotLaid("none_left")
    if any(row.planned_on is None for row in left):
        raise NotLaid("no_dates")
    weekdays = tuple(sorted(set(days)))
    inputs = compose_inputs(
        client,
        block.outline,
        block.place,
        on=since,
        order=block.document.get("order"),
        cycle_days=block.cycle_days,
        own=block.document,
    )
    picks = picks_of(block.document, inputs.merged)
    sessions = len({(row.day_key, row.occurrence) for row in left})
    if len(weekdays) > sessions:
        placed = calendar.place_days(session_loads(inputs, picks), weekdays, preferred=client.days_liked).days
        weekdays = tuple(sorted(placed.values())) or weekdays
    round_days = other_days.round_days(sessions, len(weekdays))
    if round_days > LONGEST_ROUND:
        raise NotLaid("too_few")
    before = assess(inputs.request, picks)
    after = assess(replace(inputs.request, cycle_days=round_days), picks)
    dates = other_days.in_turn(since, len(left), weekdays)
    in_turn = InTurn(
        moved=list(zip(left, dates, strict=True)),
        round_days=round_days,
        end_before=max(row.planned_on for row in left if row.planned_on is not None),
        end_after=dates[-1],
        shifts=other_days.shifts(before, after, client.experience),
        sheets_out=_sheets_out(left),
    )
    fewer = len(weekdays) < sessions
    found = (outline or next(iter(templates_for(client, block, len(weekdays))), None)) if fewer else None
    anew = _anew(client, block, since, before, found) if found is not None else None
    return Offers(block, since, weekdays, in_turn, anew, sessions)


def go_on(client: Client, coach: Coach, since: date, days: Sequence[int], end: date) -> JournalEntry | None:
    """Lays the sessions that are left on the days in turn. The client has these days from now on.

    Where a round takes longer than a week, they go on as a block of their own with that round. Raises NotLaid, and
    Otherwise when the last session would not be on ``end``, which was on screen.
    """
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.act(client.practice, coach, "sessions.days", about=about) as entry:
        found = offers(client, since, days)
        if found.in_turn.end_after != end:
            raise Otherwise
        entry.params["count"] = len(found.in_turn.moved)
        _set_days(client, days, entry)
        block = found.block
        rows = [row for row, _day in found.in_turn.moved]
        entry.change(block)
        # Made before the sessions are noted, so that an undo takes them out of it before it goes.
        later = _own_block(found, rows[0].cycle, entry) if found.in_turn.stretched else None
        entry.change(*rows)
        first = rows[0].cycle
        for row, day in found.in_turn.moved:
            row.planned_on = day
            if later is not None:
                row.block, row.cycle = later, row.cycle - first + 1
        if later is None:
            block.weeks = _weeks(block.starts_on, end, block.weeks)
            block.save(update_fields=["weeks"])
        TrainingSession.objects.bulk_update(rows, ["planned_on", "block", "cycle"])
        reissue_all_out(rows, coach, entry)
    logs.reviewed_later(client.pk)
    return entry.entry


def build_anew(
    client: Client, coach: Coach, since: date, days: Sequence[int], outline: Outline, digest: str
) -> tuple[Block, JournalEntry | None]:
    """Composes the template for the days there are and assigns it from ``since`` on. Raises NotLaid and Otherwise."""
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.whole(client.practice, coach, "sessions.anew", about=about) as entry:
        draft = _draft(client, coach, since, days, outline, digest, entry)
        block, _own = blocks.assign(draft, draft.revision, coach)
    logs.reviewed_later(client.pk)
    return block, entry.entry


def draft_anew(
    client: Client, coach: Coach, since: date, days: Sequence[int], outline: Outline, digest: str
) -> tuple[Draft, JournalEntry | None]:
    """The same as a draft to go on with on the board; the block that runs goes on until it is assigned."""
    about = f"client:{client.public_id}"
    with transaction.atomic(), journal.whole(client.practice, coach, "sessions.draft", about=about) as entry:
        draft = _draft(client, coach, since, days, outline, digest, entry)
    return draft, entry.entry


def _draft(
    client: Client,
    coach: Coach,
    since: date,
    days: Sequence[int],
    outline: Outline,
    digest: str,
    entry: journal.Recording,
) -> Draft:
    found = offers(client, since, days, outline)
    if found.anew is None or found.anew.digest != digest:
        raise Otherwise
    _set_days(client, days, entry)
    easier = _easier_weeks(found.block, since, found.anew.weeks)
    return start_draft(
        client,
        coach,
        outline=outline,
        place=found.block.place,
        starts_on=since,
        weeks=found.anew.weeks,
        deload_weeks=easier,
    )


def _left(block: Block, since: date) -> list[TrainingSession]:
    """What is still to come from that day on, in order; nothing that somebody has begun."""
    rows = block.sessions.filter(state=TrainingSession.State.PLANNED, logged_sets=None)
    undated, dated = rows.filter(planned_on=None), rows.filter(planned_on__gte=since)
    return list((undated | dated).select_related("block__place").distinct().order_by("cycle", "position"))


def _anew(client: Client, block: Block, since: date, before: Audit, outline: Outline) -> Anew:
    inputs = compose_inputs(client, outline, block.place, on=since)
    week = compose(inputs.request)
    return Anew(
        outline=outline,
        shifts=other_days.shifts(before, week.audit, client.experience),
        weeks=max(1, ceil(((block.last_day - since).days + 1) / WEEK_DAYS)),
        digest=_digest(outline, week.picks),
        unfilled=len(week.unfilled),
    )


def _digest(outline: Outline, picks: Sequence[Pick]) -> str:
    said: list[Any] = [outline.pk, *([pick.slot, pick.occurrence, pick.exercise, pick.sets] for pick in picks)]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _own_block(found: Offers, first: int, entry: journal.Recording) -> Block:
    """The rest as a block of its own, since its rounds are longer: numbered anew from the first round that is left."""
    block, client = found.block, found.block.client
    block.state = Block.State.ENDED
    block.save(update_fields=["state"])
    later = Block.objects.create(
        client=client,
        outline=block.outline,
        place=block.place,
        number=1 + max(client.blocks.values_list("number", flat=True)),
        starts_on=found.since,
        weeks=_weeks(found.since, found.in_turn.end_after, 1),
        cycle_days=min(LONGEST_ROUND, ceil(found.in_turn.round_days)),
        deload_weeks=[number - first + 1 for number in block.deload_weeks if number >= first],
        document=_without_days(block.document),
    )
    entry.made(later)
    return later


def _without_days(document: Mapping[str, Any]) -> dict[str, Any]:
    """The week without weekdays: its sessions follow each other in turn."""
    return {**document, "days": [{**row, "weekday": None} for row in document.get("days", [])]}


def _set_days(client: Client, days: Sequence[int], entry: journal.Recording) -> None:
    row = Client.objects.select_for_update().get(pk=client.pk)
    entry.change(row)
    chosen = sorted(set(days))
    row.days = client.days = chosen
    row.days_liked = client.days_liked = [day for day in row.days_liked if day in chosen]
    row.days_never = client.days_never = [day for day in row.days_never if day not in chosen]
    row.sessions_per_week = client.sessions_per_week = min(row.sessions_per_week, len(chosen))
    row.save(update_fields=["days", "days_liked", "days_never", "sessions_per_week"])


def _easier_weeks(block: Block, since: date, weeks: int) -> list[int]:
    """The easier weeks that are still to come, counted from ``since``."""
    found = set()
    for number in block.deload_weeks:
        begins = first_day(block.starts_on, number, block.cycle_days)
        if begins >= since:
            found.add((begins - since).days // WEEK_DAYS + 1)
    return sorted(number for number in found if number <= weeks)


def _weeks(starts_on: date, end: date, least: int) -> int:
    return max(least, ceil(((end - starts_on).days + 1) / WEEK_DAYS))


def _sheets_out(rows: Sequence[TrainingSession]) -> int:
    return SheetVersion.objects.filter(session__in=rows, state=SheetVersion.State.ISSUED).count()
