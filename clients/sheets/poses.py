"""Start and end of an exercise on a printed sheet: how large, and where it finds room."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.utils.safestring import SafeString

from clients.sheets.fitting import PX_PER_MM, Cues, Page, cues_height
from programs.drawings.figures import extent
from programs.drawings.svg import Ink
from programs.pictures import drawn_title, start_and_end

MM_PER_UNIT = 0.2
"""One scale for a sheet: a standing figure is 20 mm high, one that lies about 10."""
GAP_MM = 3.0
ABOVE_MM = 1.5
ROUNDED_MM = 0.3
"""A ladder ends on a whole px."""
FEWEST_CUES = 2
SVG_SIZE = re.compile(r'<svg[^>]* width="([\d.]+)" height="([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Poses:
    """A drawing with its size in mm, and whether it stands beside the ladder or has a row of its own."""

    drawing: SafeString
    width_mm: float
    height_mm: float
    beside: bool = False


def poses_of(exercise: Mapping[str, Any]) -> Poses | None:
    """The drawing of a document's exercise; None without one. Older documents don't name any."""
    key = exercise.get("figure", "")
    drawing = start_and_end(key, title=drawn_title(key, exercise["name"]), mm_per_unit=MM_PER_UNIT, ink=Ink.PRINT)
    if not drawing:
        return None
    width, height = extent(key)
    return Poses(drawing, width * MM_PER_UNIT, height * MM_PER_UNIT)


def size_mm(drawing: str) -> tuple[float, float]:
    """Width and height of a drawing that has its size in px; nothing for none."""
    found = SVG_SIZE.search(drawing)
    return (float(found[1]) / PX_PER_MM, float(found[2]) / PX_PER_MM) if found else (0.0, 0.0)


def beside_ladder(
    poses: Poses | None, ladder: SafeString, narrower: Callable[[float], SafeString], page: Page
) -> tuple[Poses | None, SafeString]:
    """Puts the drawing at the ladder's end where a ladder drawn closer leaves room and grows no second row."""
    if poses is None or not ladder:
        return poses, ladder
    rest = page.width_mm - GAP_MM - poses.width_mm
    closer = narrower(rest)
    width, height = size_mm(closer)
    if width > rest + ROUNDED_MM or height > size_mm(ladder)[1]:
        return poses, ladder
    return replace(poses, beside=True), closer


def takes_mm(poses: Poses, ladder: str) -> float:
    """The height of the page that goes to the drawing."""
    return max(0.0, poses.height_mm - size_mm(ladder)[1]) if poses.beside else poses.height_mm + ABOVE_MM


def leaves_room(cues: Cues, given: tuple[Sequence[str], Sequence[str]], page: Page, room_mm: float) -> bool:
    """Whether the cues still stand on the page, two steps at least of each list that has them."""
    kept = zip((cues.set_up, cues.execution), given, strict=True)
    return cues_height(cues, page) <= room_mm and all(len(shown) >= min(FEWEST_CUES, len(all_)) for shown, all_ in kept)
