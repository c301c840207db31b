"""A session that has less time than planned: which sets stay, the least important given up first."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from programs.engine.minutes import Prescribed, prescribed_seconds
from programs.engine.progress.terms import WORK_KINDS, work_sets
from programs.engine.terms import TargetSet


@dataclass(frozen=True, slots=True)
class Ranked:
    """One line of the session and how long it is kept when minutes are short: 1 the longest."""

    line: Prescribed
    priority: int


def kept_sets(lines: Sequence[Ranked], minutes: float, *, extra_s: float = 0.0) -> tuple[int, ...] | None:
    """How many working sets of each line fit into ``minutes``, drop parts going with their set; None where not even
    one set of one line does. ``extra_s`` is the time of free lines, which stay.

    Sets go from the least important lines: the line with the most of them first, the later one of equals, each down
    to one set before any of the same importance goes whole. Only then do more important lines give.
    """
    kept = [len(work_sets(one.line.targets)) for one in lines]
    while _seconds(lines, kept, extra_s) > minutes * 60:
        if sum(kept) <= 1:
            return None
        giving = [at for at, count in enumerate(kept) if count]
        least = max(lines[at].priority for at in giving)
        at = max((at for at in giving if lines[at].priority == least), key=lambda at: (kept[at], at))
        kept[at] -= 1
    return tuple(kept)


def cut_to(targets: Sequence[TargetSet], sets: int) -> tuple[TargetSet, ...]:
    """The first so many working sets with their warm-ups and parts; nothing at all for none."""
    if not sets:
        return ()
    out, counted = [], 0
    for one in targets:
        counted += one.kind in WORK_KINDS
        if counted > sets:
            break
        out.append(one)
    return tuple(out)


def _seconds(lines: Sequence[Ranked], kept: Sequence[int], extra_s: float) -> float:
    shorter = [
        replace(one.line, targets=cut_to(one.line.targets, count)) for one, count in zip(lines, kept, strict=True)
    ]
    return prescribed_seconds(shorter, extra_s=extra_s)
