"""Simulated lifters, for tests, benchmarks and the demo's history: what they can, do and say, and whole years of it.

All chance comes from seeds, so that a seed gives the same lifter on every machine.
"""

from programs.engine.cohort.comparing import Compared, compare, gained, landing
from programs.engine.cohort.lifter import (
    WEEKS_BEHIND,
    Attempt,
    Lifter,
    PlannedSession,
    SimulatedSession,
    attempt,
    attends,
    find_load,
    perform,
    simulate,
    soreness,
    strength_after,
)

__all__ = [
    "WEEKS_BEHIND",
    "Attempt",
    "Compared",
    "Lifter",
    "PlannedSession",
    "SimulatedSession",
    "attempt",
    "attends",
    "compare",
    "find_load",
    "gained",
    "landing",
    "perform",
    "simulate",
    "soreness",
    "strength_after",
]
