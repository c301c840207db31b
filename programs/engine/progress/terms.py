"""What progression takes and gives: the lift's facts, caps, and the next step with its reasons."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from programs.engine.constants import (
    FALL_PER_EXPOSURE_MOST,
    RISE_PER_EXPOSURE,
    RISE_PER_EXPOSURE_MOST,
    RISE_PER_WEEK_MOST,
)
from programs.engine.strength import entered_load, system_load
from programs.engine.terms import Because, TargetSet

POLICIES: Final = ("fixed_steps", "double_progression")

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
}

WORK_KINDS: Final = ("work", "open_ended", "check", "back_off")
TOP_KINDS: Final = ("work", "open_ended", "check")
TINY: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Caps:
    """Bounds on the change of one exercise's load, as shares; what a coach may edit.

    Coaching practice; the upper bound is the 2–10 % of ACSM 2009.
    """

    rise: float = RISE_PER_EXPOSURE
    rise_most: float = RISE_PER_EXPOSURE_MOST
    rise_week: float = RISE_PER_WEEK_MOST
    fall_most: float = FALL_PER_EXPOSURE_MOST


@dataclass(frozen=True, slots=True)
class MappedEstimate:
    """An estimated maximum carried over from a like exercise, for one without a history."""

    e1rm: float
    source: str
    other_implement: bool = False


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
    the exercise is left out until the coach has decided.
    """

    sets: tuple[TargetSet, ...]
    change: str
    old: Ask
    new: Ask
    reasons: tuple[Because, ...]
    plain: bool
    find_load: bool = False
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True)
class Lever:
    """How an entered load turns into what is moved; ``ordinal`` loads have an order and no weight."""

    load_entry: str
    bodyweight: float | None = None
    fraction: float = 0.0
    ordinal: bool = False
    falls: bool = False

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
