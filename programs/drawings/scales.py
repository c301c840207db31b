"""Axes of a chart over time: round numbers up the side, dates along the foot, cut where nobody trained."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

NICE_STEPS = (1, 2, 2.5, 5, 10)
DATE_STEPS = (7, 14, 28, 56, 91, 182, 364, 728)
"""Days between two dates on the axis: whole weeks, so that the weekday stays."""
LEAST_CUT, MOST_CUT = 26, 84
"""Width in px of a cut in the axis, however long the absence was."""


def nice_ticks(low: float, high: float, intervals: int) -> list[float]:
    """Round numbers, evenly spaced, that enclose low to high in about so many intervals.

    A range without extent is opened by 5 % of its value, or by 1 around nothing. Raises ValueError for high below low.
    """
    if high < low:
        raise ValueError(f"no ticks from {low} to {high}")
    if high - low <= 1e-6 * max(abs(low), abs(high), 1.0):
        margin = abs(low) * 0.05 if abs(low) > 1e-3 else 1.0
        low, high = low - margin, high + margin
    raw = (high - low) / max(intervals, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(nice * power for nice in NICE_STEPS if nice * power >= raw * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(index * step, 10) for index in range(first, last + 1)]


@dataclass(frozen=True)
class Cut:
    """A stretch of time, in days, that the axis leaves out, and the px it is drawn over."""

    start: float
    end: float
    left: float
    right: float


class TimeScale:
    """Days to px from left to right; each absence takes little room however long it lasted."""

    def __init__(
        self,
        start: float,
        end: float,
        left: float,
        right: float,
        absences: Sequence[tuple[float, float]] = (),
    ) -> None:
        self.start, self.end, self.left, self.right = start, max(end, start + 1e-9), left, right
        inside = self._merged(absences)
        even = (right - left) / (self.end - start)
        widths = [min(max((b - a) * even, LEAST_CUT), MOST_CUT) for a, b in inside]
        trained = self.end - start - sum(b - a for a, b in inside)
        room = right - left - sum(widths)
        if trained <= 0 or room <= 0:
            inside, widths, trained, room = [], [], self.end - start, right - left
        self.px_per_day = room / trained
        self.cuts: list[Cut] = []
        x, day = left, start
        for (a, b), cut_width in zip(inside, widths, strict=True):
            x += (a - day) * self.px_per_day
            self.cuts.append(Cut(a, b, x, x + cut_width))
            x, day = x + cut_width, b

    def x(self, day: float) -> float:
        """Where a day lies; outside the scale it lies at its end."""
        day = min(max(day, self.start), self.end)
        x, since = self.left, self.start
        for cut in self.cuts:
            if day <= cut.start:
                break
            if day < cut.end:
                return cut.left + (day - cut.start) / (cut.end - cut.start) * (cut.right - cut.left)
            x, since = cut.right, cut.end
        return x + (day - since) * self.px_per_day

    def dates(self, first: float, label_width: float) -> list[float]:
        """Days to name on the axis from `first` on, so far apart that labels of that width stay clear."""
        step = next((days for days in DATE_STEPS if days * self.px_per_day >= label_width), DATE_STEPS[-1])
        count = math.floor((self.end - first) / step) + 1
        return [first + index * step for index in range(max(count, 1)) if not self.in_cut(first + index * step)]

    def in_cut(self, day: float) -> bool:
        return any(cut.start < day < cut.end for cut in self.cuts)

    def _merged(self, spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        merged: list[tuple[float, float]] = []
        for a, b in sorted((max(a, self.start), min(b, self.end)) for a, b in spans):
            if b <= a:
                continue
            if merged and a <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
            else:
                merged.append((a, b))
        return merged


def between(points: Sequence[tuple[float, float]], top: float, bottom: float) -> list[list[tuple[float, float]]]:
    """The parts of a run of points whose y lies between top and bottom, cut where the run crosses an edge."""
    parts: list[list[tuple[float, float]]] = []
    current: list[tuple[float, float]] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        enter, leave = 0.0, 1.0
        if y1 != y2:
            at_top, at_bottom = (top - y1) / (y2 - y1), (bottom - y1) / (y2 - y1)
            enter, leave = max(0.0, min(at_top, at_bottom)), min(1.0, max(at_top, at_bottom))
        elif not top <= y1 <= bottom:
            enter, leave = 1.0, 0.0
        if enter >= leave:
            continue
        start = (x1 + (x2 - x1) * enter, y1 + (y2 - y1) * enter)
        end = (x1 + (x2 - x1) * leave, y1 + (y2 - y1) * leave)
        if current and current[-1] == start:
            current.append(end)
        else:
            current = [start, end]
            parts.append(current)
    return parts
