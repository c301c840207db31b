"""A week as it stands, composed or edited by hand: doses, minutes, and everything worth a warning.

Warnings never change a week. Each names its session where it has one, and its slot and exercise where it has these.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from programs.engine.compose.candidates import (
    PIN_SETS_ASIDE,
    fits_regions,
    places_of,
    reasons_against,
)
from programs.engine.compose.evaluate import ONE_MAIN_A_SESSION, Places, Rules, by_place, superset_clash
from programs.engine.compose.measures import WEEK_DAYS, day_seconds, judged, session_ceiling, work_of
from programs.engine.compose.mix import PULL_TO_PUSH_HIGH, PULL_TO_PUSH_LOW, WEEKLY_PATTERNS, pull_share
from programs.engine.compose.request import Audit, DayType, GroupDose, SessionMinutes, Slot, WeekRequest
from programs.engine.dose import Dose, session_limits, thin_regions, weekly
from programs.engine.terms import Because, Exercise, Params, Pick
from programs.engine.vocabulary import AUDITED_GROUPS, GROUP_OF_REGION, GROUPS

SESSION_SETS_WARN: Final = 25
SESSION_SETS_ASK: Final = 30
SESSION_EXERCISES_MOST: Final = 8
# One exercise a pattern and role in a session, unless its group is given more sets than this.
ONE_EXERCISE_SETS: Final = 6.0
EASY_JOINT_EXERCISES: Final = 2
GRIP_LIMITED: Final = 2  # severity from which the grip gives out before the muscles do
PRIORITY_GROUPS_MOST: Final = 3


def assess(request: WeekRequest, picks: Iterable[Pick]) -> Audit:
    """The audit of a week, whoever put it together. Picks that the request does not know are left out."""
    return audit(Rules.of(request), by_place(request, picks))


def audit(rules: Rules, at: Places) -> Audit:
    request = rules.request
    work = []
    minutes = []
    session_dose: dict[tuple[str, int], Mapping[str, Dose]] = {}
    warnings: list[Because] = []
    for day in request.day_types:
        for occurrence in range(day.occurrences):
            session = [(s, at[s.key, occurrence]) for s in day.slots if (s.key, occurrence) in at]
            picks = [pick for _, pick in session]
            work += work_of(request, day.key, picks)
            seconds = day_seconds(request, day, occurrence, picks)
            sets = sum(pick.sets for pick in picks)
            minutes.append(SessionMinutes(day.key, occurrence, seconds / 60, request.minutes_cap, sets))
            a_cycle = request.cycle_days / WEEK_DAYS
            session_dose[day.key, occurrence] = {
                group: Dose(dose.direct * a_cycle, dose.counted * a_cycle, dose.sessions)
                for group, dose in weekly(work_of(request, day.key, picks)).items()
            }
            warnings += _broken(request, day, session)
            warnings += _session_warnings(
                request, day, occurrence, session, session_dose[day.key, occurrence], minutes[-1]
            )
    doses = weekly(work)
    dose = {}
    for group in GROUPS:
        found = doses.get(group, Dose())
        dose[group] = GroupDose(found, judged(request, group, found.counted))
    missing = _patterns_missing(request, at)
    ratio = _pull_to_push(request, at)
    warnings += _repeats(request, at)
    warnings += [Because("week.pattern_missing", {"kind": kind}) for kind in missing]
    if ratio is not None and not PULL_TO_PUSH_LOW <= ratio <= PULL_TO_PUSH_HIGH:
        params: Params = {"ratio": round(ratio, 2), "low": PULL_TO_PUSH_LOW, "high": PULL_TO_PUSH_HIGH}
        warnings.append(Because("week.pull_to_push", params))
    kept = {group for group in GROUPS if request.priorities.get(group) == "keep"}
    spared = frozenset(region for region, group in GROUP_OF_REGION.items() if group in kept)
    if request.ranges is None:
        for region, counted, wanted in thin_regions(work, request.experience, spared):
            params = {"region": region, "group": GROUP_OF_REGION[region], "sets": counted, "wanted": wanted}
            warnings.append(Because("week.region_thin", params))
    more = sorted(group for group, priority in request.priorities.items() if priority == "more")
    if len(more) > PRIORITY_GROUPS_MOST:
        warnings.append(Because("week.many_priorities", {"groups": ",".join(more), "most": PRIORITY_GROUPS_MOST}))
    working_sets = sum(entry.sets for entry in minutes)
    return Audit(dose, tuple(minutes), session_dose, working_sets, missing, ratio, tuple(warnings))


def _broken(request: WeekRequest, day: DayType, session: Sequence[tuple[Slot, Pick]]) -> list[Because]:
    """Hard limits of the client and the place that a pick breaks; what a pin sets aside is told as such."""
    found = []
    for slot, pick in session:
        exercise = request.library[pick.exercise]
        where: Params = {
            "day": day.key,
            "occurrence": pick.occurrence,
            "slot": slot.key,
            "exercise": pick.exercise,
        }
        reasons = list(reasons_against(exercise, request))
        if not fits_regions(exercise, slot):
            reasons.append(Because("exercise.other_region", {"region": slot.regions[0]}))
        for why in reasons:
            aside = pick.pinned and why.code in PIN_SETS_ASIDE
            found.append(Because(f"pinned.{why.code}" if aside else why.code, {**where, **why.params}))
    return found


def _session_warnings(
    request: WeekRequest,
    day: DayType,
    occurrence: int,
    session: Sequence[tuple[Slot, Pick]],
    dose: Mapping[str, Dose],
    minutes: SessionMinutes,
) -> list[Because]:
    here: dict[str, str | int] = {"day": day.key, "occurrence": occurrence}
    exercises = [(slot, request.library[pick.exercise]) for slot, pick in session]
    found: list[Because] = []

    def warn(code: str, **params: str | int | float | None) -> None:
        found.append(Because(code, {**here, **params}))

    if minutes.cap is not None and minutes.minutes > minutes.cap:
        warn("session.over_minutes", minutes=round(minutes.minutes, 1), cap=minutes.cap)
    if minutes.sets > SESSION_SETS_WARN:
        asks = minutes.sets > SESSION_SETS_ASK
        warn("session.too_many_sets" if asks else "session.many_sets", sets=minutes.sets)
    if len(session) > SESSION_EXERCISES_MOST:
        warn("session.many_exercises", exercises=len(session), most=SESSION_EXERCISES_MOST)
    for group in GROUPS:
        counted = dose[group].counted if group in dose else 0.0
        ceiling = session_ceiling(request, group)
        if ceiling is not None and counted > ceiling:
            warn("session.group_over", group=group, sets=counted, ceiling=ceiling)
        elif request.session_ceilings is None and group in AUDITED_GROUPS:
            high = session_limits(group, request.experience)[0]
            if counted > high:
                warn("session.group_high", group=group, sets=counted, warn_from=high)
    keys = [exercise.key for _, exercise in exercises]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        warn("session.twice", exercise=key)
    found += _patterns_twice(here, exercises, dose)
    for joint in sorted({limit.joint for limit in request.limits if not limit.strict}):
        loading = [e.key for _, e in exercises if any(entry.joint == joint for entry in e.joints)]
        if len(loading) > EASY_JOINT_EXERCISES:
            warn("session.joint_often", joint=joint, exercises=len(loading), most=EASY_JOINT_EXERCISES)
    found += _order(here, exercises)
    return found


def _patterns_twice(
    here: Params, exercises: Sequence[tuple[Slot, Exercise]], dose: Mapping[str, Dose]
) -> list[Because]:
    found = []
    kinds: dict[tuple[str, str], list[Exercise]] = {}
    for _, exercise in exercises:
        kinds.setdefault((exercise.pattern, exercise.role), []).append(exercise)
    for (pattern, role), same in kinds.items():
        if len(same) < 2:
            continue
        groups = {GROUP_OF_REGION[region] for exercise in same for region in exercise.primary_regions()}
        if role == "main" and pattern in ONE_MAIN_A_SESSION:
            found.append(Because("session.second_main", {**here, "pattern": pattern}))
        elif not any(group in dose and dose[group].counted > ONE_EXERCISE_SETS for group in groups):
            params: Params = {**here, "pattern": pattern, "exercises": len(same)}
            found.append(Because("session.pattern_again", params))
    return found


def _order(here: Params, exercises: Sequence[tuple[Slot, Exercise]]) -> list[Because]:
    """Grip or low back tired before the main lift that needs it, and supersets that tire one thing twice."""
    found = []
    for index, (slot, exercise) in enumerate(exercises):
        later = [e for _, e in exercises[index + 1 :] if e.role == "main"]
        stress = {entry.joint: entry.severity for entry in exercise.joints}
        both: Params = {**here, "exercise": exercise.key}
        if slot.role != "main" and stress.get("grip", 0) >= GRIP_LIMITED:
            for main in later:
                if any(entry.joint == "grip" for entry in main.joints):
                    found.append(Because("session.grip_before_main", {**both, "other": main.key}))
        if exercise.role == "isolation" and "lumbar_shear" in stress:
            for main in later:
                if main.pattern in ONE_MAIN_A_SESSION:
                    found.append(Because("session.back_before_main", {**both, "other": main.key}))
        if index + 1 < len(exercises):
            following, other = exercises[index + 1]
            if slot.superset and slot.superset == following.superset and superset_clash(exercise, other):
                found.append(Because("session.superset_clash", {**both, "other": other.key}))
    return found


def _repeats(request: WeekRequest, at: Places) -> list[Because]:
    found = []
    for day in request.day_types:
        for slot in day.slots:
            keys = [at[slot.key, n].exercise for n in range(day.occurrences) if (slot.key, n) in at]
            for key in dict.fromkeys(key for key in keys if keys.count(key) > 1):
                params: Params = {"day": day.key, "slot": slot.key, "exercise": key, "times": keys.count(key)}
                found.append(Because("week.repeat", params))
    return found


def _patterns_missing(request: WeekRequest, at: Places) -> tuple[str, ...]:
    there = {request.library[pick.exercise].pattern for pick in at.values()}
    return tuple(kind for kind, patterns in WEEKLY_PATTERNS.items() if there.isdisjoint(patterns))


def _pull_to_push(request: WeekRequest, at: Places) -> float | None:
    """Sets of rows and pulldowns to sets of presses; None without presses."""
    pulls = pushes = 0
    for pick in at.values():
        pull, push = pull_share(request.library[pick.exercise])
        pulls, pushes = pulls + pull * pick.sets, pushes + push * pick.sets
    return pulls / pushes if pushes else None


def empty_places(rules: Rules, at: Places) -> list[tuple[str, int]]:
    """The places that hold nothing, in the order of the week."""
    places = [(slot.key, occurrence) for _, slot, occurrence in places_of(rules.request)]
    return [place for place in places if place not in at]
