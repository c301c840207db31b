"""What to put on one side of the bar, taken apart as on an assembly drawing."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence

from programs.drawings.svg import Ink, drawing, element, group, line, rectangle, segments, text

SHAFT_LENGTH, SHAFT_GAP = 36, 4.4
KNURLS = 4
COLLAR_WIDTH, COLLAR_HEIGHT = 6, 14
SLEEVE_HEIGHT = 8
PITCH = 26
CLIP_WIDTH, CLIP_HEIGHT = 6, 16
SLEEVE_END = 12
AXIS = 25.5
LABEL_SIZE = 14
LABEL_BASE = 66
HEIGHT = 70

# Height and width in px of a disc's drawing by what it weighs.
DISCS: dict[str, dict[float, tuple[float, float]]] = {
    "kg": {
        25: (46, 13),
        20: (46, 11),
        15: (40, 10),
        10: (33, 9),
        5: (25, 7),
        2.5: (19, 6),
        1.25: (14, 5),
        0.5: (10, 4),
    },
    "lb": {45: (46, 13), 35: (40, 11), 25: (36, 10), 10: (28, 8), 5: (20, 6), 2.5: (14, 5)},
}


def loaded_bar(
    plates_per_side: Sequence[float],
    bar: float | None,
    unit: str,
    *,
    title: str,
    format_number: Callable[[float], str],
    labels: Sequence[str] | None = None,
    ink: Ink = Ink.PAGE,
) -> str:
    """One sleeve with its discs, heaviest inside; a leader drops to each number.

    `plates_per_side` and `bar` are in `unit`, "kg" or "lb"; a bar of unknown weight (None) has a dashed
    shaft. `labels` replace the numbers under the discs, in the order given, for plates that are marked in the
    other unit. An empty bar is drawn empty. Raises ValueError for another unit, a plate without weight, or
    labels that don't match.
    """
    if unit not in DISCS:
        raise ValueError(f"no discs drawn for the unit {unit!r}")
    if any(weight <= 0 for weight in plates_per_side):
        raise ValueError("a plate weighs more than nothing")
    shown = [format_number(weight) for weight in plates_per_side] if labels is None else list(labels)
    plates = sorted(zip(plates_per_side, shown, strict=True), key=lambda plate: -plate[0])
    palette = ink.value
    first = SHAFT_LENGTH + COLLAR_WIDTH + PITCH / 2
    centres = [first + PITCH * index for index in range(len(plates))]
    clip = (centres[-1] if centres else first - PITCH / 2) + PITCH / 2
    end = clip + CLIP_WIDTH + SLEEVE_END
    discs = leaders = numbers = ""
    for x, (weight, words) in zip(centres, plates, strict=True):
        height, width = disc_size(weight, unit)
        discs += element("rect", x=x - width / 2, y=AXIS - height / 2, width=width, height=height, rx=1)
        leaders += segments([((x, AXIS + height / 2), (x, LABEL_BASE - LABEL_SIZE + 2))])
        numbers += text(x, LABEL_BASE, words, ink.text_size(LABEL_SIZE), palette.ink, anchor="middle", semibold=True)
    content = (
        _shaft(bar, ink)
        + _sleeve(end, ink)
        + (element("path", d=leaders, stroke=palette.ink3, stroke_width=ink.stroke(0.8)) if leaders else "")
        + group(discs, fill=palette.ink)
        + _clip(clip, ink)
        + numbers
    )
    return drawing("loaded-bar", content, end + 1, HEIGHT if plates else AXIS * 2 - 8, ink=ink, title=title)


def disc_size(weight: float, unit: str) -> tuple[float, float]:
    """Height and width in px of a disc; between two known weights in proportion to the logarithm of the
    weight."""
    known = DISCS[unit]
    weights = sorted(known)
    place = bisect_left(weights, weight)
    if place == len(weights):
        return known[weights[-1]]
    if weights[place] == weight or place == 0:
        return known[weights[place]]
    lighter, heavier = weights[place - 1], weights[place]
    share = math.log(weight / lighter) / math.log(heavier / lighter)
    height, width = (a + (b - a) * share for a, b in zip(known[lighter], known[heavier], strict=True))
    return height, width


def _shaft(bar: float | None, ink: Ink) -> str:
    top, bottom = AXIS - SHAFT_GAP / 2, AXIS + SHAFT_GAP / 2
    knurls = [((6 + 7 * index, top), (10 + 7 * index, bottom)) for index in range(KNURLS)]
    return element(
        "path",
        d=segments([((0, top), (SHAFT_LENGTH, top)), ((0, bottom), (SHAFT_LENGTH, bottom))]),
        stroke=ink.value.ink,
        stroke_width=1.2,
        stroke_dasharray="3 2" if bar is None else None,
    ) + element("path", d=segments(knurls), stroke=ink.value.ink2, stroke_width=ink.stroke(0.8))


def _sleeve(end: float, ink: Ink) -> str:
    start = SHAFT_LENGTH + COLLAR_WIDTH
    return rectangle(
        start,
        AXIS - SLEEVE_HEIGHT / 2,
        end - start,
        SLEEVE_HEIGHT,
        fill=ink.value.sheet,
        stroke=ink.value.ink,
        stroke_width=1.2,
    ) + rectangle(SHAFT_LENGTH, AXIS - COLLAR_HEIGHT / 2, COLLAR_WIDTH, COLLAR_HEIGHT, fill=ink.value.ink)


def _clip(x: float, ink: Ink) -> str:
    top, bottom = AXIS - CLIP_HEIGHT / 2, AXIS + CLIP_HEIGHT / 2
    return rectangle(
        x, top, CLIP_WIDTH, CLIP_HEIGHT, fill=ink.value.sheet, stroke=ink.value.ink, stroke_width=1.2
    ) + line(x, top, x + CLIP_WIDTH, bottom, ink.value.ink, 1.2)
