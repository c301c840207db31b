"""Parts to choose on the body map: for each muscle group its shapes on an empty ground, to lie over the map, and larger
clear boxes under all of them, so that a finger need not meet a neck or a calf exactly."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from programs.drawings.bodymap import HEIGHT, MARGIN, VIEWS, WIDTH, region_outlines
from programs.drawings.bodymap_shapes import VIEW_WIDTH
from programs.drawings.curves import Outline
from programs.drawings.svg import Ink, drawing, element, group

CENTRES = (("front", VIEW_WIDTH / 2), ("back", VIEW_WIDTH * 1.5))
TARGET = 92
"""The least side of a box in units of the drawing: 24 px where the drawing is 204 px wide, its narrowest."""


@cache
def shapes_of(regions: tuple[str, ...]) -> str:
    """The shapes of some regions, front and back, as an `<svg>` as large as the body map. Its colours and what of it
    can be met are the stylesheet's."""
    painted = ""
    for view, centre in CENTRES:
        data = "".join(outline.path(1) for outline in _outlines(view, regions))
        if data:
            painted += group(element("path", d=data), transform=f"translate({centre:g} {MARGIN})")
    return _over(painted, "body-part-shapes")


@cache
def targets_of(regions: tuple[str, ...]) -> str:
    """Boxes around the shapes of some regions, none smaller than a finger needs."""
    painted = ""
    for view, centre in CENTRES:
        boxes = _merged(_box(outline) for outline in _outlines(view, regions))
        content = "".join(element("rect", x=x, y=y, width=w, height=h) for x, y, w, h in map(_grown, boxes))
        painted += group(content, transform=f"translate({centre:g} {MARGIN})")
    return _over(painted, "body-part-targets")


def area_of(regions: Iterable[str]) -> float:
    """How much of the drawing the boxes around some regions take, to lay small ones over large ones."""
    codes = tuple(regions)
    return sum((right - left) * (low - top) for left, top, right, low in _boxes(codes))


def _boxes(regions: tuple[str, ...]) -> list[tuple[float, float, float, float]]:
    return [_box(outline) for view, _centre in CENTRES for outline in _outlines(view, regions)]


def _outlines(view: str, regions: tuple[str, ...]) -> list[Outline]:
    return [outline for code in regions if code in VIEWS[view] for outline in region_outlines(view, code)]


def _box(outline: Outline) -> tuple[float, float, float, float]:
    """Left, top, right and low edge."""
    points = outline.flattened()
    across, down = [x for x, _y in points], [y for _x, y in points]
    return min(across), min(down), max(across), max(down)


def _merged(boxes: Iterable[tuple[float, float, float, float]]) -> list[tuple[float, float, float, float]]:
    """One box a side of the body, or one for both where they meet at the midline."""
    sides: dict[bool, list[tuple[float, float, float, float]]] = {}
    for box in boxes:
        sides.setdefault(box[0] + box[2] < 0, []).append(box)
    return [
        (min(b[0] for b in own), min(b[1] for b in own), max(b[2] for b in own), max(b[3] for b in own))
        for own in sides.values()
    ]


def _grown(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Left, top, width and height of a box that is at least as large as a target has to be."""
    left, top, right, low = box
    width, height = max(right - left, TARGET), max(low - top, TARGET)
    return (left + right - width) / 2, (top + low - height) / 2, width, height


def _over(content: str, kind: str) -> str:
    return drawing(kind, content, WIDTH, HEIGHT, ink=Ink.PAGE, title="", sized=False)
