"""Writing SVG as text: numbers, escaping, elements, and the frame that every drawing shares.

Drawings carry no style attributes, no scripts and no patterns: a strict content policy lets them pass, and a
PDF writer makes strokes of them, not images.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from xml.sax.saxutils import escape as _escape

Point = tuple[float, float]

NAMESPACE = "http://www.w3.org/2000/svg"
# Without quotes and without a space after the comma, since one of the two renderers takes the list apart
# literally.
FONT_FAMILY = "Desk Sans,sans-serif"
SEMIBOLD = 600


@dataclass(frozen=True)
class Palette:
    """The colours a drawing may use, and the least sizes of the medium (px, 96 to the inch)."""

    ink: str
    ink2: str
    ink3: str
    edge: str
    rule: str
    accent: str
    wash: str
    sheet: str
    ground: str
    signal: str
    second: str
    shade: str
    """A light flat ground that says nothing alone: a far limb, a pad, a disc."""
    thinnest: float
    """No stroke is thinner than this: half a point on paper."""
    smallest_text: float
    """Lettering is never below 12 px on a page or 10 pt on paper."""


class Ink(Enum):
    """Two colour ways: a page follows its theme through custom properties, print is black on white."""

    PAGE = Palette(
        ink="var(--ink)",
        ink2="var(--ink2)",
        ink3="var(--ink3)",
        edge="var(--edge)",
        rule="var(--rule)",
        accent="var(--accent)",
        wash="var(--wash)",
        sheet="var(--sheet)",
        ground="var(--paper)",
        signal="var(--signal)",
        second="var(--d2)",
        shade="var(--rule)",
        thinnest=0.7,
        smallest_text=12,
    )
    PRINT = Palette(
        ink="#000",
        ink2="#333",
        ink3="#333",
        edge="#555",
        rule="#999",
        accent="#000",
        wash="#FFF",
        sheet="#FFF",
        ground="#FFF",
        signal="#000",
        second="#000",
        shade="#D5D5D5",
        thinnest=0.67,
        smallest_text=13.4,
    )

    def text_size(self, wanted: float) -> float:
        """The size asked for in px, raised to the smallest that this medium allows."""
        return max(wanted, self.value.smallest_text)

    def stroke(self, wanted: float) -> float:
        """The stroke width asked for in px, raised to the thinnest that this medium holds."""
        return max(wanted, self.value.thinnest)


def number(value: float, places: int = 2) -> str:
    """The shortest decimal form of value, rounded to `places`. Raises ValueError for what is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"a drawing can't place {value}")
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def half(value: float) -> float:
    """The nearest half pixel, where a stroke of odd width is sharp."""
    return math.floor(value) + 0.5


def escape(text: str) -> str:
    """Text made safe for element content and for attribute values alike."""
    return _escape(text, {'"': "&quot;"})


def element(name: str, content: str = "", /, **attributes: str | float | None) -> str:
    """One element. Underscores in attribute names become hyphens, a trailing one is dropped; None leaves one
    out."""
    written = []
    for key, value in attributes.items():
        if value is None:
            continue
        shown = escape(value) if isinstance(value, str) else number(value)
        written.append(f' {key.rstrip("_").replace("_", "-")}="{shown}"')
    head = f"<{name}{''.join(written)}"
    return f"{head}>{content}</{name}>" if content else f"{head}/>"


def group(content: str, /, **attributes: str | float | None) -> str:
    """A `<g>` that sets what its children share; nothing when it would be empty."""
    return element("g", content, **attributes) if content else ""


def line(x1: float, y1: float, x2: float, y2: float, stroke: str, width: float = 1, dash: str | None = None) -> str:
    """A straight stroke with square ends."""
    return element("path", d=segment(x1, y1, x2, y2), stroke=stroke, stroke_width=width, stroke_dasharray=dash)


def segment(x1: float, y1: float, x2: float, y2: float) -> str:
    """Path data of one straight stroke, the shortest way of writing it."""
    start = f"M{number(x1)} {number(y1)}"
    if x1 == x2:
        return f"{start}V{number(y2)}"
    if y1 == y2:
        return f"{start}H{number(x2)}"
    return f"{start}L{number(x2)} {number(y2)}"


def segments(lines: Iterable[tuple[Point, Point]]) -> str:
    """Path data of many straight strokes."""
    return "".join(segment(x1, y1, x2, y2) for (x1, y1), (x2, y2) in lines)


def polyline(points: Sequence[Point], *, closed: bool = False) -> str:
    """Path data through points; empty for fewer than two."""
    if len(points) < 2:
        return ""
    (x, y), *rest = points
    return (
        f"M{number(x)} {number(y)}L" + " ".join(f"{number(a)} {number(b)}" for a, b in rest) + ("Z" if closed else "")
    )


def rectangle(
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    fill: str | None = None,
    stroke: str | None = None,
    stroke_width: float | None = None,
    dash: str | None = None,
) -> str:
    """A box; a fill of None stays open, since the frame of every drawing says `fill="none"`."""
    return element(
        "rect",
        x=x,
        y=y,
        width=max(width, 0),
        height=max(height, 0),
        fill=fill,
        stroke=stroke,
        stroke_width=stroke_width,
        stroke_dasharray=dash,
    )


def circle(
    x: float,
    y: float,
    radius: float,
    *,
    fill: str | None = None,
    stroke: str | None = None,
    stroke_width: float | None = None,
) -> str:
    """A circle, open unless filled."""
    return element("circle", cx=x, cy=y, r=radius, fill=fill, stroke=stroke, stroke_width=stroke_width)


def text(
    x: float,
    y: float,
    words: str,
    size: float,
    fill: str,
    *,
    anchor: str = "start",
    semibold: bool = False,
) -> str:
    """One line of lettering on the base line y; nothing for an empty string."""
    if not words:
        return ""
    return element(
        "text",
        escape(words),
        x=x,
        y=y,
        font_size=size,
        fill=fill,
        text_anchor=None if anchor == "start" else anchor,
        font_weight=SEMIBOLD if semibold else None,
    )


def drawing(
    kind: str,
    content: str,
    width: float,
    height: float,
    *,
    ink: Ink,
    title: str,
    sized: bool = True,
    millimetres: tuple[float, float] | None = None,
) -> str:
    """The `<svg>` around a drawing, with its box of width × height units and its title as accessible name.

    `sized` writes the box as width and height in px; `millimetres` writes those instead. An empty title hides
    the drawing from screen readers, for when the same words stand beside it; on paper a title is always
    needed, because a tagged PDF demands one of every figure: ValueError otherwise.
    """
    if not title and ink is Ink.PRINT:
        raise ValueError(f"a printed drawing needs a title ({kind})")
    size: dict[str, str | float | None] = {}
    if millimetres is not None:
        size = {"width": f"{number(millimetres[0])}mm", "height": f"{number(millimetres[1])}mm"}
    elif sized:
        size = {"width": width, "height": height}
    return element(
        "svg",
        (element("title", escape(title)) if title else "") + content,
        xmlns=NAMESPACE,
        class_=f"drawing {kind}",
        role="img" if title else None,
        aria_hidden=None if title else "true",
        viewBox=f"0 0 {number(width)} {number(height)}",
        **size,
        fill="none",
        font_family=FONT_FAMILY,
    )
