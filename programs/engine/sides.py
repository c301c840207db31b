"""Left against right on one-sided work: figures over several sessions, and nothing made of a single one.

What a side does differs from day to day as anything does. Cut-offs of 10 to 15 % are common and poorly supported
(Bishop et al. 2018; Parkinson et al. 2021): the figures are told, and only what is repeated in one direction is
remarked on. It says nothing of a risk.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

REPEATED: Final = 3  # sessions running in one direction before anything is remarked on; coaching practice
FROM: Final = 0.10  # of the stronger side


@dataclass(frozen=True, slots=True)
class SideSet:
    """One set of one side: repetitions, and the load where it has one."""

    side: str  # "left" or "right"
    reps: int
    load: float | None = None


@dataclass(frozen=True, slots=True)
class SideSession:
    """What each side did in one session: load times repetitions, or repetitions alone, summed over its sets."""

    day: date
    left: float
    right: float

    @property
    def share(self) -> float:
        """(stronger - weaker) / stronger; 0 where neither did anything."""
        stronger = max(self.left, self.right)
        return (stronger - min(self.left, self.right)) / stronger if stronger else 0.0

    @property
    def stronger(self) -> str:
        """ "left", "right", or "" where they are level."""
        if self.left == self.right:
            return ""
        return "left" if self.left > self.right else "right"


def side_session(day: date, sets: Sequence[SideSet]) -> SideSession | None:
    """A session's sides; None where one of them is missing, or did not do as many sets as the other."""
    sides = {side: [one for one in sets if one.side == side] for side in ("left", "right")}
    if not sides["left"] or len(sides["left"]) != len(sides["right"]):
        return None
    weighed = all(one.load for one in sets)
    left, right = (
        sum((one.load or 0.0) * one.reps if weighed else float(one.reps) for one in sides[side])
        for side in ("left", "right")
    )
    return SideSession(day, left, right)


def steadily_stronger(sessions: Sequence[SideSession]) -> str:
    """The side that was clearly stronger in each of the last sessions; "" where none was, or there are too few."""
    last = sorted(sessions, key=lambda one: one.day)[-REPEATED:]
    sides = {one.stronger for one in last}
    if len(last) < REPEATED or len(sides) != 1 or min(one.share for one in last) < FROM:
        return ""
    return sides.pop()
