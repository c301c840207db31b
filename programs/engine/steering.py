"""Steering a block that runs: its sessions shifted, a round done again, put in, left out or eased, or an early end.

A round is a week, or one turn of a rolling cycle. What was trained, or begun, never moves. Sessions keep their order
and never meet on one day; those without dates have their round for a date. Nothing is put on a day that is over:
that day is an argument, so that the same block and the same wish always give the same answer.
"""

import math
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from programs.engine.calendar import WEEK_DAYS
from programs.engine.terms import Because

MOST_WEEKS: Final = 26

OPEN: Final = "open"  # to come, and nobody has begun it
DONE: Final = "done"  # trained or begun
ASIDE: Final = "aside"  # missed, or on hold: it counts no more, but keeps its place
LEFT_OUT: Final = "left_out"
STATES: Final = (OPEN, DONE, ASIDE, LEFT_OUT)

ONE_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Standing:
    """One session as it stands. ``kind`` is its day type and occurrence; round from 1, position from 0; a session
    without a date has ``day`` None. ``easy``: it is a deload."""

    key: str
    kind: str
    round: int
    position: int
    day: date | None
    state: str = OPEN
    easy: bool = False

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise ValueError(f"no such state of a session: {self.state}")


@dataclass(frozen=True, slots=True)
class Running:
    """A block as it stands. ``easier`` are the numbers of its deload rounds."""

    starts_on: date
    weeks: int
    cycle_days: int
    easier: tuple[int, ...]
    sessions: tuple[Standing, ...]

    @property
    def counted(self) -> tuple[Standing, ...]:
        """All that is or may still be trained."""
        return tuple(one for one in self.sessions if one.state != LEFT_OUT)

    @property
    def last_round(self) -> int:
        return max((one.round for one in self.counted), default=0)

    @property
    def begun(self) -> bool:
        """Whether anything has become of a session yet."""
        return any(one.state in (DONE, ASIDE) for one in self.sessions)

    @property
    def first_free(self) -> int:
        """The first round that lies behind all of which something has become."""
        return max((one.round for one in self.sessions if one.state in (DONE, ASIDE)), default=0) + 1

    def first_ahead(self, not_before: date) -> int:
        """The first of these that has no day before ``not_before``; one more than the last round where none has."""
        for number in range(self.first_free, self.last_round + 1):
            days = [one.day or _ends(self, number) for one in self.counted if one.round == number]
            if days and min(days) >= not_before:
                return number
        return self.last_round + 1

    def opens_on(self, number: int) -> date:
        """The day that a round begins on, as planned."""
        return self.starts_on + timedelta(days=self.cycle_days * (number - 1))


@dataclass(frozen=True, slots=True)
class Move:
    """A session that gets another round or day."""

    key: str
    round: int
    day: date | None


@dataclass(frozen=True, slots=True)
class Copy:
    """A session that is added: like ``source``, in this round and place."""

    source: str
    round: int
    position: int
    day: date | None
    easy: bool


@dataclass(frozen=True, slots=True)
class Steered:
    """What an act comes to.

    ``moves`` stand in an order in which every place (round and position) is free when its turn comes; backwards they
    take the act back in the same way. ``easier`` are the deload rounds then, by their new numbers. ``ended``: nothing
    is left to come. Ends are the last session's day; without dates the last day of the last round.
    """

    starts_on: date
    weeks: int
    easier: tuple[int, ...]
    end_before: date
    end_after: date
    moves: tuple[Move, ...] = ()
    copies: tuple[Copy, ...] = ()
    left_out: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    ended: bool = False

    @property
    def days_later(self) -> int:
        return (self.end_after - self.end_before).days


Answer = Steered | Because


def shift(block: Running, days: int, since: date, taken: Collection[date] = ()) -> Answer:
    """All sessions still to come from ``since`` on, ``days`` later, or earlier where it is negative.

    A block of which nothing has happened begins so much later too. Sessions without dates move by whole rounds.
    ``taken`` are days on which the client has other sessions, of another block. Refused where two sessions would meet,
    or where one would come before ``since``.
    """
    dated = [one for one in _open(block) if one.day is not None and one.day >= since]
    undated = [one for one in _open(block) if one.day is None and _ends(block, one.round) >= since]
    moved = {one.key for one in (*dated, *undated)}
    if not moved or not days:
        return Because("steer.nothing_left", {})
    from_the_start = not block.begun and moved == {one.key for one in _open(block)}
    rounds, part = divmod(days, block.cycle_days)
    if part and not dated and not from_the_start:
        return Because("steer.whole_rounds", {"days": block.cycle_days})
    along = rounds if undated and not part and not from_the_start else 0
    days_of = {one.key: one.day + timedelta(days=days) for one in dated if one.day is not None}
    held = {*taken, *(one.day for one in block.counted if one.day is not None and one.key not in moved)}
    early = min(days_of.values(), default=block.starts_on + timedelta(days=days) if from_the_start else since)
    if days < 0 and early < since:
        return Because("steer.too_early", {"day": since.isoformat()})
    for day in sorted(days_of.values()):
        if day in held:
            return Because("steer.day_taken", {"day": day.isoformat()})
    places = {(one.round, one.position) for one in block.counted if one.key not in moved}
    if along and any((one.round + along, one.position) in places or one.round + along < 1 for one in undated):
        return Because("steer.round_taken", {})
    moves = _renumbered(block, undated, along) if along else []
    moves += [Move(one.key, one.round, days_of[one.key]) for one in sorted(dated, key=_place)]
    first = min((one.round for one in undated), default=0)
    easier = [n + along if along and n >= first else n for n in block.easier]
    starts_on = block.starts_on + timedelta(days=days) if from_the_start else block.starts_on
    return _answer(block, moves=moves, easier=easier, starts_on=starts_on)


def _renumbered(block: Running, rows: Sequence[Standing], along: int) -> list[Move]:
    """``rows`` so many rounds on. What was left out holds no place: where it is in the way, it goes behind all."""
    wanted = {(one.round + along, one.position) for one in rows}
    behind = max(one.round for one in block.sessions) + max(along, 0)
    aside = [one for one in block.sessions if one.state == LEFT_OUT and _place(one) in wanted]
    return [
        *(Move(one.key, behind + one.round, one.day) for one in sorted(aside, key=_place)),
        *(Move(one.key, one.round + along, None) for one in sorted(rows, key=_place, reverse=along > 0)),
    ]


def insert(block: Running, source: int, before: int, not_before: date, *, easy: bool | None = None) -> Answer:
    """The sessions of round ``source`` once more, ahead of round ``before``, which moves along with all behind it.

    ``before`` may be one more than the last round. ``easy``: the copies are deloads, or none; None: as in the source.
    """
    rows = [one for one in block.counted if one.round == source]
    if not rows or not 1 <= before <= block.last_round + 1:
        return Because("steer.no_such_round", {})
    if before < block.first_free:
        return Because("steer.begun", {})
    after = [one for one in block.sessions if one.round >= before]
    span = timedelta(days=block.cycle_days)
    taken = {one.day for one in block.counted if one.round < before and one.day is not None}
    copies, used = [], set(taken)
    for one in sorted(rows, key=_place):
        day = _day_for(block, one, before)
        day = day if day is None else _free(day, used)
        if day is not None:
            used.add(day)
        copies.append(Copy(one.key, before, one.position, day, one.easy if easy is None else easy))
    if any((one.day or _ends(block, before)) < not_before for one in copies):
        return Because("steer.past", {})
    moves = []
    for one in sorted(after, key=_place):
        day = one.day
        if one.state == OPEN and day is not None:
            day = _free(day + span, used)
            used.add(day)
        moves.append(Move(one.key, one.round + 1, day))
    eased = [before] if copies and all(one.easy for one in copies) else []
    easier = [n + (n >= before) for n in block.easier] + eased
    return _answer(block, moves=moves[::-1], copies=copies, easier=easier)


def again(block: Running, source: int, not_before: date) -> Answer:
    """Round ``source`` a second time: right behind it, or as soon as what was begun since lets it."""
    return insert(block, source, max(source + 1, block.first_ahead(not_before)), not_before)


def drop(block: Running, number: int, not_before: date, *, forward: bool) -> Answer:
    """What is still to come of round ``number`` is left out.

    ``forward``: all behind it comes a round earlier, which a round that was begun does not allow; what was left out
    is numbered behind all others then. Else its days stay empty.
    """
    gone = [one for one in _open(block) if one.round == number]
    if not gone:
        return Because("steer.no_such_round", {})
    left_out = [one.key for one in sorted(gone, key=_place)]
    easier = [n for n in block.easier if n != number]
    if not forward:
        stays = any(one.easy and one.key not in left_out for one in block.counted if one.round == number)
        kept = block.easier if stays else easier
        return _answer(block, left_out=left_out, easier=kept)
    if number < block.first_free:
        return Because("steer.begun", {})
    span = timedelta(days=block.cycle_days)
    used = {one.day for one in block.counted if one.round < number and one.day is not None}
    parked = max(one.round for one in block.sessions) + 1
    moves = [Move(one.key, parked, one.day) for one in sorted(block.sessions, key=_place) if one.round == number]
    for one in sorted(block.sessions, key=_place):
        if one.round <= number:
            continue
        day = one.day
        if one.state == OPEN and day is not None:
            day = _free(day - span, used)
            used.add(day)
            if day < not_before:
                return Because("steer.past", {})
        moves.append(Move(one.key, one.round - 1, day))
    return _answer(block, moves=moves, left_out=left_out, easier=[n - (n > number) for n in easier])


def ease(block: Running, number: int) -> Answer:
    """What is still to come of round ``number`` becomes a deload."""
    rows = [one for one in _open(block) if one.round == number]
    if not rows:
        return Because("steer.no_such_round", {})
    eased = [one.key for one in sorted(rows, key=_place) if not one.easy]
    if not eased:
        return Because("steer.easy_already", {})
    return _answer(block, eased=eased, easier=[*block.easier, number])


def end(block: Running, since: date) -> Answer:
    """All that is still to come from ``since`` on, and all without a date, is left out."""
    gone = [one for one in _open(block) if one.day is None or one.day >= since]
    left_out = [one.key for one in sorted(gone, key=_place)]
    ended = len(gone) == len(_open(block))
    if not gone and not ended:
        return Because("steer.nothing_left", {})
    kept = {one.round for one in block.counted if one.easy and one.key not in set(left_out)}
    return _answer(block, left_out=left_out, easier=[n for n in block.easier if n in kept], ended=ended, ending=since)


def weeks_holding(starts_on: date, last_day: date, last_round: int, cycle_days: int) -> int:
    """The least whole weeks from ``starts_on`` that have both the day and the round; at least one."""
    by_day = math.ceil(((last_day - starts_on).days + 1) / WEEK_DAYS)
    by_round = ((last_round - 1) * cycle_days) // WEEK_DAYS + 1
    return max(1, by_day, by_round)


def _answer(
    block: Running,
    *,
    moves: Sequence[Move] = (),
    copies: Sequence[Copy] = (),
    left_out: Sequence[str] = (),
    eased: Sequence[str] = (),
    easier: Iterable[int] = (),
    starts_on: date | None = None,
    ended: bool = False,
    ending: date | None = None,
) -> Answer:
    """``ending`` is the day that a block without anything trained ends before."""
    start = starts_on or block.starts_on
    then = after(block, moves, copies, left_out)
    cut = _cut_short(block)
    before_end = _end(block.starts_on, block.cycle_days, block.counted, cut) or block.starts_on
    counted = [one for one in then if one.state != LEFT_OUT]
    after_end = _end(start, block.cycle_days, counted, cut) or (ending or start) - ONE_DAY
    weeks = block.weeks
    if after_end != before_end and start == block.starts_on:
        last = max((one.round for one in counted), default=0)
        weeks = weeks_holding(start, after_end, last, block.cycle_days)
    if weeks > max(MOST_WEEKS, block.weeks) and after_end > before_end:
        return Because("steer.too_long", {"weeks": MOST_WEEKS})
    return Steered(
        start,
        weeks,
        tuple(sorted(set(easier))),
        before_end,
        after_end,
        tuple(_changed(block, moves)),
        tuple(copies),
        tuple(left_out),
        tuple(eased),
        ended,
    )


def _changed(block: Running, moves: Iterable[Move]) -> Iterable[Move]:
    was = {one.key: (one.round, one.day) for one in block.sessions}
    return (one for one in moves if was[one.key] != (one.round, one.day))


def after(block: Running, moves: Iterable[Move], copies: Iterable[Copy], left_out: Collection[str]) -> list[Standing]:
    """The sessions once all of this is done. A copy has the key of its source with its round behind it."""
    by_key = {one.key: one for one in block.sessions}
    found = dict(by_key)
    for move in moves:
        found[move.key] = replace(by_key[move.key], round=move.round, day=move.day)
    for key in left_out:
        found[key] = replace(found[key], state=LEFT_OUT)
    made = [
        Standing(f"{one.source}+{one.round}", by_key[one.source].kind, one.round, one.position, one.day, OPEN, one.easy)
        for one in copies
    ]
    return [*found.values(), *made]


def _cut_short(block: Running) -> timedelta:
    """By how much the block's weeks end before its last round would."""
    return max(_ends(block, block.last_round) - (block.starts_on + timedelta(weeks=block.weeks) - ONE_DAY), timedelta())


def _end(starts_on: date, cycle_days: int, rows: Collection[Standing], cut: timedelta) -> date | None:
    dated = [one.day for one in rows if one.day is not None]
    loose = [one.round for one in rows if one.day is None]
    ends = dated + [starts_on + timedelta(days=cycle_days * number) - ONE_DAY - cut for number in loose]
    return max(ends, default=None)


def _ends(block: Running, number: int) -> date:
    return block.opens_on(number + 1) - ONE_DAY


def _open(block: Running) -> list[Standing]:
    return [one for one in block.sessions if one.state == OPEN]


def _place(one: Standing) -> tuple[int, int]:
    return one.round, one.position


def _day_for(block: Running, source: Standing, number: int) -> date | None:
    """Where a copy of ``source`` falls in round ``number``: where that round has such a session now, else so long
    after the round before it, else after the source."""
    if source.day is None:
        return None

    def at(wanted: Callable[[Standing], bool]) -> date | None:
        return next((one.day for one in block.counted if one.kind == source.kind and wanted(one)), None)

    there = at(lambda one: one.round == number and one.day is not None)
    if there is not None:
        return there
    before = at(lambda one: one.round == number - 1 and one.day is not None)
    if before is not None:
        return before + timedelta(days=block.cycle_days)
    return source.day + timedelta(days=block.cycle_days * (number - source.round))


def _free(day: date, taken: Collection[date]) -> date:
    while day in taken:
        day += ONE_DAY
    return day
