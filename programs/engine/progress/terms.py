"""What progression takes and gives: the lift's facts, caps, and the next step with its reasons."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from programs.engine.constants import (
    FALL_PER_EXPOSURE_MOST,
    RISE_PER_EXPOSURE,
    RISE_PER_EXPOSURE_MOST,
    RISE_PER_WEEK_MOST,
)
from programs.engine.strength import entered_load, system_load
from programs.engine.terms import Because, TargetSet

POLICIES: Final = ("fixed_steps", "double_progression", "effort_led", "percentage_waves")
# What a session may be asked to show besides its work: a check of what is said of effort, or a test of strength.
TESTS: Final = ("none", "check_set", "test_day")
# Above the neck without fever; the whole body (fever, chest, stomach, aches); signs that a professional sees first.
ILLNESSES: Final = ("above_neck", "whole_body", "alarm")

# What may change, in one word. Rises and "same" can be plain; the others wait for the coach.
CHANGES: Final = (
    "same",
    "reps_up",
    "load_up",
    "load_down",
    "time_up",
    "find_load",
    "first_load",
    "after_deload",
    "deload",
    "return",
    "returning",
    "freeze",
    "stop",
    "step_too_big",
    "load_ceiling",
    "stall_check",
    "wave",
    "test_day",
    "ill",
)
# Other ways on that may be offered beside the change.
OFFERS: Final = (
    "take_step",
    "take_step_down",
    "more_reps",
    "extra_set",
    "slower_lowering",
    "pauses",
    "one_sided",
    "variation",
    "one_heavier_set",
    "deload",
    "rep_range",
    "swap",
    "variant_without_joint",
    "shorter_range",
    "without_help",
)
# Where the load can't rise, in the order that a coach may change (coaching practice).
LEVERS: Final = ("more_reps", "extra_set", "slower_lowering", "pauses", "one_sided")

# Every reason's code and the parameters that it may carry; the sentences live with the other labels.
REASONS: Final[dict[str, tuple[str, ...]]] = {
    "sets_used": ("day", "load", "reps", "seconds", "metres", "rir"),
    "all_sets_at_top": ("high",),
    "met_once": ("needed",),
    "effort_unknown": (),
    "pressing_twice": (),
    "advanced_twice": (),
    "below_top": ("high", "aim"),
    "last_set_short": ("low",),
    "too_few_sets": (),
    "effort_short": ("rir",),
    "missed_repeat_once": (),
    "missed_twice": ("percent",),
    "missed_often": ("times", "of"),
    "no_step_down_fits": ("percent",),
    "load_step": ("old", "new", "percent", "expected_reps"),
    "over_usual_cap": ("percent",),
    "week_cap": ("percent",),
    "step_too_big_add_reps": ("reps",),
    "step_too_big": ("percent",),
    "pause_longer_than_usual": ("days",),
    "load_ceiling": ("load",),
    "no_load_to_raise": (),
    "next_setting": ("old", "new"),
    "bodyweight_unknown": ("old", "new"),
    "time_met": ("seconds", "metres"),
    "time_not_met": ("seconds", "metres"),
    "load_step_time": ("old", "new", "seconds", "metres"),
    "top_of_range": (),
    "no_progression_for_now": (),
    "share_of_max": ("percent",),
    "rir_floor": ("rir",),
    "rest_floor": ("rest_s",),
    "no_history_find_load": ("rir",),
    "no_history_load_planned": (),
    "no_history_no_load_needed": (),
    "first_session_fewer_sets": ("percent",),
    "from_like_exercise": ("source", "e1rm", "percent"),
    "deload": ("sets", "percent", "rir"),
    "after_deload": ("load",),
    "easier_week_too": ("sets",),
    "absence": ("days", "percent", "sets_percent", "weeks"),
    "absence_find_load": ("most",),
    "nothing_lighter_on_offer": ("load",),
    "returning": ("goal", "old", "new"),
    "stopped_for_pain": (),
    "pain_stop": (),
    "pain_freeze": ("rir",),
    "pain_lighter": ("old", "new"),
    "pain_return": (),
    "pain_return_load": ("percent", "old"),
    "effort_as_planned": (),
    "effort_easier": ("shown", "planned", "percent"),
    "effort_harder": ("shown", "planned", "percent"),
    "from_check_set": (),
    "first_sets_at_top": ("high",),
    "next_setting_costs": ("new", "reps"),
    "more_reps_instead": ("reps",),
    "next_load_out_of_reach": ("load",),
    "later_in_session": ("position", "usual"),
    "bodyweight_stale": ("days",),
    "from_other_day": ("day", "e1rm", "percent"),
    "new_machine": (),
    "new_baseline": ("day",),
    "wave_week": ("week", "of", "max"),
    "wave_beyond_shown": ("load", "reps"),
    "wave_raise": ("old", "new", "percent"),
    "wave_hold": ("max",),
    "wave_lower": ("old", "new", "percent"),
    "check_set": ("rir",),
    "check_set_barred": (),
    "check_set_not_on_mains": (),
    "test_day": ("reps", "e1rm"),
    "test_barred": (),
    "test_not_now": (),
    "test_without_estimate": (),
    "ill_rest": (),
    "ill_professional": (),
    "ill_easy": ("sets_percent", "rir"),
    "after_illness": ("session", "of", "percent", "sets_percent"),
    "ratings_read_low": ("by",),
    "ratings_read_high": ("by",),
}

WORK_KINDS: Final = ("work", "open_ended", "check", "back_off")
TOP_KINDS: Final = ("work", "open_ended", "check")
TINY: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Caps:
    """Bounds on the change of one exercise's load, as shares; what a coach may edit within CAP_BOUNDS.

    Coaching practice; the upper bound is the 2–10 % of ACSM 2009.
    """

    rise: float = RISE_PER_EXPOSURE
    rise_most: float = RISE_PER_EXPOSURE_MOST
    rise_week: float = RISE_PER_WEEK_MOST
    fall_most: float = FALL_PER_EXPOSURE_MOST

    @property
    def widest(self) -> float:
        """What one session may raise at all: no more than a week may."""
        return min(self.rise_most, self.rise_week)

    @property
    def usual(self) -> float:
        """What one session may raise as a matter of course."""
        return min(self.rise, self.widest)

    @classmethod
    def of(cls, own: Mapping[str, Any]) -> "Caps":
        """What a practice keeps of its own, beside the usual ones; within the bounds, and no rise above the widest."""
        kept = {}
        for name, (low, high) in CAP_BOUNDS.items():
            value = own.get(name)
            if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
                kept[name] = min(max(float(value), low), high)
        caps = cls(**kept)
        return replace(caps, rise=min(caps.rise, caps.rise_most))


# How far each may be set, as shares: what lies beyond is no longer what the literature calls a step.
CAP_BOUNDS: Final[dict[str, tuple[float, float]]] = {
    "rise": (0.01, RISE_PER_EXPOSURE_MOST),
    "rise_most": (0.02, RISE_PER_EXPOSURE_MOST),
    "rise_week": (0.02, RISE_PER_WEEK_MOST),
    "fall_most": (0.05, FALL_PER_EXPOSURE_MOST),
}


@dataclass(frozen=True, slots=True)
class MappedEstimate:
    """An estimated maximum carried over from a like exercise, for one without a history."""

    e1rm: float
    source: str
    other_implement: bool = False


@dataclass(frozen=True, slots=True)
class WaveSet:
    """One set of a wave: ``share`` of the working max (0 to 1) for ``reps``."""

    share: float
    reps: int
    open_ended: bool = False


@dataclass(frozen=True, slots=True)
class Wave:
    """Weeks of shares and repetitions, as the coach set them, on a working max (of what is moved).

    ``week`` is the one that comes next, from 0; ``rounds`` how often the whole wave has been trained. At the end
    of a round the working max rises, stays or falls. ValueError for what is no wave.
    """

    working_max: float
    weeks: tuple[tuple[WaveSet, ...], ...]
    week: int = 0
    rounds: int = 0

    def __post_init__(self) -> None:
        if self.working_max <= 0 or not self.weeks or not 0 <= self.week < len(self.weeks):
            raise ValueError("a wave has a working max, weeks, and one of them comes next")
        if any(not week for week in self.weeks):
            raise ValueError("a week of a wave has sets")
        if any(not 0 < one.share <= 1 or one.reps < 1 for week in self.weeks for one in week):
            raise ValueError("a set of a wave has a share of the working max up to 1, and repetitions")


@dataclass(frozen=True, slots=True)
class Illness:
    """An illness since a day, one of ILLNESSES; ``well_on`` is the first day without fever and with no medicine
    against it. ``cleared`` once a professional has said that training may go on. Of one that is not over, ``known_on``
    is the last day to be reckoned with: a session planned for next week makes nobody ill for longer. ``earlier`` is one
    before it that is still being recovered from."""

    kind: str
    since: date
    well_on: date | None = None
    cleared: bool = False
    known_on: date | None = None
    earlier: "Illness | None" = None

    def __post_init__(self) -> None:
        if self.kind not in ILLNESSES:
            raise ValueError(f"{self.kind!r} is none of {', '.join(ILLNESSES)}")


@dataclass(frozen=True, slots=True)
class Ask:
    """A prescription in short, as it is compared and journalled: its work sets, the first one's figures."""

    sets: int
    load: float | None = None
    reps_low: int | None = None
    reps_high: int | None = None
    seconds: int | None = None
    metres: int | None = None
    rir: float | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """Another way on: a code of OFFERS and, where it can be written down, its sets."""

    code: str
    sets: tuple[TargetSet, ...] = ()
    params: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class NextStep:
    """A proposal for the next time. ``sets`` are the work to do; warm-ups are reckoned from it elsewhere.

    ``plain`` proposals may be accepted all at once; the others touch health, absence or a choice between
    ways. ``find_load`` asks for the load-finding procedure: the sets then carry no load. No sets means
    the exercise is left out until the coach has decided. ``working_max`` is what a wave stands on from now.
    """

    sets: tuple[TargetSet, ...]
    change: str
    old: Ask
    new: Ask
    reasons: tuple[Because, ...]
    plain: bool
    find_load: bool = False
    offers: tuple[Offer, ...] = ()
    working_max: float | None = None


@dataclass(frozen=True, slots=True)
class Lever:
    """How an entered load turns into what is moved; ``ordinal`` loads have an order and no weight."""

    load_entry: str
    bodyweight: float | None = None
    fraction: float = 0.0
    ordinal: bool = False
    falls: bool = False

    @property
    def moves_body(self) -> bool:
        return self.load_entry in ("added", "assisted") and self.fraction > 0

    def moved(self, load: float) -> float | None:
        """What is really moved; None for settings, and for help where the body's share is not known."""
        if self.ordinal or (self.falls and self.fraction == 0):
            return None
        return system_load(load, self.load_entry, self.bodyweight, self.fraction)

    def entered(self, moved: float) -> float | None:
        return entered_load(moved, self.load_entry, self.bodyweight, self.fraction)

    def change(self, old: float, new: float) -> float | None:
        """Change of what is moved, as a share; None where it has no weight or bodyweight is unknown."""
        before, after = self.moved(old), self.moved(new)
        if before is None or after is None or before <= 0:
            return None
        return after / before - 1

    def or_bodyweight(self, load: float | None) -> float | None:
        """No load written on a bodyweight exercise is nothing added; elsewhere it stays unknown."""
        return 0.0 if load is None and self.load_entry == "added" and self.fraction > 0 else load

    def hardness(self, load: float) -> float:
        return -load if self.falls else load

    def at_least_as_hard(self, load: float, other: float) -> bool:
        return self.hardness(load) >= self.hardness(other) - TINY


def work_sets(sets: Sequence[TargetSet]) -> list[TargetSet]:
    return [one for one in sets if one.kind in WORK_KINDS]


def in_short(sets: Sequence[TargetSet]) -> Ask:
    """The prescription's work sets in short; an empty one for none."""
    work = work_sets(sets)
    if not work:
        return Ask(0)
    first = next((one for one in work if one.kind in TOP_KINDS), work[0])
    return Ask(len(work), first.load, first.reps_low, first.reps_high, first.seconds, first.metres, first.rir)
