"""The words, the week and the day types of a working copy: one function a verb, one journal entry each."""

from collections.abc import Mapping, Sequence
from typing import Any

from coachdesk.practice.journal import Recording
from coachdesk.practice.models import Coach
from programs.engine.calendar import WEEK_DAYS, even_offsets
from programs.engine.terms import Because
from programs.models import Outline, OutlineDay, OutlineSlot
from programs.services.outline_work import (
    Refused,
    editing,
    free_key,
    moved,
    next_position,
    put_in_order,
    remove,
)
from programs.services.outlines import copy_day_rows
from programs.services.rows import made

MOST_DAYS = 7


def set_words(outline: Outline, revision: int, coach: Coach, words: Mapping[str, Any]) -> None:
    """What the template is called, whom it serves and why."""
    with editing(outline, revision, coach, "outline.words", name=words["name"]) as (newest, entry):
        entry.change(newest)
        for name, value in words.items():
            setattr(newest, name, value)
        newest.save(update_fields=list(words))


def set_cycle(outline: Outline, revision: int, coach: Coach, cycle_days: int, offsets: Sequence[int] = ()) -> None:
    """How many days one round takes. A week falls on the client's own days; any other round rolls on, its sessions
    ``offsets`` days from its first day, spread evenly where none are given."""
    with editing(outline, revision, coach, "outline.cycle", days=cycle_days) as (newest, entry):
        if len(newest.order) > cycle_days:
            raise Refused(Because("authoring.week_full", {"days": cycle_days}))
        entry.change(newest)
        newest.cycle_days = cycle_days
        _spread(newest, offsets)
        newest.save(update_fields=["cycle_days", "offsets"])


def add_session(outline: Outline, revision: int, coach: Coach, day: str) -> None:
    """One more session of a day type, at the end of the round."""
    with editing(outline, revision, coach, "outline.session_add", day=day) as (newest, entry):
        if len(newest.order) >= newest.cycle_days:
            raise Refused(Because("authoring.week_full", {"days": newest.cycle_days}))
        entry.change(newest)
        newest.order = [*newest.order, newest.days.get(key=day).key]
        last = newest.offsets[-1] if newest.offsets else -1
        _spread(newest, [*newest.offsets, last + 1] if last + 1 < newest.cycle_days else ())
        newest.save(update_fields=["order", "offsets"])


def remove_session(outline: Outline, revision: int, coach: Coach, at: int) -> None:
    """Takes one session out of the round; its day type stays, even where it stands in no session any more."""
    with editing(outline, revision, coach, "outline.session_remove") as (newest, entry):
        if at < len(newest.order):
            entry.change(newest)
            _drop_sessions(newest, [at])
            newest.save(update_fields=["order", "offsets"])


def move_session(outline: Outline, revision: int, coach: Coach, at: int, to: int) -> None:
    """Puts a session before another one; the days of the round stay where they are."""
    with editing(outline, revision, coach, "outline.session_move") as (newest, entry):
        if at < len(newest.order):
            entry.change(newest)
            newest.order = moved(newest.order, at, to)
            newest.save(update_fields=["order"])


def add_day(outline: Outline, revision: int, coach: Coach, name: str) -> None:
    """A day type without slots; where the round has room it gets a session."""
    with editing(outline, revision, coach, "outline.day_add", name=name) as (newest, entry):
        days = list(newest.days.all())
        day = OutlineDay(outline=newest, key=_free_day_key(days, name), name=name, position=_new_day(newest, days))
        day.save()
        made(entry, [day])
        _give_a_session(entry, newest, day)


def rename_day(outline: Outline, revision: int, coach: Coach, day: str, name: str) -> None:
    with editing(outline, revision, coach, "outline.day_name", name=name) as (newest, entry):
        row = newest.days.get(key=day)
        entry.change(row)
        row.name = name
        row.save(update_fields=["name"])


def copy_day(outline: Outline, revision: int, coach: Coach, day: str, name: str) -> None:
    """A copy of a day type under a name of its own, right after it, with keys of its own for its slots."""
    with editing(outline, revision, coach, "outline.day_copy", name=name) as (newest, entry):
        days = list(newest.days.prefetch_related("slots__candidates", "lines"))
        source = next(row for row in days if row.key == day)
        position = _new_day(newest, days)
        rows = copy_day_rows(source, outline=newest, key=_free_day_key(days, name), name=name, position=position)
        taken = {slot.key for row in days for slot in row.slots.all()}
        for row in rows:
            if isinstance(row, OutlineSlot):
                row.key = free_key(row.key, taken, OutlineSlot.KEY_LENGTH, "slot")
                taken.add(row.key)
                row.save(update_fields=["key"])
        made(entry, rows)
        copied = rows[0]
        at = days.index(source) + 1
        put_in_order(entry, [*days[:at], copied, *days[at:]])
        _give_a_session(entry, newest, copied)


def move_day(outline: Outline, revision: int, coach: Coach, day: str, to: int) -> None:
    """Another place among the day types, as the pages list them; the order of the sessions stays."""
    with editing(outline, revision, coach, "outline.day_move", day=day) as (newest, entry):
        days = list(newest.days.all())
        at = next(number for number, row in enumerate(days) if row.key == day)
        put_in_order(entry, moved(days, at, to))


def remove_day(outline: Outline, revision: int, coach: Coach, day: str) -> None:
    """Takes a day type out, with its slots, its lines and its sessions."""
    with editing(outline, revision, coach, "outline.day_remove") as (newest, entry):
        row = newest.days.get(key=day)
        entry.params["name"] = row.name
        remove(entry, newest.days.filter(pk=row.pk))
        entry.change(newest)
        _drop_sessions(newest, [at for at, key in enumerate(newest.order) if key == day])
        newest.save(update_fields=["order", "offsets"])


def _spread(outline: Outline, offsets: Sequence[int]) -> None:
    """Gives every session of a round that rolls its day; a week has none of its own."""
    if outline.cycle_days == WEEK_DAYS:
        outline.offsets = []
    elif len(offsets) == len(outline.order):
        outline.offsets = list(offsets)
    else:
        outline.offsets = list(even_offsets(len(outline.order), outline.cycle_days)) if outline.order else []


def _drop_sessions(outline: Outline, gone: Sequence[int]) -> None:
    outline.order = [key for at, key in enumerate(outline.order) if at not in gone]
    outline.offsets = [day for at, day in enumerate(outline.offsets) if at not in gone]


def _give_a_session(entry: Recording, outline: Outline, day: Any) -> None:
    if len(outline.order) < outline.cycle_days:
        entry.change(outline)
        outline.order = [*outline.order, day.key]
        last = outline.offsets[-1] if outline.offsets else -1
        _spread(outline, [*outline.offsets, last + 1] if last + 1 < outline.cycle_days else ())
        outline.save(update_fields=["order", "offsets"])


def _new_day(outline: Outline, days: Sequence[OutlineDay]) -> int:
    if len(days) >= MOST_DAYS:
        raise Refused(Because("authoring.days_full", {"most": MOST_DAYS}))
    return next_position(outline.days.all())


def _free_day_key(days: Sequence[OutlineDay], name: str) -> str:
    return free_key(name, {row.key for row in days}, OutlineDay.KEY_LENGTH, "day")
