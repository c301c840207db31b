"""Why a slot is empty, and the smallest things to give up that would fill it."""

from collections.abc import Mapping
from math import ceil
from typing import Final

from programs.engine.compose import candidates
from programs.engine.compose.candidates import pin_reasons, pins_by_place
from programs.engine.compose.evaluate import Places, Rules
from programs.engine.compose.request import Freeing, Unfilled
from programs.engine.compose.trial import ALREADY, CEILING, breaks, find_slot, session_picks
from programs.engine.compose.weights import MINUTES_STEP, Weights
from programs.engine.terms import Because, Params, Pick

MOST_WAYS: Final = 4

Step = tuple[str, str]  # code and the one thing it names
NAMES: Final[Mapping[str, str]] = {
    "free.release_pin": "exercise",
    "free.more_minutes": "minutes",
    "free.raise_ceiling": "group",
    "free.allow_exercise": "exercise",
    "free.add_station": "station",
    "free.add_one_station": "stations",
    "free.allow_skill": "skill",
    "free.load_spared_joint": "joint",
}


def unfilled(rules: Rules, at: Places, slot_key: str, occurrence: int) -> Unfilled:
    """An empty place with its reasons, and the cheapest ways to fill it with all else as it stands."""
    request = rules.request
    day, slot = find_slot(rules, slot_key)
    choice = rules.fitting[slot_key]
    pin = pins_by_place(request).get((slot_key, occurrence))
    if pin is not None and not pin.exercise:
        step = Because("free.release_pin", {"exercise": ""})
        why = Because("slot.kept_empty", {"slot": slot_key})
        return Unfilled(slot_key, occurrence, (why,), (Freeing((step,), (), request.weights.price(step.code)),))
    reasons: list[Because] = []
    release: frozenset[Step] = frozenset()
    in_session = {pick.exercise: pick.slot for pick in session_picks(at, day, occurrence)}
    if pin is not None:
        reasons.append(Because("slot.pin_not_possible", {"exercise": pin.exercise}))
        reasons += pin_reasons(request, pin)
        if pin.exercise in in_session:
            reasons.append(Because(ALREADY, {"exercise": pin.exercise, "slot": in_session[pin.exercise]}))
        release = frozenset((("free.release_pin", pin.exercise),))
    elif not choice.fitting:
        params: Params = {"region": slot.regions[0], "kept_out": len(choice.kept_out)}
        reasons.append(Because("slot.nothing_fits", params))
    ways: dict[frozenset[Step], list[str]] = {}
    for key in (*choice.fitting, *choice.kept_out):
        fits = key in choice.fitting
        steps = _steps_for(choice.kept_out.get(key, ()))
        if key in in_session:
            if fits and pin is None:
                reasons.append(Because(ALREADY, {"exercise": key, "slot": in_session[key]}))
            continue
        if steps is None:
            continue
        new = {**at, (slot_key, occurrence): Pick(slot_key, occurrence, key, max(1, slot.sets_low))}
        limits = breaks(rules, at, new, day, occurrence)
        if fits and pin is None:
            reasons += limits or [Because("slot.can_be_filled", {"exercise": key})]
        if pin is None or key != pin.exercise:
            steps = steps.union(release)
        ways.setdefault(steps.union(_limit_step(limit) for limit in limits), []).append(key)
    return Unfilled(slot_key, occurrence, _once(reasons), _cheapest(ways, request.weights))


def _steps_for(kept_out: tuple[Because, ...]) -> frozenset[Step] | None:
    """The steps that would let an exercise in; None where nothing could."""
    steps: set[Step] = set()
    for why in kept_out:
        if why.code == candidates.STATION:
            steps.add(("free.add_station", str(why.params["station"])))
        elif why.code == candidates.ONE_STATION:
            steps.add(("free.add_one_station", str(why.params["stations"])))
        elif why.code == candidates.EXCLUDED:
            steps.add(("free.allow_exercise", str(why.params["exercise"])))
        elif why.code == candidates.SKILL:
            steps.add(("free.allow_skill", str(why.params["skill"])))
        elif why.code == candidates.JOINT:
            steps.add(("free.load_spared_joint", str(why.params["joint"])))
        else:
            return None
    return frozenset(steps)


def _limit_step(limit: Because) -> Step:
    if limit.code == CEILING:
        return "free.raise_ceiling", str(limit.params["group"])
    return "free.more_minutes", str(max(1, ceil(float(limit.params["over"] or 0))))


def _price(step: Step, weights: Weights) -> int:
    if step[0] == "free.more_minutes":
        return weights.more_minutes + weights.each_five_minutes * ceil(int(step[1]) / MINUTES_STEP)
    return weights.price(step[0])


def _cheapest(ways: Mapping[frozenset[Step], list[str]], weights: Weights) -> tuple[Freeing, ...]:
    """The ways that ask for nothing more than another way does, the cheapest first; a ticked one always last."""
    found = []
    for steps, opens in ways.items():
        if not steps or any(other != steps and _asks_no_more(other, steps) for other in ways):
            continue
        ordered = sorted(steps)
        because = []
        for code, name in ordered:
            value: str | int = int(name) if code == "free.more_minutes" else name
            tick = code == "free.load_spared_joint"
            because.append(Because(code, {NAMES[code]: value, **({"needs_tick": True} if tick else {})}))
        needs_tick = any(code == "free.load_spared_joint" for code, _ in ordered)
        cost = sum(_price(step, weights) for step in ordered)
        found.append(Freeing(tuple(because), tuple(sorted(opens)), cost, needs_tick))
    found.sort(key=lambda way: (way.needs_tick, way.cost, -len(way.opens), way.opens))
    return tuple(found[:MOST_WAYS])


def _asks_no_more(one: frozenset[Step], other: frozenset[Step]) -> bool:
    """Whether everything that ``one`` asks for is asked by ``other`` too, minutes by their number."""
    theirs = {step for step in other if step[0] != "free.more_minutes"}
    return all(
        any(int(step[1]) <= int(more[1]) for more in other - theirs)
        if step[0] == "free.more_minutes"
        else step in theirs
        for step in one
    )


def _once(reasons: list[Because]) -> tuple[Because, ...]:
    """Each code and what it names once, in order: a slot may fail for the same reason by every exercise."""
    seen: dict[tuple[object, ...], Because] = {}
    for why in reasons:
        seen.setdefault((why.code, why.params.get("group"), why.params.get("exercise")), why)
    return tuple(seen.values())
