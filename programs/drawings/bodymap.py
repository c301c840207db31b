"""Which parts of the body work: a front and a back view side by side.

Worked most is solid, also worked is hatched and outlined, the rest is a faint outline: the meaning survives
any colour vision and any printer.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from functools import cache, lru_cache
from types import MappingProxyType

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
)
from programs.drawings.curves import Outline, smooth, whole
from programs.drawings.hatch import hatch
from programs.drawings.svg import Ink, drawing, element, group, number

MARGIN = 8
WIDTH = 2 * VIEW_WIDTH
HEIGHT = FIGURE_HEIGHT + 2 * MARGIN
SMALL_BELOW_MM = 45
"""Below this height single parts are not told apart: parts at rest are left out and neighbours close up."""
SMALL_STROKE = 6
ABDOMINAL_STROKE = 2.4

VIEWS = MappingProxyType({"front": FRONT, "back": BACK})
THIN_LINES = MappingProxyType({"front": FRONT_LINES, "back": BACK_LINES, "abdominal": ABDOMINAL_LINES})


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
    for name, centre in (("front", VIEW_WIDTH / 2), ("back", VIEW_WIDTH * 1.5)):
        painted = _view(name, worked_most, also_worked, height_mm, ink, contour_id)
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


@cache
def region_outlines(view: str, code: str) -> tuple[Outline, ...]:
    """Closed outlines of a region in the "front" or "back" view, both sides of the body; none where it is not
    seen."""
    halves = [smooth(shape, closed=True) for shape in VIEWS[view].get(code, ())]
    return tuple(side for half in halves for side in (half, half.mirrored()))


def contour_outline() -> Outline:
    """The body's contour, the same for both views."""
    return smooth(whole(CONTOUR), closed=True)


def _view(
    view: str,
    primary: frozenset[str],
    secondary: frozenset[str],
    height_mm: float,
    ink: Ink,
    contour_id: str | None,
) -> str:
    """One view from the back to the front: body, regions at rest, hatched, solid, thin lines, contour."""
    small = height_mm < SMALL_BELOW_MM
    palette, unit = ink.value, FIGURE_HEIGHT / height_mm
    pitch = _within(0.0115 * height_mm, 0.5, 1.1) * unit
    seen = VIEWS[view].keys()
    painted = [_contour(contour_id, small, fill=palette.sheet)]
    if not small:
        resting = _within(0.0018 * height_mm, 0.15, 0.2) * unit
        rest = _regions(view, seen - primary - secondary, small)
        painted.append(_path(rest, fill=palette.sheet, stroke=palette.edge, stroke_width=resting))
    hatched = _regions(view, seen & secondary, small)
    outline = _within(0.002 * height_mm, 0.18, 0.25) * unit
    painted.append(_path(hatched, fill=palette.wash, stroke=palette.accent, stroke_width=outline))
    strokes = "".join(_hatching(view, code, pitch) for code in sorted(seen & secondary))
    painted.append(_path(strokes, stroke=palette.accent, stroke_width=0.36 * pitch))
    solid = _regions(view, seen & primary, small)
    closing: dict[str, str | float | None] = {"stroke": palette.accent, "stroke_width": SMALL_STROKE} if small else {}
    painted.append(_path(solid, fill=palette.accent, **closing))
    if not small:
        if view == "front":
            loaded = "abs" in primary | secondary
            painted.append(
                _path(
                    _lines("abdominal"),
                    stroke=palette.sheet if loaded else palette.edge,
                    stroke_width=ABDOMINAL_STROKE if loaded else 0.15 * unit,
                )
            )
        painted.append(_path(_lines(view), stroke=palette.edge, stroke_width=0.2 * unit))
    width = _within(0.0035 * height_mm, 0.22, 0.45) * unit
    painted.append(_contour(contour_id, small, stroke=palette.ink, stroke_width=width))
    return "".join(painted)


def _contour(contour_id: str | None, small: bool, **paint: str | float | None) -> str:
    if contour_id:
        return element("use", href=f"#{contour_id}", **paint)
    return _path(_contour_path(small), **paint)


def _path(data: str, **paint: str | float | None) -> str:
    return element("path", d=data, **paint) if data else ""


def _regions(view: str, codes: AbstractSet[str], small: bool) -> str:
    return "".join(_region_path(view, code, small) for code in sorted(codes))


@cache
def _contour_path(small: bool) -> str:
    return contour_outline().path(_places(small))


@cache
def _region_path(view: str, code: str, small: bool) -> str:
    return "".join(outline.path(_places(small)) for outline in region_outlines(view, code))


@cache
def _lines(name: str) -> str:
    runs = [smooth(shape, closed=False) for shape in THIN_LINES[name]]
    return "".join(side.path(1) for run in runs for side in (run, run.mirrored()))


@lru_cache(maxsize=1024)
def _hatching(view: str, code: str, pitch: float) -> str:
    strokes = [stroke for outline in region_outlines(view, code) for stroke in hatch([outline.flattened()], pitch)]
    return "".join(
        f"M{number(x1, 1)} {number(y1, 1)}L{number(x2, 1)} {number(y2, 1)}" for (x1, y1), (x2, y2) in strokes
    )


def _places(small: bool) -> int:
    """Decimals of a unit: in the small form a whole unit is finer than any screen or printer shows."""
    return 0 if small else 1


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
