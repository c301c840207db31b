"""What bounds the work: health questions, pain, red-flag words, odd loads, limits of special groups."""

from programs.engine.cautions.body import BODY_PARTS, WHOLE_BODY_PARTS, Affected, affected
from programs.engine.cautions.groups import ADVICE, EffortFloor, effort_floor
from programs.engine.cautions.jumps import JUMPS, Jump, check_load
from programs.engine.cautions.pain import (
    ACTIONS,
    ALARMS,
    PAUSES_SHEETS_FROM,
    PainAction,
    PainNote,
    pain_action,
)
from programs.engine.cautions.reasons import EFFORT_REASONS, PAIN_REASONS, REASONS, SCREENING_REASONS
from programs.engine.cautions.red_flags import EMERGENCY, RED_FLAGS, SAME_DAY, RedFlag, red_flags
from programs.engine.cautions.screening import (
    ACTIVE,
    CONDITIONS,
    HOLDS,
    NEEDS_LIMITS,
    RESULTS,
    SCREENING,
    SIGNS,
    Screening,
    judge_answers,
    pressure_holds,
    screening,
)

__all__ = [
    "ACTIONS",
    "ACTIVE",
    "ADVICE",
    "ALARMS",
    "BODY_PARTS",
    "CONDITIONS",
    "EFFORT_REASONS",
    "EMERGENCY",
    "HOLDS",
    "JUMPS",
    "NEEDS_LIMITS",
    "PAIN_REASONS",
    "PAUSES_SHEETS_FROM",
    "REASONS",
    "RED_FLAGS",
    "RESULTS",
    "SAME_DAY",
    "SCREENING",
    "SCREENING_REASONS",
    "SIGNS",
    "WHOLE_BODY_PARTS",
    "Affected",
    "EffortFloor",
    "Jump",
    "PainAction",
    "PainNote",
    "RedFlag",
    "Screening",
    "affected",
    "check_load",
    "effort_floor",
    "judge_answers",
    "pain_action",
    "pressure_holds",
    "red_flags",
    "screening",
]
