"""Weekly sets by muscle group: how they are counted, and whether they are enough.

One set counts for a region by the exercise's share (1, 0.5 or 0.25). Within a group the greatest share counts once,
so that a press does not count twice for two parts of the chest.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from programs.engine.constants import (
    COUNTED_REPS_HIGH,
    COUNTED_REPS_LOW,
    COUNTED_RIR_MOST,
    EASY_SET_COUNTS,
    FEW_REPS_COUNT,
    HALF,
    HALF_RANGE_GROUPS,
    HOLD_SECONDS,
    MAINTENANCE,
    OLDER_AGE,
    RISE_ASK_SHARE,
    RISE_FREE_SETS,
    RISE_FREE_SHARE,
    RISE_REFUSE_SHARE,
    SET_RANGES,
    SHARE_FULL,
)
from programs.engine.terms import RegionShare, SetDone
from programs.engine.vocabulary import AUDITED_GROUPS, GROUP_OF_REGION

LEAST_LOAD_SHARE: Final = 0.30
REGION_SHARE_OF_LOW: Final = 1 / 3  # each part of a group should get this much of the group's low end
REGION_CHECKED_GROUPS: Final = ("shoulders", "upper_back")


@dataclass(frozen=True, slots=True)
class Work:
    """Sets of one exercise in one session; ``sets`` may be a fraction where logged sets count in part."""

    regions: tuple[RegionShare, ...]
    sets: float
    session: Hashable


@dataclass(frozen=True, slots=True)
class Dose:
    """A group's week: counted sets, those of them that aim at it directly, and in how many sessions."""

    direct: float = 0.0
    counted: float = 0.0
    sessions: int = 0


def group_shares(regions: Iterable[RegionShare]) -> dict[str, float]:
    """Group to the greatest share among its regions."""
    shares: dict[str, float] = {}
    for entry in regions:
        group = GROUP_OF_REGION[entry.region]
        shares[group] = max(shares.get(group, 0.0), entry.share)
    return shares


def weekly(work: Iterable[Work]) -> dict[str, Dose]:
    """Dose of every group that gets any, watched groups among them. Additive: two lists give the sums."""
    direct: dict[str, float] = {}
    counted: dict[str, float] = {}
    sessions: dict[str, set[Hashable]] = {}
    for entry in work:
        for group, share in group_shares(entry.regions).items():
            counted[group] = counted.get(group, 0.0) + entry.sets * share
            if share == SHARE_FULL:
                direct[group] = direct.get(group, 0.0) + entry.sets
            if entry.sets > 0:
                sessions.setdefault(group, set()).add(entry.session)
    return {group: Dose(direct.get(group, 0.0), counted[group], len(sessions.get(group, ()))) for group in counted}


def by_region(work: Iterable[Work]) -> dict[str, float]:
    """Counted sets of every region that gets any."""
    counted: dict[str, float] = {}
    for entry in work:
        for share in entry.regions:
            counted[share.region] = counted.get(share.region, 0.0) + entry.sets * share.share
    return counted


@dataclass(frozen=True, slots=True)
class Range:
    """The weekly range that applies to a group, and the lines beyond which it is far off."""

    low: float
    high: float
    floor: float
    ceiling: float


def target_range(group: str, experience: str, priority: str = "usual", age: int | None = None) -> Range | None:
    """The range in counted sets a week; None for a group that is only watched.

    Coaching practice: by experience; half for trunk and low back; "keep" is maintenance, not below half the usual
    low end from age 60 (Bickel, Cross, Bamman 2011); "more" is the upper half of the usual range to the ceiling.
    """
    if group not in AUDITED_GROUPS:
        return None
    usual = SET_RANGES[experience]
    if priority == "keep":
        low, high = MAINTENANCE[experience]
        if age is not None and age >= OLDER_AGE:
            low = max(low, usual.low / 2)
            high = max(high, low)
        found = Range(low, high, low / 2, usual.high)
    elif priority == "more":
        found = Range((usual.low + usual.high) / 2, usual.ceiling, usual.low, usual.ceiling)
    else:
        found = Range(usual.low, usual.high, usual.floor, usual.ceiling)
    if group in HALF_RANGE_GROUPS:
        return Range(found.low * HALF, found.high * HALF, found.floor * HALF, found.ceiling * HALF)
    return found


def session_limits(group: str, experience: str) -> tuple[float, float]:
    """Counted sets of one group in one session: from where to warn, and where to stop (Remmert et al. 2025)."""
    usual = SET_RANGES[experience]
    factor = HALF if group in HALF_RANGE_GROUPS else 1.0
    return usual.session_warn * factor, usual.session_stop * factor


@dataclass(frozen=True, slots=True)
class Judgement:
    """ "under", "in_range", "over", or "watched"; ``strong`` beyond floor or ceiling; the range that was used."""

    verdict: str
    strong: bool = False
    range: Range | None = None
    by: float = 0.0  # counted sets outside the range


def judge(dose: float, group: str, experience: str, priority: str = "usual", age: int | None = None) -> Judgement:
    """A group's counted weekly sets against the range that applies."""
    applies = target_range(group, experience, priority, age)
    if applies is None:
        return Judgement("watched")
    if dose < applies.low:
        return Judgement("under", dose < applies.floor, applies, applies.low - dose)
    if dose > applies.high:
        return Judgement("over", dose > applies.ceiling, applies, dose - applies.high)
    return Judgement("in_range", False, applies)


def counts_for(done: SetDone, load_share: float | None = None) -> float:
    """How much of a set a logged working set counts for growth, before shares: 1, 0.5 or 0.

    ``load_share`` is load against estimated maximum where known: below 0.30 nothing counts (Lasevicius et al. 2018).
    """
    if done.kind == "warm_up" or (load_share is not None and load_share < LEAST_LOAD_SHARE):
        return 0.0
    if done.kind == "drop":
        return 0.0  # a part of the set before; what parts count is reckoned with that set
    if done.seconds is not None:
        return 1.0 if done.seconds >= HOLD_SECONDS else 0.0
    if done.metres is not None:
        return 1.0 if done.metres > 0 else 0.0
    reps = done.reps or 0
    if reps < 1 or reps > COUNTED_REPS_HIGH:
        return 0.0
    counted = 1.0 if reps >= COUNTED_REPS_LOW else FEW_REPS_COUNT
    if done.rir is not None and done.rir > COUNTED_RIR_MOST:
        return min(counted, EASY_SET_COUNTS)
    return counted


def thin_regions(
    work: Sequence[Work], experience: str, spared: frozenset[str] = frozenset()
) -> tuple[tuple[str, float, float], ...]:
    """Parts of shoulders and upper back that the group's total hides: (region, counted, wanted)."""
    counted = by_region(work)
    thin = []
    for region, group in GROUP_OF_REGION.items():
        if group not in REGION_CHECKED_GROUPS or region in spared:
            continue
        wanted = SET_RANGES[experience].low * REGION_SHARE_OF_LOW
        if counted.get(region, 0.0) < wanted:
            thin.append((region, counted.get(region, 0.0), wanted))
    return tuple(thin)


def rise_guard(now: float, mean: float) -> str:
    """A group's counted sets against its four-week mean: "fine", "warn", "ask" or "refuse".

    A rise of up to a fifth, or of two sets, is fine. Prudence, not risk prediction: no threshold is known that
    prevents injury (Impellizzeri et al. 2020).
    """
    rise = now - mean
    share = rise / mean if mean > 0 else (float("inf") if rise > 0 else 0.0)
    if rise <= RISE_FREE_SETS + 1e-9 or share <= RISE_FREE_SHARE + 1e-9:
        return "fine"
    if share > RISE_REFUSE_SHARE:
        return "refuse"
    return "ask" if share > RISE_ASK_SHARE else "warn"
