"""Every reason that cautions give: its code and the parameters it carries. The sentences live with the labels."""

from typing import Final

SCREENING_REASONS: Final[dict[str, tuple[str, ...]]] = {
    "hold_reported": (),
    "sign_reported": (),
    "cleared_by_professional": (),
    "condition_and_active": (),
    "condition_and_not_active": (),
    "limits_needed": (),
    "active_without_signs": (),
    "not_active_start_gently": (),
    "not_answered": ("count",),
    "answers_too_old": ("answered_on",),
    "answered_yes": ("question",),
}
PAIN_REASONS: Final[dict[str, tuple[str, ...]]] = {
    "pain_score": ("score", "day"),
    "pain_band_freeze": ("low", "high"),
    "pain_band_stop": ("from",),
    "pain_alarm": ("alarm",),
    "pain_rising": ("sessions",),
    "pain_lasting": ("days",),
    "pain_repeated": ("sessions",),
    "pain_settled": ("sessions",),
    "pain_settling": ("sessions", "needed"),
    "stopped_until_coach_decides": (),
}
EFFORT_REASONS: Final[dict[str, tuple[str, ...]]] = {
    "moderate_only": ("rir", "share"),
    "gentle_start": (),
    "treated_blood_pressure": ("rir", "rest_s"),
    "pregnancy": ("rir",),
    "after_birth": ("rir",),
    "minor": ("age", "share"),
    "older": ("age", "share"),
    "newcomer": ("weeks",),
}
REASONS: Final = {**SCREENING_REASONS, **PAIN_REASONS, **EFFORT_REASONS}
