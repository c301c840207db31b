"""A block week by week, before it is assigned and after: sets and minutes of every session, dose of every group."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.board import drawings
from clients.board.words import NONE, counted_words, rises_words, verdict_words
from clients.clock import today_for
from clients.cycles import WEEK_DAYS, easier_words, first_day, is_rolling, laid_out, round_on, round_title
from clients.models import Block, Draft, TrainingSession
from clients.reads.block_work import exercises_of, regions_of
from clients.reads.composing import ComposeInputs, draft_inputs, picks_of
from clients.reads.course import course_of, plan_of, refused_rises, steep_rises, whole_minutes
from clients.reads.lengths import lengths_of, standing_lines
from clients.reads.starting import Starting
from programs import labels
from programs.engine import dose
from programs.engine.compose import GroupDose
from programs.engine.compose.course import Course, Round
from programs.engine.vocabulary import AUDITED_GROUPS
from programs.reasons import sentence_of

NO_DOSE = dose.Dose()


@dataclass(frozen=True, slots=True)
class Planned:
    """One session of a round. ``lines`` are (exercise, sets) by slot; ``session`` is None before assigning."""

    name: str
    day: date | None
    minutes: int | None
    over: bool
    lines: Mapping[str, tuple[str, int]]
    session: TrainingSession | None = None

    @property
    def sets(self) -> int:
        return sum(sets for _name, sets in self.lines.values())


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One round: a week or a rolling cycle. ``cells`` stand in the columns of its sessions, None where one is missing,
    as in a last cycle that is cut short: its dose is not judged, no more than that of an easier one."""

    number: int
    title: str
    starts_on: date
    deload: bool
    harder: bool
    cells: list[Planned | None]
    doses: Mapping[str, GroupDose]
    waits: list[str] = field(default_factory=list)  # steps of the ramp that were held back, and why
    first: str = ""  # the session that is the client's very first
    chosen: bool = False

    @property
    def sets(self) -> int:
        return sum(cell.sets for cell in self.cells if cell is not None)

    @property
    def whole(self) -> bool:
        return None not in self.cells

    @property
    def waiting(self) -> str:
        if not self.waits:
            return ""
        return ngettext("%(n)d step waits", "%(n)d steps wait", len(self.waits)) % {"n": len(self.waits)}


@dataclass(frozen=True, slots=True)
class GroupCell:
    count: str
    mark: str
    words: str
    deload: bool
    chosen: bool


@dataclass(frozen=True, slots=True)
class GroupRow:
    """One group: its sets in every round, and the strip of the chosen one."""

    name: str
    second: str
    cells: list[GroupCell]
    strip: SafeString
    count: str
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class Weeks:
    """Everything that ``clients/weeks/_weeks.html`` shows. An address is ``query`` and the number of a round."""

    rows: list[WeekRow]
    names: list[str]
    chosen: WeekRow
    groups: list[GroupRow]
    changes: list[tuple[str, list[str]]]  # by session: what is other than in the round before
    cautions: list[str]
    cycle_days: int
    query: str
    cap: int | None
    refused: str = ""  # what holds an assignment up until the coach pins it

    @property
    def rolling(self) -> bool:
        return is_rolling(self.cycle_days)

    @property
    def easier(self) -> str:
        return easier_words(self.cycle_days)

    @property
    def deloads(self) -> bool:
        return any(row.deload for row in self.rows)


def weeks_of_draft(draft: Draft, week: int | None = None) -> Weeks | None:
    """What assigning the draft would write; None for a draft without sessions. ``week`` is the round looked at."""
    inputs = draft_inputs(draft)
    starting = Starting.gather(draft.client, draft.place, draft.starts_on, inputs.ids)
    course = course_of(draft, inputs, picks_of(draft.document, inputs.merged), starting)
    rows = _rows_of_draft(draft, inputs, course)
    if not rows:
        return None
    names = inputs.names()
    refused = refused_rises(course, draft.document)
    if starting.new_client and rows[0].cells and rows[0].cells[0] is not None:
        rows[0] = replace(rows[0], first=rows[0].cells[0].name)
    found = _weeks(
        rows,
        week or 1,
        inputs.cycle_days,
        priorities=inputs.request.priorities,
        cautions=[sentence_of(why, names) for why in steep_rises(course, draft.document)],
        query="?week=",
        cap=draft.client.minutes,
    )
    return replace(found, refused=rises_words(refused))


def _rows_of_draft(draft: Draft, inputs: ComposeInputs, course: Course) -> list[WeekRow]:
    names = inputs.names()
    days = {day.key for day in inputs.request.day_types}
    placed = [row for row in draft.document["days"] if row["day"] in days]
    found: dict[int, list[Planned | None]] = {}
    for laid in laid_out(placed, draft.starts_on, draft.weeks, inputs.cycle_days):
        cells = found.setdefault(laid.cycle, [None] * len(placed))
        cells[laid.position] = _planned(
            inputs, course.rounds[laid.cycle - 1], laid.row["day"], laid.row["occurrence"], laid.day
        )
    return [
        WeekRow(
            number,
            round_title(number, inputs.cycle_days),
            first_day(draft.starts_on, number, inputs.cycle_days),
            course.rounds[number - 1].deload,
            course.rounds[number - 1].harder,
            cells,
            course.rounds[number - 1].dose,
            [sentence_of(held.reason, names) for held in course.held if held.round == number],
        )
        for number, cells in found.items()
    ]


def _planned(inputs: ComposeInputs, one: Round, day: str, occurrence: int, on: date | None) -> Planned:
    slots = inputs.slots()
    entry = next(entry for entry in one.minutes if (entry.day, entry.occurrence) == (day, occurrence))
    return Planned(
        name=inputs.session_name(day, occurrence),
        day=on,
        minutes=whole_minutes(entry.minutes),
        over=entry.cap is not None and whole_minutes(entry.minutes) > entry.cap,
        lines={
            pick.slot: (inputs.library[pick.exercise].name, pick.sets)
            for pick in one.picks
            if pick.occurrence == occurrence and slots[pick.slot][0].key == day
        },
    )


def weeks_of_block(block: Block, week: int | None = None) -> Weeks | None:
    """What the sessions of a block ask for as they stand, whatever was changed since it was assigned: six queries.

    None for a block without sessions. The round looked at is the present one by default.
    """
    sessions = [row for row in block.sessions.order_by("cycle", "position") if not _put_away(row, block)]
    if not sessions:
        return None
    client = block.client
    standing = standing_lines(sessions)
    exercises = exercises_of({line.exercise for here in standing.lines.values() for line in here})
    shares = {pk: regions_of(row) for pk, row in exercises.items()}
    lengths = lengths_of(sessions, standing)
    width = max(session.position for session in sessions) + 1
    cells: dict[int, list[Planned | None]] = {}
    work: dict[int, list[dose.Work]] = {}
    for session in sessions:
        here = [(line.slot, line.exercise, line.work) for line in standing.lines.get(session.pk, ()) if line.work]
        cells.setdefault(session.cycle, [None] * width)[session.position] = Planned(
            name=session.name,
            day=session.planned_on,
            minutes=lengths[session.pk],
            over=(lengths[session.pk] or 0) > client.minutes,
            lines={f"{slot}:{pk}": (exercises[pk].name, count) for slot, pk, count in here},
            session=session,
        )
        work.setdefault(session.cycle, []).extend(
            dose.Work(shares[pk], count * WEEK_DAYS / block.cycle_days, session.pk) for _slot, pk, count in here
        )
    priorities = {row.group: row.priority for row in client.priorities.all()}
    age = client.age_on(block.starts_on)
    easier = {session.cycle for session in sessions if session.deload}
    usual = [number for number in cells if number not in easier]
    harder = max(usual, default=0) if plan_of(block.document).last_harder else 0
    rows = [
        WeekRow(
            number,
            round_title(number, block.cycle_days),
            first_day(block.starts_on, number, block.cycle_days),
            number in easier,
            number == harder,
            row,
            _doses(work[number], client.experience, priorities, age),
        )
        for number, row in sorted(cells.items())
    ]
    present = round_on(block.starts_on, block.weeks, today_for(client), block.cycle_days)
    return _weeks(
        rows,
        week or max(1, present),
        block.cycle_days,
        priorities=priorities,
        query=f"?block={block.number}&week=",
        cap=client.minutes,
    )


def _put_away(session: TrainingSession, block: Block) -> bool:
    """What was left out while the rest was drawn forward is numbered beyond the block's rounds; missed days that are
    only kept belong to none."""
    return session.only_kept or (session.state == TrainingSession.State.DROPPED and session.cycle > block.rounds)


def _doses(
    work: Sequence[dose.Work], experience: str, priorities: Mapping[str, str], age: int | None
) -> dict[str, GroupDose]:
    counted = dose.weekly(work)
    found = {}
    for group in AUDITED_GROUPS:
        here = counted.get(group, NO_DOSE)
        judged = dose.judge(here, group, experience, priorities.get(group, "usual"), age)
        found[group] = GroupDose(here, judged)
    return found


def _weeks(
    rows: list[WeekRow],
    week: int,
    cycle_days: int,
    *,
    priorities: Mapping[str, str],
    query: str,
    cap: int | None,
    cautions: Sequence[str] = (),
) -> Weeks:
    numbers = [row.number for row in rows]
    looked_at = week if week in numbers else numbers[0] if week < numbers[0] else numbers[-1]
    rows = [replace(row, chosen=row.number == looked_at) for row in rows]
    chosen = next(row for row in rows if row.chosen)
    width = len(rows[0].cells)
    names = [
        next((cell.name for row in rows if (cell := row.cells[position]) is not None), "") for position in range(width)
    ]
    scale = drawings.strip_scale([row.doses[group] for row in rows for group in AUDITED_GROUPS])
    groups = [_group(group, rows, chosen, scale, priorities.get(group, "")) for group in AUDITED_GROUPS]
    return Weeks(rows, names, chosen, groups, _changes(rows, chosen), list(cautions), cycle_days, query, cap)


def _group(group: str, rows: Sequence[WeekRow], chosen: WeekRow, scale: float, priority: str) -> GroupRow:
    mark, words = _verdict(chosen, group)
    return GroupRow(
        name=str(labels.GROUPS[group]),
        second={"more": _("emphasise"), "keep": _("keep")}.get(priority, ""),
        cells=[
            GroupCell(
                counted_words(row.doses[group].dose.counted),
                *_verdict(row, group),
                row.deload,
                row.number == chosen.number,
            )
            for row in rows
        ],
        strip=drawings.strip(group, chosen.doses[group], scale),
        count=counted_words(chosen.doses[group].dose.counted),
        mark=mark,
        words=words or NONE,
    )


def _verdict(row: WeekRow, group: str) -> tuple[str, str]:
    if row.deload:
        return "", _("easier")
    return verdict_words(row.doses[group]) if row.whole else ("", _("cut short"))


def _changes(rows: Sequence[WeekRow], chosen: WeekRow) -> list[tuple[str, list[str]]]:
    """What is other than in the round before that was no easier one, by session."""
    before = next((row for row in reversed(rows) if row.number < chosen.number and not row.deload), None)
    if before is None or chosen.deload:
        return []
    found = []
    for was, now in zip(before.cells, chosen.cells, strict=True):
        if was is None or now is None or was.name == before.first:
            continue
        said = [
            _("%(exercise)s %(before)d → %(after)d")
            % {"exercise": exercise, "before": was.lines[key][1], "after": sets}
            for key, (exercise, sets) in now.lines.items()
            if key in was.lines and was.lines[key][1] != sets
        ]
        if said:
            found.append((now.name, said))
    return found


def asked_week(query: Mapping[str, Any]) -> int | None:
    """The number of the round that an address asks for."""
    text = str(query.get("week", ""))
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None
