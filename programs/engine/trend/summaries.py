"""Adherence, session effort, bodyweight, expected gains and effort honesty: numbers beside the trend."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import mean, median, stdev
from typing import Final

from programs.engine.terms import Exposure
from programs.engine.trend.series import in_order
from programs.engine.trend.statistics import theil_sen

ADHERENCE_GOOD: Final = 0.90
ADHERENCE_WATCH: Final = 0.80
ADHERENCE_BANDS: Final = ("good", "watch", "act")

# Fitted to Steele et al. 2022: gain in percent is about 10 · ln(weeks of training).
GAIN_PER_LOG_WEEK: Final = 10.0
# Percent a week to expect: usual, lowest, highest (coaching practice on the same basis).
EXPECTED: Final = {
    "novice": (1.0, 0.5, 2.5),
    "intermediate": (0.25, 0.15, 0.5),
    "advanced": (0.08, 0.03, 0.15),
}

BODYWEIGHT_WINDOW: Final = timedelta(days=28)
BODYWEIGHT_DAYS: Final = 7

HONESTY_WINDOW: Final = timedelta(days=14)
HONESTY_SIGNS: Final = 3
EASIER_BY_REPS: Final = 1.0
HARDER_BY_REPS: Final = 2.0
HARDER_BY_SHARE: Final = 0.30
RESTED_S: Final = 90


@dataclass(frozen=True, slots=True)
class Adherence:
    """Shares of what was planned, None where nothing was; the band is that of the lower one."""

    sessions: float | None
    sets: float | None
    band: str | None


def adherence(sessions_done: int, sessions_planned: int, sets_done: int = 0, sets_planned: int = 0) -> Adherence:
    """Sessions and working sets done of those planned. ValueError for counts below zero."""
    if min(sessions_done, sessions_planned, sets_done, sets_planned) < 0:
        raise ValueError("counts are not negative")
    sessions = sessions_done / sessions_planned if sessions_planned else None
    sets = sets_done / sets_planned if sets_planned else None
    known = [share for share in (sessions, sets) if share is not None]
    if not known:
        return Adherence(sessions, sets, None)
    lower = min(known)
    band = "good" if lower >= ADHERENCE_GOOD else "watch" if lower >= ADHERENCE_WATCH else "act"
    return Adherence(sessions, sets, band)


@dataclass(frozen=True, slots=True)
class WeekEffort:
    """A week's session effort: rating (0 to 10) times minutes, summed. Context only, no risk score.

    ``evenness`` (mean daily load over its spread) and ``strain`` are None when all days are alike.
    """

    load: float
    daily_mean: float
    daily_sd: float
    evenness: float | None
    strain: float | None


def week_effort(sessions: Mapping[date, Sequence[tuple[float, float]]], first_day: date) -> WeekEffort:
    """Seven days from ``first_day``; ``sessions`` maps a day to (rating, minutes) pairs. Foster et al. 2001."""
    days = [first_day + timedelta(days=i) for i in range(7)]
    daily = [sum(rating * minutes for rating, minutes in sessions.get(day, ())) for day in days]
    load, spread = sum(daily), stdev(daily)
    evenness = mean(daily) / spread if spread else None
    return WeekEffort(load, mean(daily), spread, evenness, load * evenness if evenness is not None else None)


def expected_rate(weeks_of_training: float) -> float:
    """Percent a week of the starting level to expect after so many weeks of training. ValueError below 1."""
    if weeks_of_training < 1:
        raise ValueError("training begins with week 1")
    return GAIN_PER_LOG_WEEK / weeks_of_training


@dataclass(frozen=True, slots=True)
class BodyweightTrend:
    """Median of the last seven days' weights and change a week over four weeks; None where too few."""

    median: float | None
    weekly_change: float | None


def bodyweight_trend(weights: Mapping[date, float], today: date) -> BodyweightTrend:
    recent = [value for day, value in weights.items() if 0 <= (today - day).days < BODYWEIGHT_DAYS]
    window = sorted((day, value) for day, value in weights.items() if timedelta(0) <= today - day < BODYWEIGHT_WINDOW)
    change = None
    if len(window) >= 3:
        xs = [float((day - window[0][0]).days) for day, _ in window]
        change = 7 * theil_sen(xs, [value for _, value in window]).slope
    return BodyweightTrend(median(recent) if recent else None, change)


@dataclass(frozen=True, slots=True)
class Honesty:
    """How reported reserve fits what the next sets showed, over 14 days.

    ``too_easy`` sets had more left than reported, ``too_hard`` fewer. With three signs or more a set to
    find out is worth suggesting. Shown to the coach, not to the client as blame.
    """

    pairs: int
    too_easy: int
    too_hard: int

    @property
    def worth_a_check(self) -> bool:
        return self.too_easy + self.too_hard >= HONESTY_SIGNS


def honesty(history: Sequence[Exposure], today: date) -> Honesty:
    """Compares each set's repetitions to failure with the next one's, at the same load and 90 s rest or more."""
    pairs = easy = hard = 0
    for exposure in in_order(history):
        if not today - HONESTY_WINDOW < exposure.day <= today:
            continue
        rests = [one.rest_s for one in exposure.asked if one.rest_s is not None]
        if rests and min(rests) < RESTED_S:
            continue
        known = [one for one in exposure.done if one.kind in ("work", "open_ended", "check")]
        for one, after in pairwise(known):
            if one.load != after.load or one.reps is None or after.reps is None:
                continue
            if one.rir is None or after.rir is None or one.as_planned or after.as_planned:
                continue
            pairs += 1
            n, later = one.reps + one.rir, after.reps + after.rir
            easy += later > n + EASIER_BY_REPS
            hard += n - later > max(HARDER_BY_REPS, HARDER_BY_SHARE * n)
    return Honesty(pairs, easy, hard)
