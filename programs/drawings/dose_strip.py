"""A group's weekly sets against its target range, drawn as a gauge that the bar must end inside."""

from __future__ import annotations

from programs.drawings.hatch import hatch_box
from programs.drawings.svg import Ink, drawing, element, line, polyline, rectangle, segments

HEIGHT = 24
BAR_TOP, BAR_HEIGHT = 7.5, 8
DONE_HEIGHT = 4
POST_TOP, BEAM, BASE = 0.5, 3.5, 17.5
TICK_EVERY, TICK = 5, 3
HATCH_PITCH = 3.8
"""Across the strokes: a millimetre on paper."""
BREAK = 5
"""Width in px of the two slanted strokes at the right edge when a bar runs beyond the scale."""


def dose_strip(
    direct: float,
    counted: float,
    low: float | None,
    high: float | None,
    scale_max: float,
    done: float | None = None,
    *,
    title: str,
    width: float = 180,
    ink: Ink = Ink.PAGE,
) -> str:
    """One strip, all amounts in sets a week; a list of strips shares one `scale_max`.

    `direct` are the sets that count whole, `counted` all of them by share. `low` and `high` are the target
    range; None for a group that is only watched. Without `done` the direct part is solid and the rest a wash;
    with it the whole plan is a wash and what has been done a bar inside. What is missing to `low` is an empty
    dashed box, what is above `high` is hatched. Raises ValueError for a scale that is not positive.
    """
    if scale_max <= 0:
        raise ValueError("a dose strip needs a scale")
    strip = _Strip(scale_max, width, ink)
    bar = strip.planned(direct, counted) if done is None else strip.planned_and_done(counted, done)
    inside = strip.over(counted, high) + strip.under(counted, low)
    content = strip.base_line() + bar + inside + strip.gauge(low, high) + strip.breaks(max(counted, done or 0))
    return drawing("dose-strip", content, width, HEIGHT, ink=ink, title=title)


def verdict_mark(verdict: str, *, title: str = "", ink: Ink = Ink.PAGE) -> str:
    """The mark before the word: `under` an open pentagon pointing down, `over` a solid one pointing up (12 ×
    12 px).

    Raises ValueError for any other verdict: what is in range has no mark.
    """
    if verdict == "under":
        shape = element(
            "path",
            d=polyline([(2.25, 2.25), (9.75, 2.25), (9.75, 6.5), (6, 10.25), (2.25, 6.5)], closed=True),
            stroke=ink.value.ink,
            stroke_width=1.5,
        )
    elif verdict == "over":
        shape = element(
            "path",
            d=polyline([(1.5, 10.5), (10.5, 10.5), (10.5, 5.5), (6, 1), (1.5, 5.5)], closed=True),
            fill=ink.value.ink,
        )
    else:
        raise ValueError(f"no mark for {verdict!r}")
    return drawing("verdict-mark", shape, 12, 12, ink=ink, title=title)


class _Strip:
    """One strip's scale and colours."""

    def __init__(self, scale_max: float, width: float, ink: Ink) -> None:
        self.scale_max, self.width, self.ink, self.palette = scale_max, width, ink, ink.value

    def x(self, sets: float) -> float:
        """Where an amount lies; what is beyond the scale ends at its edge."""
        return 0.5 + min(max(sets, 0), self.scale_max) * (self.width - 1) / self.scale_max

    def base_line(self) -> str:
        ticks = [
            ((self.x(sets), BASE), (self.x(sets), BASE + TICK))
            for sets in range(TICK_EVERY, int(self.scale_max) + 1, TICK_EVERY)
        ]
        drawn = line(0, BASE, self.width, BASE, self.palette.rule, self.ink.stroke(1))
        return drawn + (element("path", d=segments(ticks), stroke=self.palette.edge) if ticks else "")

    def planned(self, direct: float, counted: float) -> str:
        if counted <= 0:
            return ""
        split, end = self.x(min(direct, counted)), self.x(counted)
        share = rectangle(split, BAR_TOP, end - split, BAR_HEIGHT, fill=self.palette.wash) if end > split else ""
        solid = rectangle(0.5, BAR_TOP, split - 0.5, BAR_HEIGHT, fill=self.palette.accent) if split > 0.5 else ""
        return share + solid + self.outline(end)

    def planned_and_done(self, counted: float, done: float) -> str:
        drawn = ""
        if counted > 0:
            end = self.x(counted)
            drawn = rectangle(0.5, BAR_TOP, end - 0.5, BAR_HEIGHT, fill=self.palette.wash) + self.outline(end)
        if done > 0:
            top = BAR_TOP + (BAR_HEIGHT - DONE_HEIGHT) / 2
            drawn += rectangle(0, top, self.x(done), DONE_HEIGHT, fill=self.palette.ink)
        return drawn

    def outline(self, end: float) -> str:
        return rectangle(0.5, BAR_TOP, end - 0.5, BAR_HEIGHT, stroke=self.palette.accent, stroke_width=1)

    def under(self, counted: float, low: float | None) -> str:
        if low is None or counted >= low:
            return ""
        start, end = self.x(counted), self.x(low)
        box = [(start, BAR_TOP), (end, BAR_TOP), (end, BAR_TOP + BAR_HEIGHT), (start, BAR_TOP + BAR_HEIGHT)]
        return element("path", d=polyline(box), stroke=self.palette.ink, stroke_dasharray="2 2")

    def over(self, counted: float, high: float | None) -> str:
        if high is None or counted <= high:
            return ""
        start, end = self.x(high), self.x(counted)
        strokes = hatch_box(start, BAR_TOP, end - start, BAR_HEIGHT, HATCH_PITCH)
        colour = self.palette.second
        return (
            rectangle(start, BAR_TOP, end - start, BAR_HEIGHT, fill=self.palette.sheet)
            + (element("path", d=segments(strokes), stroke=colour, stroke_width=1.2) if strokes else "")
            + rectangle(start, BAR_TOP, end - start, BAR_HEIGHT, stroke=colour, stroke_width=1.2)
        )

    def gauge(self, low: float | None, high: float | None) -> str:
        """Two posts and the beam between them, in front of everything."""
        if low is None or high is None:
            return ""
        left, right = self.x(low), self.x(high)
        path = f"{segments([((left, BASE), (left, POST_TOP))])}{segments([((right, BASE), (right, POST_TOP))])}"
        beam = segments([((left, BEAM), (right, BEAM))]) if right > left else ""
        return element("path", d=path + beam, stroke=self.palette.ink, stroke_width=1.2)

    def breaks(self, longest: float) -> str:
        """Two slanted strokes over a bar that is longer than the scale, so that its end is not taken for its
        value."""
        if longest <= self.scale_max:
            return ""
        top, bottom, right = BAR_TOP - 2, BAR_TOP + BAR_HEIGHT + 2, self.width - 4
        gap = [(right - BREAK, bottom), (right, top), (right + 3, top), (right + 3 - BREAK, bottom)]
        strokes = [(gap[0], gap[1]), (gap[3], gap[2])]
        return element("path", d=polyline(gap, closed=True), fill=self.palette.sheet) + element(
            "path", d=segments(strokes), stroke=self.palette.ink
        )
