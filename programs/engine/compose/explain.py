"""Why a pick was taken, what would come in its place, and why a slot is empty.

A reason is the difference that one exercise makes to the week, all else the same: what speaks for the pick is
what the next best would cost more, what speaks against it is what that one would save.
"""

from collections.abc import Iterable, Sequence
from typing import Final

from programs.engine.compose.evaluate import Places, Rules, Term, by_place, pick_terms
from programs.engine.compose.freeing import unfilled
from programs.engine.compose.measures import QUARTERS, WEEK_DAYS, day_seconds, judged
from programs.engine.compose.request import (
    Alternative,
    Alternatives,
    DayType,
    Explanation,
    LeftOut,
    RunnerUp,
    Slot,
    Unfilled,
    WeekRequest,
)
from programs.engine.compose.trial import Trial, breaks, find_slot, session_quarters, try_exercise
from programs.engine.terms import Because, Exercise, Params, Pick

# Of each place so many exercises are tried as runners-up, the best by what they cost alone.
TRIED: Final = 6
RUNNERS_UP: Final = 3
REASONS: Final = 3

# Terms that say the same thing to a person, gathered under one reason.
FAMILY: Final = {
    "outside_ranking": "rank",
    "under": "dose",
    "far_under": "dose",
    "over": "dose",
    "disliked": "liking",
    "liked": "liking",
}


def explain(request: WeekRequest, picks: Iterable[Pick], slot: str, occurrence: int) -> Explanation | Unfilled:
    """Why that place holds what it holds; for an empty place, why it is empty and what would free it."""
    rules = Rules.of(request)
    return explain_place(rules, by_place(request, picks), slot, occurrence)


def explain_place(rules: Rules, at: Places, slot_key: str, occurrence: int) -> Explanation | Unfilled:
    pick = at.get((slot_key, occurrence))
    if pick is None:
        return unfilled(rules, at, slot_key, occurrence)
    day, slot = find_slot(rules, slot_key)
    tried = _trials(rules, at, day, slot, occurrence, TRIED)
    decided: Sequence[Because] = ()
    despite: Sequence[Because] = ()
    if pick.pinned:
        decided = (Because("choice.pinned", {"exercise": pick.exercise}),)
    elif tried:
        decided, despite = _compare(rules, at, slot, occurrence, tried[0])
        if not decided and not despite:
            decided = (Because("choice.equal", {"exercise": pick.exercise, "other": tried[0].exercise}),)
    elif len(rules.fitting[slot_key].fitting) <= 1:
        decided = (Because("choice.only_one_fits", {"exercise": pick.exercise}),)
    else:
        decided = (Because("choice.others_do_not_fit_session", {"exercise": pick.exercise}),)
    return Explanation(
        slot_key,
        occurrence,
        pick.exercise,
        tuple(decided[:REASONS]),
        tuple(despite[:REASONS]),
        tuple(RunnerUp(trial.exercise, trial.cost) for trial in tried[:RUNNERS_UP]),
        pick_facts(rules, at, day, slot, pick),
    )


def alternatives(
    request: WeekRequest, picks: Iterable[Pick], slot: str, occurrence: int, most: int = 8
) -> Alternatives:
    """What else may fill a place, best first, with what each would change; and what is left out, and why."""
    rules = Rules.of(request)
    at = by_place(request, picks)
    day, found = find_slot(rules, slot)
    tried, left_out = stand_ins(rules, at, slot, occurrence)
    ranked = [_alternative(rules, at, day, found, occurrence, trial) for trial in tried[:most]]
    return Alternatives(tuple(ranked), tuple(left_out))


def stand_ins(rules: Rules, at: Places, slot: str, occurrence: int) -> tuple[list[Trial], list[LeftOut]]:
    """Every other exercise that may fill a place, tried, best first; and what is left out, and why."""
    day, found = find_slot(rules, slot)
    choice = rules.fitting[slot]
    left_out = [LeftOut(key, reasons) for key, reasons in choice.kept_out.items()]
    trials: list[Trial] = []
    present = at.get((slot, occurrence))
    before = rules.near(at, day, found, occurrence)
    for key in choice.fitting:
        if present is not None and key == present.exercise:
            continue
        tried = try_exercise(rules, at, slot, occurrence, key, before)
        if isinstance(tried, Trial):
            trials.append(tried)
        else:
            left_out.append(LeftOut(key, tried))
    return sorted(trials, key=lambda trial: (trial.cost, trial.exercise)), left_out


def _alternative(rules: Rules, at: Places, day: DayType, slot: Slot, occurrence: int, trial: Trial) -> Alternative:
    request = rules.request
    a_week = WEEK_DAYS / request.cycle_days / QUARTERS
    old, new = session_quarters(rules, at.values()), session_quarters(rules, trial.at.values())
    changes: dict[str, float] = {}
    verdicts: dict[str, tuple[str, str]] = {}
    for group in sorted(set(old) | set(new)):
        before, after = old.get(group, 0) * a_week, new.get(group, 0) * a_week
        if before == after:
            continue
        changes[group] = after - before
        pair = judged(request, group, before).verdict, judged(request, group, after).verdict
        if pair[0] != pair[1]:
            verdicts[group] = pair
    longer_s = day_seconds(request, day, occurrence, trial.at.values()) - day_seconds(
        request, day, occurrence, at.values()
    )
    present = at.get((slot.key, occurrence))
    if present is None:
        reasons = pick_facts(rules, trial.at, day, slot, trial.changed[0])
    else:
        against, merits = _compare(rules, at, slot, occurrence, trial)
        reasons = (*merits[:REASONS], *against[:REASONS])
    return Alternative(
        trial.exercise,
        trial.sets,
        trial.cost,
        changes,
        longer_s / 60,
        verdicts,
        reasons,
        trial.changed,
        trial.swaps_with,
    )


def _trials(rules: Rules, at: Places, day: DayType, slot: Slot, occurrence: int, most: int) -> list[Trial]:
    """The exercises that would come next on a place, the best first."""
    present = at[slot.key, occurrence].exercise
    choice = rules.fitting[slot.key]
    library = rules.request.library

    def alone(key: str) -> tuple[int, str]:
        terms = pick_terms(rules.request, slot, occurrence, library[key], choice)
        return sum(term.amount for term in terms), key

    found: list[Trial] = []
    before = rules.near(at, day, slot, occurrence)
    for key in sorted((key for key in choice.fitting if key != present), key=alone):
        tried = try_exercise(rules, at, slot.key, occurrence, key, before)
        if isinstance(tried, Trial):
            found.append(tried)
            if len(found) == most:
                break
    return sorted(found, key=lambda trial: (trial.cost, trial.exercise))


def _compare(
    rules: Rules, at: Places, slot: Slot, occurrence: int, trial: Trial
) -> tuple[list[Because], list[Because]]:
    """What the trial would cost more, and what it would save, each the weightiest first."""
    present = at[slot.key, occurrence].exercise
    a_week = WEEK_DAYS / rules.request.cycle_days / QUARTERS
    old, new = session_quarters(rules, at.values()), session_quarters(rules, trial.at.values())
    before, after = _gathered(trial.before), _gathered(trial.after)
    ranked = slot.ranked_on(occurrence)
    worse: list[Because] = []
    better: list[Because] = []
    for key in sorted(set(before) | set(after)):
        was, said_before = before.get(key, (0, {}))
        now, said_after = after.get(key, (0, {}))
        if now == was:
            continue
        params: dict[str, str | int | float | bool | None] = {
            **(said_after if now > was else said_before),
            "points": abs(now - was),
            "exercise": present,
            "other": trial.exercise,
            "occurrence": occurrence,
            "speaks_for": present if now > was else trial.exercise,
        }
        if key[0] == "rank":
            params["rank"] = ranked.index(present) + 1 if present in ranked else None
            params["other_rank"] = ranked.index(trial.exercise) + 1 if trial.exercise in ranked else None
        if key[0] == "dose":
            params["sets"] = old.get(key[1], 0) * a_week
            params["other_sets"] = new.get(key[1], 0) * a_week
        (worse if now > was else better).append(Because(f"choice.{key[0]}", params))
    return _weightiest(worse), _weightiest(better)


def _gathered(terms: Iterable[Term]) -> dict[tuple[str, str], tuple[int, Params]]:
    found: dict[tuple[str, str], tuple[int, Params]] = {}
    for term in terms:
        detail = next((term.params[name] for name in ("group", "joint", "kind", "region") if term.params.get(name)), "")
        key = FAMILY.get(term.code, term.code), str(detail)
        amount, params = found.get(key, (0, term.params))
        found[key] = amount + term.amount, params
    return found


def _weightiest(reasons: Iterable[Because]) -> list[Because]:
    return sorted(reasons, key=lambda why: (-int(why.params["points"] or 0), why.code))


def pick_facts(rules: Rules, at: Places, day: DayType, slot: Slot, pick: Pick) -> tuple[Because, ...]:
    """What is to be said of a pick itself: what it counts for, how it varies, what it stands in for."""
    request = rules.request
    exercise = request.library[pick.exercise]
    ranked = slot.ranked_on(pick.occurrence)
    facts: list[Because] = []
    if pick.pinned:
        facts.append(Because("pick.pinned", {"sets": pick.sets}))
    if pick.exercise in ranked:
        facts.append(Because("pick.ranked", {"rank": ranked.index(pick.exercise) + 1, "of": len(ranked)}))
    elif ranked:
        facts.append(Because("pick.outside_ranking", {}))
    for group, quarters in sorted(rules.quarters[pick.exercise].items(), key=lambda entry: (-entry[1], entry[0])):
        facts.append(Because("pick.counts", {"group": group, "share": quarters / QUARTERS}))
    facts += _variation(request, at, day, slot, pick, exercise)
    if exercise.role != slot.role and pick.exercise not in ranked:
        facts.append(Because("pick.stands_in", {"role": exercise.role, "wanted": slot.role}))
    if slot.patterns and exercise.pattern not in slot.patterns:
        facts.append(Because("pick.other_pattern", {"pattern": exercise.pattern}))
    for entry in exercise.regions:
        if entry.stretched and entry.region in slot.regions:
            facts.append(Because("pick.stretched", {"region": entry.region}))
    if pick.exercise in request.previous:
        facts.append(Because("pick.kept", {}))
    return (*facts, *_set_count(rules, at, day, slot, pick))


def _variation(
    request: WeekRequest, at: Places, day: DayType, slot: Slot, pick: Pick, exercise: Exercise
) -> list[Because]:
    """How a pick differs from those of the other occurrences, or that it cannot."""
    found = []
    for other in range(day.occurrences):
        held = at.get((slot.key, other))
        if other == pick.occurrence or held is None:
            continue
        beside = request.library[held.exercise]
        params: dict[str, str | int] = {"occurrence": other, "exercise": beside.key}
        if beside.key == exercise.key:
            found.append(Because("pick.repeats", params))
            continue
        if other > pick.occurrence:
            continue
        details = ("implement", "angle", "grip", "limbs", "pattern")
        differs = [name for name in details if getattr(beside, name) != getattr(exercise, name)]
        found.append(Because("pick.varies", {**params, "by": ",".join(differs)}))
    return found


def _set_count(rules: Rules, at: Places, day: DayType, slot: Slot, pick: Pick) -> list[Because]:
    """Why a pick has other than the slot's usual sets."""
    if pick.pinned or pick.sets == slot.usual_sets:
        return []
    params: dict[str, str | int] = {"sets": pick.sets, "usual": slot.usual_sets}
    if pick.sets > slot.usual_sets:
        return [Because("sets.more_for_dose", params)]
    more = Pick(pick.slot, pick.occurrence, pick.exercise, pick.sets + 1)
    why = breaks(rules, at, {**at, (pick.slot, pick.occurrence): more}, day, pick.occurrence)
    if why:
        return [Because("sets.fewer_for_limit", {**params, "limit": why[0].code})]
    return [Because("sets.fewer_for_dose", params)]
