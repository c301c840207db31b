"""Progressing, flat or regressing: said only when the data can tell."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import mean
from typing import Final

from programs.engine.constants import Z_90
from programs.engine.terms import Because, Exposure
from programs.engine.trend.series import LAYOFF_FROM_DAYS, Point, Record, estimates, in_order, marked, records
from programs.engine.trend.statistics import (
    TYPICAL_ERROR,
    Z_80,
    Line,
    detectable,
    levels,
    own_error,
    sen_interval,
    theil_sen,
)

VERDICTS: Final = ("cant_tell", "regress", "breakthrough", "progressing", "stall", "flat")

REASONS: Final[dict[str, tuple[str, ...]]] = {
    "few_sessions": ("sessions", "needed"),
    "short_span": ("days", "needed"),
    "low_adherence": ("percent", "needed"),
    "recent_deload": ("day",),
    "recent_layoff": ("day",),
    "no_recent_session": ("days",),
    "slope": ("percent", "low", "high"),
    "recent_mean_lower": ("percent", "detectable"),
    "recent_mean_higher": ("percent", "detectable"),
    "big_record": ("day", "load", "reps", "more_reps", "percent"),
    "record": ("day", "load", "reps", "more_reps", "percent"),
    "no_record": ("sessions", "days"),
    "not_told_from_flat": (),
}

WINDOW: Final = timedelta(weeks=8)
FEWEST_SESSIONS: Final = 5
SHORTEST_DAYS: Final = 21
LEAST_ADHERENCE: Final = 0.80
UNSETTLED: Final = timedelta(days=14)
BIG_RECORD_REPS: Final = 2
BIG_RECORD_LOAD: Final = 0.05
# Without a record for so many sessions over at least so many days: a stall (coaching practice).
STALL: Final = {"novice": (3, 14), "intermediate": (6, 28), "advanced": (10, 42)}


@dataclass(frozen=True, slots=True)
class BandPoint:
    """One point of the trend line with its 90 % band."""

    day: date
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Trend:
    """What can be said of one exercise. Percentages are per week; None where no line can be drawn.

    ``points`` are the window's sessions, left-out ones marked; ``line`` is for drawing; ``level`` the
    smoothed maximum now; ``error`` the typical error of one session, as a share.
    """

    verdict: str
    reasons: tuple[Because, ...]
    points: tuple[Point, ...]
    line: tuple[BandPoint, ...] = ()
    weekly_percent: float | None = None
    weekly_low: float | None = None
    weekly_high: float | None = None
    level: float | None = None
    error: float = TYPICAL_ERROR
    records: tuple[Record, ...] = ()


def trend(
    history: Sequence[Exposure],
    *,
    today: date,
    experience: str,
    adherence: float | None = None,
    maintaining: bool = False,
    load_entry: str = "total",
    bodyweight_fraction: float = 0.0,
    k: float = 1.0,
    window: timedelta = WINDOW,
) -> Trend:
    """The verdict on one exercise from its exposures in any order, up to ``today``.

    ``adherence`` is the share of planned sessions that were done (None: not judged). ``maintaining`` turns a
    stall into flat. KeyError for an unknown experience.
    """
    needed, least_days = STALL[experience]
    ordered = [one for one in in_order(history) if one.day <= today]
    since = today - window
    all_points = estimates(ordered, load_entry=load_entry, bodyweight_fraction=bodyweight_fraction, k=k)
    points = marked(all_points, ordered, since)
    valid = [point for point in points if not point.left_out]
    beaten = records(ordered, falls=load_entry == "assisted")
    found = _Found.of(valid)
    unsure = _cant_tell(ordered, valid, today, adherence)
    if unsure or found is None:
        return (
            found.as_trend("cant_tell", unsure, points, beaten)
            if found
            else Trend("cant_tell", unsure, points, (), records=beaten)
        )
    verdict, reasons = _judge(found, ordered, beaten, needed, least_days, maintaining)
    return found.as_trend(verdict, reasons, points, beaten)


@dataclass(frozen=True, slots=True)
class _Found:
    """The line through the points that count."""

    valid: tuple[Point, ...]
    line: Line
    low: float
    high: float
    error: float

    @classmethod
    def of(cls, valid: Sequence[Point]) -> "_Found | None":
        if len({point.day for point in valid}) < 2:
            return None
        first = valid[0].day
        xs = [float((point.day - first).days) for point in valid]
        ys = [math.log(point.e1rm) for point in valid]
        line = theil_sen(xs, ys)
        low, high = sen_interval(xs, ys)
        error = own_error([y - line.at(x) for x, y in zip(xs, ys, strict=True)])
        return cls(tuple(valid), line, low, high, error)

    def slope_reason(self) -> Because:
        params = {"percent": weekly(self.line.slope), "low": weekly(self.low), "high": weekly(self.high)}
        return Because("slope", {name: round(value, 2) for name, value in params.items()})

    def as_trend(
        self, verdict: str, reasons: tuple[Because, ...], points: tuple[Point, ...], beaten: tuple[Record, ...]
    ) -> Trend:
        values = [point.e1rm for point in self.valid]
        return Trend(
            verdict,
            reasons,
            points,
            self.drawn(),
            weekly(self.line.slope),
            weekly(self.low),
            weekly(self.high),
            levels(values[1:], values[0], self.error)[-1],
            self.error,
            beaten,
        )

    def drawn(self) -> tuple[BandPoint, ...]:
        """The line at each session's day. Its band joins the error of the level with that of the slope.

        The slope turns about the middle of the days; both are taken at 90 %. A picture, not a test.
        """
        first = self.valid[0].day
        days = sorted({point.day for point in self.valid})
        middle = (days[-1] - first).days / 2
        level = Z_90 * self.error / math.sqrt(len(self.valid))
        out = []
        for day in days:
            x = (day - first).days
            centre = self.line.at(x)
            turns = ((self.high - self.line.slope) * (x - middle), (self.low - self.line.slope) * (x - middle))
            up = math.hypot(level, max(0.0, *turns))
            down = math.hypot(level, min(0.0, *turns))
            out.append(BandPoint(day, math.exp(centre), math.exp(centre - down), math.exp(centre + up)))
        return tuple(out)


def weekly(slope: float) -> float:
    """Percent a week of a daily slope on logarithms."""
    return 100 * (math.exp(7 * slope) - 1)


def _cant_tell(
    ordered: Sequence[Exposure], valid: Sequence[Point], today: date, adherence: float | None
) -> tuple[Because, ...]:
    reasons = []
    if len(valid) < FEWEST_SESSIONS:
        reasons.append(Because("few_sessions", {"sessions": len(valid), "needed": FEWEST_SESSIONS}))
    span = (valid[-1].day - valid[0].day).days if valid else 0
    if span < SHORTEST_DAYS:
        reasons.append(Because("short_span", {"days": span, "needed": SHORTEST_DAYS}))
    if adherence is not None and adherence < LEAST_ADHERENCE:
        percent = round(100 * adherence, 1)
        reasons.append(Because("low_adherence", {"percent": percent, "needed": round(100 * LEAST_ADHERENCE)}))
    recent = today - UNSETTLED
    deloads = [one.day for one in ordered if one.deload and one.day >= recent]
    if deloads:
        reasons.append(Because("recent_deload", {"day": deloads[-1].isoformat()}))
    for before, after in pairwise(ordered):
        if after.day >= recent and (after.day - before.day).days >= LAYOFF_FROM_DAYS:
            reasons.append(Because("recent_layoff", {"day": after.day.isoformat()}))
    if ordered and (today - ordered[-1].day) > UNSETTLED:
        reasons.append(Because("no_recent_session", {"days": (today - ordered[-1].day).days}))
    return tuple(reasons)


def _judge(
    found: _Found,
    ordered: Sequence[Exposure],
    beaten: Sequence[Record],
    needed: int,
    least_days: int,
    maintaining: bool,
) -> tuple[str, tuple[Because, ...]]:
    """The first verdict that applies, in the order of what a coach must know first."""
    slope = found.slope_reason()
    fall = _fall(found)
    if fall is not None or found.high < 0:
        return "regress", (*([fall] if fall else []), slope)
    trained = [one.day for one in ordered if not one.deload]
    recent_days = set(trained[-needed:])
    recent = [one for one in beaten if one.day in recent_days]
    leap = _leap(found)
    last_record = recent[-1] if recent else None
    if leap is not None:
        return "breakthrough", (leap, slope)
    if last_record is not None and _big(last_record):
        return "breakthrough", (_of_record("big_record", last_record), slope)
    if found.low > 0:
        return "progressing", (slope,)
    if last_record is not None:
        return "progressing", (_of_record("record", last_record), slope)
    since = max((one.day for one in beaten), default=trained[0])
    sessions, days = sum(day > since for day in trained), (trained[-1] - since).days
    if sessions >= needed and days >= least_days and not maintaining:
        return "stall", (Because("no_record", {"sessions": sessions, "days": days}), slope)
    return "flat", (slope, Because("not_told_from_flat"))


def _fall(found: _Found) -> Because | None:
    values = [point.e1rm for point in found.valid]
    if len(values) < 6:
        return None
    change = mean(values[-3:]) / mean(values[-6:-3]) - 1
    least = detectable(found.error, 3, 3, Z_80)
    if change >= -least:
        return None
    return Because("recent_mean_lower", {"percent": round(100 * change, 1), "detectable": round(100 * least, 1)})


def _leap(found: _Found) -> Because | None:
    values = [point.e1rm for point in found.valid]
    if len(values) < 5:
        return None
    earlier = values[:-2]
    best = max(mean(earlier[i : i + 3]) for i in range(len(earlier) - 2))
    change = mean(values[-2:]) / best - 1
    least = detectable(found.error, 2, 3, Z_80)
    if change <= least:
        return None
    return Because("recent_mean_higher", {"percent": round(100 * change, 1), "detectable": round(100 * least, 1)})


def _big(record: Record) -> bool:
    return record.more_reps >= BIG_RECORD_REPS or record.more_load >= BIG_RECORD_LOAD


def _of_record(code: str, record: Record) -> Because:
    return Because(
        code,
        {
            "day": record.day.isoformat(),
            "load": record.load,
            "reps": record.reps,
            "more_reps": record.more_reps,
            "percent": round(100 * record.more_load, 1),
        },
    )
