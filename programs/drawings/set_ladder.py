"""An exercise's sets as a ladder: one rung per set, as high as it is heavy.

A glance says how the warm-up climbs, which set is next and how many reps stay in reserve; the numbers stand
under it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from programs.drawings.lettering import widest
from programs.drawings.svg import (
    SEMIBOLD,
    Ink,
    circle,
    drawing,
    element,
    escape,
    group,
    half,
    line,
    number,
    rectangle,
    segments,
    text,
)

MIN_COLUMN, MAX_COLUMN = 31, 55
WORK_INSET, WARM_INSET = 5, 11
"""How much narrower than its column a rung is."""
WORK_HEIGHT, WARM_HEIGHT = 8, 4
BEAD_RADIUS, BEAD_PITCH, BEAD_ROOM = 2.5, 7, 11
UNDERLINE = 3
LINE_GAP = 2
BRACKET = 5
ROW_GAP = 12


@dataclass(frozen=True)
class Rung:
    """One set. `load` sets the height (the effective load, where a label shows help or added weight); None
    where it is still to be found. `rir` None is unknown and draws no beads, like 0."""

    kind: Literal["warm", "work"]
    load: float | None
    load_label: str
    reps_label: str
    rir: int | None = None
    state: Literal["todo", "now", "done", "missed"] = "todo"
    exercise: int = 0
    """In a superset, which exercise: each has its own scale."""
    mark: str = ""
    """A letter under the numbers that says which exercise."""
    round: int | None = None
    """Neighbours with the same round are joined by a bracket."""
    drop: bool = False
    """A drop part: steps down from its neighbour without a gap."""
    name: str = ""
    """A named rung is a group of its own that holds the strokes of every state, so that a page can change its
    state (`data-state`) by script and style sheet; the strokes not shown yet are hidden."""


@dataclass(frozen=True)
class _Frame:
    """Sizes that all rows of a ladder share, in px."""

    column: float
    plot: float
    top: float
    size: float
    marked: bool
    bracketed: bool

    @property
    def base(self) -> float:
        return half(self.top + self.plot)

    def text_base(self, line_number: int) -> float:
        """Base line of a line of lettering under the plot, from 1."""
        return self.base + line_number * (self.size + LINE_GAP)

    @property
    def height(self) -> float:
        below = self.text_base(3 if self.marked else 2) + UNDERLINE + 5
        return math.ceil(below + (BRACKET + 3 if self.bracketed else 0))


def set_ladder(
    rungs: Sequence[Rung],
    *,
    title: str,
    width: float = 328,
    plot: float = 64,
    full_width: bool = True,
    ink: Ink = Ink.PAGE,
) -> str:
    """The ladder in `width` px; `plot` px is the height of the heaviest rung above the base line.

    Columns are 31 to 55 px, or as wide as the widest number needs; what does not fit in one row goes on in a
    second. `full_width` keeps the box `width` wide however few the rungs, so that a page that stretches it to
    its column shows every ladder at one scale; without it the box ends with the last rung. Raises ValueError
    for no rungs.
    """
    if not rungs:
        raise ValueError("a ladder needs rungs")
    rows, column = _rows(rungs, width, ink)
    frame = _Frame(
        column=column,
        plot=plot,
        top=BEAD_ROOM if any(rung.rir for rung in rungs) else 1,
        size=_text_size(column, ink),
        marked=any(rung.mark for rung in rungs),
        bracketed=any(rung.round is not None for rung in rungs),
    )
    heaviest = _heaviest(rungs)
    content, y = "", 0.0
    for row in rows:
        drawn = _row(row, frame, heaviest, ink)
        content += element("g", drawn, transform=f"translate(0 {math.ceil(y)})") if y else drawn
        y += frame.height + ROW_GAP
    drawn_width = math.ceil(column * max(len(row) for row in rows))
    box = max(width, drawn_width) if full_width else drawn_width
    return drawing("set-ladder", content, box, math.ceil(y - ROW_GAP), ink=ink, title=title)


def stem_length(rung: Rung, heaviest: float, plot: float) -> float:
    """Height in px of a rung's underside above the base line: in proportion to its load, the heaviest at the
    top."""
    share = 1.0 if rung.load is None or heaviest <= 0 else max(rung.load, 0) / heaviest
    return (plot - WORK_HEIGHT) * share


def _rows(rungs: Sequence[Rung], width: float, ink: Ink) -> tuple[list[Sequence[Rung]], float]:
    """The rungs cut into even rows, and the column width. A drop part or a round is never parted from its
    start."""
    labels = [words for rung in rungs for words in (rung.load_label, rung.reps_label)]
    least = max(MIN_COLUMN, widest(labels, ink.text_size(12), semibold=True) + 5)
    fit = max(int(width // least), 1)
    count = math.ceil(len(rungs) / fit)
    per_row = math.ceil(len(rungs) / count)
    rows: list[Sequence[Rung]] = []
    start = 0
    while start < len(rungs):
        end = min(start + per_row, len(rungs))
        while end < len(rungs) and end > start + 1 and _joined(rungs[end - 1], rungs[end]):
            end -= 1
        rows.append(rungs[start:end])
        start = end
    longest = max(len(row) for row in rows)
    return rows, max(least, min(MAX_COLUMN, width / longest))


def _joined(left: Rung, right: Rung) -> bool:
    return right.drop or (left.round is not None and left.round == right.round)


def _heaviest(rungs: Sequence[Rung]) -> dict[int, float]:
    heaviest: dict[int, float] = {}
    for rung in rungs:
        heaviest[rung.exercise] = max(heaviest.get(rung.exercise, 0.0), rung.load or 0.0)
    return heaviest


def _text_size(column: float, ink: Ink) -> float:
    return ink.text_size(15 if column >= 50 else 14 if column >= 42 else 13 if column >= 36 else 12)


def _row(row: Sequence[Rung], frame: _Frame, heaviest: dict[int, float], ink: Ink) -> str:
    palette = ink.value
    content = line(0, frame.base, frame.column * len(row), frame.base, palette.rule, ink.stroke(1))
    previous: tuple[float, float] | None = None
    for index, rung in enumerate(row):
        centre = half(frame.column * (index + 0.5))
        stem = stem_length(rung, heaviest[rung.exercise], frame.plot)
        left, right, top, bottom = _rung_box(rung, centre, frame.base - stem, frame.column)
        if rung.drop and previous is not None:
            left = previous[0]
            content += line(left, previous[1], left, top, palette.ink, 1.2)
        content += _stem(rung, centre, bottom, frame.base, ink)
        if rung.name:
            content += _named_rung(rung, (left, right, top, bottom), centre, frame, ink)
        else:
            content += _rung(rung, left, right, top, bottom, ink)
            content += _beads(rung, (left + right) / 2, top, ink)
            content += _numbers(rung, centre, frame, ink)
        previous = (right, bottom)
    return content + (_brackets(row, frame, ink) if frame.bracketed else "")


def _rung_box(rung: Rung, centre: float, underside: float, column: float) -> tuple[float, float, float, float]:
    """Left, right, top and bottom, on half pixels."""
    width = column - (WORK_INSET if rung.kind == "work" else WARM_INSET)
    bottom = half(underside)
    top = bottom - (WORK_HEIGHT if rung.kind == "work" else WARM_HEIGHT)
    reach = math.floor(width / 2)
    return centre - reach, centre + reach, top, bottom


def _stem(rung: Rung, x: float, top: float, base: float, ink: Ink) -> str:
    if base - top < 1:
        return ""
    colour = ink.value.rule if rung.kind == "warm" else ink.value.edge
    return line(x, top, x, base, colour, ink.stroke(1), "2 2" if rung.load is None else None)


def _rung(rung: Rung, left: float, right: float, top: float, bottom: float, ink: Ink) -> str:
    palette = ink.value
    warm = rung.kind == "warm"
    stroke = palette.ink2 if warm else palette.ink
    width, height = right - left, bottom - top
    thickness = 1.0 if warm else 1.2
    if rung.state == "now":
        return rectangle(left, top, width, height, fill=palette.accent, stroke=palette.accent, stroke_width=thickness)
    if rung.state == "done" and not warm:
        return rectangle(left, top, width, height, fill=palette.ink, stroke=palette.ink, stroke_width=thickness)
    dash = "2 2" if rung.load is None else None
    box = rectangle(left, top, width, height, fill=palette.sheet, stroke=stroke, stroke_width=thickness, dash=dash)
    if rung.state == "done":
        return box + line(left, top + height / 2, right, top + height / 2, stroke, thickness)
    if rung.state == "missed":
        # A warm-up's rung is too low for a diagonal inside it, so the stroke reaches out above and below.
        reach = 3 if warm else 0
        start = (left + right) / 2 - height / 2 - reach if warm else left
        end = (left + right) / 2 + height / 2 + reach if warm else right
        return box + line(start, bottom + reach, end, top - reach, stroke, 1.2)
    return box


def _named_rung(rung: Rung, box: tuple[float, float, float, float], centre: float, frame: _Frame, ink: Ink) -> str:
    """A rung whose state a page may change: classes say what each stroke is, the style sheet which are shown."""
    left, right, top, bottom = box
    palette, warm = ink.value, rung.kind == "warm"
    stroke, thickness = (palette.ink2, 1.0) if warm else (palette.ink, 1.2)
    fills = {"now": palette.accent, "done": palette.sheet if warm else palette.ink}
    drawn = element(
        "rect",
        class_="rung-box",
        x=left,
        y=top,
        width=right - left,
        height=bottom - top,
        fill=fills.get(rung.state, palette.sheet),
        stroke=palette.accent if rung.state == "now" else stroke,
        stroke_width=thickness,
        stroke_dasharray="2 2" if rung.load is None and rung.state == "todo" else None,
    )
    if warm:
        middle = top + (bottom - top) / 2
        drawn += element(
            "path",
            class_="rung-strike",
            d=f"M{number(left)} {number(middle)}H{number(right)}",
            stroke=stroke,
            stroke_width=thickness,
            display=None if rung.state == "done" else "none",
        )
    drawn += group(_beads(rung, (left + right) / 2, top, ink), class_="rung-beads")
    for place, (words, name) in enumerate(((rung.load_label, "rung-load"), (rung.reps_label, "rung-reps")), start=1):
        drawn += element(
            "text",
            escape(words),
            class_=name,
            x=centre,
            y=frame.text_base(place),
            font_size=frame.size,
            fill=palette.ink2 if warm else palette.ink,
            text_anchor="middle",
            font_weight=SEMIBOLD if place == 1 and not warm else None,
        )
    width = frame.column - WORK_INSET
    drawn += element(
        "rect",
        class_="rung-foot",
        x=centre - width / 2,
        y=frame.text_base(2) + 4,
        width=width,
        height=UNDERLINE,
        fill=palette.accent,
        display=None if rung.state == "now" else "none",
    )
    if rung.mark:
        drawn += text(centre, frame.text_base(3) + UNDERLINE, rung.mark, frame.size, palette.ink2, anchor="middle")
    return element("g", drawn, class_="rung", data_rung=rung.name, data_kind=rung.kind, data_state=rung.state)


def _beads(rung: Rung, centre: float, top: float, ink: Ink) -> str:
    count = max(rung.rir or 0, 0)
    colour = ink.value.accent if rung.state == "now" else ink.value.ink
    start = centre - (count - 1) * BEAD_PITCH / 2
    y = top - BEAD_RADIUS - 2.5
    return "".join(
        circle(start + BEAD_PITCH * index, y, BEAD_RADIUS, stroke=colour, stroke_width=1.2) for index in range(count)
    )


def _numbers(rung: Rung, centre: float, frame: _Frame, ink: Ink) -> str:
    palette = ink.value
    warm = rung.kind == "warm"
    colour = palette.ink2 if warm else palette.ink
    drawn = text(
        centre, frame.text_base(1), rung.load_label, frame.size, colour, anchor="middle", semibold=not warm
    ) + text(centre, frame.text_base(2), rung.reps_label, frame.size, colour, anchor="middle")
    if rung.state == "now":
        width = frame.column - WORK_INSET
        drawn += rectangle(centre - width / 2, frame.text_base(2) + 4, width, UNDERLINE, fill=palette.accent)
    if rung.mark:
        drawn += text(centre, frame.text_base(3) + UNDERLINE, rung.mark, frame.size, palette.ink2, anchor="middle")
    return drawn


def _brackets(row: Sequence[Rung], frame: _Frame, ink: Ink) -> str:
    """A square bracket, open upward, under each run of two or more rungs of one round."""
    content, index = "", 0
    bottom = half(frame.height - 2)
    for round_number, run in groupby(row, key=lambda rung: rung.round):
        length = len(list(run))
        if round_number is not None and length > 1:
            left = half(frame.column * index + frame.column / 4)
            right = half(frame.column * (index + length) - frame.column / 4)
            strokes = [
                ((left, bottom - BRACKET), (left, bottom)),
                ((left, bottom), (right, bottom)),
                ((right, bottom), (right, bottom - BRACKET)),
            ]
            content += element(
                "path", d=segments(strokes), stroke=ink.value.ink, stroke_width=1.5, stroke_linecap="square"
            )
        index += length
    return content
