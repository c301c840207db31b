"""A week whose days nobody knows ahead: the sessions ranked, so that however many happen, they are the right ones.

The first ones cover as many kinds of movement and as much of every group's least dose as so many sessions can. A
week is complete with its minimum; what was not needed is no debt (coaching practice for shift workers).
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final, NamedTuple

_TINY: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Content:
    """What one session brings: counted sets by group, and the kinds of movement in it."""

    key: str
    counted: Mapping[str, float]
    kinds: frozenset[str] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True)
class Covered:
    """What the first ``sessions`` of a list leave open: kinds of movement, and sets below each group's least."""

    sessions: int
    missing: tuple[str, ...]
    short: Mapping[str, float]

    @property
    def whole(self) -> bool:
        return not self.missing and not self.short


@dataclass(frozen=True, slots=True)
class WeekList:
    """The sessions of a week in the order to do them; ``after[n]`` is what n of them leave open.

    ``done`` of them stand first. ``complete``: the minimum is reached; ``next`` is the session to do now, if any is
    left.
    """

    order: tuple[str, ...]
    done: int
    minimum: int
    after: tuple[Covered, ...]

    @property
    def complete(self) -> bool:
        return self.done >= self.minimum

    @property
    def next(self) -> str | None:
        return self.order[self.done] if self.done < len(self.order) else None

    @property
    def to_go(self) -> int:
        return max(0, self.minimum - self.done)


class _Left(NamedTuple):
    """What decides between sessions; less is better, the first part first."""

    kinds: int
    share_short: float
    at: tuple[int, ...]


def week_list(
    sessions: Sequence[Content],
    minimum: int,
    least: Mapping[str, float],
    *,
    done: Iterable[str] = (),
    kinds: Collection[str] | None = None,
) -> WeekList:
    """Ranks the sessions of a week for somebody who never knows how many will happen.

    ``least`` are the counted sets that each group should have of a week; ``kinds`` the kinds of movement that are
    looked for, by default all there are in the week. ``done`` are keys in the order they were trained. The sessions
    up to ``minimum`` are chosen together, so that they leave the fewest kinds out and fall least short, reckoned as
    shares of each group's least; then each next one fills most of what is left. Given order breaks ties. The
    minimum is held between 1 and the number of sessions.
    """
    minimum = max(1, min(minimum, len(sessions)))
    wanted = frozenset(kinds) if kinds is not None else frozenset().union(*(one.kinds for one in sessions))
    at = {one.key: index for index, one in enumerate(sessions)}
    trained = [sessions[at[key]] for key in dict.fromkeys(done) if key in at]
    order = list(trained)
    rest = [one for one in sessions if one not in trained]

    def left(extra: Iterable[Content]) -> _Left:
        some = tuple(extra)
        covered = _covered([*order, *some], wanted, least)
        share = sum(short / least[group] for group, short in covered.short.items())
        return _Left(len(covered.missing), round(share, 9), tuple(at[one.key] for one in some))

    needed = max(0, minimum - len(order))
    chosen = list(min(combinations(rest, needed), key=left))
    while rest:
        first = min(chosen or rest, key=lambda one: left([one]))
        order.append(first)
        rest.remove(first)
        if first in chosen:
            chosen.remove(first)
    after = tuple(_covered(order[:count], wanted, least) for count in range(len(order) + 1))
    return WeekList(tuple(one.key for one in order), len(trained), minimum, after)


def _covered(done: Sequence[Content], wanted: frozenset[str], least: Mapping[str, float]) -> Covered:
    there = frozenset().union(*(one.kinds for one in done))
    short = {}
    for group in sorted(least):
        gap = least[group] - sum(one.counted.get(group, 0.0) for one in done)
        if gap > _TINY:
            short[group] = gap
    return Covered(len(done), tuple(sorted(wanted - there)), short)
