"""Composing a week: every slot on every occurrence of its day type gets an exercise and its sets.

A slot is an intent, an exercise one way to fill it. The hard limits (place, spared joints, skill, region, no
exercise twice in a session, minutes, ceilings, pins) always hold; among the weeks that keep them the one that costs
least by the rules of ``evaluate`` is looked for. The same request gives the same week, whatever the order of its
library or the process it runs in.
"""

from dataclasses import replace

from programs.engine.compose.audit import assess, audit, empty_places
from programs.engine.compose.evaluate import Cost, Rules, Term, by_place, evaluate
from programs.engine.compose.explain import alternatives, explain, explain_place
from programs.engine.compose.freeing import unfilled
from programs.engine.compose.measures import reps_for
from programs.engine.compose.problem import build, picks_of
from programs.engine.compose.request import (
    Alternative,
    Alternatives,
    Audit,
    ComposedWeek,
    DayType,
    Explanation,
    Freeing,
    GroupDose,
    LeftOut,
    RunnerUp,
    SessionMinutes,
    Slot,
    Unfilled,
    WeekRequest,
)
from programs.engine.compose.search import solve

__all__ = [
    "Alternative",
    "Alternatives",
    "Audit",
    "ComposedWeek",
    "Cost",
    "DayType",
    "Explanation",
    "Freeing",
    "GroupDose",
    "LeftOut",
    "RunnerUp",
    "SessionMinutes",
    "Slot",
    "Term",
    "Unfilled",
    "WeekRequest",
    "alternatives",
    "assess",
    "compose",
    "evaluate",
    "explain",
    "reps_for",
]


def compose(request: WeekRequest) -> ComposedWeek:
    """The week for a request, each pick with its reasons, and for each empty slot what would free it."""
    rules = Rules.of(request)
    problem = build(request, rules)
    at = by_place(request, picks_of(problem, solve(problem)))
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
    )
