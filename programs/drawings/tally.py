"""Counts drawn as strokes, blocks and small bars: how much of it is done, at a glance and exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Literal

from programs.drawings.hatch import hatch_box
from programs.drawings.lettering import text_width
from programs.drawings.svg import (
    Ink,
    circle,
    drawing,
    element,
    group,
    line,
    polyline,
    rectangle,
    segments,
    text,
)

Attendance = Literal["done", "part", "missed", "excused", "ahead"]

LEAST_PITCH, MOST_PITCH = 4, 15
OPEN_SHARE = 0.38
BLOCK_HEIGHT, BLOCK_GAP, BLOCK_PITCH = 8, 2, 17
PAIN_SCALE = 10
SHARE_HATCH = 5


@lru_cache(maxsize=1024)  # lists draw the same few counts again and again
def tally_rule(
    done: int, total: int, *, title: str, width: float = 152, height: float = 18, ink: Ink = Ink.PAGE
) -> str:
    """One stroke per item on a base line: done ones full height, open ones low and thin.

    Where strokes would stand closer than 4 px, each stands for as many items as needed and is done when all
    of them are. Raises ValueError for counts that make no sense.
    """
    if total < 0 or not 0 <= done <= total:
        raise ValueError(f"no tally of {done} out of {total}")
    palette = ink.value
    each = items_per_stroke(total, width)
    count = math.ceil(total / each)
    full = count if done == total else done // each
    # A whole number of pixels between strokes, so that all stand evenly and sharp.
    pitch = min(math.floor((width - 2) / max(count - 1, 1)), MOST_PITCH)
    base = height - 0.5
    # Done strokes are 2 px wide, so they are sharp on whole pixels; open ones are 1 px and need the half.
    done_strokes = [((1.0 + pitch * i, 0.0), (1.0 + pitch * i, base)) for i in range(full)]
    top = round(base * (1 - OPEN_SHARE))
    open_strokes = [((1.5 + pitch * i, top), (1.5 + pitch * i, base)) for i in range(full, count)]
    content = (
        (element("path", d=segments(open_strokes), stroke=palette.edge) if open_strokes else "")
        + (element("path", d=segments(done_strokes), stroke=palette.ink, stroke_width=2) if done_strokes else "")
        + line(0, base, pitch * max(count - 1, 0) + 2, base, palette.ink)
    )
    return drawing("tally-rule", content, width, height, ink=ink, title=title)


def items_per_stroke(total: int, width: float) -> int:
    """How many items one stroke stands for, so that strokes keep 4 px apart."""
    return max(math.ceil((total - 1) * LEAST_PITCH / max(width - 2, LEAST_PITCH)), 1)


def adherence_columns(
    weeks: Sequence[Sequence[Attendance]], *, title: str, width: float | None = None, ink: Ink = Ink.PAGE
) -> str:
    """A column of blocks per week on a base line, the first session at the foot.

    done: solid; part: the lower half solid; missed: outline with a diagonal; excused (away, ill): dashed;
    ahead: faint outline. Columns share `width` px, or are 17 px apart. Raises ValueError for no weeks.
    """
    if not weeks:
        raise ValueError("adherence needs weeks")
    pitch = width / len(weeks) if width else BLOCK_PITCH
    block = max(pitch - 3, 2)
    rows = max((len(week) for week in weeks), default=0) or 1
    height = rows * (BLOCK_HEIGHT + BLOCK_GAP) + 3
    base = height - 0.5
    content = ""
    for index, week in enumerate(weeks):
        for row, state in enumerate(week):
            top = base - 1.5 - (row + 1) * (BLOCK_HEIGHT + BLOCK_GAP) + BLOCK_GAP
            content += _block(state, round(index * pitch) + 0.5, math.floor(top) + 0.5, math.floor(block), ink)
    full_width = round(pitch * len(weeks))
    content += line(0, base, full_width, base, ink.value.ink)
    return drawing("adherence-columns", content, full_width, height, ink=ink, title=title)


def pain_bars(
    values: Sequence[int | None],
    *,
    title: str,
    format_number: Callable[[float], str],
    threshold: float | None = None,
    width: float = 132,
    height: float = 44,
    ink: Ink = Ink.PAGE,
) -> str:
    """Pain from 0 to 10 as bars with their numbers, oldest first; a dashed line at `threshold`, a gap for no
    report.

    The scale is always 0 to 10. Raises ValueError for values off the scale or none at all.
    """
    if not values or any(value is not None and not 0 <= value <= PAIN_SCALE for value in values):
        raise ValueError("pain is reported from 0 to 10")
    palette, size = ink.value, ink.text_size(12)
    pitch = width / len(values)
    bar = min(max(math.floor(pitch * 0.62), 3), 20)
    base = height - 0.5
    unit = (base - size - 2) / PAIN_SCALE
    bars = numbers = ""
    spans: list[tuple[tuple[float, float], float]] = []
    for index, value in enumerate(values):
        if value is None:
            continue
        left = math.floor(pitch * index + (pitch - bar) / 2)
        top = base - value * unit
        if value:
            bars += rectangle(left, top, bar, base - top)
        colour, words, middle = (palette.ink if value else palette.ink3), format_number(value), left + bar / 2
        reach = text_width(words, size, semibold=True) / 2 + 2
        spans.append(((middle - reach, middle + reach), top - 3 - size))
        numbers += text(middle, top - 3, words, size, colour, anchor="middle", semibold=bool(value))
    limit = ""
    if threshold is not None:
        y = math.floor(base - threshold * unit) + 0.5
        crossed = [span for span, top in spans if top < y < top + size]
        pieces = [((a, y), (b, y)) for a, b in _outside(crossed, width)]
        limit = element("path", d=segments(pieces), stroke=palette.ink2, stroke_dasharray="2 2") if pieces else ""
    content = group(bars, fill=palette.signal) + limit + line(0, base, width, base, palette.ink) + numbers
    return drawing("pain-bars", content, width, height, ink=ink, title=title)


def dot_line(
    values: Sequence[float],
    *,
    title: str,
    open_from: int | None = None,
    width: float = 132,
    height: float = 36,
    ink: Ink = Ink.PAGE,
) -> str:
    """A few values in a row as dots joined by a thin line; those from index `open_from` on are open (not
    counted yet).

    The scale runs from the least to the greatest value: it shows a course, not an amount. ValueError for no
    values.
    """
    if not values:
        raise ValueError("a course needs values")
    palette, radius = ink.value, 3.0
    low, span = min(values), max(values) - min(values)
    base = height - 0.5
    step = (width - 2 * radius - 2) / max(len(values) - 1, 1)
    room = base - 4 - 2 * (radius + 1)
    points = [
        (radius + 1 + step * i, radius + 1 + room * (1 - ((value - low) / span if span else 0.5)))
        for i, value in enumerate(values)
    ]
    joined = polyline(points)
    first_open = len(values) if open_from is None else open_from
    content = (
        line(0, base, width, base, palette.rule, ink.stroke(1))
        + (element("path", d=joined, stroke=palette.ink2, stroke_width=1) if joined else "")
        + "".join(circle(x, y, radius, fill=palette.ink) for x, y in points[:first_open])
        + "".join(
            circle(x, y, radius - 0.5, fill=palette.sheet, stroke=palette.ink, stroke_width=1.2)
            for x, y in points[first_open:]
        )
    )
    return drawing("dot-line", content, width, height, ink=ink, title=title)


def share_bar(share: float, *, title: str, width: float = 72, height: float = 11, ink: Ink = Ink.PAGE) -> str:
    """How far an exercise counts toward a region: a whole share is solid, a part of it hatched and as long as
    it is.

    Raises ValueError unless 0 < share <= 1.
    """
    if not 0 < share <= 1:
        raise ValueError(f"no bar for a share of {share}")
    palette = ink.value
    length = round((width - 1) * share)
    box = (0.5, 0.5, length, height - 1)
    if share == 1:
        content = rectangle(*box, fill=palette.accent, stroke=palette.accent, stroke_width=1)
    else:
        strokes = hatch_box(*box, SHARE_HATCH)
        content = element("path", d=segments(strokes), stroke=palette.accent, stroke_width=1) + rectangle(
            *box, stroke=palette.accent, stroke_width=1
        )
    return drawing("share-bar", content, width, height, ink=ink, title=title)


def _outside(spans: Sequence[tuple[float, float]], width: float) -> list[tuple[float, float]]:
    """What is left of 0 to width between spans that lie in order."""
    edges = [0.0, *(edge for span in spans for edge in span), width]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a]


def _block(state: Attendance, x: float, y: float, width: float, ink: Ink) -> str:
    palette = ink.value
    height = BLOCK_HEIGHT - 1
    if state == "done":
        return rectangle(x - 0.5, y - 0.5, width + 1, BLOCK_HEIGHT, fill=palette.ink)
    if state == "excused":
        return rectangle(x, y, width, height, stroke=palette.edge, stroke_width=1, dash="2 2")
    if state == "ahead":
        return rectangle(x, y, width, height, stroke=palette.edge, stroke_width=ink.stroke(0.7))
    outline = rectangle(x, y, width, height, stroke=palette.ink, stroke_width=1)
    if state == "part":
        return outline + rectangle(x, y + height / 2, width, height / 2, fill=palette.ink)
    if state == "missed":
        return outline + line(x, y + height, x + width, y, palette.ink)
    raise ValueError(f"no block for {state!r}")
