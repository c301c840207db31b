"""What a whole week should hold besides its doses: every kind of movement, pulls beside pushes, long positions.

The audit warns of what is missing; here it has a price, so that composing avoids it. Where a practice has set its own
ranges these published aims do not apply.
"""

from collections.abc import Iterable, Mapping
from math import ceil
from typing import Final

from programs.engine.compose.request import WeekRequest
from programs.engine.terms import Exercise

# What a week should hold at least once, each kind by any of its patterns (coaching practice; Iversen et al. 2021
# for the leg press, the upper pull and the upper push).
WEEKLY_PATTERNS: Final[Mapping[str, tuple[str, ...]]] = {
    "squat_or_lunge": ("squat", "lunge"),
    "hinge_or_bridge": ("hinge", "hip_bridge"),
    "knee_flexion": ("knee_flexion",),
    "horizontal_push": ("horizontal_push",),
    "vertical_or_incline_push": ("vertical_push", "incline_push"),
    "horizontal_pull": ("horizontal_pull",),
    "vertical_pull": ("vertical_pull",),
    "trunk": ("trunk_flexion", "trunk_anti_extension", "trunk_lateral", "trunk_rotation"),
}
KIND_OF_PATTERN: Final[Mapping[str, str]] = {
    pattern: kind for kind, patterns in WEEKLY_PATTERNS.items() for pattern in patterns
}
PULLS: Final = ("horizontal_pull", "vertical_pull")
PUSHES: Final = ("horizontal_push", "incline_push", "decline_push", "vertical_push")
# Sets of pulls to sets of pushes, in tenths (coaching practice).
PULL_TO_PUSH_LOW: Final = 0.8
PULL_TO_PUSH_HIGH: Final = 1.5
TENTHS: Final = 10


def applies(request: WeekRequest) -> bool:
    return request.ranges is None


def kind_of(exercise: Exercise) -> str | None:
    return KIND_OF_PATTERN.get(exercise.pattern)


def stretches(exercise: Exercise) -> tuple[str, ...]:
    """The regions that the exercise loads while they are long."""
    return tuple(entry.region for entry in exercise.regions if entry.stretched)


def regions_to_stretch(request: WeekRequest, fitting: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """The slots' targets that something in the library at hand can load while long; ``fitting`` by slot key."""
    found = set()
    for day in request.day_types:
        for slot in day.slots:
            target = slot.regions[0]
            if any(target in stretches(request.library[key]) for key in fitting[slot.key]):
                found.add(target)
    return tuple(sorted(found))


def pull_share(exercise: Exercise) -> tuple[int, int]:
    """Whether its sets count as pulls, as pushes, or as neither: (1, 0), (0, 1) or (0, 0)."""
    return int(exercise.pattern in PULLS), int(exercise.pattern in PUSHES)


def sets_out_of_balance(pulls: int, pushes: int) -> int:
    """Sets by which the pulls fall short of their share of the pushes, or run beyond it, rounded up."""
    if not pushes:
        return 0
    short = PULL_TO_PUSH_LOW * TENTHS * pushes - TENTHS * pulls
    over = TENTHS * pulls - PULL_TO_PUSH_HIGH * TENTHS * pushes
    return ceil(max(0.0, short, over) / TENTHS)
