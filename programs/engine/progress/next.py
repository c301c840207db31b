"""The next prescription of one exercise from its log: a proposal with its reasons, which the coach disposes of."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from programs.engine.calendar import WEEK_DAYS
from programs.engine.cautions.groups import EffortFloor
from programs.engine.cautions.pain import ACTIONS
from programs.engine.progress import returning, steps
from programs.engine.progress.checks import strength_test, with_check_set
from programs.engine.progress.effort_led import effort_led
from programs.engine.progress.first import without_history
from programs.engine.progress.history import line_of, read, target_of
from programs.engine.progress.honesty import believed, gap_reasons, rating_gap
from programs.engine.progress.policies import MORE_REPS, ordinary
from programs.engine.progress.situation import Situation, with_reps, with_rir
from programs.engine.progress.terms import (
    LEVERS,
    POLICIES,
    TESTS,
    TINY,
    Caps,
    Illness,
    Lever,
    MappedEstimate,
    NextStep,
    Wave,
    in_short,
)
from programs.engine.progress.waves import sets_of_week, wave_step
from programs.engine.racks import Rack
from programs.engine.strength import reps_at_share
from programs.engine.terms import Because, Exposure, TargetSet
from programs.engine.vocabulary import EXPERIENCES, LOAD_ENTRIES, ROLES

PRESSES: Final = ("horizontal_push", "incline_push", "decline_push", "vertical_push")


def next_prescription(
    history: Sequence[Exposure],
    current: Sequence[TargetSet],
    policy: str,
    rack: Rack,
    *,
    role: str,
    experience: str,
    load_entry: str,
    on: date,
    pattern: str = "",
    rep_unit: str = "reps",
    rep_range: tuple[int, int] | None = None,
    bodyweight: float | None = None,
    bodyweight_fraction: float = 0.0,
    k: float = 1.0,
    age: int | None = None,
    rir_trusted: bool = True,
    deload: bool = False,
    pain: str = "go_on",
    return_to: float | None = None,
    estimate: MappedEstimate | None = None,
    new_client: bool = False,
    floor: EffortFloor | None = None,
    caps: Caps | None = None,
    levers: Sequence[str] = LEVERS,
    every_days: int = WEEK_DAYS,
    slot: str = "",
    place: str = "",
    machine: bool = False,
    since: date | None = None,
    bodyweight_days: int = 0,
    wave: Wave | None = None,
    test: str = "none",
    illness: Illness | None = None,
) -> NextStep:
    """What to do next time, and why.

    ``history`` are the exercise's exposures, in any order; those after ``on`` (the day planned for) are left out.
    ``slot`` and ``place`` pick its own line out of them, ``machine`` says that figures hold on one machine only,
    ``since`` cuts off what was before a new baseline (see ``line_of``). ``current`` is the prescription planned so far.
    ``rep_range`` is the slot's own range where the current one may have outgrown it, and the range of
    seconds or metres where those are counted. ``pain`` is the action in force (cautions.pain_action);
    ``return_to`` the load worked with before pain. ``estimate`` carries a maximum over to a new exercise.
    ``every_days`` is how often the slot comes round as planned: a fortnight between two sessions is an absence in
    a weekly plan, and none in a cycle of fourteen days. ``rir_trusted`` False is a beginner's: ratings do not drive
    loads until a check set agrees. ``bodyweight_days`` is the age of ``bodyweight``. ``wave`` goes with the policy of
    waves; ``test`` is one of TESTS, which the coach has asked for.
    All loads in one unit, that of ``rack``. ValueError for words that are no policy, role, experience,
    load entry, action or test, and for waves without a wave.

    Coaching practice within ACSM 2009; see the modules beside this one for each figure's source.
    """
    for word, words in (
        (policy, POLICIES),
        (role, ROLES),
        (experience, EXPERIENCES),
        (load_entry, LOAD_ENTRIES),
        (pain, ACTIONS),
        (test, TESTS),
    ):
        if word not in words:
            raise ValueError(f"{word!r} is none of {', '.join(words)}")
    if (wave is None) == (policy == "percentage_waves"):
        raise ValueError("a wave goes with percentage waves, and they with a wave")
    lever = Lever(load_entry, bodyweight, bodyweight_fraction, rack.ordinal, load_entry == "assisted")
    rack = rack if rack.falls == lever.falls else replace(rack, falls=lever.falls)
    work = tuple(one for one in current if one.kind != "warm_up")
    if wave is not None:
        work = sets_of_week(wave, wave.working_max, work, rack, lever)
    line = line_of([one for one in history if one.day <= on], slot=slot, place=place, since=since, machine=machine)
    gap = rating_gap(line.own)
    trusted = believed(rir_trusted, gap)
    target = target_of(work)
    if floor is not None and target.rir is not None:
        target = replace(target, rir=max(target.rir, floor.rir))
    base_low, base_high = rep_range or (target.low, target.high)
    case = Situation(
        current=work,
        sessions=tuple(read(line.own, on, trusted, lever)),
        policy=policy,
        rack=rack,
        lever=lever,
        role=role,
        experience=experience,
        on=on,
        target=target,
        base_low=base_low,
        base_high=base_high,
        pressing=pattern in PRESSES,
        timed=rep_unit if rep_unit != "reps" else "",
        k=k,
        age=age,
        caps=caps or Caps(),
        floor=floor or EffortFloor(),
        levers=tuple(levers),
        estimate=estimate,
        return_to=return_to,
        new_client=new_client,
        every_days=every_days,
        beside=tuple(read(line.beside, on, trusted, lever)),
        new_machine=line.new_machine,
        baseline_on=since if line.renewed else None,
        wave=wave,
        illness=illness,
        bodyweight_days=bodyweight_days,
        machine=machine,
        rating_gap=gap,
    )
    return _bounded(case, _decide(case, pain, deload, test))


def _decide(case: Situation, pain: str, deload: bool, test: str) -> NextStep:
    """The first that applies: pain, illness, no history, absence, deload, coming back, then the policy."""
    if pain == "stop":
        return case.answer("stop", (), [Because("pain_stop")], plain=False)
    unwell = returning.ill(case)
    hurts = pain in ("freeze", "return")
    if unwell is not None:
        if unwell.sets and hurts:
            unwell = returning.lighter_of(case, unwell, returning.hurting(case, pain))
        return returning.lighter_of(case, unwell, returning.eased(case)) if deload and case.trained else unwell
    if not case.trained:
        first = without_history(case) if case.wave is None or case.new_client else wave_step(case)
        return returning.lighter_of(case, returning.hurting(case, pain), first) if hurts else first
    if hurts:
        held = returning.away_too(case, returning.hurting(case, pain))
        return returning.eased_too(case, held) if deload else held
    row = steps.absence(case.away(case.days_off or 0), case.age)
    if row.days >= steps.ABSENCE_FROM_DAYS:
        return returning.after_absence(case, row)
    if deload:
        return returning.eased(case)
    if any(one.stopped_for_pain for one in case.trained[-1].sets):
        return returning.held_for_pain(case)
    step = _by_policy(case)
    if test == "check_set":
        return with_check_set(case, step)
    return strength_test(case, step) if test == "test_day" else step


def _by_policy(case: Situation) -> NextStep:
    if case.wave is not None:
        return wave_step(case)
    if case.sessions[-1].deload:
        return returning.after_deload(case)
    back = returning.coming_back(case)
    if back is not None:
        return back
    step = effort_led(case) if case.policy == "effort_led" else ordinary(case)
    # What decides stays last, where it is read first.
    return replace(step, reasons=(*step.reasons[:-1], *gap_reasons(case.rating_gap), step.reasons[-1]))


def _bounded(case: Situation, step: NextStep) -> NextStep:
    """The client's own limits on top, for what is proposed and every other way: effort, rest, share of the maximum."""
    sets, reasons = _held(case, step.sets)
    offers = tuple(replace(offer, sets=_held(case, offer.sets)[0]) for offer in step.offers)
    if sets == step.sets:
        return step if offers == step.offers else replace(step, offers=offers)
    reasons = [*step.reasons, *reasons]
    return replace(step, sets=sets, new=in_short(sets), reasons=tuple(reasons), plain=False, offers=offers)


def _held(case: Situation, sets: tuple[TargetSet, ...]) -> tuple[tuple[TargetSet, ...], list[Because]]:
    """Sets within the client's limits, and the reasons for what had to change."""
    floor = case.floor
    reasons = []
    needs_rir = floor.rir > 0 and any(one.rir is None or one.rir < floor.rir for one in sets)
    if needs_rir:
        sets = with_rir(sets, floor.rir)
        reasons.append(Because("rir_floor", {"rir": floor.rir}))
    if floor.rest_s is not None and any(one.rest_s is not None and one.rest_s < floor.rest_s for one in sets):
        least = floor.rest_s
        sets = tuple(replace(one, rest_s=max(one.rest_s or least, least)) for one in sets)
        reasons.append(Because("rest_floor", {"rest_s": least}))
    best = case.best()
    if best is None and case.wave is not None:
        best = case.wave.working_max  # no more than the maximum, which nothing else tells
    if floor.share_of_max is not None and best is not None:
        light = _held_load(case, sets, best * floor.share_of_max)
        if light is not None:
            sets = tuple(
                one
                if one.load is None or case.lever.at_least_as_hard(light, one.load)
                else _with_room(case, (replace(one, load=light),), light, best)[0]
                for one in sets
            )
            reasons.append(Because("share_of_max", {"percent": round(100 * floor.share_of_max)}))
    return sets, reasons


def _held_load(case: Situation, sets: Sequence[TargetSet], moved_most: float) -> float | None:
    """The load to hold sets to that move more than a bound; None where none does, or nothing lighter is on offer."""
    most = case.lever.entered(moved_most)
    loads = [one.load for one in sets if one.load is not None]
    over = [load for load in loads if (moved := case.lever.moved(load)) is not None and moved > moved_most + TINY]
    if most is None or not over:
        return None
    light = case.rack.not_harder(most)
    light = case.rack.easiest if light is None else light  # nothing on offer is light enough
    if light is None or all(case.lever.at_least_as_hard(light, load) for load in over):
        return None
    return light


def _with_room(case: Situation, sets: tuple[TargetSet, ...], load: float, best: float) -> tuple[TargetSet, ...]:
    """Room for more repetitions where a load is held below what the range asks for."""
    moved, high = case.lever.moved(load), in_short(sets).reps_high
    if case.timed or moved is None or high is None or moved <= 0.5 * best:
        return sets
    reps = math.floor(reps_at_share(min(1.0, moved / best), case.k) - (in_short(sets).rir or 0.0) + TINY)
    return with_reps(sets, max(high, min(reps, case.base_high + MORE_REPS)))
