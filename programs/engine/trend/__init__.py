"""Robust trends of estimated maxima with their uncertainty, and the numbers beside them."""

from programs.engine.trend.series import LEFT_OUT, Point, Record, estimates, records
from programs.engine.trend.statistics import (
    Z_80,
    Z_95,
    detectable,
    levels,
    mann_kendall,
    own_error,
    sen_interval,
    theil_sen,
)
from programs.engine.trend.summaries import (
    ADHERENCE_BANDS,
    EXPECTED,
    Adherence,
    BodyweightTrend,
    Honesty,
    WeekEffort,
    adherence,
    bodyweight_trend,
    expected_rate,
    honesty,
    week_effort,
)
from programs.engine.trend.verdict import REASONS, VERDICTS, BandPoint, Trend, trend

__all__ = [
    "ADHERENCE_BANDS",
    "EXPECTED",
    "LEFT_OUT",
    "REASONS",
    "VERDICTS",
    "Z_80",
    "Z_95",
    "Adherence",
    "BandPoint",
    "BodyweightTrend",
    "Honesty",
    "Point",
    "Record",
    "Trend",
    "WeekEffort",
    "adherence",
    "bodyweight_trend",
    "detectable",
    "estimates",
    "expected_rate",
    "honesty",
    "levels",
    "mann_kendall",
    "own_error",
    "records",
    "sen_interval",
    "theil_sen",
    "trend",
    "week_effort",
]
