"""The week's sessions and the hours between those that load the same groups, dimensioned as on a drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from programs.drawings.lettering import text_width
from programs.drawings.svg import Ink, drawing, element, half, line, polyline, rectangle, segments, text

HEAD = 22
BLOCK_SHARE = 0.62
LANE_TOP, BLOCK_HEIGHT, LANE_GAP = 6, 20, 6
NAME_SIZE, LABEL_SIZE = 12.5, 13
TICK, ARROW_LENGTH, ARROW_HALF = 5, 6, 2.5
AROUND_LABEL = 6
"""Room in px on either side of a label that breaks its line."""
OUTSIDE_ROW = 17


@dataclass(frozen=True)
class Gap:
    """Time between two sessions of a lane, by day index. A `from_day` below 0 comes in at the left edge, a
    `to_day` of None or past the last day runs off the right one. `label` says the hours, and the day where
    none is in sight."""

    from_day: int
    to_day: int | None
    hours: float
    needed_hours: float
    label: str

    @property
    def short(self) -> bool:
        return self.hours < self.needed_hours


@dataclass(frozen=True)
class Lane:
    """One day type: its sessions as (day index, label) and the gaps between them."""

    name: str
    blocks: Sequence[tuple[int, str]]
    gaps: Sequence[Gap] = ()


@dataclass(frozen=True)
class _Label:
    """Lettering that found no room in its place and goes under the lane."""

    centre: float
    words: str
    semibold: bool


def recovery_gaps(
    days: Sequence[str],
    lanes: Sequence[Lane],
    *,
    title: str,
    width: float = 738,
    name_width: float = 0,
    ink: Ink = Ink.PAGE,
) -> str:
    """One column per day, one lane per day type; `name_width` px on the left for the lanes' names, 0 for
    none.

    A gap below what is needed is dashed and its label semibold. Labels that don't fit between two sessions,
    or in a narrow session's block, stand in rows under their lane. Raises ValueError for no days or a block
    on no day.
    """
    if not days:
        raise ValueError("a week needs days")
    if any(not 0 <= day < len(days) for lane in lanes for day, _ in lane.blocks):
        raise ValueError("a session lies on a day that is not drawn")
    week = _Week(len(days), name_width, width, ink)
    lettered, y = "", float(HEAD)
    for lane in lanes:
        drawn, y = week.lane(lane, y)
        lettered += drawn
    bottom = math.ceil(y + LANE_GAP)
    return drawing("recovery-gaps", week.frame(days, bottom) + lettered, width, bottom, ink=ink, title=title)


class _Week:
    """Scale and colours of one drawing."""

    def __init__(self, days: int, left: float, width: float, ink: Ink) -> None:
        self.left, self.width, self.ink, self.palette = left, width, ink, ink.value
        self.day_width = (width - left) / days
        self.days = days
        self.lettering: list[tuple[float, float, float, float]] = []
        """Boxes (left, right, top, bottom) of the labels written so far."""

    def frame(self, days: Sequence[str], bottom: float) -> str:
        """Names of the days, the line under them and a rule per day, broken where lettering stands."""
        size = self.ink.text_size(NAME_SIZE)
        names = "".join(
            text(self.left + self.day_width * i + 5, 14, name, size, self.palette.ink2) for i, name in enumerate(days)
        )
        rules = "".join(self.rule(half(self.left + self.day_width * i), bottom) for i in range(self.days))
        grid = element("path", d=rules, stroke=self.palette.rule, stroke_width=self.ink.stroke(1))
        return grid + names + line(0, HEAD + 0.5, self.width, HEAD + 0.5, self.palette.ink)

    def rule(self, x: float, bottom: float) -> str:
        edges: list[float] = [HEAD + 1]
        for left, right, top, end in sorted(self.lettering, key=lambda box: box[2]):
            if left <= x <= right:
                edges += [top, end]
        edges.append(bottom)
        return segments(((x, a), (x, b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a)

    def write(self, centre: float, base: float, words: str, *, semibold: bool) -> str:
        """A label in the middle of its place, which the rules of the days leave clear."""
        size = self.ink.text_size(LABEL_SIZE)
        reach = text_width(words, size, semibold=semibold) / 2 + 2
        self.lettering.append((centre - reach, centre + reach, base - size + 1, base + 4))
        return text(centre, base, words, size, self.palette.ink, anchor="middle", semibold=semibold)

    def lane(self, lane: Lane, y: float) -> tuple[str, float]:
        """The lane's drawing and where it ends."""
        top = math.ceil(y) + LANE_TOP
        axis = top + BLOCK_HEIGHT / 2 + 0.5
        outside: list[_Label] = []
        drawn = ""
        edges = {day: self.block_edges(day, label) for day, label in lane.blocks}
        for gap in lane.gaps:
            drawn += self.gap(gap, edges, axis, outside)
        for day, label in lane.blocks:
            drawn += self.block(edges[day], label, top, outside)
        if self.left and lane.name:
            drawn += text(0, axis + 4, lane.name, self.ink.text_size(LABEL_SIZE), self.palette.ink)
        rows, lettering = self.under(outside, top + BLOCK_HEIGHT)
        return drawn + lettering, top + BLOCK_HEIGHT + rows * OUTSIDE_ROW

    def block_edges(self, day: int, label: str) -> tuple[float, float]:
        """A block is 62 % of its day wide, or up to all of it where its name needs that."""
        needed = text_width(label, self.ink.text_size(NAME_SIZE), semibold=True) + 10
        wide = self.day_width * BLOCK_SHARE
        if wide < needed <= self.day_width - 4:
            wide = needed
        centre = self.left + self.day_width * (day + 0.5)
        return round(centre - wide / 2), round(centre + wide / 2)

    def block(self, edges: tuple[float, float], label: str, top: float, outside: list[_Label]) -> str:
        left, right = edges
        size = self.ink.text_size(NAME_SIZE)
        box = rectangle(left, top, right - left, BLOCK_HEIGHT, fill=self.palette.ink)
        if text_width(label, size, semibold=True) + 4 > right - left:
            outside.append(_Label((left + right) / 2, label, True))
            return box
        words = text((left + right) / 2, top + 14.5, label, size, self.palette.ground, anchor="middle", semibold=True)
        return box + words

    def gap(self, gap: Gap, edges: dict[int, tuple[float, float]], axis: float, outside: list[_Label]) -> str:
        coming_in = gap.from_day < 0
        running_off = gap.to_day is None or gap.to_day >= self.days
        start = self.left if coming_in else self.edge(gap.from_day, edges, 1) + 1.5
        end = self.width if gap.to_day is None or running_off else self.edge(gap.to_day, edges, 0) - 1.5
        if end - start < 2:
            return ""
        size = self.ink.text_size(LABEL_SIZE)
        room = text_width(gap.label, size, semibold=gap.short) / 2 + AROUND_LABEL if gap.label else 0
        middle = (start + end) / 2
        fits = not gap.label or 2 * room + 4 * ARROW_LENGTH <= end - start
        dash = "4 3" if gap.short else None
        pieces = [(start, middle - room), (middle + room, end)] if fits else [(start, end)]
        strokes = segments([((a, axis), (b, axis)) for a, b in pieces])
        drawn = element("path", d=strokes, stroke=self.palette.ink, stroke_dasharray=dash)
        if not coming_in:
            drawn += self.end_mark(start, axis, 1)
        if not running_off:
            drawn += self.end_mark(end, axis, -1)
        if fits:
            return drawn + (self.write(middle, axis + 4.5, gap.label, semibold=gap.short) if gap.label else "")
        outside.append(_Label(middle, gap.label, gap.short))
        return drawn

    def edge(self, day: int, edges: dict[int, tuple[float, float]], side: int) -> float:
        """Left (0) or right (1) edge of the session on a day, or the middle of a day without one."""
        middle = self.left + self.day_width * (day + 0.5)
        return edges.get(day, (middle, middle))[side]

    def end_mark(self, x: float, axis: float, direction: int) -> str:
        """A tick and an arrowhead whose tip touches it; direction is where the line leads from here."""
        base = x + direction * ARROW_LENGTH
        head = [(x, axis), (base, axis - ARROW_HALF), (base, axis + ARROW_HALF)]
        return element("path", d=polyline(head, closed=True), fill=self.palette.ink) + line(
            x, axis - TICK, x, axis + TICK, self.palette.ink
        )

    def under(self, labels: list[_Label], top: float) -> tuple[int, str]:
        """How many rows the labels take, and their lettering; each goes in the first row where it is
        clear."""
        size = self.ink.text_size(LABEL_SIZE)
        taken: list[float] = []
        drawn = ""
        for label in sorted(labels, key=lambda label: label.centre):
            reach = text_width(label.words, size, semibold=label.semibold) / 2
            centre = max(min(label.centre, self.width - reach), self.left + reach)
            row = next((i for i, end in enumerate(taken) if centre - reach >= end + AROUND_LABEL), len(taken))
            taken[row : row + 1] = [centre + reach]
            drawn += self.write(centre, top + 13 + row * OUTSIDE_ROW, label.words, semibold=label.semibold)
        return len(taken), drawn
