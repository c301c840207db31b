"""Which parts of the body work: a front and a back view side by side.

Worked most is solid, also worked is hatched and outlined, the rest is a faint outline: the meaning survives
any colour vision and any printer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from programs.drawings.bodymap_shapes import (
    ABDOMINAL_LINES,
    BACK,
    BACK_LINES,
    CONTOUR,
    FIGURE_HEIGHT,
    FRONT,
    FRONT_LINES,
    REGIONS,
    VIEW_WIDTH,
    Shape,
)
from programs.drawings.curves import Outline, smooth, whole
from programs.drawings.hatch import hatch
from programs.drawings.svg import Ink, Point, drawing, element, group, number

MARGIN = 8
WIDTH = 2 * VIEW_WIDTH
HEIGHT = FIGURE_HEIGHT + 2 * MARGIN
SMALL_BELOW_MM = 45
"""Below this height single parts are not told apart: parts at rest are left out and neighbours close up."""
SMALL_STROKE = 6


def body_map(
    primary: Iterable[str],
    secondary: Iterable[str],
    *,
    height_mm: float,
    ink: Ink = Ink.PAGE,
    title: str,
    id_prefix: str | None = None,
) -> str:
    """Both views as one `<svg>`; a region named in both lists counts as primary.

    `height_mm` is the height of the figure on paper or screen and decides strokes, hatching and detail; in
    print it is also the size (the box is 2 % higher, 97 % as wide), on a page the stylesheet sets that. With
    an `id_prefix` that is unique on the page the contour is written once and referred to, which saves a third
    to a half. Raises ValueError for a region that is not on the map or a height that is not positive.
    """
    worked_most = frozenset(primary)
    also_worked = frozenset(secondary) - worked_most
    if unknown := (worked_most | also_worked) - REGIONS:
        raise ValueError(f"not on the body map: {', '.join(sorted(unknown))}")
    if height_mm <= 0:
        raise ValueError("the body map needs a height")
    small = height_mm < SMALL_BELOW_MM
    contour_id = f"{id_prefix}-contour" if id_prefix else None
    content = ""
    if contour_id:
        content = element("defs", element("path", id=contour_id, d=_contour_path(small)))
    views = ((VIEW_WIDTH / 2, FRONT, FRONT_LINES), (VIEW_WIDTH * 1.5, BACK, BACK_LINES))
    for centre, regions, lines in views:
        painted = _view(regions, lines, worked_most, also_worked, height_mm, ink, contour_id)
        content += group(painted, transform=f"translate({number(centre)} {MARGIN})")
    scale = height_mm / FIGURE_HEIGHT
    return drawing(
        "body-map body-map-small" if small else "body-map",
        content,
        WIDTH,
        HEIGHT,
        ink=ink,
        title=title,
        sized=False,
        millimetres=(WIDTH * scale, HEIGHT * scale) if ink is Ink.PRINT else None,
    )


def region_outlines(regions: Mapping[str, tuple[Shape, ...]], codes: Iterable[str]) -> list[Outline]:
    """Closed outlines of some regions of a view, both sides of the body."""
    outlines = []
    for code in sorted(codes):
        for shape in regions.get(code, ()):
            outline = smooth(shape, closed=True)
            outlines += [outline, outline.mirrored()]
    return outlines


def contour_outline() -> Outline:
    """The body's contour, the same for both views."""
    return smooth(whole(CONTOUR), closed=True)


def _view(
    regions: Mapping[str, tuple[Shape, ...]],
    lines: tuple[Shape, ...],
    primary: frozenset[str],
    secondary: frozenset[str],
    height_mm: float,
    ink: Ink,
    contour_id: str | None,
) -> str:
    small = height_mm < SMALL_BELOW_MM
    palette, unit = ink.value, FIGURE_HEIGHT / height_mm
    pitch = _within(0.0115 * height_mm, 0.5, 1.1) * unit
    painted = [_contour(contour_id, small, fill=palette.sheet)]
    if not small:
        rest = region_outlines(regions, regions.keys() - primary - secondary)
        painted.append(
            _paths(
                rest,
                fill=palette.sheet,
                stroke=palette.edge,
                stroke_width=_within(0.0018 * height_mm, 0.15, 0.2) * unit,
            )
        )
    hatched = region_outlines(regions, secondary)
    outline_width = _within(0.002 * height_mm, 0.18, 0.25) * unit
    painted.append(
        _paths(hatched, small=small, fill=palette.wash, stroke=palette.accent, stroke_width=outline_width)
    )
    strokes = [stroke for outline in hatched for stroke in hatch([outline.flattened()], pitch)]
    if strokes:
        painted.append(
            element("path", d=_stroke_data(strokes), stroke=palette.accent, stroke_width=0.36 * pitch)
        )
    painted.append(
        _paths(
            region_outlines(regions, primary),
            small=small,
            fill=palette.accent,
            stroke=palette.accent if small else None,
            stroke_width=SMALL_STROKE if small else None,
        )
    )
    if not small:
        over = _open(ABDOMINAL_LINES) if regions is FRONT else []
        crossed = palette.sheet if "abs" in primary | secondary else palette.edge
        painted.append(
            _paths(over, stroke=crossed, stroke_width=2.4 if crossed == palette.sheet else 0.15 * unit)
        )
        painted.append(_paths(_open(lines), stroke=palette.edge, stroke_width=0.2 * unit))
    painted.append(
        _contour(
            contour_id, small, stroke=palette.ink, stroke_width=_within(0.0035 * height_mm, 0.22, 0.45) * unit
        )
    )
    return "".join(painted)


def _contour(contour_id: str | None, small: bool, **paint: str | float | None) -> str:
    if contour_id:
        return element("use", href=f"#{contour_id}", **paint)
    return element("path", d=_contour_path(small), **paint)


@cache
def _contour_path(small: bool) -> str:
    return contour_outline().path(0 if small else 1)


def _open(shapes: tuple[Shape, ...]) -> list[Outline]:
    runs = [smooth(shape, closed=False) for shape in shapes]
    return [side for run in runs for side in (run, run.mirrored())]


def _paths(outlines: list[Outline], small: bool = False, **paint: str | float | None) -> str:
    """One path for many outlines, in whole units where the drawing is small."""
    if not outlines:
        return ""
    return element("path", d="".join(outline.path(0 if small else 1) for outline in outlines), **paint)


def _stroke_data(strokes: list[tuple[Point, Point]]) -> str:
    return "".join(
        f"M{number(x1, 1)} {number(y1, 1)}L{number(x2, 1)} {number(y2, 1)}" for (x1, y1), (x2, y2) in strokes
    )


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
