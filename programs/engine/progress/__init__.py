"""Progression: the next prescription from the log, under caps, with reasons."""

from programs.engine.progress.next import next_prescription
from programs.engine.progress.steps import (
    ABSENCES,
    Absence,
    absence,
    deload,
    load_for_range,
    reps_after_step,
    return_load,
    rir_led,
)
from programs.engine.progress.terms import (
    CHANGES,
    LEVERS,
    OFFERS,
    POLICIES,
    REASONS,
    Ask,
    Caps,
    Lever,
    MappedEstimate,
    NextStep,
    Offer,
)

__all__ = [
    "ABSENCES",
    "CHANGES",
    "LEVERS",
    "OFFERS",
    "POLICIES",
    "REASONS",
    "Absence",
    "Ask",
    "Caps",
    "Lever",
    "MappedEstimate",
    "NextStep",
    "Offer",
    "absence",
    "deload",
    "load_for_range",
    "next_prescription",
    "reps_after_step",
    "return_load",
    "rir_led",
]
