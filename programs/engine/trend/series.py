"""One value per session for an exercise, what is left out of a trend, and load–repetition records."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from statistics import median
from typing import Final

from programs.engine.constants import Z_90
from programs.engine.strength import confidence, e1rm, noise, system_load
from programs.engine.terms import Exposure, SetDone

VALID_KINDS: Final = ("work", "open_ended", "check")
LAYOFF_FROM_DAYS: Final = 11
NEARBY_REPS: Final = 3.0
BODYWEIGHT_LASTS_DAYS: Final = 30
_RANK: Final = {"good": 0, "fair": 1, "weak": 2}

LEFT_OUT: Final = ("deload", "after_layoff", "other_place", "far_repetitions")


@dataclass(frozen=True, slots=True)
class Point:
    """A session's estimated maximum of what is moved (bodyweight's share included), with its 90 % band.

    ``n`` is repetitions to failure of the set it comes from. ``left_out`` is a code of LEFT_OUT, "" for a
    point that counts.
    """

    day: date
    e1rm: float
    low: float
    high: float
    confidence: str
    load: float
    reps: int
    rir: float
    n: float
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """A set that beat earlier ones: more load at no fewer repetitions, or more repetitions at no less load."""

    day: date
    load: float
    reps: int
    more_reps: int
    more_load: float  # share


def in_order(history: Sequence[Exposure]) -> list[Exposure]:
    return sorted(history, key=lambda one: (one.day, repr(one)))


def estimates(
    history: Sequence[Exposure], *, load_entry: str = "total", bodyweight_fraction: float = 0.0, k: float = 1.0
) -> tuple[Point, ...]:
    """The best-founded estimate of each session that gives one, oldest first, none left out yet.

    Best class of confidence first, then the highest value. Warm-ups, parts, back-off sets, sets stopped for
    pain, unknown efforts and ticks as planned give none; nor do bodyweight exercises whose weight is older
    than 30 days.
    """
    points = []
    weighed: tuple[date, float] | None = None
    for exposure in in_order(history):
        if exposure.bodyweight is not None:
            weighed = exposure.day, exposure.bodyweight
        fresh = weighed is not None and (exposure.day - weighed[0]).days <= BODYWEIGHT_LASTS_DAYS
        bodyweight = weighed[1] if weighed is not None and fresh else None
        found = [
            point
            for one in exposure.done
            if (point := _point(exposure.day, one, load_entry, bodyweight, bodyweight_fraction, k)) is not None
        ]
        if found:
            points.append(min(found, key=lambda point: (_RANK[point.confidence], -point.e1rm)))
    return tuple(points)


def _point(
    day: date, one: SetDone, load_entry: str, bodyweight: float | None, fraction: float, k: float
) -> Point | None:
    if one.kind not in VALID_KINDS or one.stopped_for_pain or one.as_planned or one.reps is None:
        return None
    if load_entry in ("numbered_setting", "band", "none"):
        return None
    entered = 0.0 if one.load is None and load_entry == "added" and fraction > 0 else one.load
    if entered is None or one.rir is None:
        return None
    moved = system_load(entered, load_entry, bodyweight, fraction)
    if moved is None:
        return None
    value = e1rm(moved, one.reps, one.rir, k)
    trust = confidence(one.reps, one.rir)
    if value is None or trust is None:
        return None
    spread = Z_90 * noise(one.reps, one.rir)
    n = one.reps + one.rir
    return Point(day, value, value * (1 - spread), value * (1 + spread), trust, entered, one.reps, one.rir, n)


def marked(points: Sequence[Point], history: Sequence[Exposure], since: date) -> tuple[Point, ...]:
    """The points from ``since`` on, each with why it is left out of the trend, if it is.

    Left out are deloads, the first session after a layoff, another place than the latest one, and sets whose
    repetitions to failure are more than three from the window's median: curves differ between people, so
    only like sets compare well.
    """
    ordered = in_order(history)
    deloads = {one.day for one in ordered if one.deload}
    places = {one.day: one.place for one in ordered}
    after_layoff = {
        after.day for before, after in pairwise(ordered) if (after.day - before.day).days >= LAYOFF_FROM_DAYS
    }
    here = ordered[-1].place if ordered else ""
    out = []
    for point in points:
        if point.day < since:
            continue
        why = ""
        if point.day in deloads:
            why = "deload"
        elif point.day in after_layoff:
            why = "after_layoff"
        elif places.get(point.day, here) != here:
            why = "other_place"
        out.append(replace(point, left_out=why))
    counted = [point.n for point in out if not point.left_out]
    if not counted:
        return tuple(out)
    usual = median(counted)
    return tuple(
        replace(point, left_out="far_repetitions")
        if not point.left_out and abs(point.n - usual) > NEARBY_REPS
        else point
        for point in out
    )


def records(history: Sequence[Exposure], falls: bool = False) -> tuple[Record, ...]:
    """Load–repetition records, oldest first: the best one of each session that had any, deloads aside.

    A set is a record when none before it was as good in load, repetitions and reserve together, and it
    beats one of the best before it in load or repetitions. An unknown reserve is not compared. ``falls``
    is for help, where less is more.
    """
    best: list[SetDone] = []
    found: list[Record] = []
    place = None
    for exposure in in_order(history):
        if place is not None and exposure.place != place:
            best = []  # another place is a new baseline
        place = exposure.place
        done = [one for one in exposure.done if _comparable(one)]
        today = (
            [] if exposure.deload else [one for one in (_record(exposure.day, one, best, falls) for one in done) if one]
        )
        if today:
            found.append(max(today, key=lambda one: (one.more_load, one.more_reps)))
        for one in done:
            if not any(_as_good(other, one, falls) for other in best):
                best = [other for other in best if not _as_good(one, other, falls)] + [one]
    return tuple(found)


def _comparable(one: SetDone) -> bool:
    return one.kind in VALID_KINDS and bool(one.reps) and not one.stopped_for_pain and not one.as_planned


def _hard(one: SetDone, falls: bool) -> float:
    load = one.load or 0.0
    return -load if falls else load


def _as_good(one: SetDone, other: SetDone, falls: bool) -> bool:
    """Whether ``one`` is no worse than ``other`` in load, repetitions and reserve."""
    reserve = one.rir is None or other.rir is None or one.rir >= other.rir
    return _hard(one, falls) >= _hard(other, falls) and (one.reps or 0) >= (other.reps or 0) and reserve


def _record(day: date, one: SetDone, best: Sequence[SetDone], falls: bool) -> Record | None:
    if any(_as_good(other, one, falls) for other in best):
        return None
    beaten = [other for other in best if _as_good(one, other, falls)]
    if not beaten or not (falls or _stronger(one, best)):
        return None
    reps = min((one.reps or 0) - (other.reps or 0) for other in beaten)
    shares = [abs((one.load or 0.0) - (other.load or 0.0)) / other.load if other.load else 0.0 for other in beaten]
    if reps == 0 and min(shares) == 0:
        return None  # only easier than before
    return Record(day, one.load or 0.0, one.reps or 0, reps, min(shares))


def _stronger(one: SetDone, best: Sequence[SetDone]) -> bool:
    """Confirms a record by the estimate where there is one: not below the middle of the best before."""
    value = _plain_estimate(one)
    others = [estimate for other in best if (estimate := _plain_estimate(other)) is not None]
    return value is None or not others or value >= median(others)


def _plain_estimate(one: SetDone) -> float | None:
    return None if one.load is None or one.reps is None else e1rm(one.load, one.reps, one.rir)
