"""Composing a week: every slot on every occurrence of its day type gets an exercise and its sets.

A slot is an intent, an exercise one way to fill it. The hard limits (place, spared joints, skill, region, no
exercise twice in a session, minutes, ceilings, pins) always hold; among the weeks that keep them the one that costs
least by the rules of ``evaluate`` is found and proven (``solver``), or looked for without a proof (``search``). The
same request gives the same week, whatever the order of its library or the process it runs in.
"""

from programs.engine.compose.audit import assess
from programs.engine.compose.evaluate import Cost, Term, evaluate
from programs.engine.compose.explain import alternatives, explain
from programs.engine.compose.measures import reps_for
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
    Proof,
    RunnerUp,
    SessionMinutes,
    Slot,
    Unfilled,
    WeekRequest,
)
from programs.engine.compose.solver import WayOut, clashes, given_up, ways_out
from programs.engine.compose.week import compose
from programs.engine.compose.weights import Weights

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
    "Proof",
    "RunnerUp",
    "SessionMinutes",
    "Slot",
    "Term",
    "Unfilled",
    "WayOut",
    "WeekRequest",
    "Weights",
    "alternatives",
    "assess",
    "clashes",
    "compose",
    "evaluate",
    "explain",
    "given_up",
    "reps_for",
    "ways_out",
]
