"""The week for a request: proven best where the solver is there, searched where it is not; and a changed week set
right around the change."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import Final

from programs.engine.compose import solver
from programs.engine.compose.audit import audit, empty_places
from programs.engine.compose.candidates import places_of
from programs.engine.compose.evaluate import Places, Rules, by_place
from programs.engine.compose.explain import explain_place
from programs.engine.compose.freeing import unfilled
from programs.engine.compose.ledger import Choice, Ledger
from programs.engine.compose.problem import Problem, build, picks_of
from programs.engine.compose.request import ComposedWeek, Explanation, Proof, WeekRequest
from programs.engine.compose.search import solve
from programs.engine.terms import Pick

# So many exercises a place are given to the solver, the best by what they cost alone: more than any slot has in a
# library of some hundred exercises. Where there are more, the proof says among how many it holds.
SOLVED_OPTIONS: Final = 120

Answer = tuple[tuple[Pick, ...], Proof]


def compose(request: WeekRequest, *, proven: bool = True) -> ComposedWeek:
    """The week for a request, each pick with its reasons, and for each empty slot what would free it.

    Without ``proven`` the quick search answers: for a preview.
    """
    rules = Rules.of(request)
    return _week(rules, *best_picks(rules, proven=proven))


def best_picks(rules: Rules, *, proven: bool = True) -> Answer:
    """The picks of ``compose`` and their proof, nothing said about them yet."""
    if not (proven and solver.available()):
        searched = build(rules.request, rules)
        return picks_of(searched, solve(searched)), Proof()
    problem = build(rules.request, rules, most_options=SOLVED_OPTIONS)
    best = solver.optimum(problem)
    if best is not None and best.proven:
        return picks_of(problem, best.chosen), Proof("proven", 0, best.solver, _among(rules))
    # The limit came first, or pins that clash leave no week to the solver: the search may know a better one.
    searched = build(rules.request, rules)
    found = solve(searched)
    if best is None:
        return picks_of(searched, found), Proof()
    saved = _cost(problem, best.chosen) // problem.scale - _cost(searched, found) // searched.scale
    picks = picks_of(searched, found) if saved > 0 else picks_of(problem, best.chosen)
    return picks, Proof("best_found", best.off_by - max(0, saved), best.solver, _among(rules))


def settled_picks(rules: Rules, picks: Iterable[Pick], changed: Collection[tuple[str, int]]) -> Answer:
    """The week after a change, set right around it: what stands elsewhere keeps its exercise, sets are free; what
    is empty elsewhere stays so, as nothing that bars it has changed.

    ``changed`` are the (slot, occurrence) that the coach touched; their sessions and the other occurrences of their
    slots may take other exercises where that is worth it. The coach's own choices are pins of the request. Without
    the solver the week is searched anew.
    """
    at = by_place(rules.request, picks)
    free = neighbourhood(rules.request, changed)
    places = [(slot.key, occurrence) for _day, slot, occurrence in places_of(rules.request)]
    held = {place: at[place].exercise if place in at else "" for place in places if place not in free}
    problem = build(rules.request, rules, most_options=None, held=held)
    stay: dict[int, int] = {}
    for place in problem.places:
        key = (place.slot.key, place.occurrence)
        if place.fixed or key not in free or key not in at:
            continue
        index = next((i for i, option in enumerate(place.options) if option.exercise.key == at[key].exercise), None)
        if index is not None:
            stay[place.number] = index
    gaps = any(place not in at and place not in rules.kept_empty for place in free)
    best = solver.optimum(problem, stay=stay, gaps=gaps) if solver.available() else None
    if best is None:
        return best_picks(rules)
    kind = "settled" if best.proven else "best_found"
    return picks_of(problem, best.chosen), Proof(kind, best.off_by, best.solver)


def _among(rules: Rules) -> int | None:
    most = max((len(choice.fitting) for choice in rules.fitting.values()), default=0)
    return SOLVED_OPTIONS if most > SOLVED_OPTIONS else None


def neighbourhood(request: WeekRequest, changed: Collection[tuple[str, int]]) -> set[tuple[str, int]]:
    """The places of the sessions that were touched, and the other occurrences of the slots that were."""
    found: set[tuple[str, int]] = set()
    for day in request.day_types:
        keys = {slot.key for slot in day.slots}
        touched = [(key, occurrence) for key, occurrence in changed if key in keys]
        found |= {(key, occurrence) for key in keys for _key, occurrence in touched}
        found |= {(key, occurrence) for key, _occurrence in touched for occurrence in range(day.occurrences)}
    return found


def _cost(problem: Problem, chosen: Sequence[Choice]) -> int:
    ledger = Ledger(problem)
    for number, choice in enumerate(chosen):
        ledger.put(number, choice)
    return ledger.cost


def _week(rules: Rules, picks: Iterable[Pick], proof: Proof) -> ComposedWeek:
    """The picks with everything there is to say about them."""
    at: Places = by_place(rules.request, picks)
    explanations = {}
    for place, pick in at.items():
        found = explain_place(rules, at, *place)
        if isinstance(found, Explanation):
            explanations[place] = found
            at[place] = replace(pick, reasons=(*found.decided_by, *found.facts))
    audited = audit(rules, at)
    return ComposedWeek(
        tuple(at.values()),
        tuple(unfilled(rules, at, *place) for place in empty_places(rules, at)),
        audited.dose,
        audited.minutes,
        audited.warnings,
        explanations,
        rules.cost(at).total,
        audited,
        proof,
    )
