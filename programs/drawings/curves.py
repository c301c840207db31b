"""Smooth outlines through hand-set points, written as short path data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from programs.drawings.bodymap_shapes import Shape
from programs.drawings.svg import Point, number

HANDLE = 0.32
"""Share of its own segment that a handle is long: no overshoot however unevenly the points are spaced."""
FLATTENED = 6
"""Straight pieces a curve is cut into, for hatching and for checks."""


@dataclass(frozen=True)
class Outline:
    """A start point and cubic pieces (first handle, second handle, end)."""

    start: Point
    pieces: tuple[tuple[Point, Point, Point], ...]
    closed: bool

    def mirrored(self) -> Outline:
        """The same on the other side of the midline."""
        return Outline(_flip(self.start), tuple((_flip(a), _flip(b), _flip(c)) for a, b, c in self.pieces), self.closed)

    def flattened(self) -> list[Point]:
        """Points along the outline; a closed one does not repeat its start."""
        points, here = [self.start], self.start
        for first, second, end in self.pieces:
            for step in range(1, FLATTENED + 1):
                t = step / FLATTENED
                weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                corners = (here, first, second, end)
                points.append(
                    (
                        sum(w * p[0] for w, p in zip(weights, corners, strict=True)),
                        sum(w * p[1] for w, p in zip(weights, corners, strict=True)),
                    )
                )
            here = end
        return points[:-1] if self.closed else points

    def path(self, places: int) -> str:
        """Relative path data; rounding is carried along, so that errors don't add up."""
        x, y = round(self.start[0], places), round(self.start[1], places)
        written = [f"M{number(x, places)} {number(y, places)}c"]
        for piece in self.pieces:
            ends = [(round(a, places), round(b, places)) for a, b in piece]
            written.append("".join(_joined(a - x, places) + _joined(b - y, places) for a, b in ends))
            x, y = ends[-1]
        joined = "".join(written).replace("c ", "c")
        return joined + ("z" if self.closed else "")


@cache
def smooth(shape: Shape, *, closed: bool) -> Outline:
    """Cubic pieces through the points of a shape.

    At a point the tangent runs parallel to the chord between its neighbours; at a corner, and at the ends of
    an open run, there is no handle.
    """
    points, count = shape.points, len(shape.points)

    def handle(index: int, toward: int) -> Point:
        sharp = index in shape.corners or (not closed and index in (0, count - 1))
        here, other = points[index], points[toward % count]
        if sharp:
            return here
        before, after = points[(index - 1) % count], points[(index + 1) % count]
        chord = math.dist(before, after)
        if not chord:
            return here
        reach = HANDLE * math.dist(here, other) / chord * (1 if toward > index else -1)
        return (here[0] + (after[0] - before[0]) * reach, here[1] + (after[1] - before[1]) * reach)

    pieces = []
    for index in range(count if closed else count - 1):
        end = (index + 1) % count
        pieces.append((handle(index, index + 1), handle(end, end - 1), points[end]))
    return Outline(points[0], tuple(pieces), closed)


def whole(half: Shape) -> Shape:
    """A closed shape from its half, which starts and ends on the midline."""
    points: Sequence[Point] = half.points
    count = len(points)
    mirrored = [(-x, y) for x, y in points[-2:0:-1]]
    corners = half.corners | {2 * (count - 1) - index for index in half.corners}
    return Shape((*points, *mirrored), frozenset(corners))


def _flip(point: Point) -> Point:
    return (-point[0], point[1])


def _joined(value: float, places: int) -> str:
    """A relative number with a separator only where one is needed."""
    written = number(value, places)
    return written if written.startswith("-") else f" {written}"
