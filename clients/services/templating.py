"""A template from a client's block: what was trained, for anybody.

Nothing about the person goes along: no name, no notes, no limits, no loads, and none of the care that their health
asked for.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from django.db import models

from clients.cycles import day_of, in_order, is_rolling
from clients.models import Block, Prescription, TargetSet, TrainingSession
from clients.reads.block_work import NOT_WORK
from coachdesk.practice import journal
from coachdesk.practice.models import Coach, JournalEntry
from programs.engine.vocabulary import EXPERIENCES
from programs.models import Exercise, Outline, OutlineDay, OutlineLine, OutlineSlot, SlotCandidate
from programs.services.rows import made

LETTERS = "ABCDEFG"
FEWER_AT_FIRST = "first_session_fewer_sets"
USUAL_RIR = Decimal(2)
USUAL_REPS = [8, 12]
USUAL_REST_S = 90

Place = tuple[str, int]  # day key and occurrence
Number = TypeVar("Number", bound=int | Decimal)


@dataclass(frozen=True, slots=True)
class SlotShape:
    """A slot as it will be written. ``candidates`` are ranked exercises, a list an occurrence; ``values`` are the
    row's own fields. ``left_out`` names the occurrences, A or B, on which the block had nothing there."""

    values: dict[str, Any]
    candidates: list[list[Exercise]]
    left_out: list[str]


@dataclass(frozen=True, slots=True)
class DayShape:
    key: str
    name: str
    letters: list[str]
    slots: list[SlotShape]
    lines: list[OutlineLine]


@dataclass(frozen=True, slots=True)
class Shape:
    """A template as it will be written; ``dropped`` are titles of slots that the block never filled."""

    order: list[str]
    cycle_days: int
    offsets: list[int]
    days: list[DayShape]
    dropped: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Trained:
    """What a block asked for on one occurrence of one slot."""

    line: Prescription
    exercise: Exercise
    sets: int
    reps: list[int] | None
    rir: Decimal | None
    rest_s: int | None
    tempo: str


def shape_of(block: Block) -> Shape:
    """The template that a block makes, at ten queries however long the block, and one more for merged exercises.

    Of each session of the round the latest that was trained counts, easier rounds left aside; where none was, the
    latest that is planned. Rep ranges are those that the exercise began with: where they went from there is this
    person's progress. A session that comes before another of its day type in the week is its A.
    """
    outline = Outline.objects.with_week().get(pk=block.outline_id)
    rows = list(
        block.sessions.to_train().only("block", "cycle", "position", "day_key", "occurrence", "deload", "state")
    )
    order, offsets = _round(block, rows)
    counts = _sessions_that_count(rows, order)
    trained = _lines(block, counts)
    former = {slot.key: slot for day in outline.days.all() for slot in day.slots.all()}
    names = {day.key: day for day in outline.days.all()}
    days, dropped = [], []
    for key in dict.fromkeys(day for day, _occurrence in order):
        occurrences = [occurrence for day, occurrence in order if day == key]
        day, here = names.get(key), [trained.get((key, occurrence), {}) for occurrence in occurrences]
        letters = [LETTERS[number % len(LETTERS)] for number in range(len(occurrences))]
        asked = _slots_in_order(here)
        slots = [
            _slot(former.get(slot), [each.get(slot) for each in here], occurrences, letters, block.client.experience)
            for slot in asked
        ]
        lines = list(day.lines.all()) if day is not None else []
        days.append(DayShape(key, day.name if day is not None else key.title(), letters, slots, lines))
        if day is not None:
            dropped += [slot.title for slot in day.slots.all() if slot.key not in asked]
    days = [day for day in days if day.slots]
    kept = {day.key for day in days}
    whole = all(day in kept for day, _occurrence in order)
    return Shape(
        [day for day, _occurrence in order if day in kept], block.cycle_days, offsets if whole else [], days, dropped
    )


def make_template(
    block: Block, coach: Coach, *, name: str, summary: str, serves: Sequence[str]
) -> tuple[Outline, JournalEntry | None]:
    """Writes the block as a template of the practice, offered at once; undoing the entry takes it away again."""
    shape = shape_of(block)
    with journal.act(coach.practice, coach, "outline.from_block", name=name) as entry:
        outline = Outline.objects.create(
            practice=coach.practice,
            name=name,
            summary=summary,
            serves=[level for level in EXPERIENCES if level in serves],
            order=shape.order,
            cycle_days=shape.cycle_days,
            offsets=shape.offsets,
        )
        rows: list[models.Model] = [outline]
        for position, day in enumerate(shape.days):
            rows += _write_day(outline, position, day)
        made(entry, rows)
    return outline, entry.entry


def _write_day(outline: Outline, position: int, day: DayShape) -> list[models.Model]:
    written = OutlineDay.objects.create(outline=outline, key=day.key, name=day.name, position=position)
    rows: list[models.Model] = [written]
    rows += OutlineLine.objects.bulk_create(
        OutlineLine(day=written, at_start=line.at_start, position=number, text=line.text, minutes=line.minutes)
        for number, line in enumerate(day.lines)
    )
    for number, shape in enumerate(day.slots):
        slot = OutlineSlot.objects.create(day=written, position=number, **shape.values)
        rows.append(slot)
        rows += SlotCandidate.objects.bulk_create(
            SlotCandidate(slot=slot, exercise=exercise, occurrence=occurrence, rank=rank)
            for occurrence, ranked in enumerate(shape.candidates)
            for rank, exercise in enumerate(ranked)
        )
    return rows


def _round(block: Block, sessions: Sequence[TrainingSession]) -> tuple[list[Place], list[int]]:
    """The sessions of one round in their order, and for a rolling cycle the days that they fall on."""
    rows = in_order(block.document.get("days", []), block.starts_on)
    if rows:
        days = [day_of(row) for row in rows]
        offsets = [day for day in days if day is not None] if is_rolling(block.cycle_days) else []
        return [(row["day"], row["occurrence"]) for row in rows], offsets if len(offsets) == len(rows) else []
    first = min((session.cycle for session in sessions), default=1)
    return [(session.day_key, session.occurrence) for session in sessions if session.cycle == first], []


def _sessions_that_count(sessions: Iterable[TrainingSession], order: Sequence[Place]) -> dict[Place, tuple[int, int]]:
    """Of every session of the round the one whose lines count and the block's first, by primary key."""
    standing: dict[Place, list[tuple[bool, bool, int, int]]] = {}
    for session in sessions:
        place = (session.day_key, session.occurrence)
        if place in order and not session.deload:
            trained = session.state == TrainingSession.State.TRAINED
            standing.setdefault(place, []).append((trained, session.cycle > 1, session.cycle, session.pk))
    return {place: (max(found)[-1], min(found, key=lambda each: each[2])[-1]) for place, found in standing.items()}


def _lines(block: Block, counts: Mapping[Place, tuple[int, int]]) -> dict[Place, dict[str, _Trained]]:
    """The lines of these sessions by slot."""
    picked = {
        (row["slot"], row["occurrence"]): int(row["sets"]) for row in block.document.get("picks", []) if row["sets"]
    }
    wanted = {pk for both in counts.values() for pk in both}
    sessions = {session.pk: session for session in TrainingSession.objects.filter(pk__in=wanted).with_lines()}
    lines = {
        pk: [(line, line.exercise) for line in session.prescriptions.all() if line.exercise is not None]
        for pk, session in sessions.items()
    }
    merged = {exercise.merged_into_id for listed in lines.values() for _line, exercise in listed}
    instead = Exercise.objects.in_bulk([pk for pk in merged if pk is not None])
    found: dict[Place, dict[str, _Trained]] = {}
    for (day, occurrence), (latest, first) in counts.items():
        here = found.setdefault((day, occurrence), {})
        began = {(line.slot_key, exercise.pk): _reps(_work(line)) for line, exercise in lines[first]}
        for line, exercise in lines[latest]:
            # A line that came to the session without a slot makes one of its own.
            here[line.slot_key or f"{day}-{line.position}"] = _as_trained(
                line,
                instead.get(exercise.merged_into_id or 0, exercise),
                picked.get((line.slot_key, occurrence)),
                began.get((line.slot_key, exercise.pk)),
            )
    return found


def _work(line: Prescription) -> list[TargetSet]:
    return [target for target in line.target_sets.all() if target.kind not in NOT_WORK]


def _reps(work: Sequence[TargetSet]) -> list[int] | None:
    """Lowest and highest reps asked of the sets; None where they are not counted in reps."""
    lows = [target.reps_low for target in work if target.reps_low is not None]
    highs = [high for target in work if (high := target.reps_high or target.reps_low) is not None]
    return [min(lows), max(highs)] if lows else None


def _as_trained(line: Prescription, exercise: Exercise, picked: int | None, began: list[int] | None) -> _Trained:
    work = _work(line)
    fewer = any(reason.get("code") == FEWER_AT_FIRST for reason in line.reasons)
    reserves = [target.rir for target in work if target.rir is not None]
    rests = [target.rest_s for target in work if target.rest_s is not None]
    return _Trained(
        line,
        exercise,
        picked if fewer and picked else len(work),
        began or _reps(work),
        min(reserves) if reserves else None,
        min(rests) if rests else None,
        work[0].tempo if work else "",
    )


def _slots_in_order(sessions: Sequence[Mapping[str, _Trained]]) -> list[str]:
    """The slots of a day type as they follow each other in its sessions."""
    places: dict[str, int] = {}
    for session in sessions:
        for key, trained in session.items():
            places[key] = min(places.get(key, trained.line.position), trained.line.position)
    return sorted(places, key=lambda key: (places[key], key))


def _slot(
    former: OutlineSlot | None,
    trained: Sequence[_Trained | None],
    occurrences: Sequence[int],
    letters: Sequence[str],
    experience: str,
) -> SlotShape:
    there = [each for each in trained if each is not None]
    first = there[0]
    ranked: dict[int, list[Exercise]] = {}
    for candidate in former.candidates.all() if former is not None else ():
        ranked.setdefault(candidate.occurrence, []).append(candidate.exercise)
    lists = [ranked[occurrence] for occurrence in sorted(ranked)]
    candidates, reps = [], []
    for each, occurrence in zip(trained, occurrences, strict=True):
        others = lists[occurrence % len(lists)] if lists else []
        candidates.append(_unique([*([each.exercise] if each is not None else []), *others]))
        usual = former.reps[occurrence % len(former.reps)] if former is not None and former.reps else USUAL_REPS
        reps.append(list(each.reps) if each is not None and each.reps is not None else list(usual))
    values = _intent(former, first)
    values |= {
        "sets": _sets(former, [each.sets for each in there], experience),
        "reps": reps,
        "rir": _least([each.rir for each in there], former.rir if former is not None else None, USUAL_RIR),
        "rest_s": _least([each.rest_s for each in there], former.rest_s if former is not None else None, USUAL_REST_S),
        "superset": first.line.superset,
    }
    return SlotShape(values, candidates, [letters[n] for n, each in enumerate(trained) if each is None])


def _intent(former: OutlineSlot | None, first: _Trained) -> dict[str, Any]:
    """What the slot is for: as the template has it, else read off the exercise. Reasons and technique notes are the
    template's own: what was written for the client stays with the client."""
    if former is not None:
        kept = ("key", "title", "region", "also_regions", "patterns", "role", "technique", "priority", "reason")
        return {**{name: getattr(former, name) for name in kept}, "tempo": former.tempo}
    exercise, line = first.exercise, first.line
    regions = sorted(exercise.regions.all(), key=lambda entry: -entry.quarters)
    return {
        "key": line.slot_key or f"{line.session.day_key}-{line.position}",
        "title": line.slot_title or exercise.name[:60],
        "region": regions[0].region if regions else "abs",
        "patterns": [exercise.pattern],
        "role": line.role or exercise.role,
        "tempo": first.tempo,
    }


def _sets(former: OutlineSlot | None, trained: Sequence[int], experience: str) -> dict[str, list[int]]:
    """For the client's experience as trained, for the others as the template had it."""
    own = [min(trained), max(trained)]
    others = former.sets if former is not None else {}
    return {level: own if level == experience else list(others.get(level, own)) for level in EXPERIENCES}


def _least(trained: Sequence[Number | None], former: Number | None, usual: Number) -> Number:
    """The least that was trained, but never more than the template asked for: what lies above that (more in reserve,
    longer rests) is care for this person's health, and theirs alone."""
    known = [value for value in (*trained, former) if value is not None]
    return min(known) if known else usual


def _unique(exercises: Iterable[Exercise]) -> list[Exercise]:
    return list({exercise.pk: exercise for exercise in exercises}.values())
