"""Signs that an easier week is due: any two within fourteen days.

What practice looks for before a deload (Bell et al. 2023, Rogerson et al. 2024), with thresholds of coaching
practice. A week that was missed anyway has done its work already.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean
from typing import Final

from programs.engine.progress.terms import TOP_KINDS
from programs.engine.terms import Because, Exposure, Params

SIGNS: Final = ("lifts_falling", "sessions_harder", "first_sets_harder", "sore", "rest_poor")
WITHIN: Final = timedelta(days=14)
SIGNS_NEEDED: Final = 2
FALLING_LIFTS: Final = 2
HARDER_BY: Final = 1.5  # of ten, at like work
LIKE_WORK: Final = 0.15  # sets that differ by no more are like work
FIRST_SET_BELOW: Final = 1.5  # repetitions in reserve below the plan
FIRST_SETS: Final = 3  # exercises
SORE_FROM: Final = 4  # of ten
SORE_DAYS: Final = 4  # more than three days running
POOR_DAYS: Final = 4  # of seven
WEEK: Final = timedelta(days=7)
MISSED_WEEK_COUNTS_FOR: Final = timedelta(days=10)
EVERY_WEEKS: Final = 6  # planned; four to eight


@dataclass(frozen=True, slots=True)
class RatedSession:
    """A session's rating of effort, 0 to 10, with its work sets."""

    day: date
    effort: float
    sets: int


@dataclass(frozen=True, slots=True)
class Fatigue:
    """One sign, a code of SIGNS, on the day from which it is seen."""

    code: str
    day: date
    count: float


def signs_of_fatigue(
    on: date,
    *,
    falling: Mapping[str, date] | None = None,
    sessions: Sequence[RatedSession] = (),
    histories: Mapping[str, Sequence[Exposure]] | None = None,
    soreness: Iterable[tuple[date, int]] = (),
    poor_days: Iterable[date] = (),
) -> tuple[Fatigue, ...]:
    """The signs of the last fourteen days.

    ``falling`` are lifts whose trend points down, with the day of the verdict; ``histories`` exposures by exercise;
    ``soreness`` by day, 0 to 10; ``poor_days`` those with sleep or energy marked poor.
    """
    found = [
        _falling(falling or {}, on),
        _harder(sessions, on),
        _first_sets(histories or {}, on),
        _sore(soreness, on),
        _poor(poor_days, on),
    ]
    return tuple(sign for sign in found if sign is not None)


def deload_due(
    signs: Sequence[Fatigue],
    on: date,
    *,
    experience: str,
    weeks_since: int | None = None,
    missed_week_end: date | None = None,
    every_weeks: int = EVERY_WEEKS,
) -> tuple[Because, ...]:
    """Why an easier week is due, or () when none is.

    ``weeks_since`` counts trained weeks since the last one; a plan of every six weeks makes it due, but for novices,
    who have one only when signs ask for it. ``missed_week_end`` is the last day of a week missed altogether: within
    ten days it stands for an easier week.
    """
    if missed_week_end is not None and timedelta(0) <= on - missed_week_end <= MISSED_WEEK_COUNTS_FOR:
        return ()
    recent = [sign for sign in signs if timedelta(0) <= on - sign.day < WITHIN]
    if len({sign.code for sign in recent}) >= SIGNS_NEEDED:
        return tuple(_said(sign) for sign in recent)
    if weeks_since is not None and weeks_since >= every_weeks and experience != "novice":
        return (Because("deload_planned", {"weeks": weeks_since}),)
    return ()


def _said(sign: Fatigue) -> Because:
    params: Params = {"day": sign.day.isoformat(), "count": sign.count}
    codes = {
        "lifts_falling": Because("fatigue_lifts_falling", params),
        "sessions_harder": Because("fatigue_sessions_harder", params),
        "first_sets_harder": Because("fatigue_first_sets_harder", params),
        "sore": Because("fatigue_sore", params),
        "rest_poor": Because("fatigue_rest_poor", params),
    }
    return codes[sign.code]


def _recent(day: date, on: date) -> bool:
    return on - WITHIN < day <= on


def _falling(falling: Mapping[str, date], on: date) -> Fatigue | None:
    days = [day for day in falling.values() if _recent(day, on)]
    return Fatigue("lifts_falling", max(days), len(days)) if len(days) >= FALLING_LIFTS else None


def _harder(sessions: Sequence[RatedSession], on: date) -> Fatigue | None:
    """The last week's mean rating against the four weeks before, among sessions of like work."""
    last = [one for one in sessions if on - WEEK < one.day <= on]
    if not last:
        return None
    usual = mean(one.sets for one in last)
    before = [
        one
        for one in sessions
        if on - 5 * WEEK < one.day <= on - WEEK and abs(one.sets - usual) <= LIKE_WORK * max(usual, 1)
    ]
    if not before:
        return None
    rise = mean(one.effort for one in last) - mean(one.effort for one in before)
    return Fatigue("sessions_harder", max(one.day for one in last), round(rise, 1)) if rise >= HARDER_BY else None


def _first_sets(histories: Mapping[str, Sequence[Exposure]], on: date) -> Fatigue | None:
    """Exercises whose latest first set left clearly less than was planned."""
    days = []
    for exposures in histories.values():
        recent = [one for one in exposures if _recent(one.day, on) and not one.deload]
        if not recent:
            continue
        last = max(recent, key=lambda one: (one.day, repr(one)))
        done = next((one for one in last.done if one.kind in TOP_KINDS), None)
        asked = next((one for one in last.asked if one.kind in TOP_KINDS), None)
        if done is None or asked is None or done.rir is None or asked.rir is None or done.as_planned:
            continue
        if asked.rir - done.rir >= FIRST_SET_BELOW:
            days.append(last.day)
    return Fatigue("first_sets_harder", max(days), len(days)) if len(days) >= FIRST_SETS else None


def _sore(soreness: Iterable[tuple[date, int]], on: date) -> Fatigue | None:
    """More than three days running at four or more."""
    bad = sorted({day for day, score in soreness if score >= SORE_FROM and _recent(day, on)})
    running, last = 0, None
    for day in bad:
        running = running + 1 if last is not None and day - last == timedelta(days=1) else 1
        last = day
        if running >= SORE_DAYS:
            return Fatigue("sore", bad[-1], running)
    return None


def _poor(poor_days: Iterable[date], on: date) -> Fatigue | None:
    bad = sorted({day for day in poor_days if _recent(day, on)})
    for day in reversed(bad):
        count = sum(day - WEEK < one <= day for one in bad)
        if count >= POOR_DAYS:
            return Fatigue("rest_poor", day, count)
    return None
