"""Weeks and rolling cycles: which session falls where, and what a page calls one round of them.

A block's round is a week on the client's own days, or a cycle of another length that runs past the week's end, its
sessions on days of its own. Sessions are numbered by round in both. A block always lasts whole weeks: the last cycle
may be a short one. Dates are plain calendar dates, so that no clock change and no time zone moves a session.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from programs.engine.calendar import WEEK_DAYS, cycle_dates, even_offsets, per_seven_days
from programs.reasons.words import number as figure

NO_ROUND = 0  # of a row that only keeps that a day was missed, while its session was done later

Row = Mapping[str, Any]  # a session of the round as a draft stores it: {"day", "occurrence", "weekday", "offset"}


@dataclass(frozen=True, slots=True)
class Laid:
    """One session of a block. ``cycle`` counts rounds from 1, ``position`` from 0 within its round."""

    row: Row
    cycle: int
    position: int
    day: date | None


def is_rolling(cycle_days: int) -> bool:
    return cycle_days != WEEK_DAYS


def cycle_days_of(document: Mapping[str, Any]) -> int:
    """How long one round of a stored draft takes."""
    return int(document.get("cycle_days", WEEK_DAYS))


def day_of(row: Row) -> int | None:
    """Where a session stands in its round: weekday (0 is Monday), or days from a rolling cycle's first day.

    None for clients without fixed days.
    """
    found = row.get("offset", row["weekday"])
    return None if found is None else int(found)


def put_on(row: dict[str, Any], day: int) -> None:
    """Moves a stored session within its round."""
    row["offset" if "offset" in row else "weekday"] = day


def rounds_in(weeks: int, cycle_days: int) -> int:
    """How many rounds a block has, a last one that is cut short by the block's end among them."""
    return math.ceil(weeks * WEEK_DAYS / cycle_days)


def round_on(starts_on: date, weeks: int, today: date, cycle_days: int = WEEK_DAYS) -> int:
    """The block's round on a day, 1 to the last; 0 before it starts."""
    if today < starts_on:
        return 0
    return min((today - starts_on).days // cycle_days + 1, rounds_in(weeks, cycle_days))


def first_day(starts_on: date, number: int, cycle_days: int = WEEK_DAYS) -> date:
    """The day that a round begins on, as planned."""
    return starts_on + timedelta(days=cycle_days * (number - 1))


def in_order(rows: Sequence[Row], starts_on: date) -> list[Row]:
    """The sessions of a round as they fall from the start date on."""
    if any("offset" in row for row in rows):
        return sorted(rows, key=lambda row: day_of(row) or 0)
    return sorted(rows, key=lambda row: _on_weekday(starts_on, day_of(row)) or starts_on)


def laid_out(rows: Sequence[Row], starts_on: date, weeks: int, cycle_days: int) -> Iterator[Laid]:
    """All sessions of a block in order, dated where the client has fixed days.

    Week 1 begins on the start date: a session whose weekday is already past falls into the days that follow. A
    rolling cycle begins on the start date too, whatever weekday that is. Without fixed days a rolling block has as
    many sessions as it would have with them.
    """
    ordered = in_order(rows, starts_on)
    if is_rolling(cycle_days):
        yield from _rolling(ordered, starts_on, weeks, cycle_days)
        return
    for week in range(1, weeks + 1):
        first = first_day(starts_on, week)
        for position, row in enumerate(ordered):
            yield Laid(row, week, position, _on_weekday(first, day_of(row)))


def _rolling(rows: Sequence[Row], starts_on: date, weeks: int, cycle_days: int) -> Iterator[Laid]:
    dated = all(day_of(row) is not None for row in rows)
    if not dated and len(rows) > cycle_days:  # a list of sessions may be longer than its cycle has days
        for cycle in range(1, rounds_in(weeks, cycle_days) + 1):
            yield from (Laid(row, cycle, position, None) for position, row in enumerate(rows))
        return
    if not rows:
        return
    offsets = [day_of(row) or 0 for row in rows] if dated else even_offsets(len(rows), cycle_days)
    for one in cycle_dates(starts_on, [str(index) for index in range(len(rows))], offsets, cycle_days, weeks):
        yield Laid(rows[int(one.key)], one.cycle, one.position - 1, one.day if dated else None)


def _on_weekday(first: date, weekday: int | None) -> date | None:
    return None if weekday is None else first + timedelta(days=(weekday - first.weekday()) % WEEK_DAYS)


def round_words(number: int, cycle_days: int = WEEK_DAYS) -> str:
    """ "week 3", "cycle 3"."""
    return (_("cycle %d") if is_rolling(cycle_days) else _("week %d")) % number


def round_title(number: int, cycle_days: int = WEEK_DAYS) -> str:
    """The same at the head of something."""
    return (_("Cycle %d") if is_rolling(cycle_days) else _("Week %d")) % number


def round_of_words(number: int, rounds: int, cycle_days: int = WEEK_DAYS) -> str:
    """ "week 3 of 6", "cycle 3 of 6"."""
    words = _("cycle %(number)d of %(rounds)d") if is_rolling(cycle_days) else _("week %(number)d of %(rounds)d")
    return words % {"number": number, "rounds": rounds}


def easier_words(cycle_days: int = WEEK_DAYS) -> str:
    return _("easier cycle") if is_rolling(cycle_days) else _("easier week")


def day_number(day: int) -> str:
    """A day of a rolling cycle: "Day 1" is its first."""
    return _("Day %d") % (day + 1)


def not_kept_words(name: str, days: Sequence[int], sessions: int, cycle_days: int) -> str:
    """What a rolling cycle makes of a client's own days (0 is Monday); "" for a week, and where there are none."""
    if not is_rolling(cycle_days) or not days:
        return ""
    own = ", ".join(str(WEEKDAYS[day]) for day in sorted(days))
    words = _("This cycle of %(cycle)d days runs on its own days; those of %(name)s (%(days)s) are not kept.") % {
        "cycle": cycle_days,
        "name": name,
        "days": own,
    }
    a_week = round(per_seven_days(sessions, cycle_days), 1)
    if a_week <= len(days):
        return words
    more = ngettext(
        "It asks for %(sessions)s sessions a week where %(name)s has %(n)d day.",
        "It asks for %(sessions)s sessions a week where %(name)s has %(n)d days.",
        len(days),
    )
    return f"{words} {more % {'sessions': figure(a_week), 'name': name, 'n': len(days)}}"


def length_words(weeks: int, cycle_days: int) -> str:
    """How many cycles so many weeks hold: "6 weeks hold 5 cycles of 8 days and 2 days of one more."."""
    whole, left = divmod(weeks * WEEK_DAYS, cycle_days)
    cycles = ngettext("%(n)d cycle", "%(n)d cycles", whole) % {"n": whole}
    values = {"n": weeks, "cycles": cycles, "days": cycle_days}
    if not left:
        words = ngettext(
            "%(n)d week holds %(cycles)s of %(days)d days.", "%(n)d weeks hold %(cycles)s of %(days)d days.", weeks
        )
        return words % values
    rest = ngettext("%(n)d day", "%(n)d days", left) % {"n": left}
    words = ngettext(
        "%(n)d week holds %(cycles)s of %(days)d days and %(rest)s of one more.",
        "%(n)d weeks hold %(cycles)s of %(days)d days and %(rest)s of one more.",
        weeks,
    )
    return words % {**values, "rest": rest}
