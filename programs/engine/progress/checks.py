"""Check sets, which show what ratings are worth, and test days; both barred where effort is bounded."""

from dataclasses import replace
from typing import Final

from programs.engine.cautions.groups import ADULT_FROM, EffortFloor
from programs.engine.progress.situation import Situation
from programs.engine.progress.terms import TOP_KINDS, NextStep, in_short
from programs.engine.strength import load_for, share_of_max
from programs.engine.terms import Because, TargetSet

CHECK_RIR: Final = 1.0
TEST_REPS: Final = 3
TEST_RIR: Final = 1.0
GOES_WITH: Final = ("same", "reps_up", "load_up", "time_up", "wave", "load_down", "first_load")


def check_barred(floor: EffortFloor, role: str, *, machine: bool) -> Because | None:
    """Why no check set belongs here, or None: bounded effort, and lifts where failing is not safe."""
    if floor.rir > CHECK_RIR or not floor.progression:
        return Because("check_set_barred")
    if role != "isolation" and not machine:
        return Because("check_set_not_on_mains")
    return None


def strength_test_barred(floor: EffortFloor, experience: str, age: int | None) -> Because | None:
    """Why strength is not tested, or None: novices, minors, pregnancy, limited clearance, blood pressure."""
    share = floor.share_of_max
    bounded = share is not None and share < share_of_max(TEST_REPS, TEST_RIR)
    minor = age is not None and age < ADULT_FROM
    flagged = not floor.max_tests or not floor.progression or floor.rir > TEST_RIR
    if flagged or bounded or minor or experience == "novice":
        return Because("test_barred")
    return None


def with_check_set(case: Situation, step: NextStep) -> NextStep:
    """The step with its last set taken to one in reserve, as many repetitions as come."""
    if step.change not in GOES_WITH or case.timed or step.find_load:
        return _noted(step, Because("test_not_now"))
    barred = check_barred(case.floor, case.role, machine=case.machine)
    if barred is not None:
        return _noted(step, barred)
    at = max((i for i, one in enumerate(step.sets) if one.kind in TOP_KINDS), default=None)
    if at is None:
        return step
    last = step.sets[at]
    rir = max(CHECK_RIR, case.floor.rir)
    check = replace(last, kind="check", open_ended=True, rir=rir)
    sets = (*step.sets[:at], check, *step.sets[at + 1 :])
    reason = Because("check_set", {"rir": rir})
    return replace(step, sets=sets, new=in_short(sets), reasons=(*step.reasons, reason))


def strength_test(case: Situation, step: NextStep) -> NextStep:
    """One heavy set of three in place of the work, as many repetitions as come with one left; the coach confirms it.

    Never a single at the limit: the estimate that the set gives is the result.
    """
    if step.change not in GOES_WITH or case.timed or step.find_load:
        return _noted(step, Because("test_not_now"))
    barred = strength_test_barred(case.floor, case.experience, case.age)
    if barred is not None:
        return _noted(step, barred)
    best = case.best()
    entered = None if best is None else case.lever.entered(load_for(best, TEST_REPS, TEST_RIR, case.k))
    load = None if entered is None or case.rack.ordinal else case.rack.not_harder(entered)
    if best is None or load is None or not step.sets:
        return _noted(step, Because("test_without_estimate"))
    asked = TargetSet(
        kind="check",
        reps_low=TEST_REPS,
        reps_high=TEST_REPS,
        open_ended=True,
        load=load,
        rir=TEST_RIR,
        rest_s=step.sets[0].rest_s,
        tempo=step.sets[0].tempo,
    )
    reason = Because("test_day", {"reps": TEST_REPS, "e1rm": round(best, 1)})
    return replace(
        step,
        sets=(asked,),
        new=in_short((asked,)),
        change="test_day",
        reasons=(case.trained[-1].used(), reason),
        plain=False,
        offers=(),
    )


def _noted(step: NextStep, why: Because) -> NextStep:
    return replace(step, reasons=(*step.reasons, why))
