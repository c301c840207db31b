"""What steering a running block would come to: asked, worked out and shown before anything is written."""

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, OuterRef

from clients.clock import today_for
from clients.models import Block, Client, LoggedSet, SheetVersion, TrainingSession
from clients.reads.block_work import LineSets, lines_of_block, regions_of
from programs.engine import other_days, steering
from programs.engine.dose import Work
from programs.engine.other_days import GroupShift
from programs.engine.progress.steps import eased_sets
from programs.engine.steering import Answer, Running, Standing, Steered
from programs.engine.terms import Because
from programs.models import Exercise

State = TrainingSession.State
ACTS = ("shift", "again", "insert", "drop", "ease", "end")
SETTLED = {State.TRAINED: steering.DONE, State.MISSED: steering.ASIDE, State.HELD: steering.ASIDE}


@dataclass(frozen=True, slots=True)
class Asked:
    """One of ACTS. ``round`` is the round done again, left out or eased, or the one that is put ahead of."""

    act: str
    since: date | None = None
    days: int = 0
    round: int = 0
    easy: bool = False
    forward: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One session before and after; None where it is not there, or has no date. Sets are working sets."""

    kind: str  # "moved", "added", "left_out", "eased"
    name: str
    round_before: int | None
    round_after: int | None
    day_before: date | None
    day_after: date | None
    sets_before: int
    sets_after: int
    sheet: str = ""  # what becomes of a sheet that is out: "withdrawn", "new_version"


@dataclass(frozen=True, slots=True)
class Round:
    """One round as a choice: what it is called, and what has become of its sessions."""

    number: int
    first: date | None
    last: date | None
    sessions: int
    done: int
    to_come: int
    easy: bool


@dataclass(frozen=True, slots=True)
class Course:
    """A running block as steering sees it, with its rows by key."""

    block: Block
    running: Running
    rows: Mapping[str, TrainingSession]
    rounds: Sequence[Round]
    today: date

    @property
    def ahead(self) -> int:
        """The first round that others can be put ahead of."""
        return self.running.first_ahead(self.today)

    @property
    def dated(self) -> bool:
        return any(one.day is not None for one in self.running.sessions if one.state == steering.OPEN)


@dataclass(frozen=True, slots=True)
class Plan:
    """What would be done, as a page shows it."""

    course: Course
    asked: Asked
    steered: Steered
    changes: Sequence[Change]
    shifts: Sequence[GroupShift]
    shifts_from: date | None  # the first of the days that the shifts are about; None: a round without dates
    withdrawn: int
    reissued: int
    digest: str


def course_of_block(client: Client) -> Course | None:
    """The running block with its sessions: two queries. None where none runs."""
    block = client.blocks.active().select_related("outline", "place").first()
    if block is None:
        return None
    logged = LoggedSet.objects.filter(session=OuterRef("pk"))
    rows = list(block.sessions.to_train().annotate(begun=Exists(logged)).order_by("cycle", "position"))
    for row in rows:
        row.block = block
    running = Running(
        block.starts_on,
        block.weeks,
        block.cycle_days,
        tuple(block.deload_weeks),
        tuple(_standing(row) for row in rows),
    )
    return Course(block, running, {str(row.pk): row for row in rows}, _rounds(running), today_for(client))


def plan(client: Client, asked: Asked) -> Plan | Because | None:
    """What the act would come to, or why it cannot be; None where no block runs. Nothing is written: eight queries."""
    course = course_of_block(client)
    if course is None:
        return None
    answer = steer(course, asked, _taken(client, course))
    if isinstance(answer, Because):
        return answer
    answer = replace(answer, copies=tuple(replace(one, source=_whole(course, one.source)) for one in answer.copies))
    lines, exercises = lines_of_block(course.block)
    window = _Window(course.running, answer)
    sheets = set(
        SheetVersion.objects.filter(session__block=course.block, state=SheetVersion.State.ISSUED).values_list(
            "session", flat=True
        )
    )
    out = {str(pk) for pk in sheets}
    moved = {one.key for one in answer.moves} | set(answer.eased)
    to_come = {one.key for one in course.running.sessions if one.state == steering.OPEN} - set(answer.left_out)
    return Plan(
        course=course,
        asked=asked,
        steered=answer,
        changes=_changes(course, answer, lines, out),
        shifts=[one for one in window.shifts(client, course, lines, exercises) if one.changed],
        shifts_from=window.first,
        withdrawn=len(out & set(answer.left_out)),
        reissued=len(out & moved & to_come),
        digest=_digest(asked, answer, lines, out),
    )


def steer(course: Course, asked: Asked, taken: Collection[date] = ()) -> Answer:
    """The engine's answer. ``taken`` are days on which the client has sessions of another block."""
    running, today = course.running, course.today
    since = asked.since or today
    if asked.act == "shift":
        return steering.shift(running, asked.days, since, taken)
    if asked.act == "again":
        return steering.again(running, asked.round, today)
    if asked.act == "insert":
        return steering.insert(running, model_for(running, asked.round), asked.round, today, easy=asked.easy)
    if asked.act == "drop":
        return steering.drop(running, asked.round, today, forward=asked.forward)
    if asked.act == "ease":
        return steering.ease(running, asked.round)
    if asked.act == "end":
        return steering.end(running, since)
    raise ValueError(f"no such act: {asked.act}")


def model_for(running: Running, number: int) -> int:
    """Which round a new one ahead of round ``number`` is like: the last ordinary one before it, else the first after.

    The last round of a rolling block may be cut short, so that a whole one is taken where there is one.
    """
    sizes: dict[int, int] = {}
    for one in running.counted:
        sizes[one.round] = sizes.get(one.round, 0) + (0 if one.easy else 1)
    whole = max(sizes.values(), default=0)
    usual = sorted(here for here, size in sizes.items() if size == whole)
    before = [here for here in usual if here < number]
    return (before[-1:] or usual[:1] or [0])[0]


def _whole(course: Course, key: str) -> str:
    """The session itself, or where it was cut for time this once, the nearest one like it that was not."""
    source = course.rows[key]
    if source.state_reason != TrainingSession.CUT_FOR_TIME:
        return key

    def alike(row: TrainingSession) -> tuple[Any, ...]:
        return row.day_key, row.occurrence, row.deload, row.elsewhere_id, row.state == State.DROPPED

    uncut = [row for row in course.rows.values() if row.state_reason != TrainingSession.CUT_FOR_TIME]
    found = [row for row in uncut if alike(row) == alike(source)]
    nearest = min(found, key=lambda row: (abs(row.cycle - source.cycle), row.cycle), default=source)
    return str(nearest.pk)


def _standing(row: Any) -> Standing:
    state = SETTLED.get(row.state, steering.LEFT_OUT if row.state == State.DROPPED else steering.OPEN)
    if row.begun and state != steering.LEFT_OUT:
        state = steering.DONE
    kind = f"{row.day_key}:{row.occurrence}"
    return Standing(str(row.pk), kind, row.cycle, row.position, row.planned_on, state, row.deload)


def _rounds(running: Running) -> list[Round]:
    found = []
    for number in sorted({one.round for one in running.counted}):
        here = [one for one in running.counted if one.round == number]
        days = [one.day for one in here if one.day is not None]
        found.append(
            Round(
                number,
                min(days, default=None),
                max(days, default=None),
                len(here),
                sum(one.state == steering.DONE for one in here),
                sum(one.state == steering.OPEN for one in here),
                all(one.easy for one in here),
            )
        )
    return found


def _taken(client: Client, course: Course) -> set[date]:
    """Days of sessions that another block still has to come."""
    rows = TrainingSession.objects.for_client(client).exclude(block=course.block)
    return {day for day in rows.filter(state=State.PLANNED).values_list("planned_on", flat=True) if day is not None}


def _sets(lines: Sequence[LineSets], *, eased: bool = False) -> int:
    return sum(eased_sets(count) if eased else count for _slot, _exercise, count in lines)


def _changes(
    course: Course, answer: Steered, lines: Mapping[int, Sequence[LineSets]], out: Collection[str]
) -> list[Change]:
    was = {one.key: one for one in course.running.sessions}
    found = []
    for move in answer.moves:
        old, row = was[move.key], course.rows[move.key]
        told = move.day if old.day is not None else move.round
        if move.key in answer.left_out or old.state != steering.OPEN or told == (old.day or old.round):
            continue
        count = _sets(lines.get(row.pk, ()))
        sheet = "new_version" if move.key in out else ""
        found.append(Change("moved", row.name, old.round, move.round, old.day, move.day, count, count, sheet))
    for key in answer.left_out:
        row = course.rows[key]
        count = _sets(lines.get(row.pk, ()))
        sheet = "withdrawn" if key in out else ""
        found.append(Change("left_out", row.name, row.cycle, None, row.planned_on, None, count, 0, sheet))
    for key in answer.eased:
        row = course.rows[key]
        here = lines.get(row.pk, ())
        day, sheet = row.planned_on, "new_version" if key in out else ""
        full, eased = _sets(here), _sets(here, eased=True)
        found.append(Change("eased", row.name, row.cycle, row.cycle, day, day, full, eased, sheet))
    for copy in answer.copies:
        row = course.rows[copy.source]
        count = _sets(lines.get(row.pk, ()), eased=copy.easy and not row.deload)
        found.append(Change("added", row.name, None, copy.round, None, copy.day, 0, count))
    return sorted(found, key=_in_order)


def _in_order(change: Change) -> tuple[Any, ...]:
    day = change.day_before or change.day_after
    return day is None, day or date.max, change.round_before or change.round_after or 0, change.kind != "added"


class _Window:
    """One round's length of days from the first that anything changes on; without dates, the first such round."""

    def __init__(self, running: Running, answer: Steered) -> None:
        self.running, self.answer = running, answer
        was = {one.key: one for one in running.sessions}
        touched = [was[key] for key in (*answer.left_out, *answer.eased)]
        touched += [was[one.key] for one in answer.moves if was[one.key].state == steering.OPEN]
        days = [one.day for one in touched]
        days += [one.day for one in answer.copies] + [one.day for one in answer.moves]
        self.first = min((day for day in days if day is not None), default=None)
        self.number = min([one.round for one in touched] + [one.round for one in answer.copies], default=0)

    def shifts(
        self,
        client: Client,
        course: Course,
        lines: Mapping[int, Sequence[LineSets]],
        exercises: Mapping[int, Exercise],
    ) -> tuple[GroupShift, ...]:
        regions = {pk: regions_of(row) for pk, row in exercises.items()}
        source = {f"{one.source}+{one.round}": one for one in self.answer.copies}

        def work(rows: Sequence[Standing], *, then: bool) -> list[Work]:
            found = []
            for one in rows:
                copied = source.get(one.key)
                row = course.rows[copied.source if copied else one.key]
                eased = then and (one.key in self.answer.eased or (copied is not None and one.easy and not row.deload))
                for _slot, exercise, count in lines.get(row.pk, ()):
                    found.append(Work(regions[exercise], eased_sets(count) if eased else count, one.key))
            return found

        answer = self.answer
        then = steering.after(self.running, answer.moves, answer.copies, answer.left_out)
        return other_days.shifts_of_work(
            work(self._inside(self.running.sessions), then=False),
            work(self._inside(then), then=True),
            client.experience,
            {row.group: row.priority for row in client.priorities.all()},
            client.age_on(self.first or course.today),
            self.running.cycle_days,
        )

    def _inside(self, rows: Collection[Standing]) -> list[Standing]:
        counted = [one for one in rows if one.state in (steering.OPEN, steering.DONE)]
        if self.first is None:
            return [one for one in counted if one.round == self.number]
        after = self.first + timedelta(days=self.running.cycle_days)
        return [one for one in counted if one.day is not None and self.first <= one.day < after]


def _digest(asked: Asked, answer: Steered, lines: Mapping[int, Sequence[LineSets]], out: Collection[str]) -> str:
    """Names all that was on screen: what is asked and comes of it, the sets, and the sheets that are out."""
    said = [repr(asked), repr(answer), sorted(lines.items()), sorted(out)]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()
