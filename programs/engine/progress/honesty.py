"""How far what is said of effort can be believed: check sets, sets that contradict each other, ticks without typing.

For the coach's eyes, and to keep a beginner's ratings from driving loads. It says what the log shows, never why.
Errors of ratings after Halperin et al. 2022 and Hackett et al. 2017; the thresholds are coaching practice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from programs.engine.progress.history import same_load
from programs.engine.progress.terms import TOP_KINDS
from programs.engine.terms import Because, Exposure, SetDone

AGREES_WITHIN: Final = 2.0  # repetitions between what was said and what a check set showed
FAR_OFF: Final = 3.0
REST_LEAST_S: Final = 90
EASIER_BY: Final = 1.0  # a later set with so many more to failure was rated too hard before
HARDER_BY: Final = 2.0
HARDER_SHARE: Final = 0.30
SIGNS_TO_CHECK: Final = 3
SIGNS_WITHIN: Final = timedelta(days=14)
UNVARYING_SESSIONS: Final = 6
TICKED_WITHIN: Final = timedelta(days=21)


@dataclass(frozen=True, slots=True)
class RatingSign:
    """A set that was easier or harder than it was said to be, by the sets beside it; ``number`` from 1."""

    day: date
    number: int
    easier: bool


@dataclass(frozen=True, slots=True)
class Checked:
    """A check set: when it was done, and how many repetitions more (below 0: fewer) than was said before it."""

    day: date
    gap: float


def rating_gap(history: Sequence[Exposure]) -> float | None:
    """The gap of the latest check set; None without one."""
    found = last_check(history)
    return None if found is None else found.gap


def last_check(history: Sequence[Exposure]) -> Checked | None:
    """What the latest check set showed beyond what was said in the set before it, in repetitions.

    Above 0 more was left than was said. None without a check set behind a rated set of the same load.
    """
    checked = [one for one in history if any(done.kind == "check" for done in one.done)]
    for exposure in sorted(checked, key=_order, reverse=True):
        for before, check in reversed(list(pairwise(_top(exposure)))):
            if check.kind != "check" or not same_load(before.load, check.load):
                continue
            said = _to_failure(before)
            if said is not None and check.reps is not None:
                return Checked(exposure.day, check.reps + (check.rir or 0.0) - said)
    return None


def believed(rir_trusted: bool, gap: float | None) -> bool:
    """Whether ratings may drive loads: a beginner's once a check set agrees, others' until one shows too much said."""
    if not rir_trusted:
        return gap is not None and abs(gap) <= AGREES_WITHIN
    return gap is None or gap > -FAR_OFF


def rating_signs(history: Sequence[Exposure], on: date, *, rest_s: int = REST_LEAST_S) -> tuple[RatingSign, ...]:
    """Sets of the last 14 days that the set after them contradicts, oldest first.

    With 90 s of rest and more the same load gives no more repetitions to failure than the set before, and not
    many fewer. ``rest_s`` is the usual rest where the prescription says none.
    """
    found = []
    for exposure in sorted(history, key=_order):
        if not on - SIGNS_WITHIN < exposure.day <= on:
            continue
        rests = [one.rest_s for one in exposure.asked if one.kind in TOP_KINDS]
        for number, (one, later) in enumerate(pairwise(_top(exposure)), start=1):
            rest = rests[number - 1] if number <= len(rests) else None
            first, second = _to_failure(one), _to_failure(later)
            if first is None or second is None or not same_load(one.load, later.load):
                continue
            if (rest_s if rest is None else rest) < REST_LEAST_S:
                continue
            if second > first + EASIER_BY:
                found.append(RatingSign(exposure.day, number, easier=True))
            elif first - second > max(HARDER_BY, HARDER_SHARE * first):
                found.append(RatingSign(exposure.day, number, easier=False))
    return tuple(found)


def never_varies(history: Sequence[Exposure]) -> bool:
    """Whether the last six rated sessions all say the same: one effort, one load, the same repetitions."""
    rated = [one for one in sorted(history, key=_order) if any(done.rir is not None for done in _top(one))]
    if len(rated) < UNVARYING_SESSIONS:
        return False
    said = {tuple((done.load, done.reps, done.rir) for done in _plain(one)) for one in rated[-UNVARYING_SESSIONS:]}
    return len(said) == 1 and len({rir for _load, _reps, rir in next(iter(said))}) == 1


def ticked_share(history: Sequence[Exposure], on: date) -> float | None:
    """Share of the last three weeks' sets confirmed as planned without a figure typed; None without any set."""
    sets = [done for one in history if on - TICKED_WITHIN < one.day <= on for done in _top(one)]
    return sum(done.as_planned for done in sets) / len(sets) if sets else None


def habits(history: Sequence[Exposure], on: date, *, rest_s: int = REST_LEAST_S) -> tuple[Because, ...]:
    """What a coach may want to know of how this exercise is logged; nothing of it is for the client's eyes."""
    known = [one for one in history if one.day <= on]
    found = gap_reasons(rating_gap(known))
    signs = rating_signs(known, on, rest_s=rest_s)
    if len(signs) >= SIGNS_TO_CHECK:
        found.append(Because("check_set_suggested", {"signs": len(signs), "days": SIGNS_WITHIN.days}))
    if never_varies(known):
        found.append(Because("ratings_never_vary", {"sessions": UNVARYING_SESSIONS}))
    if ticked_share(known, on) == 1:
        found.append(Because("all_as_planned", {"days": TICKED_WITHIN.days}))
    return tuple(found)


def gap_reasons(gap: float | None) -> list[Because]:
    """A gap of three or more in words: ratings read low (more was left), or high."""
    if gap is None or abs(gap) < FAR_OFF:
        return []
    return [Because("ratings_read_low" if gap > 0 else "ratings_read_high", {"by": abs(gap)})]


def _order(exposure: Exposure) -> tuple[date, str]:
    return exposure.day, repr(exposure)


def _top(exposure: Exposure) -> list[SetDone]:
    return [one for one in exposure.done if one.kind in TOP_KINDS]


def _plain(exposure: Exposure) -> list[SetDone]:
    return [one for one in _top(exposure) if one.kind != "check"]


def _to_failure(one: SetDone) -> float | None:
    if one.kind == "check":
        return None if one.reps is None else one.reps + (one.rir or 0.0)
    return None if one.reps is None or one.rir is None or one.as_planned else one.reps + one.rir
