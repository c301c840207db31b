"""Hatching as plain strokes.

An SVG pattern would be shorter, but PDF writers turn every patterned shape into an image; strokes stay
strokes, sharp at any zoom, and need no clipping.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from programs.drawings.svg import Point

SHARE_ANGLE = 45.0
"""Rising to the right: what counts in part."""
PAUSE_ANGLE = -45.0
"""Falling to the right: a span of time that is set apart."""


def hatch(
    rings: Sequence[Sequence[Point]], pitch: float, *, angle: float = SHARE_ANGLE, shortest: float = 1.0
) -> list[tuple[Point, Point]]:
    """Strokes at `angle` degrees (anticlockwise from level, as seen) that fill closed rings by the even-odd
    rule.

    Strokes lie `pitch` apart, counted from the origin and not from the shape, so that they run on through
    shapes that lie side by side. Strokes shorter than `shortest` are left out. All in the rings' own units.
    """
    along = (math.cos(math.radians(angle)), -math.sin(math.radians(angle)))
    across = (-along[1], along[0])
    crossings: dict[int, list[float]] = defaultdict(list)
    for ring in rings:
        turned = [(x * along[0] + y * along[1], x * across[0] + y * across[1]) for x, y in ring]
        for (u1, v1), (u2, v2) in zip(turned, turned[1:] + turned[:1], strict=True):
            if v1 == v2:
                continue
            low, high = min(v1, v2), max(v1, v2)
            # An end point belongs to the edge that starts there, so that a corner is crossed once.
            for k in range(math.ceil(low / pitch), math.ceil(high / pitch)):
                crossings[k].append(u1 + (u2 - u1) * (k * pitch - v1) / (v2 - v1))
    strokes = []
    for k in sorted(crossings):
        found = sorted(crossings[k])
        v = k * pitch
        for start, end in zip(found[::2], found[1::2], strict=False):
            if end - start >= shortest:
                strokes.append((_back(start, v, along, across), _back(end, v, along, across)))
    return strokes


def hatch_box(
    x: float,
    y: float,
    width: float,
    height: float,
    pitch: float,
    *,
    angle: float = SHARE_ANGLE,
    shortest: float = 1.0,
) -> list[tuple[Point, Point]]:
    """The same for one upright box; empty when it has no area."""
    if width <= 0 or height <= 0:
        return []
    ring = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    return hatch([ring], pitch, angle=angle, shortest=shortest)


def _back(u: float, v: float, along: Point, across: Point) -> Point:
    return (u * along[0] + v * across[0], u * along[1] + v * across[1])
