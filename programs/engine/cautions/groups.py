"""Limits on effort that come with age, pregnancy, blood pressure, or what screening allowed.

After ACSM intensity bands (moderate 40-59 % of heart-rate reserve, read for lifting as RIR 3 and more),
Fragala et al. 2019 (older adults), Lloyd et al. 2014 and AAP 2020 (minors), ACOG 2020 (pregnancy),
Davenport et al. 2025 (after birth); figures are coaching defaults on the careful side. A professional's
own limits come before all of them.
"""

from dataclasses import dataclass
from typing import Final

from programs.engine.terms import Because

ADULT_FROM: Final = 18
OLDER_FROM: Final = 65

MODERATE_RIR: Final = 3.0
MODERATE_SHARE: Final = 0.70
MODERATE_REST_S: Final = 90
PRESSURE_RIR: Final = 2.0
PRESSURE_REST_S: Final = 90
MINOR_START_SHARE: Final = 0.60
MINOR_SHARE: Final = 0.80
MINOR_START_RIR: Final = 2.0
OLDER_START_SHARE: Final = 0.60
OLDER_SHARE: Final = 0.85
OLDER_START_RIR: Final = 3.0
OLDER_REST_S: Final = 120
MINOR_REST_S: Final = 60
PREGNANCY_RIR: Final = 3.0
NO_LYING_FROM_WEEK: Final = 20
AFTER_BIRTH_RIR: Final = 3.0
NEWCOMER_WEEKS: Final = 8  # no set to failure is planned before

# What the sheet and the coach are told besides numbers.
ADVICE: Final = (
    "breathe_out_on_effort",
    "no_breath_holding",
    "no_max_test",
    "supervised",
    "guardian_consent",
    "technique_first",
    "balance_safe",
    "no_long_lying_on_the_back",
    "no_fall_or_blow",
    "carer_agrees",
    "no_progression_targets",
    "start_as_after_long_layoff",
)


@dataclass(frozen=True, slots=True)
class EffortFloor:
    """The least that must stay in reserve, and what else bounds effort. None means no bound of its own."""

    rir: float = 0.0
    share_of_max: float | None = None  # load at most this share of 1RM
    rest_s: int | None = None  # at least
    progression: bool = True
    max_tests: bool = True
    advice: tuple[str, ...] = ()
    reasons: tuple[Because, ...] = ()


def effort_floor(
    *,
    age: int | None = None,
    weeks_of_training: int | None = None,
    moderate_only: bool = False,
    gentle_start: bool = False,
    treated_blood_pressure: bool = False,
    pregnant: bool = False,
    weeks_pregnant: int | None = None,
    after_birth: bool = False,
) -> EffortFloor:
    """All limits that apply, joined: the highest reserve, the lowest share, the longest rest.

    ``weeks_of_training`` None counts as a beginner where that is the careful reading.
    """
    starting = weeks_of_training is None or weeks_of_training < NEWCOMER_WEEKS
    found: list[EffortFloor] = []
    if moderate_only:
        found.append(
            EffortFloor(
                MODERATE_RIR,
                MODERATE_SHARE,
                MODERATE_REST_S,
                max_tests=False,
                advice=("no_breath_holding", "no_max_test"),
                reasons=(Because("moderate_only", {"rir": MODERATE_RIR, "share": MODERATE_SHARE}),),
            )
        )
    if gentle_start and starting:
        found.append(EffortFloor(MODERATE_RIR, MODERATE_SHARE, reasons=(Because("gentle_start"),)))
    if treated_blood_pressure:
        found.append(
            EffortFloor(
                PRESSURE_RIR,
                None,
                PRESSURE_REST_S,
                max_tests=False,
                advice=("breathe_out_on_effort", "no_breath_holding", "no_max_test"),
                reasons=(Because("treated_blood_pressure", {"rir": PRESSURE_RIR, "rest_s": PRESSURE_REST_S}),),
            )
        )
    if pregnant:
        found.append(_pregnancy(weeks_pregnant))
    if after_birth:
        found.append(
            EffortFloor(
                AFTER_BIRTH_RIR,
                max_tests=False,
                advice=("start_as_after_long_layoff", "no_max_test"),
                reasons=(Because("after_birth", {"rir": AFTER_BIRTH_RIR}),),
            )
        )
    if age is not None and age < ADULT_FROM:
        found.append(_minor(age, starting))
    if age is not None and age >= OLDER_FROM:
        found.append(_older(age, starting))
    if starting and weeks_of_training is not None:
        found.append(EffortFloor(1.0, reasons=(Because("newcomer", {"weeks": weeks_of_training}),)))
    return _joined(found)


def _pregnancy(weeks: int | None) -> EffortFloor:
    advice = ["carer_agrees", "no_breath_holding", "no_max_test", "no_fall_or_blow", "no_progression_targets"]
    if weeks is None or weeks >= NO_LYING_FROM_WEEK:
        advice.append("no_long_lying_on_the_back")
    return EffortFloor(
        PREGNANCY_RIR,
        progression=False,
        max_tests=False,
        advice=tuple(advice),
        reasons=(Because("pregnancy", {"rir": PREGNANCY_RIR}),),
    )


def _minor(age: int, starting: bool) -> EffortFloor:
    share = MINOR_START_SHARE if starting else MINOR_SHARE
    return EffortFloor(
        MINOR_START_RIR if starting else 1.0,
        share,
        MINOR_REST_S,
        max_tests=False,
        advice=("guardian_consent", "supervised", "technique_first", "no_max_test"),
        reasons=(Because("minor", {"age": age, "share": share}),),
    )


def _older(age: int, starting: bool) -> EffortFloor:
    share = OLDER_START_SHARE if starting else OLDER_SHARE
    return EffortFloor(
        OLDER_START_RIR if starting else 1.0,
        share,
        OLDER_REST_S if not starting else MODERATE_REST_S,
        max_tests=not starting,
        advice=("balance_safe", "no_max_test") if starting else ("balance_safe",),
        reasons=(Because("older", {"age": age, "share": share}),),
    )


def _joined(floors: list[EffortFloor]) -> EffortFloor:
    shares = [floor.share_of_max for floor in floors if floor.share_of_max is not None]
    rests = [floor.rest_s for floor in floors if floor.rest_s is not None]
    return EffortFloor(
        max((floor.rir for floor in floors), default=0.0),
        min(shares, default=None),
        max(rests, default=None),
        all(floor.progression for floor in floors),
        all(floor.max_tests for floor in floors),
        tuple(dict.fromkeys(word for floor in floors for word in floor.advice)),
        tuple(reason for floor in floors for reason in floor.reasons),
    )
