"""How much of an exercise's cues fits on its page: worked out from letter widths, so that nothing is rendered twice.

A page that is too full loses cues first; type never shrinks, and what still does not fit goes on a second page.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from programs.drawings.lettering import text_width

PX_PER_MM = 96 / 25.4
PX_PER_PT = 96 / 72
LINE_HEIGHT = 1.2
CLAUSE_END = re.compile(r"[;:,] | and | und ")
FEWEST_WORDS = 3  # of a clause that says something alone
INDENT_MM = 4.6
COLUMN_GAP_MM = 4.0
UNUSED_MM = 12.0  # at most left empty at the foot of a page by what stays whole


@dataclass(frozen=True, slots=True)
class Page:
    """What a layout offers: text width and height of one page in mm, type size in pt."""

    width_mm: float
    height_mm: float
    size_pt: float

    @property
    def line_mm(self) -> float:
        return self.size_pt * LINE_HEIGHT * PX_PER_PT / PX_PER_MM

    def lines(self, words: str, width_mm: float | None = None, *, semibold: bool = False, size_pt: float = 0) -> int:
        """How many lines a text takes at a width, words kept whole."""
        room = (width_mm or self.width_mm) * PX_PER_MM
        size = (size_pt or self.size_pt) * PX_PER_PT
        space = text_width(" ", size, semibold=semibold)
        count, at = 1, 0.0
        for word in words.split():
            length = text_width(word, size, semibold=semibold)
            if at and at + space + length > room:
                count, at = count + 1, length
            else:
                at += length + (space if at else 0)
        return count if words.strip() else 0

    def height(self, words: str, width_mm: float | None = None) -> float:
        return self.lines(words, width_mm) * self.line_mm


@dataclass(frozen=True, slots=True)
class Cues:
    """The steps that are printed, and whether some were left out."""

    set_up: tuple[str, ...]
    execution: tuple[str, ...]
    shortened: bool


def fit_cues(set_up: Sequence[str], execution: Sequence[str], page: Page, room_mm: float) -> Cues:
    """As much of both lists, side by side, as fits into ``room_mm``: whole, else the first clauses of the first steps.

    Where not even one step of each fits they go on a second page, with the room that it has.
    """
    column = (page.width_mm - COLUMN_GAP_MM) / 2 - INDENT_MM
    room = room_mm - page.line_mm
    lists = (tuple(set_up), tuple(execution))
    if max(sum(page.height(cue, column) for cue in cues) for cues in lists) <= room:
        return Cues(*lists, shortened=False)
    kept = [_first_that_fit([first_clause(cue) for cue in cues], page, column, room) for cues in lists]
    if room_mm < page.height_mm and any(cues and not shown for cues, shown in zip(lists, kept, strict=True)):
        return fit_cues(set_up, execution, page, room_mm + page.height_mm - UNUSED_MM)
    return Cues(kept[0], kept[1], shortened=True)


def cues_height(cues: Cues, page: Page) -> float:
    """The height in mm of both lists side by side under their heading."""
    column = (page.width_mm - COLUMN_GAP_MM) / 2 - INDENT_MM
    longest = max(sum(page.height(cue, column) for cue in shown) for shown in (cues.set_up, cues.execution))
    return page.line_mm + longest if longest else 0.0


def _first_that_fit(cues: Sequence[str], page: Page, column: float, room: float) -> tuple[str, ...]:
    kept: list[str] = []
    for cue in cues:
        room -= page.height(cue, column)
        if room < 0:
            break
        kept.append(cue)
    return tuple(kept)


def first_clause(cue: str) -> str:
    """A step's first clause, where it says something alone: "Set the bar at breastbone height"."""
    cut = min(
        (match.start() for match in CLAUSE_END.finditer(cue) if len(cue[: match.start()].split()) >= 3), default=0
    )
    return f"{cue[:cut].rstrip(',;:')}." if cut else cue
