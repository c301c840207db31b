"""What a pain report means for what loads that place: go on, hold back, or stop until the coach decides.

Bands after pain-monitored loading in rehabilitation (Silbernagel et al. 2007, Am J Sports Med 35:897),
set stricter because no clinician is in the room. Muscle soreness (dull, both sides, a day or three after)
is recorded apart and never handed in here. Nothing here names a cause.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from programs.engine.terms import Because

ACTIONS: Final = ("go_on", "return", "freeze", "stop")

GO_ON_UP_TO: Final = 2
STOP_FROM: Final = 5
PAUSES_SHEETS_FROM: Final = 3  # affected lines of sheets not yet trained wait for the coach
LONGEST_FREEZE: Final = timedelta(days=14)
RISES_TO_STOP: Final = 2  # sessions running in which pain rose
CALM_TO_RELEASE: Final = 2  # sessions running at 2 or less
LIGHTER_SHARE: Final = 0.90  # of the load, rounded down
RETURN_SHARE: Final = 0.80  # of the load before the pain
RIR_FLOOR_IN_PAIN: Final = 3.0

# Said beside the score; each one stops the exercise at any score above 0.
ALARMS: Final = ("sharp", "radiating", "swelling", "locking", "weakness", "at_night")


@dataclass(frozen=True, slots=True)
class PainNote:
    """The highest pain of one place in one session or on the next morning, 0 to 10."""

    day: date
    score: int
    alarms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PainAction:
    """``action`` is one of ACTIONS; ``tell_coach`` puts the client on the coach's list."""

    action: str
    tell_coach: bool
    advise_professional: bool
    reasons: tuple[Because, ...]

    @property
    def pauses_sheets(self) -> bool:
        return self.action in ("freeze", "stop")


def pain_action(
    score: int,
    *,
    day: date,
    sharp: bool = False,
    alarms: Iterable[str] = (),
    earlier: Sequence[PainNote] = (),
    in_force: str = "go_on",
) -> PainAction:
    """The band of a report of ``score`` (0 to 10) on ``day``.

    ``earlier`` are reports of the same place in any order; ``in_force`` is what was decided last. A stop
    stays until the coach lifts it; a freeze ends with two sessions running at 2 or less, and what follows
    is "return" (80 % of the load before, then small steps). ValueError for scores and words off the scale.
    """
    said = set(alarms) | ({"sharp"} if sharp else set())
    if not 0 <= score <= 10:
        raise ValueError(f"pain is 0 to 10, not {score}")
    if said - set(ALARMS):
        raise ValueError(f"unknown alarms: {sorted(said - set(ALARMS))}")
    if in_force not in ACTIONS:
        raise ValueError(f"unknown action: {in_force!r}")
    past = sorted((note for note in earlier if note.day < day), key=lambda note: (note.day, note.score))
    notes = [*past, PainNote(day, score, tuple(sorted(said)))]
    reasons = [Because("pain_score", {"score": score, "day": day.isoformat()})]
    stop = _why_stop(notes, said)
    if stop or in_force == "stop":
        reasons += stop or [Because("stopped_until_coach_decides")]
        return PainAction("stop", True, bool(stop), tuple(reasons))
    if score > GO_ON_UP_TO:
        reasons.append(Because("pain_band_freeze", {"low": GO_ON_UP_TO + 1, "high": STOP_FROM - 1}))
        return PainAction("freeze", True, False, tuple(reasons))
    repeated = _repeated(notes)
    if repeated:
        reasons.append(Because("pain_repeated", {"sessions": repeated}))
    if in_force == "freeze":
        if _calm(notes) >= CALM_TO_RELEASE:
            reasons.append(Because("pain_settled", {"sessions": CALM_TO_RELEASE}))
            return PainAction("return", True, False, tuple(reasons))
        reasons.append(Because("pain_settling", {"sessions": _calm(notes), "needed": CALM_TO_RELEASE}))
        return PainAction("freeze", True, False, tuple(reasons))
    return PainAction(in_force, bool(repeated), False, tuple(reasons))


def _why_stop(notes: Sequence[PainNote], said: set[str]) -> list[Because]:
    now = notes[-1]
    reasons = []
    if now.score >= STOP_FROM:
        reasons.append(Because("pain_band_stop", {"from": STOP_FROM}))
    if said and now.score > 0:
        reasons += [Because("pain_alarm", {"alarm": word}) for word in sorted(said)]
    if now.score > GO_ON_UP_TO:
        if _rises(notes) >= RISES_TO_STOP:
            reasons.append(Because("pain_rising", {"sessions": RISES_TO_STOP}))
        since = _frozen_since(notes)
        if now.day - since > LONGEST_FREEZE:
            reasons.append(Because("pain_lasting", {"days": (now.day - since).days}))
    return reasons


def _rises(notes: Sequence[PainNote]) -> int:
    """How many sessions running the score has risen, up to the last."""
    count = 0
    for before, after in reversed(list(pairwise(notes))):
        if after.score <= before.score:
            break
        count += 1
    return count


def _frozen_since(notes: Sequence[PainNote]) -> date:
    """First day of the spell above 2 that the last note belongs to; two calm sessions end a spell."""
    since, calm = notes[-1].day, 0
    for note in reversed(notes):
        calm = 0 if note.score > GO_ON_UP_TO else calm + 1
        if calm >= CALM_TO_RELEASE:
            break
        if not calm:
            since = note.day
    return since


def _calm(notes: Sequence[PainNote]) -> int:
    count = 0
    for note in reversed(notes):
        if note.score > GO_ON_UP_TO or note.alarms:
            break
        count += 1
    return count


def _repeated(notes: Sequence[PainNote]) -> int:
    """Sessions running, this one included, in which the place hurt at all; 0 unless two or more."""
    count = 0
    for note in reversed(notes):
        if not note.score:
            break
        count += 1
    return count if count > 1 else 0
