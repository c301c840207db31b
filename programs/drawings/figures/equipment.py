"""What stands around a figure, what it holds, and which of it lies behind or in front of the body.

Each kind turns its points and numbers into parts: closed shapes with a paint, or open strokes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from programs.drawings.figures.outlines import Closed, bar, capsule, disc, polygon, rounded
from programs.drawings.figures.skeleton import along
from programs.drawings.svg import Point

PAD_THICKNESS = 3.2
POST_WIDTH, ROD_WIDTH, CABLE_WIDTH, LEVER_WIDTH = 1.8, 1.1, 0.6, 1.6
DISC_RADIUS = 9.5
"""A full disc is 12.5 (450 mm at a stature of 1.8 m); off the floor that would hide the body."""
FLOOR_DISC = 12.5
ROLLER_RADIUS = 2.4


@dataclass(frozen=True)
class Part:
    """Shapes that share a paint: "shade" (light, outlined), "dark" (solid) or "open" (outlined only)."""

    shapes: tuple[Closed, ...]
    paint: str
    front: bool = False


@dataclass(frozen=True)
class Stroke:
    """An open run of straight lines, in the "line" or the "soft" colour."""

    points: tuple[Point, ...]
    width: float
    colour: str = "line"
    front: bool = False


Piece = Part | Stroke
Maker = Callable[[list[Point], list[float]], list[Piece]]


def _bench(points: list[Point], numbers: list[float]) -> list[Piece]:
    left, right, top = numbers
    under = top - PAD_THICKNESS
    legs: list[Piece] = [
        Stroke(((x, 0.9), (x, under)), POST_WIDTH)
        for x in (left + (right - left) * 0.12, right - (right - left) * 0.12)
    ]
    middle = top - PAD_THICKNESS / 2
    inset = PAD_THICKNESS / 2
    return [*legs, Part((capsule((left + inset, middle), (right - inset, middle), inset),), "shade")]


def _pad(front: bool) -> Maker:
    def made(points: list[Point], numbers: list[float]) -> list[Piece]:
        radius = numbers[0] if numbers else PAD_THICKNESS / 2
        return [Part((capsule(points[0], points[1], radius),), "shade", front)]

    return made


def _box(points: list[Point], numbers: list[float]) -> list[Piece]:
    left, right, top = numbers
    return [Part((polygon((left, 0.3), (right, 0.3), (right, top), (left, top)),), "shade")]


def _wedge(points: list[Point], numbers: list[float]) -> list[Piece]:
    return [Part((polygon(*points),), "shade")]


def _line(width: float, colour: str = "line", front: bool = False) -> Maker:
    def made(points: list[Point], numbers: list[float]) -> list[Piece]:
        return [Stroke(tuple(points), width, colour, front)]

    return made


def _ring(radius: float) -> Maker:
    def made(points: list[Point], numbers: list[float]) -> list[Piece]:
        return [Part((disc(points[0], radius),), "open")]

    return made


def _disc(points: list[Point], numbers: list[float]) -> list[Piece]:
    radius = numbers[0] if numbers else DISC_RADIUS
    return [Part((disc(points[0], radius),), "shade"), Part((disc(points[0], 1.5),), "dark", front=True)]


def _hub(points: list[Point], numbers: list[float]) -> list[Piece]:
    return [Part((disc(points[0], 1.4),), "dark", front=True)]


def _dumbbell(points: list[Point], numbers: list[float]) -> list[Piece]:
    """From the side: the handle lies in the plane of the picture, at an angle."""
    angle = numbers[0] if numbers else 0.0
    ends = []
    for sign in (-1, 1):
        middle = along(points[0], angle, sign * 4.6)
        ends.append(bar(along(middle, angle + 90, -2.7), along(middle, angle + 90, 2.7), 2.8))
    handle = bar(along(points[0], angle, -4), along(points[0], angle, 4), 1.3)
    return [Part((handle, *ends), "dark", front=True)]


def _dumbbell_end(points: list[Point], numbers: list[float]) -> list[Piece]:
    """From its end: the handle points at the viewer."""
    return [Part((disc(points[0], 3.4),), "dark", front=True), Part((disc(points[0], 1.2),), "open", front=True)]


def _kettlebell(points: list[Point], numbers: list[float]) -> list[Piece]:
    angle = numbers[0] if numbers else -90.0
    ball = along(points[0], angle, 6.0)
    horns = [along(ball, angle + 180 + turn, 3.4) for turn in (-38, 38)]
    top = along(points[0], angle, -0.6)
    return [
        Stroke((horns[0], along(top, angle - 90, 1.7), along(top, angle + 90, 1.7), horns[1]), 1.2, front=True),
        Part((disc(ball, 3.9),), "dark", front=True),
    ]


def _lever(points: list[Point], numbers: list[float]) -> list[Piece]:
    return [Stroke(tuple(points), LEVER_WIDTH), Part((disc(points[0], 1.7),), "open")]


def _wheel(points: list[Point], numbers: list[float]) -> list[Piece]:
    return [
        Part((disc(points[0], 4.0),), "shade", front=True),
        Part((disc(points[0], 1.4),), "dark", front=True),
    ]


def _round(front: bool) -> Maker:
    def made(points: list[Point], numbers: list[float]) -> list[Piece]:
        return [Part((disc(points[0], numbers[0] if numbers else ROLLER_RADIUS),), "shade", front)]

    return made


def _barbell(points: list[Point], numbers: list[float]) -> list[Piece]:
    """From the front, at the height of the given point; numbers: half height of its discs."""
    (x, y), half = points[0], numbers[0] if numbers else FLOOR_DISC
    discs = tuple(
        polygon((x + c - 1.1, y - h), (x + c + 1.1, y - h), (x + c + 1.1, y + h), (x + c - 1.1, y + h))
        for c, h in ((-31, half), (31, half), (-34, half), (34, half))
    )
    return [Stroke(((x - 40, y), (x + 40, y)), 1.3), Part(discs, "shade")]


def _chair(points: list[Point], numbers: list[float]) -> list[Piece]:
    """A seat from x to x at a height, its back at the first x."""
    back, front, top = numbers
    return [
        Stroke(((back, 0.9), (back, top), (front, top)), POST_WIDTH),
        Stroke(((front, 0.9), (front, top)), POST_WIDTH),
        Stroke(((back, top), (back + (-2 if back < front else 2), top * 1.95)), POST_WIDTH),
    ]


def _wall(points: list[Point], numbers: list[float]) -> list[Piece]:
    """A wall's face at x up to a height; the hatching lies on the side that the third number points to."""
    x, height, side = numbers
    marks: list[Piece] = [Stroke(((x, y), (x + side * 3, y - 3)), 0.5, "soft") for y in range(8, round(height), 7)]
    return [Stroke(((x, 0.0), (x, height)), 1.3), *marks]


def _band(points: list[Point], numbers: list[float]) -> list[Piece]:
    """A band is a double line: it is held in a loop."""
    (x1, y1), (x2, y2) = points
    angle = math.degrees(math.atan2(y2 - y1, x2 - x1)) + 90
    return [
        Stroke((along(points[0], angle, sign * 0.9), along(points[1], angle, sign * 0.9)), 0.6, front=True)
        for sign in (-1, 1)
    ]


def _trap_bar(points: list[Point], numbers: list[float]) -> list[Piece]:
    """From the side: the frame runs past the hand, discs stand level with it."""
    (x, y), radius = points[0], numbers[0] if numbers else DISC_RADIUS
    return [
        Part((disc((x, y), radius),), "shade"),
        Stroke(((x - 15, y - 1.2), (x + 15, y - 1.2)), 1.6, front=True),
        Part((disc((x, y), 1.5),), "dark", front=True),
    ]


def _bag(points: list[Point], numbers: list[float]) -> list[Piece]:
    """A sandbag around a point: half width and half height; the arms go round it."""
    (x, y), (w, h) = points[0], numbers
    corners = [(-1.0, 0.0), (-0.75, 1.0), (0.75, 1.0), (1.0, 0.0), (0.75, -1.0), (-0.75, -1.0)]
    return [Part((rounded([(x + w * across, y + h * up) for across, up in corners]),), "shade")]


def _angled_bar(points: list[Point], numbers: list[float]) -> list[Piece]:
    """A bar in the plane of the picture from the hand to its pivot on the floor, its discs seen edge-on."""
    hand, pivot = points
    angle = math.degrees(math.atan2(pivot[1] - hand[1], pivot[0] - hand[0]))
    discs = tuple(
        bar(along(along(hand, angle, at), angle + 90, -8), along(along(hand, angle, at), angle + 90, 8), 2.2)
        for at in (5.0, 7.8)
    )
    return [
        Stroke((along(hand, angle, -2.5), pivot), 1.5, front=True),
        Part(discs, "shade", front=True),
        Part((disc(pivot, 1.7),), "open"),
    ]


def _sled(points: list[Point], numbers: list[float]) -> list[Piece]:
    """Runners from a point on the floor, two posts, and discs on it; number: how far it reaches forward."""
    (x, _), length = points[0], numbers[0]
    return [
        Stroke(((x - 2, 4), (x + 1, 1.6), (x + length, 1.6), (x + length + 3, 5)), 2.0),
        Part((polygon((x + 9, 2.8), (x + length - 5, 2.8), (x + length - 5, 13), (x + 9, 13)),), "shade"),
        Stroke(((x + 4, 1.6), (x + 4, 52)), POST_WIDTH),
    ]


KINDS: dict[str, Maker] = {
    "bench": _bench,
    "pad": _pad(False),
    "front_pad": _pad(True),
    "box": _box,
    "wedge": _wedge,
    "post": _line(POST_WIDTH),
    "rod": _line(ROD_WIDTH, "soft"),
    "pulley": _ring(2.2),
    "cable": _line(CABLE_WIDTH),
    "strap": _line(1.0, front=True),
    "front_bar": _line(1.3, front=True),
    "disc": _disc,
    "hub": _hub,
    "dumbbell": _dumbbell,
    "dumbbell_end": _dumbbell_end,
    "kettlebell": _kettlebell,
    "lever": _lever,
    "roller": _round(True),
    "wheel": _wheel,
    "ball": _round(False),
    "barbell": _barbell,
    "chair": _chair,
    "wall": _wall,
    "band": _band,
    "trap_bar": _trap_bar,
    "bag": _bag,
    "angled_bar": _angled_bar,
    "sled": _sled,
}


def pieces(kind: str, points: Sequence[Point], numbers: Sequence[float]) -> list[Piece]:
    """The pieces of one prop, back to front. Raises ValueError for a kind or for points that don't fit it."""
    if kind not in KINDS:
        raise ValueError(f"no such equipment: {kind}")
    try:
        return KINDS[kind](list(points), list(numbers))
    except (IndexError, ValueError) as wrong:
        raise ValueError(f"{kind} can't stand on {points} with {numbers}") from wrong
