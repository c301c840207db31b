"""Closed shapes with round ends, made of cubic and straight pieces.

Circle ends are cubics: PDF writers cut an SVG arc into dozens of small curves. All shapes turn the same way,
so that shapes of one path that overlap fill as one and leave no holes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from programs.drawings.svg import Point, number

WIDEST_ARC = math.radians(125)
"""The widest arc drawn as one cubic: it strays from the circle by less than a two-hundredth of the radius."""
PLACES = 1


@dataclass(frozen=True)
class Closed:
    """A start and pieces, each one end point (straight) or two handles and an end point (cubic)."""

    start: Point
    pieces: tuple[tuple[Point, ...], ...]

    def points(self) -> list[Point]:
        """Corners and curves' ends."""
        return [self.start, *(piece[-1] for piece in self.pieces)]

    def area(self) -> float:
        """Signed area within the corners: above 0 when it turns anticlockwise with y upward."""
        corners = self.points()
        pairs = zip(corners, corners[1:] + corners[:1], strict=True)
        return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs) / 2

    def path(self, left: float, top: float) -> str:
        """Relative path data with y downward from `top`; rounding is carried along."""
        x, y = round(self.start[0] - left, PLACES), round(top - self.start[1], PLACES)
        written = [f"M{number(x, PLACES)} {number(y, PLACES)}"]
        last = ""
        for piece in self.pieces:
            ends = [(round(a - left, PLACES), round(top - b, PLACES)) for a, b in piece]
            command = "c" if len(ends) == 3 else "l"
            values = "".join(_joined(a - x) + _joined(b - y) for a, b in ends)
            written.append(values if command == last else command + values.removeprefix(" "))
            x, y = ends[-1]
            last = command
        return "".join(written) + "z"


def _joined(value: float) -> str:
    shown = number(value, PLACES)
    return shown if shown.startswith("-") else f" {shown}"


def _arc(centre: Point, radius: float, start: float, sweep: float) -> list[tuple[Point, ...]]:
    """Cubics along a circle, from an angle in radians anticlockwise through `sweep`."""
    count = max(1, math.ceil(sweep / WIDEST_ARC))
    step = sweep / count
    handle = 4 / 3 * math.tan(step / 4) * radius

    def on(angle: float) -> Point:
        return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))

    pieces: list[tuple[Point, ...]] = []
    for index in range(count):
        first, last = start + step * index, start + step * (index + 1)
        (x1, y1), (x2, y2) = on(first), on(last)
        pieces.append(
            (
                (x1 - handle * math.sin(first), y1 + handle * math.cos(first)),
                (x2 + handle * math.sin(last), y2 - handle * math.cos(last)),
                (x2, y2),
            )
        )
    return pieces


def disc(centre: Point, radius: float) -> Closed:
    """A circle."""
    return Closed((centre[0] + radius, centre[1]), tuple(_arc(centre, radius, 0.0, 2 * math.pi)))


def capsule(first: Point, second: Point, wide: float, narrow: float | None = None) -> Closed:
    """Two round ends of their own radii and the straight sides that touch both."""
    other = wide if narrow is None else narrow
    length = math.dist(first, second)
    if length <= abs(wide - other):
        return disc(first, wide) if wide >= other else disc(second, other)
    axis = math.atan2(second[1] - first[1], second[0] - first[0])
    lean = math.acos((wide - other) / length)
    start = (first[0] + wide * math.cos(axis + lean), first[1] + wide * math.sin(axis + lean))
    far = (second[0] + other * math.cos(axis - lean), second[1] + other * math.sin(axis - lean))
    return Closed(
        start,
        (
            *_arc(first, wide, axis + lean, 2 * math.pi - 2 * lean),
            (far,),
            *_arc(second, other, axis - lean, 2 * lean),
        ),
    )


def polygon(*corners: Point) -> Closed:
    """Straight sides through corners, turned anticlockwise whichever way they are given."""
    shape = Closed(corners[0], tuple((corner,) for corner in corners[1:]))
    return shape if shape.area() >= 0 else Closed(corners[-1], tuple((corner,) for corner in corners[-2::-1]))


def bar(first: Point, second: Point, width: float) -> Closed:
    """A straight bar with square ends."""
    length = math.dist(first, second) or 1.0
    across = ((second[1] - first[1]) / length * width / 2, (first[0] - second[0]) / length * width / 2)
    return polygon(
        (first[0] + across[0], first[1] + across[1]),
        (second[0] + across[0], second[1] + across[1]),
        (second[0] - across[0], second[1] - across[1]),
        (first[0] - across[0], first[1] - across[1]),
    )


def rounded(points: Sequence[Point], tension: float = 0.32) -> Closed:
    """A smooth closed curve through points, turned anticlockwise; handles are `tension` of their segment."""
    if Closed(points[0], tuple((point,) for point in points[1:])).area() < 0:
        points = points[::-1]
    count = len(points)

    def handle(index: int, other: int, sign: int) -> Point:
        before, here, after = points[index - 1], points[index % count], points[(index + 1) % count]
        chord = math.dist(before, after) or 1.0
        reach = sign * tension * math.dist(here, points[other % count]) / chord
        return (here[0] + (after[0] - before[0]) * reach, here[1] + (after[1] - before[1]) * reach)

    return Closed(
        points[0],
        tuple(
            (handle(index, index + 1, 1), handle((index + 1) % count, index, -1), points[(index + 1) % count])
            for index in range(count)
        ),
    )
