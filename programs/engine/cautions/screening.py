"""Health questions before the first block: what the answers allow. Their wording lives with the other labels.

Logic after the published pre-participation screening of Riebe et al. 2015 (Med Sci Sports Exerc): present
activity, known disease, signs. What holds training altogether follows Integrated Blood Pressure Control
2024;17:21 and coaching practice. It sorts people into "may start" and "ask a professional first"; it finds
nothing out about their health.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from programs.engine.terms import Because

ACTIVE: Final = "active"  # at least 30 minutes, moderate, 3 days a week, for the last 3 months

CONDITIONS: Final = ("heart_or_vessel_disease", "diabetes_or_metabolic_disease", "kidney_disease")
SIGNS: Final = (
    "chest_discomfort_with_effort",
    "breathless_at_rest_or_lying",
    "dizzy_or_fainting",
    "ankle_swelling",
    "palpitations",
    "leg_pain_when_walking",
    "heart_murmur",
    "unusual_fatigue_or_breathlessness",
)
HOLDS: Final = (
    "unstable_heart_condition",
    "blood_pressure_above_limit",
    "recent_surgery",
    "hernia_with_symptoms",
    "retina_or_recent_eye_surgery",
    "back_pain_with_leg_weakness",
    "unexplained_weight_loss_or_fever",
)
# Each of these comes with limits that a professional sets and the coach records.
NEEDS_LIMITS: Final = (
    "pregnant",
    "birth_within_a_year",
    "treated_blood_pressure",
    "osteoporosis",
    "joint_replacement",
    "epilepsy",
    "blood_thinners",
)
SCREENING: Final = (ACTIVE, *CONDITIONS, *SIGNS, *HOLDS, *NEEDS_LIMITS)

RESULTS: Final = ("cleared", "moderate_only", "see_professional", "incomplete")

CLEARANCE_LASTS: Final = timedelta(days=365)
SCREENING_LASTS: Final = timedelta(days=365)

PRESSURE_NEVER_ABOVE: Final = (180, 110)  # mmHg at rest, whatever was advised
PRESSURE_ADVICE_ABOVE: Final = (160, 100)


@dataclass(frozen=True, slots=True)
class Screening:
    """What the answers allow.

    ``gentle_start`` asks for light to moderate work that grows slowly. ``unanswered`` lists question codes.
    ``repeat_on`` is the day by which to ask again, None without a date of answering.
    """

    result: str
    gentle_start: bool
    reasons: tuple[Because, ...]
    unanswered: tuple[str, ...] = ()
    repeat_on: date | None = None

    @property
    def may_train(self) -> bool:
        return self.result in ("cleared", "moderate_only")


def screening(
    active: bool | None,
    condition: bool | None,
    sign: bool | None,
    *,
    hold: bool | None = False,
    limits_needed: bool | None = False,
    clearance: str = "none",
) -> Screening:
    """The table of the screening: three answers, and a professional's ``clearance``.

    ``clearance`` is "none", "older" (given within the last 12 months, before what is reported now) or
    "current" (given after it). None as an answer means not answered: nobody is cleared on a gap.
    ValueError for another word.
    """
    if clearance not in ("none", "older", "current"):
        raise ValueError(f"unknown clearance: {clearance!r}")
    gentle = not active
    if hold or sign:
        code = "hold_reported" if hold else "sign_reported"
        if clearance == "current":
            return Screening("cleared", True, (Because(code), Because("cleared_by_professional")))
        return Screening("see_professional", True, (Because(code),))
    answers = {"active": active, "condition": condition, "sign": sign, "hold": hold, "limits": limits_needed}
    missing = tuple(name for name, answer in answers.items() if answer is None)
    if missing:
        return Screening("incomplete", True, (Because("not_answered", {"count": len(missing)}),), missing)
    if condition and clearance == "none":
        if active:
            return Screening("moderate_only", False, (Because("condition_and_active"),))
        return Screening("see_professional", True, (Because("condition_and_not_active"),))
    if limits_needed and clearance == "none":
        return Screening("see_professional", True, (Because("limits_needed"),))
    reasons = [Because("cleared_by_professional")] if condition or limits_needed else []
    reasons.append(Because("active_without_signs" if active else "not_active_start_gently"))
    return Screening("cleared", gentle, tuple(reasons))


def judge_answers(
    answers: Mapping[str, bool | None],
    *,
    answered_on: date,
    today: date,
    cleared_on: date | None = None,
) -> Screening:
    """Screening of a whole questionnaire; codes are those of SCREENING, a missing one counts as not answered.

    A clearance counts for 12 months; what was reported after it (``answered_on``) is not covered where it
    is a sign or a reason to hold. Answers older than 12 months are to be asked again. ValueError for
    unknown codes.
    """
    unknown = sorted(set(answers) - set(SCREENING))
    if unknown:
        raise ValueError(f"unknown questions: {', '.join(unknown)}")
    clearance = "none"
    if cleared_on is not None and today - cleared_on <= CLEARANCE_LASTS and cleared_on <= today:
        clearance = "current" if cleared_on >= answered_on else "older"
    found = screening(
        answers.get(ACTIVE),
        _any(answers, CONDITIONS),
        _any(answers, SIGNS),
        hold=_any(answers, HOLDS),
        limits_needed=_any(answers, NEEDS_LIMITS),
        clearance=clearance,
    )
    unanswered = tuple(code for code in SCREENING if answers.get(code) is None)
    named = tuple(Because("answered_yes", {"question": code}) for code in SCREENING[1:] if answers.get(code))
    result, reasons = found.result, found.reasons
    if unanswered and found.may_train:
        result, reasons = "incomplete", (Because("not_answered", {"count": len(unanswered)}),)
    repeat_on = answered_on + SCREENING_LASTS
    if today > repeat_on and result in ("cleared", "moderate_only"):
        result, reasons = (
            "incomplete",
            (Because("answers_too_old", {"answered_on": answered_on.isoformat()}),),
        )
    return Screening(result, found.gentle_start, (*reasons, *named), unanswered, repeat_on)


def _any(answers: Mapping[str, bool | None], codes: tuple[str, ...]) -> bool | None:
    """True when one is answered yes, None when none is but some are open."""
    given = [answers.get(code) for code in codes]
    if any(given):
        return True
    return None if None in given else False


def pressure_holds(systolic: int, diastolic: int, advised: bool = False) -> bool:
    """True where a resting blood pressure (mmHg) holds training: above 180/110, or 160/100 without advice."""
    never = systolic > PRESSURE_NEVER_ABOVE[0] or diastolic > PRESSURE_NEVER_ABOVE[1]
    high = systolic > PRESSURE_ADVICE_ABOVE[0] or diastolic > PRESSURE_ADVICE_ABOVE[1]
    return never or (high and not advised)
