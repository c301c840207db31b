"""Progression: the next prescription from the log, under caps, with reasons."""

from programs.engine.progress.checks import check_barred, strength_test_barred
from programs.engine.progress.fatigue import Fatigue, RatedSession, deload_due, signs_of_fatigue
from programs.engine.progress.honesty import RatingSign, habits, rating_gap, rating_signs, ticked_share
from programs.engine.progress.next import next_prescription
from programs.engine.progress.returning import illness_stage
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
    CAP_BOUNDS,
    CHANGES,
    ILLNESSES,
    LEVERS,
    OFFERS,
    POLICIES,
    REASONS,
    TESTS,
    Ask,
    Caps,
    Illness,
    Lever,
    MappedEstimate,
    NextStep,
    Offer,
    Wave,
    WaveSet,
)
from programs.engine.progress.waves import working_max

__all__ = [
    "ABSENCES",
    "CAP_BOUNDS",
    "CHANGES",
    "ILLNESSES",
    "LEVERS",
    "OFFERS",
    "POLICIES",
    "REASONS",
    "TESTS",
    "Absence",
    "Ask",
    "Caps",
    "Fatigue",
    "Illness",
    "Lever",
    "MappedEstimate",
    "NextStep",
    "Offer",
    "RatedSession",
    "RatingSign",
    "Wave",
    "WaveSet",
    "absence",
    "check_barred",
    "deload",
    "deload_due",
    "habits",
    "illness_stage",
    "load_for_range",
    "next_prescription",
    "rating_gap",
    "rating_signs",
    "reps_after_step",
    "return_load",
    "rir_led",
    "signs_of_fatigue",
    "strength_test_barred",
    "ticked_share",
    "working_max",
]
