"""Estimated one-rep max over time: a dot a session, and the line only where the data carry one.

Shape says everything that colour says: counted dots are solid, others open, records fly a pennant, the band
has edges, a lighter week is hatched, an absence cuts the axis, a new baseline is a double line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from programs.drawings.hatch import PAUSE_ANGLE, hatch_box
from programs.drawings.lettering import text_width, widest
from programs.drawings.scales import TimeScale, between, nice_ticks
from programs.drawings.svg import (
    Ink,
    Point,
    circle,
    drawing,
    element,
    group,
    half,
    line,
    polyline,
    segments,
    text,
)

SMALL_BELOW = 480
LABEL_SIZE = 12.5
ROW = 17
TICK, AXIS_ROOM = 5, 24
DELOAD_PITCH = 6
BAND_ALLOWANCE = 0.7
"""How far the band may widen the value axis, as a share of the range of dots and line; beyond that it is cut
off."""
DOT_ROOM = 0.04
CHEVRON = 5
MANY_DOTS = 120


@dataclass(frozen=True)
class TrendPoint:
    """One session's estimate on a day (any day count, such as a date's ordinal)."""

    x: float
    value: float
    kind: Literal["counted", "left_out", "record"] = "counted"


@dataclass(frozen=True)
class BandPoint:
    """The line and its band on a day."""

    x: float
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class Span:
    """A run of days with its name: a lighter week, an absence."""

    start: float
    end: float
    label: str


@dataclass(frozen=True)
class Baseline:
    """A day from which values can't be compared with what was before: other machine, place or technique."""

    x: float
    label: str


def trend_chart(
    points: Sequence[TrendPoint],
    lines: Sequence[Sequence[BandPoint]] = (),
    *,
    title: str,
    format_number: Callable[[float], str],
    format_date: Callable[[int], str],
    deloads: Sequence[Span] = (),
    absences: Sequence[Span] = (),
    baselines: Sequence[Baseline] = (),
    value_ticks: Sequence[float] | None = None,
    date_ticks: Sequence[float] | None = None,
    width: float = 828,
    height: float = 300,
    ink: Ink = Ink.PAGE,
) -> str:
    """The chart; below 480 px of width its marks are smaller and its axes sparser.

    `lines` are separate stretches, each left to right; none draws dots alone, for when the data can't tell
    yet. `format_date` gets a whole day of the same count as `x`. Ticks are round numbers and whole weeks
    unless given. Raises ValueError for no points.
    """
    if not points:
        raise ValueError("a trend needs points")
    chart = _Chart(points, lines, deloads, absences, baselines, format_number, width, height, ink, value_ticks)
    dates = chart.dates(date_ticks, format_date)
    content = (
        chart.grid()
        + chart.bands(fill=True)
        + chart.deloads()
        + chart.bands(fill=False)
        + chart.breaks()
        + chart.axis(dates)
        + chart.dots()
        + chart.labels()
    )
    return drawing("trend-chart", content, width, height, ink=ink, title=title)


class _Chart:
    """Scales, colours and parts of one chart."""

    def __init__(
        self,
        points: Sequence[TrendPoint],
        lines: Sequence[Sequence[BandPoint]],
        deloads: Sequence[Span],
        absences: Sequence[Span],
        baselines: Sequence[Baseline],
        format_number: Callable[[float], str],
        width: float,
        height: float,
        ink: Ink,
        value_ticks: Sequence[float] | None,
    ) -> None:
        self.points, self.lines = points, [stretch for stretch in lines if len(stretch) > 1]
        self.spans, self.baselines, self.absences = deloads, baselines, absences
        self.format_number, self.width, self.ink, self.palette = format_number, width, ink, ink.value
        self.small = width < SMALL_BELOW
        self.size = ink.text_size(12 if self.small else LABEL_SIZE)
        self.radius = 2.4 if len(points) > MANY_DOTS else 2.6 if self.small else 3.4
        self.bottom = half(height - AXIS_ROOM)
        ticks = list(value_ticks) if value_ticks else self._value_ticks(len(self.lines) > 0)
        self.ticks = sorted(ticks)
        self.left = half(widest([format_number(tick) for tick in self.ticks], self.size) + 10)
        self.right = width - 1
        self.time = self._time_scale()
        self.placed, rows = self._place_labels()
        self.top = half(max(rows * ROW + 2, self.size / 2 + 1))
        self._make_room_for_pennants(given=value_ticks is not None)

    # scales

    def _value_ticks(self, with_band: bool) -> list[float]:
        values = [point.value for point in self.points] + [p.y for stretch in self.lines for p in stretch]
        low, high = min(values), max(values)
        # A dot keeps clear of the foot and of the top.
        low, high = low - (high - low) * DOT_ROOM, high + (high - low) * DOT_ROOM
        if with_band:
            allowed = (high - low or abs(high) * 0.05) * BAND_ALLOWANCE
            low = max(min([low, *(p.low for s in self.lines for p in s)]), low - allowed)
            high = min(max([high, *(p.high for s in self.lines for p in s)]), high + allowed)
        return nice_ticks(low, high, 3 if self.small else 5)

    def _time_scale(self) -> TimeScale:
        days = [point.x for point in self.points] + [p.x for stretch in self.lines for p in stretch]
        first, last = min(days), max(days)
        margin = max((last - first) * (0.03 if self.small else 0.012), 0.5)
        away = [(span.start, span.end) for span in self.absences]
        return TimeScale(first - margin, last + margin, self.left, self.right, away)

    def _make_room_for_pennants(self, given: bool) -> None:
        """One tick more on top where a record's pennant would reach into the names above."""
        records = [self.y(point.value) for point in self.points if point.kind == "record"]
        if records and not given and min(records) - self.staff - self.radius < self.top:
            self.ticks.append(round(2 * self.ticks[-1] - self.ticks[-2], 10))

    @property
    def staff(self) -> float:
        return 9 if self.small else 13

    def y(self, value: float) -> float:
        low, high = self.ticks[0], self.ticks[-1]
        return self.bottom - (value - low) / (high - low) * (self.bottom - self.top)

    def dates(self, given: Sequence[float] | None, format_date: Callable[[int], str]) -> list[tuple[float, str, str]]:
        """Where dates stand on the axis, their words and anchor; those that would touch their neighbour are
        left out."""
        first = math.ceil(self.time.start)
        if given is None:
            sample = widest([format_date(first), format_date(math.floor(self.time.end))], self.size)
            given = self.time.dates(first, sample + (14 if self.small else 36))
        named: list[tuple[float, str, str]] = []
        clear_from = -math.inf
        for day in given:
            x, words = self.time.x(day), format_date(math.floor(day))
            reach = text_width(words, self.size) / 2
            anchor = "start" if x - reach < self.left - 6 else "end" if x + reach > self.width else "middle"
            left = {"start": x - 1, "end": x - 2 * reach, "middle": x - reach}[anchor]
            if left >= clear_from:
                named.append((x, words, anchor))
                clear_from = left + 2 * reach + 8
        return named

    # parts, from the back to the front

    def grid(self) -> str:
        lines = [((self.left, half(self.y(tick))), (self.right, half(self.y(tick)))) for tick in self.ticks[1:]]
        numbers = "".join(
            text(
                self.left - 8,
                self.y(tick) + self.size * 0.34,
                self.format_number(tick),
                self.size,
                self.palette.ink2,
                anchor="end",
            )
            for tick in self.ticks
        )
        return element("path", d=segments(lines), stroke=self.palette.rule, stroke_width=self.ink.stroke(1)) + numbers

    def bands(self, *, fill: bool) -> str:
        drawn = ""
        for stretch in self.lines:
            upper = [(self.time.x(p.x), self.y(p.high)) for p in stretch]
            lower = [(self.time.x(p.x), self.y(p.low)) for p in stretch]
            if fill:
                ring = [(x, min(max(y, self.top), self.bottom)) for x, y in [*upper, *reversed(lower)]]
                drawn += element("path", d=polyline(ring, closed=True), fill=self.palette.wash)
                continue
            edges = "".join(polyline(part) for run in (upper, lower) for part in between(run, self.top, self.bottom))
            if edges:
                drawn += element("path", d=edges, stroke=self.palette.accent, stroke_width=self.ink.stroke(0.7))
            middle = [(self.time.x(p.x), self.y(p.y)) for p in stretch]
            inside = "".join(polyline(part) for part in between(middle, self.top, self.bottom))
            drawn += element("path", d=inside, stroke=self.palette.accent, stroke_width=2)
        return drawn

    def deloads(self) -> str:
        drawn = ""
        for span in self.spans:
            if self.time.in_cut((span.start + span.end) / 2):
                continue
            left, right = self.time.x(span.start), self.time.x(span.end)
            strokes = hatch_box(left, self.top, right - left, self.bottom - self.top, DELOAD_PITCH, angle=PAUSE_ANGLE)
            drawn += segments(strokes)
        return element("path", d=drawn, stroke=self.palette.edge, stroke_width=self.ink.stroke(0.7)) if drawn else ""

    def breaks(self) -> str:
        """Dotted verticals on both sides of an absence, a double line at a new baseline."""
        dotted = [
            ((x, self.top), (x, self.bottom)) for cut in self.time.cuts for x in (half(cut.left), half(cut.right))
        ]
        doubled = [
            ((half(self.time.x(new.x)) + shift, self.top), (half(self.time.x(new.x)) + shift, self.bottom))
            for new in self.baselines
            for shift in (-1, 2)
        ]
        drawn = ""
        if dotted:
            drawn += element("path", d=segments(dotted), stroke=self.palette.ink, stroke_dasharray="1.5 4.5")
        if doubled:
            drawn += element("path", d=segments(doubled), stroke=self.palette.ink)
        return drawn

    def axis(self, dates: Sequence[tuple[float, str, str]]) -> str:
        """The foot with its dates, cut open between two chevrons where nobody trained."""
        edges = [self.left, *(x for cut in self.time.cuts for x in (cut.left, cut.right)), self.right]
        strokes = [((a, self.bottom), (b, self.bottom)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
        strokes += [((half(x), self.bottom), (half(x), self.bottom + TICK)) for x, _, _ in dates]
        chevrons = "".join(
            polyline([(x - 2, self.bottom - CHEVRON), (x + 2, self.bottom), (x - 2, self.bottom + CHEVRON)])
            for cut in self.time.cuts
            for x in (cut.left, cut.right)
        )
        words = "".join(
            text(
                x - 1 if anchor == "start" else x,
                self.bottom + TICK + self.size + 2,
                name,
                self.size,
                self.palette.ink2,
                anchor=anchor,
            )
            for x, name, anchor in dates
        )
        drawn = element("path", d=segments(strokes), stroke=self.palette.ink)
        if chevrons:
            drawn += element("path", d=chevrons, stroke=self.palette.ink, stroke_width=1.5)
        return drawn + words

    def dots(self) -> str:
        solid = opened = pennants = ""
        for point in self.points:
            x, y = self.time.x(point.x), self.y(point.value)
            if point.kind == "left_out":
                opened += circle(x, y, self.radius - 0.5)
                continue
            solid += circle(x, y, self.radius)
            if point.kind == "record":
                pennants += self._pennant(x, y)
        return (
            group(opened, fill=self.palette.ground, stroke=self.palette.ink, stroke_width=1.2)
            + group(solid, fill=self.palette.ink)
            + pennants
        )

    def _pennant(self, x: float, y: float) -> str:
        """A square-cut pennant on a staff; it flies to the left where the right edge is near."""
        length, depth = (7, 5.5) if self.small else (9, 7)
        way = -1 if x + length + 2 > self.width else 1
        staff = half(x)
        top = y - self.radius - self.staff
        notch = length - depth * 0.4
        cloth = [
            (staff, top),
            (staff + way * length, top),
            (staff + way * notch, top + depth / 2),
            (staff + way * length, top + depth),
            (staff, top + depth),
        ]
        return element("path", d=polyline(cloth, closed=True), fill=self.palette.ink) + line(
            staff, top, staff, y, self.palette.ink, 1.2
        )

    # the names above the plot

    def _place_labels(self) -> tuple[list[tuple[Point, str]], int]:
        """Names with their place, and how many rows they take: what can't be guessed first, lighter weeks
        last.

        A lighter week whose name finds no room goes without, as its hatching says the same as its
        neighbours'.
        """
        wanted = [(self.time.x(new.x), new.label, True) for new in self.baselines]
        wanted += [(self._middle(span), span.label, True) for span in self.absences]
        shown = [span for span in self.spans if not self.time.in_cut((span.start + span.end) / 2)]
        wanted += [(self._middle(span), span.label, False) for span in shown]
        rows: list[list[tuple[float, float]]] = []
        placed = []
        for centre, words, needed in wanted:
            if not words:
                continue
            reach = text_width(words, self.size) / 2
            centre = max(min(centre, self.width - reach), reach)
            span = (centre - reach - 6, centre + reach + 6)
            row = next((i for i, taken in enumerate(rows) if all(_apart(span, other) for other in taken)), None)
            if row is None:
                if not needed and rows:
                    continue
                rows.append([])
                row = len(rows) - 1
            rows[row].append(span)
            placed.append(((centre, float(row)), words))
        return placed, len(rows)

    def _middle(self, span: Span) -> float:
        return (self.time.x(span.start) + self.time.x(span.end)) / 2

    def labels(self) -> str:
        """The first row lies nearest to the plot."""
        return "".join(
            text(x, self.top - 6 - row * ROW, words, self.size, self.palette.ink2, anchor="middle")
            for (x, row), words in self.placed
        )


def _apart(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[1] <= other[0] or other[1] <= one[0]
