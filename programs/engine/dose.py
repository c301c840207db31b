"""Weekly sets by muscle group: how they are counted, and whether they are enough.

One set counts for a region by the exercise's share (1, 0.5 or 0.25). Within a group the greatest share counts once,
so that a press does not count twice for two parts of the chest.
"""

import math
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from programs.engine.constants import (
    COUNTED_REPS_HIGH,
    COUNTED_REPS_LOW,
    COUNTED_RIR_MOST,
    EASY_SET_COUNTS,
    FEW_REPS_COUNT,
    HALF,
    HALF_RANGE_GROUPS,
    HOLD_SECONDS,
    LATER_PART_COUNTS,
    LATER_PART_REPS,
    LATER_PARTS_MOST,
    LIFT_SETS,
    MAINTENANCE,
    OLDER_AGE,
    RISE_ASK_SHARE,
    RISE_FREE_SETS,
    RISE_FREE_SHARE,
    RISE_REFUSE_SHARE,
    SET_RANGES,
    SHARE_FULL,
    SetRange,
)
from programs.engine.terms import Because, RegionShare, SetDone
from programs.engine.vocabulary import AUDITED_GROUPS, GROUP_OF_REGION, PRIORITIES

LEAST_LOAD_SHARE: Final = 0.30
REGION_SHARE_OF_LOW: Final = 1 / 3  # each part of a group should get this much of the group's low end
USUAL_SESSIONS: Final = 2  # for a group and week
_TINY: Final = 1e-9
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


def target_range(
    group: str,
    experience: str,
    priority: str = "usual",
    age: int | None = None,
    ranges: Mapping[str, SetRange] = SET_RANGES,
) -> Range | None:
    """The range in counted sets a week; None for a group that is only watched.

    Coaching practice: by experience; half for trunk and low back; "keep" is maintenance, not below half the usual
    low end from age 60 (Bickel, Cross, Bamman 2011); "more" is the upper half of the usual range to the ceiling.
    ``ranges`` are the practice's own, by experience. Raises ValueError for an unknown priority.
    """
    if priority not in PRIORITIES:
        raise ValueError(f"no such priority: {priority}")
    if group not in AUDITED_GROUPS:
        return None
    usual = ranges[experience]
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


def sessions_wanted(
    group: str,
    experience: str,
    priority: str = "usual",
    age: int | None = None,
    ranges: Mapping[str, SetRange] = SET_RANGES,
) -> int:
    """In how many sessions a week a group's low end is best trained: never more at once than the warning line.

    Twice by default; once is enough to keep what is there, twice from age 60 (Spiering et al. 2021). 0 for a group
    that is only watched.
    """
    applies = target_range(group, experience, priority, age, ranges)
    if applies is None:
        return 0
    needed = math.ceil(applies.low / session_limits(group, experience)[0])
    keeping = priority == "keep" and (age is None or age < OLDER_AGE)
    return max(needed, 1 if keeping else USUAL_SESSIONS)


def lift_range(experience: str) -> tuple[float, float]:
    """Direct sets a week on one lift that is trained for strength, over two sessions or more."""
    return LIFT_SETS[experience]


@dataclass(frozen=True, slots=True)
class Judgement:
    """ "under", "in_range", "over", or "watched"; ``strong`` beyond floor or ceiling; the range that was used."""

    verdict: str
    strong: bool = False
    range: Range | None = None
    by: float = 0.0  # counted sets outside the range

    @property
    def because(self) -> Because:
        """The verdict as a reason: "dose_under", "dose_far_over" and so on, with the range."""
        code = f"dose_far_{self.verdict}" if self.strong else f"dose_{self.verdict}"
        if self.range is None:
            return Because(code)
        return Because(code, {"low": self.range.low, "high": self.range.high, "by": self.by})


def judge(
    dose: float | Dose,
    group: str,
    experience: str,
    priority: str = "usual",
    age: int | None = None,
    ranges: Mapping[str, SetRange] = SET_RANGES,
) -> Judgement:
    """A group's counted weekly sets (or its week's dose) against the range that applies."""
    counted = dose.counted if isinstance(dose, Dose) else dose
    applies = target_range(group, experience, priority, age, ranges)
    if applies is None:
        return Judgement("watched")
    if counted < applies.low:
        return Judgement("under", counted < applies.floor, applies, applies.low - counted)
    if counted > applies.high:
        return Judgement("over", counted > applies.ceiling, applies, counted - applies.high)
    return Judgement("in_range", False, applies)


def counts_for(done: SetDone, load_share: float | None = None, purpose: str = "growth") -> float:
    """How much of a set a logged working set counts for, before shares: 1, 0.5 or 0.

    ``load_share`` is load against estimated maximum where known: below 0.30 nothing counts (Lasevicius et al.
    2018). For the purpose "strength" sets of one to four repetitions count in full. A drop part counts nothing by
    itself; ``counted_sets`` reckons it with the set that it follows.
    """
    if done.kind in ("warm_up", "drop") or (load_share is not None and load_share < LEAST_LOAD_SHARE):
        return 0.0
    if done.seconds is not None:
        return 1.0 if done.seconds >= HOLD_SECONDS else 0.0
    if done.metres is not None:
        return 1.0 if done.metres > 0 else 0.0
    reps = done.reps or 0
    if reps < 1 or reps > COUNTED_REPS_HIGH:
        return 0.0
    counted = 1.0 if reps >= COUNTED_REPS_LOW or purpose == "strength" else FEW_REPS_COUNT
    if done.rir is not None and done.rir > COUNTED_RIR_MOST:
        return min(counted, EASY_SET_COUNTS)
    return counted


def counted_sets(done: Sequence[SetDone], maximum: float | None = None, purpose: str = "growth") -> float:
    """What the logged sets of one exercise in one session count together, in order, before shares.

    Parts after a counted set (drops, rest-pause) of four repetitions or more count half, two at most. ``maximum``
    is the estimated one in the unit of the loads, where known.
    """
    total = 0.0
    parts = 0
    follows_counted = False
    for entry in done:
        if entry.kind == "drop":
            if follows_counted and (entry.reps or 0) >= LATER_PART_REPS and parts < LATER_PARTS_MOST:
                parts += 1
                total += LATER_PART_COUNTS
            continue
        share = entry.load / maximum if maximum and entry.load is not None else None
        counted = counts_for(entry, share, purpose)
        follows_counted = counted > 0
        total += counted
    return total


class ThinRegion(NamedTuple):
    """A part of a group that gets less than it should, though the group's total may look well."""

    region: str
    counted: float
    wanted: float

    @property
    def because(self) -> Because:
        return Because("region_thin", {"region": self.region, "counted": self.counted, "wanted": self.wanted})


def thin_regions(
    work: Sequence[Work],
    experience: str,
    spared: frozenset[str] = frozenset(),
    groups: Collection[str] = REGION_CHECKED_GROUPS,
    ranges: Mapping[str, SetRange] = SET_RANGES,
) -> tuple[ThinRegion, ...]:
    """Parts of ``groups`` that a week's total hides: under a third of the group's low end, spared ones left out.

    By default shoulders and upper back, whose parts are trained apart.
    """
    counted = by_region(work)
    thin = []
    for region, group in GROUP_OF_REGION.items():
        applies = target_range(group, experience, ranges=ranges) if group in groups else None
        if applies is None or region in spared:
            continue
        wanted = applies.low * REGION_SHARE_OF_LOW
        if counted.get(region, 0.0) < wanted:
            thin.append(ThinRegion(region, counted.get(region, 0.0), wanted))
    return tuple(thin)


@dataclass(frozen=True, slots=True)
class Rise:
    """A week against the weeks before: "fine", "warn", "ask" or "refuse"; ``share`` None where nothing came before."""

    verdict: str
    sets: float
    share: float | None
    because: Because


def rise_guard(now: float, mean: float) -> Rise:
    """A group's counted sets against its mean of four weeks (of a client's first four: the plan of week one).

    A rise of up to a fifth, or of two sets, is fine; from there a warning, above 30 % a question, above 60 % a
    refusal that only a deliberate override lifts. Prudence, not risk prediction: no threshold is known that
    prevents injury (Impellizzeri et al. 2020).
    """
    sets = now - mean
    share = sets / mean if mean > 0 else None
    if sets <= RISE_FREE_SETS + _TINY or (share is not None and share <= RISE_FREE_SHARE + _TINY):
        verdict = "fine"
    elif share is None or share > RISE_REFUSE_SHARE + _TINY:
        verdict = "refuse"
    else:
        verdict = "ask" if share > RISE_ASK_SHARE + _TINY else "warn"
    percent = None if share is None else round(100 * share, 1)
    return Rise(verdict, sets, share, Because(f"dose_rise_{verdict}", {"now": now, "mean": mean, "percent": percent}))
