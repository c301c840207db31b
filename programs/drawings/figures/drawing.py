"""Start and end of an exercise side by side as one `<svg>`.

All figures of a page share one scale: with a height of its own each, a figure that lies would be a giant
beside one that stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from programs.drawings.figures.body import Group, front_groups, side_groups
from programs.drawings.figures.entries import Entry, Picture, entry
from programs.drawings.figures.equipment import Part, Piece, Stroke, pieces
from programs.drawings.figures.outlines import Closed
from programs.drawings.svg import Ink, Point, drawing, element, number

PAPER_MM_PER_UNIT = 0.30
"""A standing figure is 30 mm high on paper; 0.16 is the least that still reads."""
PX_PER_MM = 96 / 25.4
MARGIN = 3.0
GAP = 7.0
GROUND_DEPTH = 3.4
GROUND_PITCH = 4.5
ARROW_HEAD = 4.0
LINE, FAR_LINE = 0.55, 0.42
THINNEST_MM = 0.18
"""Half a point: no stroke is thinner, however small the figure."""


def figure(key: str, *, title: str, mm_per_unit: float = PAPER_MM_PER_UNIT, ink: Ink = Ink.PAGE) -> str:
    """The pictures of a drawing side by side, start first; the arrow in the last shows the way.

    One unit is a hundredth of the stature; `mm_per_unit` sets the size, in mm on paper and in px of the same
    length on a page. An empty `title` hides the drawing from screen readers. Raises KeyError for a key that is
    not on file, ValueError for a scale that is not positive.
    """
    if mm_per_unit <= 0:
        raise ValueError("a figure needs a size")
    content, width, height = _drawn(key, mm_per_unit, ink)
    millimetres = (width * mm_per_unit, height * mm_per_unit)
    shown = drawing(
        "exercise-figure",
        content,
        width,
        height,
        ink=ink,
        title=title,
        sized=False,
        millimetres=millimetres if ink is Ink.PRINT else None,
    )
    if ink is Ink.PRINT:
        return shown
    pixels = (number(side * PX_PER_MM, 0) for side in millimetres)
    return shown.replace(' fill="none"', ' width="{}" height="{}" fill="none"'.format(*pixels), 1)


def extent(key: str) -> tuple[float, float]:
    """Width and height of a drawing in units, for whoever has to make room for it."""
    _, width, height = _drawn(key, PAPER_MM_PER_UNIT, Ink.PRINT)
    return width, height


@lru_cache(maxsize=512)
def _drawn(key: str, mm_per_unit: float, ink: Ink) -> tuple[str, float, float]:
    known = entry(key)
    painted = [_pieces(picture) for picture in known.pictures]
    groups = [_groups(known, picture) for picture in known.pictures]
    boxes = []
    for index, (behind, body) in enumerate(zip(painted, groups, strict=True)):
        arrow = known.arrow if index == len(painted) - 1 else ()
        boxes.append(
            _box([*_inked(behind), *(_round_box(s) for g in body for s in g.shapes), *(_wing_box(p) for p in arrow)])
        )
    top = max(box[1][1] for box in boxes) + MARGIN
    height = round(top + GROUND_DEPTH, 1)
    content, left = "", 0.0
    pen = _Pen(mm_per_unit, ink)
    for index, (behind, body, box) in enumerate(zip(painted, groups, boxes, strict=True)):
        start = box[0][0] - MARGIN - left
        right = box[1][0] + MARGIN
        pen.at(start, top)
        content += pen.ground(box[0][0] - MARGIN, right)
        content += "".join(pen.piece(piece) for piece in behind if not piece.front)
        content += "".join(pen.body(group) for group in body)
        content += "".join(pen.piece(piece) for piece in behind if piece.front)
        if index == len(painted) - 1:
            content += pen.arrow(known.arrow)
        left = right - start + GAP
    return content, round(left - GAP, 1), height


def _pieces(picture: Picture) -> list[Piece]:
    return [piece for prop in picture.props for piece in pieces(prop.kind, prop.points(picture.body), prop.numbers())]


def _groups(known: Entry, picture: Picture) -> list[Group]:
    if known.view == "side":
        return side_groups(picture.body)
    joints = picture.body.joints
    return front_groups(picture.body, arms_behind=joints["handR"][1] > joints["head"][1] > joints["elbowR"][1])


def _round_box(shape: Closed) -> tuple[Point, Point]:
    return _box((point, point) for point in (*shape.points(), *(p for piece in shape.pieces for p in piece)))


def _wing_box(point: Point) -> tuple[Point, Point]:
    """Around a point of the arrow, its head spread to both sides."""
    half = ARROW_HEAD / 2 + 0.6
    return ((point[0] - half, point[1] - half), (point[0] + half, point[1] + half))


def _inked(found: Iterable[Piece]) -> list[tuple[Point, Point]]:
    boxes = []
    for piece in found:
        if isinstance(piece, Part):
            boxes += [_round_box(shape) for shape in piece.shapes]
        else:
            half = piece.width / 2
            boxes += [((x - half, y - half), (x + half, y + half)) for x, y in piece.points]
    return boxes


def _box(found: Iterable[tuple[Point, Point]]) -> tuple[Point, Point]:
    boxes = list(found)
    return (
        (min(low[0] for low, _ in boxes), min(low[1] for low, _ in boxes)),
        (max(high[0] for _, high in boxes), max(high[1] for _, high in boxes)),
    )


class _Pen:
    """Writes elements in one scale and one colour way, from units with y upward to units with y downward."""

    def __init__(self, mm_per_unit: float, ink: Ink) -> None:
        self.palette = ink.value
        self.twice = ink is Ink.PRINT
        self.least = THINNEST_MM / mm_per_unit
        self.left = self.top = 0.0

    def at(self, left: float, top: float) -> None:
        self.left, self.top = left, top

    def width(self, wanted: float) -> float:
        return max(wanted, self.least)

    def run(self, points: Iterable[Point]) -> str:
        placed = [f"{number(x - self.left, 1)} {number(self.top - y, 1)}" for x, y in points]
        return "M" + "L".join(placed)

    def ground(self, left: float, right: float) -> str:
        """The floor, hatched from below as on a drawing."""
        count = int((right - left - GROUND_DEPTH) // GROUND_PITCH) + 1
        inset = (right - left - GROUND_DEPTH - (count - 1) * GROUND_PITCH) / 2
        marks = "".join(
            self.run(((x + GROUND_DEPTH * 0.7, 0), (x, -GROUND_DEPTH * 0.7)))
            for x in (left + inset + GROUND_DEPTH * 0.15 + GROUND_PITCH * step for step in range(count))
        )
        palette = self.palette
        return element("path", d=marks, stroke=palette.edge, stroke_width=self.width(0.4)) + element(
            "path", d=self.run(((left, 0), (right, 0))), stroke=palette.ink, stroke_width=self.width(0.7)
        )

    def shapes(self, found: Iterable[Closed], fill: str, line: str, width: float) -> str:
        """Shapes as one silhouette: the line of all lies under the fill of all, so that none shows inside."""
        data = "".join(shape.path(self.left, self.top) for shape in found)
        stroke: dict[str, str | float | None] = {
            "stroke": line,
            "stroke_width": 2 * max(width, self.least * 0.75),
            "stroke_linejoin": "round",
        }
        if self.twice:  # the writer of PDF doesn't know the order of painting
            return element("path", d=data, **stroke) + element("path", d=data, fill=fill)
        return element("path", d=data, fill=fill, paint_order="stroke", **stroke)

    def body(self, group: Group) -> str:
        palette = self.palette
        if group.far:
            return self.shapes(group.shapes, palette.shade, palette.ink3, FAR_LINE)
        return self.shapes(group.shapes, palette.sheet, palette.ink, LINE)

    def piece(self, piece: Piece) -> str:
        palette = self.palette
        if isinstance(piece, Stroke):
            colour = palette.ink if piece.colour == "line" else palette.edge
            return element(
                "path",
                d=self.run(piece.points),
                stroke=colour,
                stroke_width=self.width(piece.width),
                stroke_linejoin="round",
            )
        data = "".join(shape.path(self.left, self.top) for shape in piece.shapes)
        if piece.paint == "dark":
            return element("path", d=data, fill=palette.ink)
        fill = palette.shade if piece.paint == "shade" else palette.sheet
        return element("path", d=data, fill=fill, stroke=palette.ink, stroke_width=self.width(0.7))

    def arrow(self, points: tuple[Point, ...]) -> str:
        """Straight through two points, a curve through three; its open head ends on the last."""
        if not points:
            return ""
        end, before = points[-1], points[-2]
        if len(points) == 3:
            first, middle, _ = points
            control = (2 * middle[0] - (first[0] + end[0]) / 2, 2 * middle[1] - (first[1] + end[1]) / 2)
            before = control
            data = f"{self.run([first])}Q{self._pair(control)} {self._pair(end)}"
        else:
            data = self.run(points)
        length = ((end[0] - before[0]) ** 2 + (end[1] - before[1]) ** 2) ** 0.5
        back = ((before[0] - end[0]) / length * ARROW_HEAD, (before[1] - end[1]) / length * ARROW_HEAD)
        wings = []
        for turn in (0.5, -0.5):
            cos, sin = 0.866, turn
            wings.append((end[0] + back[0] * cos - back[1] * sin, end[1] + back[0] * sin + back[1] * cos))
        data += self.run((wings[0], end, wings[1]))
        return element(
            "path",
            d=data,
            stroke=self.palette.accent,
            stroke_width=self.width(1.2),
            stroke_linecap="round",
            stroke_linejoin="round",
        )

    def _pair(self, point: Point) -> str:
        return f"{number(point[0] - self.left, 1)} {number(self.top - point[1], 1)}"
