"""Small marks that stand beside words: the because mark and the samples of a legend.

The words stand beside them, so on a page a mark needs no title of its own.
"""

from __future__ import annotations

from collections.abc import Callable

from programs.drawings.hatch import hatch_box
from programs.drawings.svg import Ink, circle, drawing, element, line, polyline, rectangle, segments

BECAUSE_BOX, BECAUSE_RADIUS = 13, 1.75
BECAUSE_DOTS = ((2.6, 3.2), (10.4, 3.2), (6.5, 10.0))
SAMPLE_WIDTH, SAMPLE_HEIGHT = 24, 14


def because_mark(*, title: str = "", ink: Ink = Ink.PAGE) -> str:
    """Three dots in a triangle, point down, 13 × 13 px: the reason for what stands beside it."""
    dots = "".join(circle(x, y, BECAUSE_RADIUS) for x, y in BECAUSE_DOTS)
    return drawing(
        "because-mark",
        element("g", dots, fill=ink.value.accent),
        BECAUSE_BOX,
        BECAUSE_BOX,
        ink=ink,
        title=title,
    )


def legend_mark(kind: str, *, title: str = "", ink: Ink = Ink.PAGE) -> str:
    """A sample for a legend, 24 × 14 px; its words belong beside it. Raises ValueError for an unknown
    kind."""
    if kind not in _SAMPLES:
        raise ValueError(f"no sample for {kind!r}")
    return drawing(f"legend-mark legend-{kind}", _SAMPLES[kind](ink), SAMPLE_WIDTH, SAMPLE_HEIGHT, ink=ink, title=title)


def _path(points: list[tuple[float, float]], colour: str, width: float = 1.5, closed: bool = False) -> str:
    return element("path", d=polyline(points, closed=closed), stroke=colour, stroke_width=width)


def _solid(ink: Ink) -> str:
    return rectangle(0, 3, 24, 8, fill=ink.value.accent)


def _by_share(ink: Ink) -> str:
    return rectangle(0.5, 3.5, 23, 7, fill=ink.value.wash, stroke=ink.value.accent, stroke_width=1)


def _hatched(ink: Ink) -> str:
    strokes = element("path", d=segments(hatch_box(0.5, 2.5, 23, 9, 4)), stroke=ink.value.accent, stroke_width=1.2)
    return strokes + rectangle(0.5, 2.5, 23, 9, stroke=ink.value.accent, stroke_width=1)


def _target(ink: Ink) -> str:
    posts = [((2.5, 13.0), (2.5, 1.0)), ((21.5, 13.0), (21.5, 1.0)), ((2.5, 3.5), (21.5, 3.5))]
    return element("path", d=segments(posts), stroke=ink.value.ink, stroke_width=1.2)


def _done_bar(ink: Ink) -> str:
    return _by_share(ink) + rectangle(0, 5, 14, 4, fill=ink.value.ink)


def _session(ink: Ink) -> str:
    return circle(12, 7, 3.4, fill=ink.value.ink)


def _left_out(ink: Ink) -> str:
    return circle(12, 7, 2.9, stroke=ink.value.ink, stroke_width=1.2)


def _trend(ink: Ink) -> str:
    edges = segments([((0, 2.5), (24, 2.5)), ((0, 11.5), (24, 11.5))])
    return (
        rectangle(0, 2.5, 24, 9, fill=ink.value.wash)
        + element("path", d=edges, stroke=ink.value.accent, stroke_width=0.7)
        + line(0, 7, 24, 7, ink.value.accent, 2)
    )


def _record(ink: Ink) -> str:
    pennant = [(9, 2), (17, 2), (15, 5), (17, 8), (9, 8)]
    return line(9, 1.5, 9, 13, ink.value.ink, 1.2) + element(
        "path", d=polyline(pennant, closed=True), fill=ink.value.ink
    )


def _away(ink: Ink) -> str:
    return _path([(6, 2.5), (10.5, 7), (6, 11.5)], ink.value.ink) + _path(
        [(13, 2.5), (17.5, 7), (13, 11.5)], ink.value.ink
    )


def _deload(ink: Ink) -> str:
    strokes = hatch_box(0, 1, 24, 12, 4.5, angle=-45)
    return element("path", d=segments(strokes), stroke=ink.value.ink3, stroke_width=ink.stroke(0.7))


def _baseline(ink: Ink) -> str:
    return line(10.5, 0, 10.5, 14, ink.value.ink) + line(13.5, 0, 13.5, 14, ink.value.ink)


def _superset(ink: Ink) -> str:
    return _path([(15, 1.25), (10, 1.25), (10, 12.75), (15, 12.75)], ink.value.ink, 2)


_SAMPLES: dict[str, Callable[[Ink], str]] = {
    "solid": _solid,
    "by-share": _by_share,
    "hatched": _hatched,
    "target": _target,
    "done": _done_bar,
    "session": _session,
    "left-out": _left_out,
    "trend": _trend,
    "record": _record,
    "away": _away,
    "deload": _deload,
    "baseline": _baseline,
    "superset": _superset,
}
